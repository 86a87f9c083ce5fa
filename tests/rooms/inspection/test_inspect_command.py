"""The command `inspect`: verdict in words and as data, picture, exit codes, and our own files."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from blankwright.base.errors import DesignError, RequestError
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.run import expected_size
from blankwright.inspection.verdict import Wanted, judge
from blankwright.proof.findings import CODES
from blankwright.shop.tables import process, processes
from rooms.design.cases import SOME_KINDS
from rooms.every import cases
from rooms.often import repeated, share
from truth import spoiled as s
from truth.test_spoiled_files import gap

pytestmark = repeated

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@repeated
@pytest.mark.parametrize(
    ("name", "construction", "way"), share([(*k, p.name) for k in SOME_KINDS for p in processes()], 16)
)
def test_our_own_files_are_fit_to_cut(name: str, construction: str, way: str, tmp_path: Path) -> None:
    changes: dict[str, object] = {"handle.construction": construction, "cutting.process": way}
    if "steel" in process(way).materials and "wood" not in process(way).materials:
        changes |= {"material.grade": "80CrV2", "material.thickness": "3 mm"}
    try:
        made = make(read_design(name, changes), tmp_path, (), True)
    except DesignError:
        pytest.skip("not to be had in this way")
    path = next(made.folder.glob("*.dxf"))
    wanted = Wanted(None, process(way), made.knife.design.stock.thickness_mm)
    verdict = judge(read_drawing(path.read_bytes(), path.name), wanted)
    told = [f for f in verdict.findings if f.level != "ok"]
    # the notch before a narrow tang, or one hardly rounder than the allowance and a cut, may close to a corner in it
    round_mm = made.knife.shape.values_mm.get("choil_radius", 0.0)
    left = made.knife.oversize.regions_mm
    if construction == "hidden" or round_mm <= max(left["heel"], left["tang"]) + process(way).kerf_mm.value:
        assert {(f.code, f.level) for f in told} <= {("INNER-RADIUS", "warning")}
        assert all(f"of design {made.knife.code}; in the allowance of that" in f.message for f in told)
    else:
        assert told == []
    assert verdict.size_mm == pytest.approx(made.knife.cut.size_mm, abs=1e-6)
    assert verdict.shapes[0].area_mm2 == pytest.approx(made.knife.cut.area_mm2, rel=1e-9)


@pytest.mark.parametrize("stamp", ["", "999\ndesign ABCD-1234\n"])
def test_a_comment_changes_no_level(stamp: str) -> None:
    """A notch of 38 mm with a sharp corner, in a file that says it is of a design and in one that does not."""
    notch = [(0, 0), (150, 0), (160, 38), (170, 0), (300, 0), (300, 60), (0, 60)]
    data = (stamp + s.sound(outline=s.light([(x, y, 0.0) for x, y in notch]), drilled="")).encode()
    told = [f for f in judge(read_drawing(data, "x.dxf"), Wanted(None, None, None)).findings if f.level != "ok"]
    assert [(f.code, f.level) for f in told] == [("INNER-RADIUS", "warning")]
    assert told[0].message.endswith("would be ground away.") == bool(stamp)


def test_a_spoiled_file_in_words(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    Path("x.dxf").write_text(s.sound(s.point(5, 5), outline=gap(0.05)))
    ran = command("inspect", "x.dxf")
    assert ran.code == 1
    assert ran.out.startswith("inspect x.dxf: 1 fault, 1 to look at\n")
    assert "  1 x CONTOUR-CLOSED" in ran.out
    assert "  2 ! POINTS" in ran.out
    inches = command("inspect", "x.dxf", "--units", "in").out
    assert "The part is 260.0 mm long and 32.1 mm high (10.24 x 1.26 in)." in inches  # both, to compare with an order
    assert "a gap of 0.00197 in" in inches


def test_as_data(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    Path("x.dxf").write_text(s.sound(outline=gap(0.05)))
    report = json.loads(command("inspect", "x.dxf", "--json").out)
    assert set(report) >= {"format", "file", "verdict", "release", "unit", "size_mm", "counts", "contours", "findings",
                           "mended", "files"}  # fmt: skip
    assert (report["format"], report["file"], report["verdict"]) == (1, "x.dxf", "error")
    assert (report["release"], report["unit"]) == ("R2000", "mm")
    assert {"closed", "outer", "area_mm2", "length_mm", "pieces", "bounds_mm"} <= set(report["contours"][0])
    assert [c["closed"] for c in report["contours"]] == [False, True, True]
    assert all({"code", "level", "message", "at_mm"} <= set(f) and f["code"] in CODES for f in report["findings"])


def test_the_picture_numbers_the_faults(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    Path("x.dxf").write_text(s.sound(s.point(5, 5) + s.circle(-40, 12, 5), outline=gap(0.05)))
    ran = command("inspect", "x.dxf", "--picture", "x.svg")
    assert "wrote x.svg" in ran.out
    root = ElementTree.fromstring(Path("x.svg").read_text())
    marks = root.find(f"{SVG}g[@class='marks']")
    assert marks is not None
    assert [t.text for t in marks.iter(f"{SVG}text")] == ["1", "2", "3"]
    words = [t.text or "" for t in root.iter(f"{SVG}text")]
    assert sum("CONTOUR-CLOSED" in w for w in words) == 1
    paths = root.find(f"{SVG}g[@class='contours']")
    assert paths is not None
    assert len(paths.findall(f"{SVG}path")) >= 3
    first, second = ElementTree.tostring(root), None
    command("inspect", "x.dxf", "--picture", "x.svg", "--force")
    second = ElementTree.tostring(ElementTree.fromstring(Path("x.svg").read_text()))
    assert first == second


def test_a_picture_of_names_that_could_do_harm(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    name = "<b>&\x1b[31m\x07"
    Path("x.dxf").write_text(s.sound(s.circle(-65, 12, 4, name), layers=("0",)))
    ran = command("inspect", "x.dxf", "--picture", "x.svg")
    assert "\x1b" not in ran.out
    ElementTree.fromstring(Path("x.svg").read_text())


@pytest.mark.parametrize("data", [b"", b"%PDF-1.4", b"\0" * 40, b"0\nSECTION\n"])
def test_what_is_no_drawing_gets_a_verdict_picture_and_no_copy(folder: Path, command: Callable, data: bytes) -> None:  # type: ignore[type-arg]
    Path("x.dxf").write_bytes(data)
    ran = command("inspect", "x.dxf", "--picture", "x.svg", "--mend", "y.dxf", "--json")
    report = json.loads(ran.out)
    assert (ran.code, report["verdict"], report["contours"]) == (1, "error", [])
    assert report["not_mended"]
    ElementTree.fromstring(Path("x.svg").read_text())


@pytest.mark.parametrize(
    "line",
    [
        ("gone.dxf",), (".",), ("x.dxf", "--expect", "345x60"), ("x.dxf", "--expect", "345mm"),
        ("x.dxf", "--expect", "0x60mm"), ("x.dxf", "--thickness", "3mm"), ("x.dxf", "--process", "lasr"),
        ("x.dxf", "--process", "laser", "--thickness", "3"), ("x.dxf", "--process", "laser", "--thickness", "0mm"),
        ("x.dxf", "--gap", "5mm"), ("x.dxf", "--gap", "-1mm"), ("x.dxf", "--units", "cm"),
    ],
)  # fmt: skip
def test_a_wrong_request_says_what_would_do(folder: Path, command: Callable, line: tuple[str, ...]) -> None:  # type: ignore[type-arg]
    Path("x.dxf").write_text(s.sound())
    ran = command("inspect", *line)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("blankwright: ")
    assert ran.err.count("\n") == 1


@cases(
    ("text", "long", "high", "within"),
    [
        ("345x60mm", 345, 60, 0.55), ("345.4 x 49.5 mm", 345.4, 49.5, 0.1), ("34.5cm x 60mm", 345, 60, 0.55),
        ("13.6x2in", 345.44, 50.8, 12.75), ("60mm x 345mm", 345, 60, 0.55),
    ],
)  # fmt: skip
def test_a_size_is_taken_to_the_digits_that_were_typed(text: str, long: float, high: float, within: float) -> None:
    size = expected_size(text)
    assert (size.length_mm, size.height_mm, size.within_mm) == pytest.approx((long, high, within))


def test_a_size_without_a_unit_is_refused() -> None:
    with pytest.raises(RequestError, match="345x60mm"):
        expected_size("345x60")
