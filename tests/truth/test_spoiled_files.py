"""Files spoiled in every way that cutting services complain of: each fault named, in its place, and no other."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

from blankwright.inspection.entities import read_drawing
from blankwright.inspection.sizing import WantedSize
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.tables import process
from rooms.every import cases
from truth import spoiled as s

SOURCE = (
    "DXF reference (R12, R2000): group codes, entities, header variables. What counts as a fault: cutting services' "
    "guides for files, common practice (closed contours, none twice, no crossing, no 3-way joint, arcs instead of "
    "splines, no text, no block, unit named)"
)
TOLERANCE_MM = 0.5
REASON = "A mark has to lead the eye to the place on a screen or print; half a millimetre does."

Place = tuple[float, float] | None
PLAIN = Wanted(None, None, None)


@dataclass(frozen=True)
class Case:
    """A spoiled file and what must be said of it: code, level and place."""

    name: str
    data: str | bytes
    faults: tuple[tuple[str, str, Place], ...]
    wanted: Wanted = PLAIN


def gap(mm: float) -> str:
    """Return the blade with a gap at the butt's lower corner."""
    rows = [*s.BLADE, (-110.0, mm, 0.0)]
    return s.light([(x, y, b) for x, y, b in rows], closed=False)


def expecting(long: float, high: float) -> Wanted:
    return Wanted(WantedSize(long, high, 0.5), None, None)


def cut_by(name: str, mm: float) -> Wanted:
    return Wanted(None, process(name), mm)


def text(kind: str, x: float, y: float, layer: str = "0") -> str:
    marker = (100, "AcDbEntity", 100, "AcDbMText") if kind == "MTEXT" else ()
    return s.tags(0, kind, *marker, 8, layer, 10, x, 20, y, 40, 3.5, 1, "210 mm")


def notch() -> list[s.Row]:
    """Return the blade with a sharp square notch in its underside."""
    return [s.BLADE[0], (-60.0, -0.9, 0.0), (-60.0, 4.0, 0.0), (-50.0, 4.0, 0.0), (-50.0, -1.1, 0.0), *s.BLADE[1:]]


LOOSE = s.pieces(s.BLADE)
SPINE = [(150.0, 25.0), (90.0, 33.0), (30.0, 33.0), (-20.0, 30.0)]
WITH_SPLINE = s.spline(SPINE) + "".join(LOOSE[k] for k in (0, 1, 3, 4))
KNOT = [(-110.0, 0.0, 0.0), (0.0, 0.0, 0.0), (0.0, 30.0, 0.0), (-55.0, -10.0, 0.0), (-110.0, 30.0, 0.0)]
MIRRORED = s.light([(-x, y, -b) for x, y, b in s.BLADE], extra=s.tags(210, 0, 220, 0, 230, -1))
GOOD = s.sound(box=s.box_of(s.BLADE))

