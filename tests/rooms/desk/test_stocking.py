"""Placing and nesting in a script: what the commands tell, as objects; the galley's shipped job and stock."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import shapely

import blankwright as bw
from blankwright.base.errors import RequestError
from blankwright.base.library import templates_dir
from rooms.stock.jobs import faults_by_clipper, faults_by_geos


def test_a_script_gets_what_the_command_tells(command: Callable[..., Any], tmp_path: Path) -> None:
    design = templates_dir() / "designs" / "mill_file_paring.toml"
    found = bw.place(design, "mill_file")
    told = json.loads(command("place", design, "mill_file", "--json", "--out", tmp_path / "command").out)
    files = found.write(tmp_path / "script")
    assert found.fits
    assert found.would_do == ()
    assert found.data == {key: value for key, value in told.items() if key != "files"}
    assert [path.name for path in files] == told["files"]
    assert all(
        path.read_bytes() == (tmp_path / "command" / path.parent.name / path.name).read_bytes() for path in files
    )
    assert "<svg" in str(found._repr_svg_())
    assert str(found).startswith("Fits on Mill file")
    assert found.knife.design.name in repr(found.knife)


def test_what_would_do_goes_back_into_a_request() -> None:
    refused = bw.place("paring", "mill_file", piece="Mill file", flip=False).knife
    thick = bw.place(bw.request(refused, settings={"material.thickness": "5.4 mm"}), "mill_file")
    assert not thick.fits
    (change,) = thick.would_do
    assert bw.place(bw.request(thick.knife, settings=change), "mill_file").fits


def test_a_forging_is_told_enough_or_not() -> None:
    forged = bw.request("chef", settings={"start.from": "forged", "material.grade": "1095"})
    found = bw.place(forged, "leaf_spring")
    assert found.fits
    assert found.knife.core.code == bw.solve(forged).core.code
    assert found.write("never-made") == []
    assert found._repr_svg_() is None
    assert "Enough to forge from" in repr(found)


def test_the_galleys_set_lies_on_its_sheet(tmp_path: Path) -> None:
    found = bw.nest("galley_set", 0.4, workers=1)
    assert found.complete
    layout = found.report.layout
    assert faults_by_geos(layout) == []
    assert faults_by_clipper(layout) == []
    (sheet,) = found.data["sheets"]
    assert len(sheet["parts"]) == 4
    names = {path.name for path in found.write(tmp_path)}
    assert {"galley-set_1_cut_mm.dxf", "galley-set_layout_a4.pdf", "galley-set_offcuts.toml"} <= names
    mark = shapely.box(540, 172, 595, 195)
    assert all(
        shapely.Polygon(layout.outline(one).flattened(0.01)).distance(mark) > 1.99 for one in layout.sheets[0].laid
    )
    assert "<svg" in str(found._repr_svg_())
    assert "Galley set" in repr(found)
    with pytest.raises(RequestError, match="unknown word 'parts'"):
        found.write(tmp_path, files="parts")
