"""What a careful library refuses is never fit to cut; and a small file made to take long is answered soon."""

from __future__ import annotations

import io
from functools import partial
from pathlib import Path

import ezdxf
import ezdxf.units
import numpy as np
import pytest

from blankwright.geometry.outline import Outline
from blankwright.inspection import budget
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.run import look, request
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.tables import process
from rooms.counting import calls_in
from rooms.every import cases
from truth import spoiled as s
from truth.careful import refusals

SOURCE = (
    "ezdxf, which reads strictly, as second opinion; DXF reference, 'Group code value types' and 'Subclass markers'"
)
GOOD = s.sound(box=s.box_of(s.BLADE))
OUTLINE = "100\nAcDbPolyline\n"


def spoil(old: str, new: str) -> str:
    assert old in GOOD
    return GOOD.replace(old, new, 1)


TABLES = "0\nSECTION\n2\nTABLES\n"
ROWS = "0\nTABLE\n2\nAPPID\n70\n1\n0\nAPPID\n100\nAcDbRegAppTableRecord\n2\nX\n70\n0\n0\nENDTAB\n"
END = "0\nEOF\n"
OBJECTS = "0\nSECTION\n2\nOBJECTS\n0\nDICTIONARY\n5\nA\n"
REFUSED = {
    "no subclass marker": spoil(OUTLINE, ""),
    "a colour that is a word": spoil(OUTLINE, f"62\nred\n{OUTLINE}"),
    "a thickness that is a word": spoil(OUTLINE, f"{OUTLINE}39\nthick\n"),
    "a line weight that is a word": spoil(OUTLINE, f"370\nfine\n{OUTLINE}"),
    "a layer's colour that is a word": spoil("62\n7\n", "62\nwhite\n"),
    "a header variable of two values": spoil("$INSUNITS\n70\n4\n", "$INSUNITS\n70\n4\n70\n1\n"),
    "a header variable of no value": spoil("$INSUNITS\n70\n4\n", "$INSUNITS\n"),
    "a section that does not end": spoil("0\nENDSEC\n", ""),
    "a section that never began": GOOD.replace("0\nSECTION\n2\nENTITIES\n", "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"),
    "a y that does not follow its x": spoil("10\n-40.0\n20\n12.0\n", "10\n-40.0\n39\n0\n20\n12.0\n"),
    "the end inside a section": GOOD.replace("0\nENDSEC\n0\nEOF\n", "0\nEOF\n"),
    "a variable without its sign": spoil("$INSUNITS", "INSUNITS"),
    "a variable begun twice": spoil("9\n$EXTMIN\n", "9\n$EXTMIN\n10\n0\n9\n$EXTMIN\n"),
    "a z without its place": spoil("9\n$EXTMAX\n", "9\n$EXTMAX\n30\n0\n"),
    "a row between the tables": spoil("0\nENDTAB\n", "0\nENDTAB\n0\nLAYER\n2\nX\n0\nENDTAB\n"),
    "a row without a name": spoil("0\nLAYER\n2\n0\n", "0\nLAYER\n"),
    "a section without a name": spoil("2\nTABLES\n", ""),
    "a number that is none in an object": spoil(END, f"{OBJECTS}172\nx\n0\nENDSEC\n{END}"),
    "bytes that are none": spoil("0\nLAYER\n", "0\nLAYER\n310\n0G\n"),
    "an x at the end of a row": spoil("0\nENDTAB\n", "10\n0\n0\nENDTAB\n"),
    "rows of a new release in an old file": spoil(TABLES, TABLES + ROWS).replace("AC1015", "AC1009"),
    "a row with its own marker alone": spoil(TABLES, TABLES + ROWS),
    "no marker of an entity": spoil("100\nAcDbEntity\n", ""),
    "objects without their dictionary": spoil(END, f"{OBJECTS}0\nENDSEC\n{END}").replace("DICTIONARY", "CLASS"),
    "a dictionary that leads to nothing": spoil(END, f"{OBJECTS}3\nACAD_GROUP\n350\n0\n0\nENDSEC\n{END}"),
    "a handle of no number": spoil("0\nLAYER\n", "0\nLAYER\n5\nXYZ\n"),
    "a table among the entities": spoil("0\nLWPOLYLINE\n", "0\nTABLE\n8\n0\n0\nLWPOLYLINE\n"),
    "a handle of nothing": spoil("0\nLAYER\n", "0\nLAYER\n5\n0\n"),
    "a second handle of nothing": spoil("0\nLAYER\n", "0\nLAYER\n5\n30\n5\n0\n"),
    "a row behind what a program added": spoil("0\nLAYER\n2\n0\n", "0\nLAYER\n1001\nX\n2\n0\n"),
    "a covered area without a size": spoil(
        "0\nLWPOLYLINE\n", "0\nWIPEOUT\n100\nAcDbEntity\n8\n0\n100\nAcDbWipeout\n90\n0\n10\n0\n20\n0\n0\nLWPOLYLINE\n"
    ),
    "a text of many lines without its marker": spoil(
        "0\nLWPOLYLINE\n", "0\nMTEXT\n100\nAcDbEntity\n8\n0\n10\n0\n20\n0\n40\n2\n1\nx\n0\nLWPOLYLINE\n"
    ),
    "hatching without its loops": spoil(
        "0\nLWPOLYLINE\n", "0\nHATCH\n100\nAcDbEntity\n8\n0\n100\nAcDbHatch\n2\nSOLID\n70\n1\n0\nLWPOLYLINE\n"
    ),
    "a layer's name in an embedded object": spoil("0\nLAYER\n", "0\nLAYER\n101\nEmbedded Object\n"),
    "a group that does not end": spoil("100\nAcDbEntity\n", "102\n{OURS\n100\nAcDbEntity\n"),
}
DOUBTFUL = {
    "closed, and not closed": (spoil("90\n5\n70\n1\n", "90\n5\n70\n1\n70\n0\n"), "group code 70 twice"),
    "two radii": (spoil("40\n2.5\n", "40\n2.5\n40\n3.5\n"), "group code 40 twice"),
    "a handle of 0": (spoil(OUTLINE, f"5\n0\n{OUTLINE}"), "no handle where group code 5 needs one"),
    "a handle that is none": (spoil(OUTLINE, f"5\nXYZ\n{OUTLINE}"), "no handle where group code 5 needs one"),
    "a handle behind a wide blank": (
        spoil(OUTLINE, f"5\n\u00a030\n{OUTLINE}"),
        "no handle where group code 5 needs one",
    ),
    "a row with one marker of two": (
        spoil("0\nLAYER\n2\n0\n", "0\nLAYER\n100\nAcDbSymbolTableRecord\n2\n0\n"),
        "not its own subclass marker",
    ),
    "a circle without its marker": (spoil("100\nAcDbCircle\n", ""), "no subclass marker"),
}