CASES = [
    # the file itself
    Case("empty", b"", (("FILE", "error", None),)),
    Case("blank lines", b"\n\n  \n", (("FILE", "error", None),)),
    Case("an SVG", b'<?xml version="1.0"?>\n<svg xmlns="x"></svg>', (("FILE", "error", None),)),
    Case("a PDF", b"%PDF-1.4\n1 0 obj", (("FILE", "error", None),)),
    Case("a DWG", b"AC1015\0\0\0\0\0\0 more", (("FILE", "error", None),)),
    Case("binary form", b"AutoCAD Binary DXF\r\n\x1a\x00" + b"\0" * 90, (("FILE", "error", None),)),
    Case("UTF-16", GOOD.encode("utf-16"), (("FILE", "error", None),)),
    Case("prose", b"dear shop,\nplease cut this knife\n", (("FILE", "error", None),)),
    Case("no end mark", s.sound(end=False), (("FILE", "error", None),)),
    Case(
        "cut short in the outline",
        GOOD[: GOOD.index("LWPOLYLINE") + 120],
        (("FILE", "error", None), ("CONTOUR-COUNT", "error", None)),
    ),
    Case("a number that is none", s.sound(s.line(0, 5, 1, 6).replace("1\n", "1,5\n", 1)), (("FILE", "error", None),)),
    Case(
        "a radius that is nan",
        s.sound(s.tags(0, "CIRCLE", 8, "0", 10, 1, 20, 1, 40, "nan")),
        (("FILE", "error", None),),
    ),
    Case("a huge number", s.sound(s.line(0, 5, 1e300, 6)), (("FILE", "error", None),)),
    # unit and size
    Case("no unit", s.sound(insunits=None, measurement=None), (("UNIT", "error", None),)),
    Case("unitless", s.sound(insunits=0), (("UNIT", "error", None),)),
    Case(
        "no unit in R12",
        s.sound(outline=s.heavy(s.BLADE), insunits=None, measurement=None, release="AC1009"),
        (("UNIT", "warning", None),),
    ),
    Case("units contradict", s.sound(measurement=0), (("UNIT", "warning", None),)),
    Case("centimetres", s.document(s.light(s.scaled(s.BLADE, 0.1)), insunits=5), (("UNIT", "warning", None),)),
    *(
        Case(
            f"{factor:.4g} times as large, {'expected' if told else 'not told'}",
            s.document(s.light(s.scaled(s.BLADE, factor))),
            # a named unit stands, unless the part could not be cut at all in it; nothing that follows is told beside it
            (("UNIT", "error" if told or factor in {0.001, 1000.0} else "warning", None),),
            expecting(260.0, 32.1) if told else PLAIN,
        )
        for factor, told in (
            (1 / 25.4, False),
            (25.4, False),
            (0.1, False),
            (10.0, False),
            (0.001, False),
            (1000.0, False),
            (96 / 25.4, False),
            (1 / 25.4, True),
            (25.4, True),
            (0.1, True),
            (10.0, True),
            (0.001, True),
            (96 / 25.4, True),
            (25.4 / 96, True),
        )
    ),
    Case("not the expected size", GOOD, (("SIZE", "error", None),), expecting(240.0, 32.1)),
    # contours
    Case("a gap of 0.05 mm", s.sound(outline=gap(0.05)), (("CONTOUR-CLOSED", "error", (-110, 0.025)),)),
    Case("a gap of 4 mm", s.sound(outline=gap(4.0)), (("CONTOUR-CLOSED", "error", (-110, 2.0)),)),
    Case("a piece is missing", s.sound(outline="".join(LOOSE[1:])), (("CONTOUR-CLOSED", "error", (-55, -1)),)),
    Case("drawn twice", s.sound(s.light(s.BLADE)), (("DOUBLED", "error", None),)),
    Case("a hole twice", s.sound(s.circle(-40, 12, 5)), (("DOUBLED", "error", (-40, 12)),)),
    Case("one line twice", s.sound(LOOSE[4]), (("DOUBLED", "error", (-110, 12)),)),
    Case("part of a line twice", s.sound(s.line(-110, 5, -110, 15)), (("DOUBLED", "error", (-110, 10)),)),
    Case(
        "lines that run over each other",
        s.sound(outline="".join(LOOSE[1:4]) + s.line(-110, 24, -110, 8) + s.line(-110, 14, -110, 0) + LOOSE[0]),
        (("DOUBLED", "error", (-110, 11)),),
    ),
    Case("a loose arc over the edge", s.sound(LOOSE[1]), (("DOUBLED", "error", None),)),
    Case(
        "a knot",
        s.sound(outline=s.light(KNOT), drilled=""),
        (("CROSSING", "error", (-41.25, 0)), ("INNER-RADIUS", "warning", None)),
    ),
    Case("a hole across the edge", s.sound(s.circle(-60, -1, 8)), (("CROSSING", "error", (-64, -1)),)),
    Case("two holes across each other", s.sound(s.circle(-43, 12, 5)), (("CROSSING", "error", (-41.5, 14)),)),
    Case(
        "three ends meet",
        s.sound(outline="".join(LOOSE) + s.line(-110, 0, -80, 10)),
        (("JOINT", "error", (-110, 0)), ("CONTOUR-CLOSED", "error", (-80, 10))),
    ),
    Case("a hole beside the part", s.sound(s.circle(-60, -40, 5)), (("NESTED", "error", (-60, -40)),)),
    Case("a ring in a hole", s.sound(s.circle(-65, 12, 14) + s.circle(-65, 12, 4)), (("NESTED", "error", (-65, 12)),)),
    Case(
        "a spot beside the part",
        s.sound(s.point(-60, 60, "DRILL"), layers=("0", "DRILL")),
        (("NESTED", "error", (-60, 60)),),
    ),
    Case(
        "two parts",
        s.sound(s.light([(x * 0.9, y * 0.9 + 50, b) for x, y, b in s.BLADE]), box=None),
        (("CONTOUR-COUNT", "error", (18, 62.65)),),
    ),
    Case(
        "nothing to cut", s.document(s.point(1, 1, "DRILL"), layers=("0", "DRILL")), (("CONTOUR-COUNT", "error", None),)
    ),
    # pieces
    Case("a line of no length", s.sound(s.line(3, 10, 3, 10)), (("SHORT-PIECE", "error", (3, 10)),)),
    Case(
        "a vertex twice",
        s.sound(outline=s.light([*s.BLADE[:3], (-20.0, 30.0, 0.0), *s.BLADE[3:]])),
        (("SHORT-PIECE", "error", (-20, 30)),),
    ),
    Case(
        "a piece of 0.005 mm",
        s.sound(outline=s.light([*s.BLADE, (-110.0, 0.005, 0.0)])),
        (("SHORT-PIECE", "warning", (-110, 0)),),
    ),
    Case(
        "a piece of 0.002 mm",
        s.sound(outline=s.light([*s.BLADE, (-110.0, 0.002, 0.0)])),
        (("SHORT-PIECE", "error", (-110, 0)),),
    ),
    Case("curves as lines", s.sound(outline=s.light(s.flattened(s.BLADE))), (("FLATTENED", "warning", None),)),
    Case(
        "thousands of lines",
        s.sound(outline=s.light(s.flattened(s.BLADE, 0.04))),
        (("FLATTENED", "warning", None), ("PIECES", "warning", None)),
    ),
    Case("a round polygon", s.sound(s.light(s.polygon(-65, 12, 6, 16))), (("ROUND", "warning", (-65, 12)),)),
    Case("a spline", s.sound(outline=WITH_SPLINE, box=None), (("SPLINE", "error", (150, 25)),)),
    Case(
        "a spline of fit points",
        s.sound(
            outline=s.tags(0, "SPLINE", 8, "0", 70, 8, 71, 3, 74, 4)
            + "".join(s.tags(11, x, 21, y) for x, y in SPINE)
            + "".join(LOOSE[k] for k in (0, 1, 3, 4)),
            box=None,
        ),
        (("SPLINE", "error", (150, 25)),),
    ),
    Case(
        "a spline with too few knots",
        s.sound(s.spline(SPINE).replace("40\n1\n", "", 1)),
        (("SPLINE", "error", None),),
    ),
    Case("an ellipse", s.sound(s.ellipse(-65, 12, (4, 0), 0.5)), (("ELLIPSE", "error", (-61, 12)),)),
    Case("a sharp inner corner", s.sound(outline=s.light(notch())), (("INNER-RADIUS", "warning", (-60, 4)),)),
    # what does not belong there
    Case("text", s.sound(text("TEXT", 10, 10)), (("TEXT", "error", (10, 10)),)),
    Case(
        "text on a layer of its own",
        s.sound(text("MTEXT", 10, 10, "NOTES"), layers=("0", "NOTES")),
        (("TEXT", "warning", (10, 10)),),
    ),
    Case("a dimension", s.sound(text("DIMENSION", 10, -10)), (("TEXT", "error", (10, -10)),)),
    Case(
        "hatching",
        s.sound(s.tags(0, "HATCH", 8, "0", 10, 0, 20, 0, 2, "SOLID", 91, 0)),
        (("HATCH", "error", (0, 0)),),
    ),
    Case("a filled area", s.sound(s.tags(0, "SOLID", 8, "0", 10, 1, 20, 2)), (("HATCH", "error", (1, 2)),)),
    Case(
        "the outline in a block",
        s.document(s.insert("KNIFE"), blocks=s.block("KNIFE", s.light(s.BLADE) + s.holes())),
        (("BLOCK", "error", (0, 0)),),
    ),
    Case(
        "a block that nothing places", s.sound(blocks=s.block("OLD", s.light(s.BLADE))), (("BLOCK", "warning", None),)
    ),
    Case("a block that is missing", s.sound(s.insert("GONE")), (("FILE", "error", None), ("BLOCK", "warning", (0, 0)))),
    Case(
        "a block in itself",
        s.sound(s.insert("A"), blocks=s.block("A", s.insert("A"))),
        (("FILE", "error", None), ("BLOCK", "warning", (0, 0))),
    ),
    Case(
        "a hole stretched in a block",
        s.sound(s.insert("H", -65, 12, sx=2), blocks=s.block("H", s.circle(0, 0, 4))),
        (("BLOCK", "error", (-65, 12)), ("ELLIPSE", "error", (-65, 12))),
    ),
    Case("a face in space", s.sound(s.tags(0, "3DFACE", 8, "0", 10, 1, 20, 2, 30, 3)), (("THREE-D", "error", (1, 2)),)),
    Case(
        "a line that rises",
        s.sound(
            outline="".join(LOOSE[:4]) + s.tags(0, "LINE", 8, "0", 10, -110, 20, 24, 30, 0, 11, -110, 21, 0, 31, 5)
        ),
        (("THREE-D", "error", (-110, 24)),),
    ),
    Case(
        "drawn in a tilted plane",
        s.sound(s.circle(-65, 12, 4) + s.tags(210, 1, 220, 0, 230, 0)),
        (("THREE-D", "error", (-65, 12)),),
    ),
    Case("drawn from below", s.sound(outline=MIRRORED), (("THREE-D", "error", None),)),
    Case(
        "all of it at z 20",
        s.sound(outline=s.heavy(s.BLADE, z=20.0), drilled="", release="AC1009"),
        (("THREE-D", "warning", None),),
    ),
    Case("a mesh", s.sound(s.heavy(s.BLADE, flags=64)), (("THREE-D", "error", None),)),
    Case(
        "only on paper",
        s.document(s.light(s.BLADE, extra=s.tags(67, 1))),
        (("LAYOUT", "error", None), ("CONTOUR-COUNT", "error", None)),
    ),
    Case("a frame on paper", s.sound(s.line(0, 0, 300, 0) + s.tags(67, 1)), (("LAYOUT", "warning", None),)),
    Case(
        "a picture",
        s.sound(s.tags(0, "IMAGE", 8, "0", 10, 1, 20, 2, 13, 40, 23, 30)),
        (("CONTENT", "error", (1, 2)),),
    ),
    Case(
        "an endless line",
        s.sound(s.tags(0, "XLINE", 8, "0", 10, 1, 20, 2, 11, 1, 21, 0)),
        (("CONTENT", "error", (1, 2)),),
    ),
    Case(
        "a kind nobody knows", s.sound(s.tags(0, "ACME_THING", 8, "0", 10, 1, 20, 2)), (("CONTENT", "error", (1, 2)),)
    ),
    Case(
        "a light polyline in R12",
        s.sound(release="AC1009"),
        (("CONTENT", "warning", (-110, 0)), ("FILE", "error", None)),
    ),
    Case("a layer not declared", s.sound(outline=s.light(s.BLADE, "PROFILE")), (("LAYERS", "warning", (-110, 0)),)),
    Case(
        "a layer switched off",
        s.sound(s.circle(-65, 12, 4, "OLD"), layers=("0", "OLD"), off=("OLD",)),
        (("LAYERS", "error", (-65, 12)),),
    ),
    Case(
        "a layer frozen",
        s.sound(s.circle(-65, 12, 4, "OLD"), layers=("0", "OLD"), frozen=("OLD",)),
        (("LAYERS", "error", (-65, 12)),),
    ),
    Case(
        "a centre line",
        s.sound(s.line(-120, 10, 160, 10, "CENTER"), layers=("0", "CENTER"), box=None),
        (("LAYERS", "warning", (-120, 10)),),
    ),
    Case("a stray point", s.sound(s.point(5, 5)), (("POINTS", "warning", (5, 5)),)),
    Case("extents not set", s.sound(box=(1e20, 1e20, -1e20, -1e20)), (("EXTENTS", "warning", None),)),
    Case("extents of another drawing", s.sound(box=(0, 0, 10, 10)), (("EXTENTS", "warning", None),)),
    # process and stock
    Case(
        "a hole too small", s.sound(s.circle(-65, 12, 1)), (("HOLE-SIZE", "error", (-65, 12)),), cut_by("water-jet", 3)
    ),
    Case("holes by saw", s.sound(), (("HOLE-SIZE", "error", (-40, 12)),), cut_by("saw", 3)),
    Case("a thin wall", s.sound(s.circle(-65, 3, 5.5)), (("WALL", "warning", (-65, 3)),), cut_by("water-jet", 3)),
    Case(
        "a wall about to break",
        s.sound(s.circle(-65, 2.5, 5.5)),
        (("WALL", "error", (-65, 2.5)),),
        cut_by("water-jet", 3),
    ),
    Case("holes too near", s.sound(s.circle(-34.4, 12, 5)), (("WALL", "error", (-34.4, 12)),), cut_by("water-jet", 3)),
    Case(
        "an inner bend too tight",
        s.sound(
            outline=s.light(
                [
                    s.BLADE[0],
                    (-60.0, -0.9, 0.0),
                    (-59.5, -0.4, -1.0),
                    (-59.0, -0.4, 0.0),
                    (-58.5, -0.9, 0.0),
                    *s.BLADE[1:],
                ]
            )
        ),
        (("INNER-RADIUS", "warning", None),),
        cut_by("water-jet", 3),
    ),
    # several at once
    Case(
        "five faults at once",
        s.sound(s.circle(-40, 12, 5) + s.point(5, 5) + text("TEXT", 10, 10) + s.line(3, 9, 3, 9), outline=gap(0.05)),
        (
            ("DOUBLED", "error", (-40, 12)),
            ("POINTS", "warning", (5, 5)),
            ("TEXT", "error", (10, 10)),
            ("SHORT-PIECE", "error", (3, 9)),
            ("CONTOUR-CLOSED", "error", (-110, 0.025)),
        ),
    ),
    Case(
        "loose, doubled, gapped and crossing",
        s.sound("".join(LOOSE[2:3]) + s.circle(-60, -1, 8), outline=gap(0.3), insunits=None),
        (
            ("UNIT", "error", None),
            ("DOUBLED", "error", None),
            ("CROSSING", "error", (-64, -1)),
            ("CONTOUR-CLOSED", "error", (-110, 0.15)),
        ),
    ),
    Case(
        "a spline, an open end and a block",
        s.sound(
            s.insert("H"),
            outline=WITH_SPLINE[
                : WITH_SPLINE.rindex("  0\nLINE") if "  0\nLINE" in WITH_SPLINE else WITH_SPLINE.rindex("0\nLINE")
            ],
            box=None,
            blocks=s.block("H", s.circle(-65, 12, 4)),
        ),
        (("SPLINE", "error", None), ("CONTOUR-CLOSED", "error", (-110, 12)), ("BLOCK", "error", None)),
    ),
]


