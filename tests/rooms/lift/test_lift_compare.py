"""A ground blade held against its design: deviations that were planted are found, with place and amount."""

from __future__ import annotations

import json
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely

import blankwright as bw
from blankwright.base.errors import RequestError
from blankwright.commands.cli import _run
from blankwright.geometry.outline import Outline
from blankwright.lift.compare import best_lie, lay_of
from blankwright.lift.offness import Line, signed_mm
from blankwright.lift.stretches import differences
from rooms.design.cases import solved
from rooms.lift.scans import Scan, drawn, saved

SIZES = ["--set", "blade.length=205mm", "--set", "blade.heel_height=46mm", "--set", "handle.length=118mm"]


@pytest.fixture(scope="module")
def drawing() -> Outline:
    return bw.solve("chef", blade_length_mm=205, heel_height_mm=46, handle_length_mm=118).finished


def _proud(drawing: Outline, by_mm: float = 0.4) -> np.ndarray:
    """Return the outline as lines, with the spine proud from 60 to 90 mm ahead of the heel."""
    points, piece = drawing.sampled(0.2)
    out = Line(drawing).off(points)[1]
    on = (np.array(drawing.regions)[piece] == "spine") & (points[:, 0] > 60) & (points[:, 0] < 90)
    return points + out * (by_mm * on)[:, None]


def _short_tip(drawing: Outline, by_mm: float = 0.2) -> np.ndarray:
    """Return the outline as lines, with the tip cut off upright (GEOS)."""
    whole = shapely.Polygon(drawing.flattened(0.002))
    cut = whole.intersection(shapely.box(-500, -200, drawing.bounds_mm[2] - by_mm, 300))
    return np.array(shapely.geometry.polygon.orient(cut).exterior.coords)[:-1]


def _dxf(points: np.ndarray, path: Path) -> Path:
    file = ezdxf.new("R2000", units=4)
    file.modelspace().add_lwpolyline(points.tolist(), close=True)
    file.saveas(path)
    return path


def _outline(points: np.ndarray) -> Outline:
    return Outline(np.column_stack([points, np.zeros(len(points))]), ("spine",) * len(points), 0.0)


def test_planted_deviations_are_found(tmp_path: Path, drawing: Outline, capsys: pytest.CaptureFixture[str]) -> None:
    """A spine 0.4 mm proud from 60 to 90 mm, and a tip 0.2 mm short, each with its place, amount and exit code."""
    proud = _dxf(_proud(drawing), tmp_path / "proud.dxf")
    assert _run(["compare", "chef", str(proud), *SIZES, "--out", str(tmp_path), "--json"]) == 0  # left can be ground
    report = json.loads(capsys.readouterr().out)
    (place,) = report["places"]
    assert place["region"] == "spine" and place["mm"] == pytest.approx(0.4, abs=0.03)
    assert place["from_mm"] == pytest.approx(60, abs=1) and place["to_mm"] == pytest.approx(90, abs=1)
    assert report["over_mm"] == pytest.approx(0.4, abs=0.03) and report["short_mm"] < 0.03
    tip = _dxf(_short_tip(drawing), tmp_path / "tip.dxf")
    assert _run(["compare", "chef", str(tip), *SIZES, "--out", str(tmp_path)]) == 1
    told = capsys.readouterr().out
    assert "0.2 mm short at the tip: cannot be put back." in told and "left" not in told


def test_several_blades_make_a_table(tmp_path: Path, drawing: Outline, capsys: pytest.CaptureFixture[str]) -> None:
    """Laid by heel and edge, two blades are two rows and two pictures; one that is short makes the exit code 1."""
    files = [_dxf(_proud(drawing), tmp_path / "one.dxf"), _dxf(_short_tip(drawing), tmp_path / "two.dxf")]
    words = ["compare", "chef", *map(str, files), *SIZES, "--lay", "heel", "--out", str(tmp_path)]
    assert _run(words) == 1
    rows = capsys.readouterr().out.splitlines()
    assert "0.4 mm left on the spine 60 to 90 mm ahead of the heel." in rows[1] and "at the tip" in rows[2]
    for name in ("one", "two"):
        picture = (tmp_path / "chef" / f"chef_compare_{name}.svg").read_text(encoding="utf-8")
        assert "left (outward)" in picture and "short (inward)" in picture and "tenth of a millimetre" in picture
    assert _run(words) == 2  # pictures that are there stay
    assert "--force" in capsys.readouterr().err


def test_a_blade_that_lies_anyhow_is_laid_on(drawing: Outline) -> None:
    """Turned and shifted, with a proud spine and a nick, it is laid back to where it was within 0.01 mm."""
    points = _proud(drawing, 0.6)
    turned = _outline(points).placed(1.5, 3.0, -2.0)
    laid = best_lie(drawing, turned)
    back = laid.points(turned.starts)
    assert np.abs(back - points).max() < 0.01


def test_distances_are_those_of_another_library(drawing: Outline) -> None:
    """What is left and short is what GEOS measures between the two lines, both ways."""
    points = _short_tip(drawing, 1.0)
    found = differences(drawing, _outline(points))
    rings = shapely.LinearRing(drawing.flattened(0.001)), shapely.LinearRing(points)
    assert max(found.over_mm, found.short_mm) == pytest.approx(shapely.hausdorff_distance(*rings), abs=0.01)
    spots = np.array([[100.0, -3.0], [100.0, 10.0], [210.0, 17.0], [-60.0, 60.0]])
    area = shapely.Polygon(rings[0])
    for spot, mine in zip(spots, signed_mm(drawing, spots), strict=True):
        point = shapely.Point(spot)
        sign = -1 if area.contains(point) else 1
        assert mine == pytest.approx(sign * rings[0].distance(point), abs=0.002)


def test_another_thing_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A square is no chef's knife; and there are two ways to lay a blade."""
    square = _dxf(np.array([[0, 0], [300, 0], [300, 150], [0, 150.0]]), tmp_path / "square.dxf")
    assert _run(["compare", "chef", str(square), "--out", str(tmp_path)]) == 2
    assert "another thing" in capsys.readouterr().err
    with pytest.raises(RequestError, match="heel"):
        lay_of("heal")


def test_each_blade_has_a_length_of_its_own(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What a length was taken for is told; one blade's own is not held against two, what was measured beside it is."""
    outline = solved("paring", "full", "default").finished
    files = [
        str(saved(drawn([outline.flattened(0.005)], Scan(dpi=150, seed=seed)), tmp_path / f"{seed}.png", 150))
        for seed in (1, 2)
    ]
    long, high = outline.size_mm
    own = ["--measured-x", f"{long:.2f}mm", "--measured-y", f"{high:.2f}mm", "--out", str(tmp_path / "own")]
    assert _run(["compare", "paring", *files, *own]) == 2
    told = capsys.readouterr()
    assert told.out == "" and "2 pictures (1.png, 2.png). Each blade has its own" in told.err
    assert not (tmp_path / "own").exists()
    assert _run(["compare", "paring", files[0], *own]) == 0
    assert "--measured-x was taken for the length of the thing" in capsys.readouterr().out
    assert _run(["compare", "paring", *files, "--measured-x", "100.2mm", "--out", str(tmp_path), "--json"]) == 0
    for one in json.loads(capsys.readouterr().out):
        assert one["notes"][0].startswith("--measured-x was taken for what 100 mm measure")
