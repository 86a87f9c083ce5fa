"""Several parts in one file: side by side, each proven from the file, one note; refused when they do not belong."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import shapely

import blankwright.desk.several as together
from blankwright.base.errors import ProofError, RequestError
from blankwright.base.library import templates_dir
from blankwright.cutting.delivery import deliver
from blankwright.cutting.dxf import CutFile, dxf_text
from blankwright.cutting.layout import gap_mm
from blankwright.design.request import read_design
from blankwright.geometry.outline import Outline, points_on
from blankwright.proof.reader import read_dxf
from blankwright.shop.services import service_from
from rooms.written import in_folder
from truth.services_by_hand import changed

SAME = {"material.thickness": "3 mm", "material.grade": "80CrV2", "cutting.process": "water-jet"}
OFF_MM = 2.5e-7
"""Coordinates stand on a grid of 1e-6 mm: moved by this, none lies half way between two steps of the joining here."""

STYLES = {
    "plain": changed("jet", {"file.parts": "together"}),
    "inches": changed("jet", {"file.parts": "together", "file.unit": "in"}),
    "exploded R12": changed("plasma", {"file.parts": "together", "process": "water-jet", "file.longest_name": 40}),
    "chords": changed("jet", {"file.parts": "together", "file.curves": "chords", "file.deviation": "0.02 mm"}),
}


def designs(*names: str):  # type: ignore[no-untyped-def]
    return [read_design(name, dict(SAME)) for name in names]


def along(vertices: np.ndarray) -> np.ndarray:
    """Return places along an open chain: of an arc its ends are not enough, it stands out between them."""
    t = np.linspace(0, 1, 33)[:-1]
    pieces = [
        points_on(np.tile(a[:2], (32, 1)), np.tile(b[:2], (32, 1)), np.full(32, a[2]), t) for a, b in pairwise(vertices)
    ]
    return np.concatenate([*pieces, vertices[-1:, :2]])


@pytest.mark.parametrize("style", STYLES)
def test_all_parts_are_in_one_file_with_room_between_them(tmp_path: Path, style: str) -> None:
    shop = service_from(STYLES[style], "shop.toml")
    made = together.cut_together(designs("chef", "paring"), tmp_path, shop, 2)
    assert sorted(p.name for p in in_folder(tmp_path / "together")) == [
        f"together_3mm_cut_{shop.unit}.dxf",
        "together_check_mm.pdf",
        "together_note.txt",
    ]
    assert [len(made.parts), len(made.works), len(made.reports)] == [4, 2, 2]
    path = tmp_path / "together" / f"together_3mm_cut_{shop.unit}.dxf"
    mm = 1.0 if shop.unit == "mm" else 25.4
    assert not ezdxf.readfile(path).audit().errors
    lines = [shapely.LineString(Outline(c.vertices).flattened(0.005 / mm) if c.closed else along(c.vertices))
             for c in read_dxf(path).contours]  # fmt: skip
    net = [shapely.LineString(np.round(np.vstack([line.coords, line.coords[0]]) + OFF_MM if shop.contours == "polyline"
           else np.array(line.coords) + OFF_MM, 5)) for line in lines]  # fmt: skip
    found = sorted(shapely.polygonize(net).geoms, key=lambda p: -p.bounds[1])
    wanted = [made.works[i].cut.area_mm2 for i in (0, 0, 1, 1)]
    assert [p.area * mm * mm for p in found] == pytest.approx(wanted, rel=5e-3)
    apart = [a.bounds[1] * mm - b.bounds[3] * mm for a, b in pairwise(found)]
    assert apart == pytest.approx([10.0] * 3, abs=0.02)
    assert [p.bounds[0] * mm for p in found] == pytest.approx(
        [found[0].bounds[0] * mm] * 4, abs=0.1
    )  # chords for the arcs of a butt


def test_thick_stock_lies_further_apart() -> None:
    """Twice the kerf of a water-jet, 1 mm, and twice 6 mm of steel (common practice)."""
    thick = dict(SAME) | {"material.thickness": "6 mm"}
    assert gap_mm([deliver(together.finish(read_design("chef", thick)))]) == pytest.approx(14.0)


def test_the_note_lists_every_part_with_size_holes_and_code(tmp_path: Path) -> None:
    shop = service_from(STYLES["plain"], "shop.toml")
    made = together.cut_together(designs("chef", "paring"), tmp_path, shop, 3)
    note = (tmp_path / "together" / "together_note.txt").read_text(encoding="ascii")
    for work, report in zip(made.works, made.reports, strict=True):
        assert f"3 x {work.design.name}, design {report['design_code']}." in note
        assert f"{work.cut.size_mm[0]:.1f} mm long" in note
        assert report["files"] == ["together_3mm_cut_mm.dxf", "together_note.txt", "together_check_mm.pdf"]
        assert not [c for c in report["checks"] if c["level"] == "error"]
    assert note.count("Holes ") == 2
    assert "6 in this file" in note
    assert max(map(len, note.splitlines())) <= 80
    assert not any(line != line.rstrip() for line in note.splitlines())


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"material.thickness": "2 mm"}, "thickness 3 mm and 2 mm"),
        ({"material.grade": "1084"}, "material 80CrV2"),
    ],
)
def test_parts_of_two_sheets_are_refused(tmp_path: Path, change: dict[str, object], said: str) -> None:
    other = read_design("paring", dict(SAME) | change)
    with pytest.raises(RequestError, match=f"chef and paring cannot be in one file: {said}"):
        together.cut_together([*designs("chef"), other], tmp_path, service_from(STYLES["plain"], "s.toml"), 1)
    assert list(tmp_path.iterdir()) == []


def test_too_many_parts_are_refused(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="at most 100"):
        together.cut_together(designs("chef", "paring"), tmp_path, service_from(STYLES["plain"], "s.toml"), 51)


def shifted_last(content: CutFile) -> CutFile:
    return replace(content, contours=(*content.contours[:-1], content.contours[-1].moved(0.0, -0.4)))


def lost_one(content: CutFile) -> CutFile:
    return replace(content, contours=content.contours[:-1])


def one_too_many(content: CutFile) -> CutFile:
    return replace(content, contours=(*content.contours, content.contours[0].moved(0.0, 200.0)))


def shrunk_second(content: CutFile) -> CutFile:
    x, y = content.contours[1].bounds_mm[:2]
    small = (content.contours[1].vertices - [x, y, 0]) * [1.0, 0.97, 1.0] + [x, y, 0]
    return replace(content, contours=(content.contours[0], Outline(small), *content.contours[2:]))


def hole_less(content: CutFile) -> CutFile:
    return replace(content, holes=content.holes[:-1])


@pytest.mark.parametrize("fault", [shifted_last, lost_one, one_too_many, shrunk_second, hole_less])
def test_a_fault_in_any_part_leaves_no_file_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.setattr(together, "dxf_text", lambda content: dxf_text(fault(content)))
    with pytest.raises(ProofError):
        together.cut_together(designs("chef", "paring"), tmp_path, service_from(STYLES["plain"], "s.toml"), 2)
    assert list(tmp_path.iterdir()) == []


def shop_file(tmp_path: Path) -> Path:
    text = (templates_dir() / "services" / "jet.toml").read_text(encoding="utf-8")
    path = tmp_path / "shop.toml"
    path.write_text(text.replace('parts = "one" ', 'parts = "together" '), encoding="utf-8")
    assert 'parts = "together" ' in path.read_text(encoding="utf-8")
    return path


def test_the_command_says_what_it_wrote(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    line = ["cut", "chef", "utility", "--service", shop_file(tmp_path), "--quantity", 2, "--out", tmp_path / "out"]
    ran = command(*line, "--set", "material.thickness=3mm")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.count("wrote ") == 3
    assert "4 parts in one file, each proven" in ran.out
    ran = command(*line, "--set", "material.thickness=3mm", "--json")
    assert [len(json.loads(ran.out)), ran.code] == [2, 0]


def test_one_design_alone_keeps_its_name(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    ran = command("cut", "chef", "--service", shop_file(tmp_path), "--quantity", 2, "--out", tmp_path / "out")
    assert ran.code == 0
    assert (tmp_path / "out" / "together" / "chef_3mm_cut_mm.dxf").is_file()


@pytest.mark.parametrize(
    ("words", "said"),
    [(("cut", "chef", "--with", "notes"), "no further layers"), (("make", "chef"), "Use blankwright cut DESIGN")],
)
def test_what_cannot_be_together_is_said(tmp_path: Path, command, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    ran = command(*words, "--service", shop_file(tmp_path), "--out", tmp_path / "out")
    assert ran.code == 2
    assert said in ran.err
    assert not (tmp_path / "out").exists()


def test_an_inspection_of_it_says_several_parts_and_nothing_of_their_drill_spots(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    shop = service_from(STYLES["exploded R12"] | {"process": "plasma-table"}, "shop.toml")
    works = [read_design(n, SAME | {"cutting.process": "plasma-table"}) for n in ("chef", "paring")]
    together.cut_together(works, tmp_path, shop, 1)
    ran = command("inspect", tmp_path / "together" / "together_3mm_cut_mm.dxf", "--json")
    found = [c["code"] for c in json.loads(ran.out)["findings"] if c["level"] == "error"]
    assert found == ["CONTOUR-COUNT"]
    file = tmp_path / "together" / "together_3mm_cut_mm.dxf"
    for parts, code in ((2, 0), (3, 1)):
        ran = command("inspect", file, "--parts", parts, "--json")
        assert ran.code == code
        (count,) = [c for c in json.loads(ran.out)["findings"] if c["code"] == "CONTOUR-COUNT"]
        assert (f"{parts} parts" in count["message"]) and (count["level"] == ("ok" if parts == 2 else "error"))
    assert command("inspect", file, "--parts", 0).code == 2