def verdict_on(data: str | bytes, wanted: Wanted = PLAIN) -> Verdict:
    return judge(read_drawing(data.encode() if isinstance(data, str) else data, "from_anywhere.dxf"), wanted)


def told(verdict: Verdict) -> list[str]:
    return [f"{f.level} {f.code} {f.at_mm}: {f.message}" for f in verdict.findings if f.level != "ok"]


def test_there_are_enough_spoiled_files_and_every_code_is_among_them() -> None:
    assert len(CASES) >= 40
    assert len({c.name for c in CASES}) == len(CASES)
    codes = {fault[0] for case in CASES for fault in case.faults}
    assert codes == {
        "FILE",
        "UNIT",
        "SIZE",
        "CONTOUR-CLOSED",
        "DOUBLED",
        "CROSSING",
        "JOINT",
        "NESTED",
        "CONTOUR-COUNT",
        "SHORT-PIECE",
        "PIECES",
        "FLATTENED",
        "ROUND",
        "SPLINE",
        "ELLIPSE",
        "INNER-RADIUS",
        "TEXT",
        "HATCH",
        "BLOCK",
        "THREE-D",
        "LAYOUT",
        "CONTENT",
        "LAYERS",
        "POINTS",
        "EXTENTS",
        "HOLE-SIZE",
        "WALL",
    }