def verdict_on(data: str) -> Verdict:
    return judge(read_drawing(data.encode(), "x.dxf"), Wanted(None, process("water-jet"), 3.0))


@cases("name", REFUSED)
def test_what_a_careful_library_refuses_is_a_fault(name: str) -> None:
    with pytest.raises((ezdxf.DXFError, ValueError, IndexError, TypeError)):
        ezdxf.read(io.StringIO(REFUSED[name]))
    assert "FILE" in {f.code for f in verdict_on(REFUSED[name]).of("error")}


@cases("name", DOUBTFUL)
def test_what_readers_take_differently_is_a_fault(name: str) -> None:
    data, word = DOUBTFUL[name]
    assert any(word in f.message for f in verdict_on(data).of("error"))


def padded(word: str) -> str:
    return spoil(f"\n{word}\n", f"\n {word}\n")


RING = "".join(s.block(a, s.insert(b) + s.line(0, 0, 5, 5)) for a, b in ("AB", "BA"))
HATCH = s.tags(0, "HATCH", 8, "0", 2, "SOLID", 70, 1, 71, 0, 91, 0)
HIDES_NOTHING = {
    "a newer polyline in an old file, without its marker": s.sound(release="AC1009"),
    "a newer spline in a block that nothing places": s.sound(
        outline=s.heavy(s.BLADE), release="AC1009", blocks=s.block("B", s.spline([(0, 0), (1, 2), (3, 2), (4, 0)]))
    ),
    "hatching without its marker": s.sound(blocks=s.block("B", HATCH)).replace("100\nAcDbHatch\n", ""),
    "a block that stands in itself": s.sound(blocks=s.block("A", s.insert("A"))),
    "blocks that stand in each other": s.sound(blocks=RING),
    "a mark of its encoding": f"\ufeff{GOOD}",
    "a comment behind the mark": f"\ufeff999\na comment\n{GOOD}",
    "blanks behind every word": GOOD.replace("\n", "  \r\n"),
    "a blank behind a section's name": padded("ENTITIES"),
    "a blank behind a table's name": padded("LAYER"),
    "a blank behind a variable's name": padded("$ACADVER"),
}


