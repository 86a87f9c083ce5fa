"""A path of open cuts, drawn by hand: what it goes round, its bridges, its ways in and out; the same as a program."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest

from blankwright.base.errors import GeometryError, ProofError
from blankwright.proof.played import Controller, play
from blankwright.proof.proof import Expected, Proof, prove
from blankwright.proof.reader import parse_dxf
from blankwright.proof.strokes import Slot
from rooms.every import cases
from rooms.proof.plain_dxf import CLEARANCE_MM, HOLES, cut_mm, cut_vertices, document, expected, lwpolyline, point

KERF_MM, BRIDGE_MM, LEAD_MM = 1.5, 3.0, 6.0
Strokes = list[np.ndarray]


def wanted(bridges: int = 1, clockwise: bool = True, **changes: object) -> Expected:
    return dataclasses.replace(expected(), slot=Slot(KERF_MM, bridges, BRIDGE_MM, clockwise, **changes))  # type: ignore[arg-type]


def turned(chain: np.ndarray) -> np.ndarray:
    """Return an open chain run the other way."""
    bulges = np.append(-chain[-2::-1, 2], 0.0)
    return np.column_stack([chain[::-1, :2], bulges])


def path(bridge_mm: float | None = BRIDGE_MM, by_mm: float = CLEARANCE_MM + KERF_MM / 2) -> Strokes:
    """Return holes, then the outline clockwise from the middle of the butt, with a bridge under the handle or none."""
    ring = cut_vertices(by_mm)
    entry = np.array([*(ring[8, :2] + ring[9, :2]) / 2, 0.0])
    around = np.vstack([entry, ring[9], ring[:9], entry])  # ring[0] to ring[1] is the straight underside
    cuts = [around]
    if bridge_mm is not None:
        along = (ring[1, :2] - ring[0, :2]) / np.hypot(*(ring[1, :2] - ring[0, :2]))
        ends = [ring[0, :2] + along * (40 + sign * (bridge_mm + KERF_MM) / 2) for sign in (-1, 1)]
        first, second = (np.array([[*end, 0.0]]) for end in ends)
        cuts = [np.vstack([around[:3], first]), np.vstack([second, around[3:]])]
    out = {0: np.array([-1.0, 0.0]), 1: np.array([0.02, -1.0])}
    strokes = []
    for chain in (turned(c) for c in reversed(cuts)):
        ways = [out[0] if abs(end[0] - entry[0]) < 1e-9 else out[1] for end in (chain[0, :2], chain[-1, :2])]
        came, gone = (np.append(chain[i, :2] + LEAD_MM * way, 0.0) for i, way in zip((0, -1), ways, strict=True))
        strokes.append(np.vstack([came, chain, gone]))
    return [*(hole(h.x_mm, h.y_mm, cut - KERF_MM) for h in HOLES if (cut := cut_mm(h)) is not None), *strokes]


def hole(x: float, y: float, diameter: float) -> np.ndarray:
    """Return a hole, counter-clockwise, in by half a circle and out straight."""
    r = diameter / 2
    return np.array([[x, y, 1.0], [x + r, y, 1.0], [x - r, y, 1.0], [x + r, y, 0.0], [x, y, 0.0]])


def drawing(strokes: Strokes) -> str:
    flat = np.vstack([flattened(s) for s in strokes])
    box = (*map(float, flat.min(axis=0)), *map(float, flat.max(axis=0)))
    marks = "".join(point(h.x_mm, h.y_mm) for h in HOLES if h.made_by == "drill")
    return document("".join(lwpolyline(s, closed=False) for s in strokes) + marks, box=box)  # type: ignore[arg-type]


def flattened(chain: np.ndarray) -> np.ndarray:
    points = []
    for (x0, y0, b), (x1, y1, _) in pairwise(chain):
        middle = complex(x0 + x1, y0 + y1) / 2
        for share in np.linspace(0, 1, 200):
            turn = 4 * math.atan(b) * share
            if b == 0:
                points.append((x0 + (x1 - x0) * share, y0 + (y1 - y0) * share))
            else:
                centre = middle + (1 - b * b) / (4 * b) * 1j * complex(x1 - x0, y1 - y0)
                p = centre + (complex(x0, y0) - centre) * complex(math.cos(turn), math.sin(turn))
                points.append((p.real, p.imag))
    return np.array(points)


def proven(strokes: Strokes, asked: Expected | None = None) -> Proof:
    return prove(parse_dxf(drawing(strokes), "x.dxf"), asked or wanted())


def errors(proof: Proof) -> set[str]:
    return {f.code for f in proof.findings if f.level == "error"}


@pytest.mark.parametrize("bridge_mm", [None, BRIDGE_MM])
def test_a_sound_path_is_proven_with_the_clearance_of_its_part(bridge_mm: float | None) -> None:
    proof = proven(path(bridge_mm), wanted(0 if bridge_mm is None else 1))
    assert proof.ok, [f for f in proof.findings if f.level != "ok"]
    assert proof.worst_case_part_mm == pytest.approx(CLEARANCE_MM - 0.4, abs=1e-6)
    assert proof.least_mm == pytest.approx(CLEARANCE_MM + KERF_MM / 2, abs=1e-6)


def test_it_may_run_the_other_way_round_where_that_is_asked() -> None:
    around = [turned(s) for s in reversed(path()[2:])]
    strokes = [*(turned(s) for s in path()[:2]), *around]
    assert proven(strokes, wanted(clockwise=False)).ok
    assert errors(proven(strokes)) == {"PATH"}


def lead_into_the_part(strokes: Strokes) -> Strokes:
    strokes[-1][-1, :2] += [2 * LEAD_MM, 0.0]
    return strokes


def lead_out_of_a_hole(strokes: Strokes) -> Strokes:
    strokes[0][-1, 0] -= 4.0
    return strokes


def not_round(strokes: Strokes) -> Strokes:
    """The last cut stops 2 mm before it is back at the start."""
    strokes[-1][-2:, 1] -= 2.0
    return strokes


def edge_inward(strokes: Strokes) -> Strokes:
    for s in strokes[2:]:
        s[(s[:, 0] > -5) & (s[:, 1] < 0), 1] += 0.05
    return strokes


def shifted_hole(strokes: Strokes) -> Strokes:
    strokes[1][:, 0] += 0.2
    return strokes


FAULTS: dict[str, tuple[Callable[[Strokes], Strokes], set[str]]] = {
    "a bridge 0.1 mm too narrow": (lambda _: path(BRIDGE_MM - 0.1), {"PATH"}),
    "a bridge 0.1 mm too wide": (lambda _: path(BRIDGE_MM + 0.1), {"PATH"}),
    "no bridge": (lambda _: path(None), {"PATH"}),
    "a way out through the part": (lead_into_the_part, {"PATH"}),
    "a way out of a hole": (lead_out_of_a_hole, {"PATH"}),
    "it does not come round": (not_round, {"PATH"}),
    "a cut is missing": (lambda s: s[:-1], {"PATH"}),
    "a hole after the outline": (lambda s: [*s[1:], s[0]], {"PATH"}),
    "a hole the other way round": (lambda s: [turned(s[0]), *s[1:]], {"PATH"}),
    "the edge 0.05 inward": (edge_inward, {"CLEARANCE"}),
    "0.05 too far out": (lambda _: path(by_mm=CLEARANCE_MM + KERF_MM / 2 + 0.05), {"OVERSIZE"}),
    "a hole missing": (lambda s: s[1:], {"HOLE-MISSING"}),
    "a hole shifted": (shifted_hole, {"HOLE-PLACE"}),
}


@cases("fault", FAULTS)
def test_a_fault_of_a_path_is_an_error(fault: str) -> None:
    spoil, codes = FAULTS[fault]
    proof = proven(spoil(path()))
    assert not proof.ok
    assert errors(proof) >= codes


def test_a_closed_contour_is_no_path() -> None:
    """What cut the bridges through: one closed line that a controller runs round without a stop."""
    ring = cut_vertices(CLEARANCE_MM + KERF_MM / 2)
    text = document(lwpolyline(ring), box=None)
    found = prove(parse_dxf(text, "x.dxf"), wanted())
    assert any("on a path every cut is open" in f.message for f in found.findings if f.code == "PATH")


def words_of(strokes: Strokes, from_zero: bool = False, unit: str = "G21") -> str:
    """Return a program of a path, written by hand."""
    mm = 1.0 if unit == "G21" else 25.4
    lines = [f"G17 {unit} G40 G90 G94", "M5"]
    for s in strokes:
        lines += [f"G0 X{s[0, 0] / mm:.6f} Y{s[0, 1] / mm:.6f}", "M3", "G4 P0.5"]
        for (x0, y0, b), (x1, y1, _) in pairwise(s):
            end = f"X{x1 / mm:.6f} Y{y1 / mm:.6f}"
            if b == 0:
                lines.append(f"G1 {end} F100")
                continue
            centre = complex(x0 + x1, y0 + y1) / 2 + (1 - b * b) / (4 * b) * 1j * complex(x1 - x0, y1 - y0)
            i, j = (centre.real, centre.imag) if from_zero else (centre.real - x0, centre.imag - y0)
            lines.append(f"{'G3' if b > 0 else 'G2'} {end} I{i / mm:.6f} J{j / mm:.6f}")
        lines.append("M5")
    return "\n".join([*lines, "G0 X0 Y0", "M2"]) + "\n"


PLAIN = Controller(from_zero=False, on="M3", off="M5", unit="mm")


@cases(("from_zero", "unit"), [(False, "mm"), (True, "mm"), (False, "in")])
def test_a_program_is_proven_like_the_drawing(from_zero: bool, unit: str) -> None:
    strokes = path(by_mm=CLEARANCE_MM + KERF_MM / 2 + 1e-4)  # words in inches are rounded to 0.00003 mm
    text = words_of(strokes, from_zero, "G21" if unit == "mm" else "G20")
    played = play(text, "x.nc", dataclasses.replace(PLAIN, from_zero=from_zero, unit=unit), (0.0, 0.0))
    asked = dataclasses.replace(wanted(rounded_mm=2e-4), marks=False)
    proof = prove(played, asked, of_file=False)
    assert proof.ok, [f for f in proof.findings if f.level != "ok"]
    shifted = play(text, "x.nc", dataclasses.replace(PLAIN, from_zero=from_zero, unit=unit), (0.0, 0.1))
    assert errors(prove(shifted, asked, of_file=False)) >= {"CLEARANCE", "HOLE-PLACE"}


@cases(
    ("change", "why"),
    [
        (lambda t: t.replace("M3\n", "", 1), "cut with it off"),
        (lambda t: t.replace("M5\nG0", "G0"), "travel with the cutter on"),
        (lambda t: t.replace("G21 ", ""), "before unit"),
        (lambda t: t.replace("G17", "G18"), "'G18' is not known"),
        (lambda t: t.replace("M2\n", ""), "does not end"),
        (lambda t: t + "G0 X1\n", "goes on after its end"),
        (lambda t: t.replace("G21", "G20"), "not in mm"),
        (lambda t: t.replace(" I", " I1", 1), "as far from its centre"),
        (lambda t: t.replace(" I", " Z1 I", 1), "not known here"),
        (lambda t: t.replace("G0 X", "G0 X1e3 X", 1), "no word"),
        (lambda t: t.replace("G0 X-40.0", "G0 X-4 X-40.0", 1), "twice"),
        (lambda t: t.replace("G17 G21 G40 G90 G94\nM5\nG0 X-40.000000", "G21\nG0"), "not known"),
    ],
)
def test_what_a_plain_controller_does_not_know_is_refused(change: Callable[[str], str], why: str) -> None:
    text = change(words_of(path()))
    assert text != words_of(path())
    with pytest.raises(ProofError, match=why):
        play(text, "x.nc", PLAIN, (0.0, 0.0))


def test_a_centre_counted_from_elsewhere_is_refused() -> None:
    """A controller that counts centres from zero runs other arcs, or none."""
    with pytest.raises(ProofError, match="as far from its centre"):
        play(words_of(path()), "x.nc", dataclasses.replace(PLAIN, from_zero=True), (0.0, 0.0))


def test_a_slot_has_a_width() -> None:
    for bad in (0.0, -1.0, math.nan):
        with pytest.raises(GeometryError):
            Slot(bad, 0, 0.0, clockwise=True)
    with pytest.raises(GeometryError):
        Slot(1.0, 1, 0.0, clockwise=True)