@cases("case", CASES, ids=lambda c: c.name)
def test_every_fault_is_named_in_its_place_and_no_other(case: Case) -> None:
    verdict = verdict_on(case.data, case.wanted)
    found = [f for f in verdict.findings if f.level != "ok"]
    assert {(f.code, f.level) for f in found} == {(code, level) for code, level, _ in case.faults}, told(verdict)
    for code, level, place in case.faults:
        if place is None:
            continue
        places = [f.at_mm for f in found if f.code == code and f.level == level and f.at_mm is not None]
        assert places, f"{code} has no place"
        assert min(math.dist(p, place) for p in places) < TOLERANCE_MM, (code, places)


def test_a_gap_is_told_with_its_size() -> None:
    (fault,) = [f for f in verdict_on(s.sound(outline=gap(0.05))).findings if f.code == "CONTOUR-CLOSED"]
    assert "0.0500 mm" in fault.message


@cases(("factor", "word"), [(1 / 25.4, "inches"), (0.1, "centimetres"), (0.001, "metres")])
def test_the_likely_slip_of_the_unit_is_named(factor: float, word: str) -> None:
    (fault,) = [f for f in verdict_on(s.document(s.light(s.scaled(s.BLADE, factor)))).findings if f.code == "UNIT"]
    assert word in fault.message
    assert "260.0 mm long" in fault.message