@cases("name", HIDES_NOTHING)
def test_what_careful_readers_refuse_though_it_hides_nothing_is_a_fault_and_mended(name: str, tmp_path: Path) -> None:
    path, copy = tmp_path / "x.dxf", tmp_path / "m.dxf"
    path.write_bytes(HIDES_NOTHING[name].encode())
    assert refusals(path)
    asked = request(path, expect=None, process=None, stock=None, picture=None, mended=copy, gap="0mm", force=False)
    verdict = look(asked).verdict
    assert ["refuse" in f.message for f in verdict.of("error")] == [True]
    long, high = verdict.size_mm or (0, 0)
    x0, y0, x1, y1 = s.box_of(s.BLADE)
    assert (long, high) == pytest.approx((x1 - x0, y1 - y0), abs=0.001)
    assert refusals(copy) == []


@pytest.mark.parametrize("count", ["", "90\n4\n"], ids=["none", "too few"])
def test_a_polyline_says_before_its_vertices_how_many_it_has(count: str, tmp_path: Path) -> None:
    """DXF reference, LWPOLYLINE, group code 90; GDAL refuses more vertices than it was told of."""
    path = tmp_path / "x.dxf"
    path.write_text(spoil(f"{OUTLINE}90\n5\n", f"{OUTLINE}{count}"))
    assert "Too many vertices" in "".join(refusals(path))
    assert verdict_on(path.read_text()).of("error")


def test_codes_in_the_groups_that_programs_add_may_repeat() -> None:
    added = "102\n{OURS\n70\n1\n70\n2\n102\n}\n"
    assert verdict_on(spoil(OUTLINE, added + OUTLINE)).level == "ok"
    assert verdict_on(spoil("40\n2.5\n", "40\n2.5\n1001\nOURS\n1070\n1\n1070\n2\n")).level == "ok"


@cases("release", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_every_release_of_a_careful_writer_is_fit_to_cut(release: str) -> None:
    doc = ezdxf.new(release)
    doc.units = ezdxf.units.MM
    space = doc.modelspace()
    rows = [(x, y, bulge) for x, y, bulge in s.BLADE]
    add = space.add_polyline2d if release == "R12" else space.add_lwpolyline
    add(rows, format="xyb", close=True)
    space.add_circle((-40, 12), 2.5)
    stream = io.StringIO()
    doc.write(stream)
    verdict = verdict_on(stream.getvalue())
    told = {(f.code, f.level) for f in verdict.findings if f.level != "ok"}
    assert told <= {("EXTENTS", "warning"), ("UNIT", "warning")}, "that library sets no extents, and R12 names no unit"
    assert (("UNIT", "warning") in told) == (release == "R12")
    assert verdict.shapes[0].area_mm2 == pytest.approx(Outline(np.array(s.BLADE)).area_mm2, rel=1e-9)


def test_a_wide_polyline_is_told() -> None:
    verdict = verdict_on(spoil("90\n5\n70\n1\n", "90\n5\n70\n1\n43\n5\n"))
    assert [(f.code, f.level) for f in verdict.findings if f.level != "ok"] == [("CONTENT", "warning")]


@cases("wide_mm", [40_000.0, 9e8, 2e9])
def test_what_no_table_takes_is_no_part(wide_mm: float) -> None:
    assert verdict_on(s.document(s.light(s.scaled(s.BLADE, wide_mm / 260)))).level == "error"


def grid(name: str, columns: int, rows: int) -> str:
    return s.insert(name).replace("50\n0\n", f"50\n0\n70\n{columns}\n71\n{rows}\n44\n1\n45\n1\n")


HOSTILE = {
    "an empty block in blocks, 100 x 100 each": (
        s.document(
            grid("A", 100, 100),
            blocks=s.block("A", grid("B", 100, 100)) + s.block("B", grid("C", 100, 100)) + s.block("C", ""),
        ),
        1.1,
    ),
    "300 inserts of 9,999 copies": (
        s.document(grid("A", 99, 101) * 300, blocks=s.block("A", s.line(0, 0, 1, 1))),
        4.0,
    ),
    "500 ellipses of radius 1e8": (s.document("".join(s.ellipse(10 * k, 0, (1e8, 0), 0.5) for k in range(500))), 1.2),
    "2,000 layers": (s.document("".join(s.line(0, k, 300, 60 - k / 9, f"L{k}") for k in range(2000))), 3.0),
}
"""Files, and the most millions of calls for each at a fifth of the budget: about twice what they take."""


@pytest.mark.parametrize("name", HOSTILE)
def test_one_budget_ends_what_was_made_to_take_long(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(budget, "WHOLE", budget.WHOLE / 5)
    data, most = HOSTILE[name]
    calls = calls_in(partial(verdict_on, data))
    print(f"{name}: {calls / 1e6:.2f} million calls, {len(data)} bytes")
    assert calls < most * 1e6