def long_walk(data: bytes) -> list[Verdict]:
    return [verdict_on(data[:n]) for n in range(0, len(data), max(1, len(data) // 150))]


def test_a_file_cut_short_anywhere_is_named_as_such() -> None:
    for verdict in long_walk(GOOD.rstrip().encode()):
        assert [f for f in verdict.findings if f.code == "FILE" and f.level == "error"]


def test_random_bytes_are_no_drawing() -> None:
    rng = np.random.default_rng(7)
    for _ in range(100):
        data = rng.integers(0, 256, int(rng.integers(1, 4000))).astype(np.uint8).tobytes()
        assert [f.code for f in verdict_on(data).of("error")] == ["FILE"]


INCH = s.scaled(s.BLADE, 1 / 25.4)
IN_MM = {"insunits": 4, "measurement": 1}
CLEAN = {
    "a light polyline with circles": GOOD,
    "light polyline, clockwise": s.sound(
        outline=s.light([(*s.BLADE[k][:2], -s.BLADE[k - 1][2]) for k in range(4, -1, -1)])
    ),
    "the first vertex written again": s.sound(outline=s.light([*s.BLADE[:-1], s.BLADE[-1], s.BLADE[0]])),
    "not flagged as closed, but its ends meet": s.sound(outline=s.light([*s.BLADE, s.BLADE[0]], closed=False)),
    "R12 with its unit": s.sound(outline=s.heavy(s.BLADE), release="AC1009"),
    "an old polyline in R2000": s.sound(outline=s.heavy(s.BLADE)),
    "lines and arcs in order": s.sound(outline="".join(LOOSE)),
    **{f"lines and arcs shuffled, {k}": s.sound(outline="".join(s.pieces(s.BLADE, seed=k))) for k in range(4)},
    "ends that miss by 0.0004 mm": s.sound(outline=gap(0.0004)),
    "inches": s.document(s.light(INCH) + s.holes(1 / 25.4), insunits=1, measurement=0, box=s.box_of(INCH)),
    "inches in lines and arcs": s.document("".join(s.pieces(INCH, seed=9)), insunits=1, measurement=0),
    "many holes": s.sound("".join(s.circle(-100 + 8 * k, 18, 3.0) for k in range(10))),
    "a hole of two half circles": s.sound(s.arc(-65, 12, 3, 0, 180) + s.arc(-65, 12, 3, 180, 360)),
    "a slot": s.sound(s.light([(-70, 10, 0.0), (-60, 10, 1.0), (-60, 15, 0.0), (-70, 15, 1.0)])),
    "drill spots": s.sound(s.point(-65, 12, "DRILL"), layers=("0", "DRILL")),
    "layer CUT": s.sound(outline=s.light(s.BLADE, "CUT"), drilled=s.holes(layer="CUT"), layers=("0", "CUT")),
    "no header at all but the unit": s.document(s.light(s.BLADE) + s.holes(), measurement=None),
    "standing upright": s.document(s.light([(-y, x, b) for x, y, b in s.BLADE])),
    "CRLF and a comment": ("999\na comment\n" + GOOD).replace("\n", "\r\n"),
    "blanks behind the numbers": re.sub(r"(?m)^(-?\d+\.\d+)$", r"\1  ", GOOD),
    "group codes set in": "".join(
        f"{line:>6}\n" if k % 2 == 0 else f"{line}\n" for k, line in enumerate(GOOD.splitlines())
    ),
}
ENCODED: dict[str, bytes] = {
    "a code page of old": s.sound(outline=s.light(s.BLADE, "KLINGE_Ü"), layers=("0", "KLINGE_Ü")).encode("cp1252"),
}


@cases("name", [*CLEAN, *ENCODED])
def test_a_clean_file_gets_a_clean_verdict(name: str) -> None:
    verdict = verdict_on(CLEAN.get(name) or ENCODED[name])
    assert told(verdict) == []
    assert verdict.level == "ok"
    long, high = verdict.size_mm or (0, 0)
    x0, y0, x1, y1 = s.box_of(s.BLADE)
    assert (long, high) == pytest.approx((x1 - x0, y1 - y0), abs=0.001)


def test_what_is_said_of_a_clean_file_covers_every_topic() -> None:
    codes = {f.code for f in verdict_on(GOOD, cut_by("water-jet", 3)).findings}
    assert codes == {fault[0] for case in CASES for fault in case.faults}


def test_the_verdict_is_the_same_from_a_path(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    path = tmp_path / "x.dxf"
    path.write_text(GOOD)
    ran = command("inspect", path)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("inspect x.dxf: fit to cut\n")
