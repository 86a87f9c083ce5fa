"""The path of the cutter's middle: half the kerf outside the part and inside its holes, with order, leads and tabs.

Holes are cut first, while the sheet still holds the part; the outline last. The cutter comes and goes by arcs in
the waste, tangent to the cut, so that the mark of the start lies off the part. It enters at butt or spine, never at
the tip, the heel corner or the edge (common practice). At a bridge it comes and goes straight out beside it: an arc
tangent to the cut would go on into the bridge and cut it through.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import DesignError, GeometryError
from blankwright.base.frozen import dataclass
from blankwright.cutting.stretch import lengths_mm, place, places, stretch, stretches, turned_round
from blankwright.geometry.distance import ways_to_pieces
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import BULGE_GRID, GRID_MM, Outline, arc_lengths, points_on
from blankwright.geometry.weld import without_short_pieces
from blankwright.knife.blank import SHORTEST_MM
from blankwright.shop.services import LEAST_LEAD_MM, Table

Mask = NDArray[np.bool_]

TAB_REGIONS = ("spine", "tang")
"""Bridges stand where a file reaches and nothing is thin: never on the edge, the tip or in the notch."""

CLEAR_MM = 1e-6
"""A lead keeps half the kerf from the part to this: rounding, no more."""

NARROWER_MM = 0.02
"""A bridge may be this much narrower than asked: on a bend its chord is a little shorter than its arc."""


_LOOKS, _ARC_LOOKS = 160, 25
_QUARTER = float(np.tan(np.pi / 8))


@dataclass(frozen=True, eq=False)
class Pass:
    """One cut from pierce to stop.

    Args:
        kind: hole or outline.
        chain: (n, 3) x, y and bulge to the next point [mm]; the last bulge is 0. Its first piece is the lead in, its
            last one the lead out, all between is the cut.
    """

    kind: str
    chain: Array

    @property
    def length_mm(self) -> float:
        """Length of the cut with its leads [mm]."""
        chords = np.hypot(*np.diff(self.chain[:, :2], axis=0).T)
        return float(arc_lengths(chords, self.chain[:-1, 2]).sum())

    def moved(self, dx_mm: float, dy_mm: float) -> Pass:
        """Return the same cut elsewhere."""
        return replace(self, chain=self.chain + np.array([dx_mm, dy_mm, 0.0]))


@dataclass(frozen=True, eq=False)
class CutterPath:
    """The path of one part: all passes in their order.

    Args:
        outline: Where the cutter's middle runs round the part, closed, counter-clockwise.
        holes: x, y and diameter of the circle its middle runs in each hole [mm].
        passes: What is cut, in order.
        kerf_mm: Full width of the slot [mm].
        tabs_mm: Where the middles of the bridges stand [mm].
    """

    outline: Outline
    holes: tuple[tuple[float, float, float], ...]
    passes: tuple[Pass, ...]
    kerf_mm: float
    tabs_mm: tuple[tuple[float, float], ...]

    @property
    def run(self) -> Run:
        """The cuts of this part alone."""
        return Run(self.passes)


@dataclass(frozen=True, eq=False)
class Run:
    """All cuts of a file in their order, of one part or of several.

    Args:
        passes: What is cut, in order.
    """

    passes: tuple[Pass, ...]

    @property
    def cut_mm(self) -> float:
        """Length of all cuts with their leads [mm]."""
        return sum(p.length_mm for p in self.passes)

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of everything the cutter's middle does [mm]."""
        points = np.vstack([sampled(p.chain, _ARC_LOOKS) for p in self.passes])
        (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    @property
    def zero_mm(self) -> tuple[float, float]:
        """The lower left corner of it all: X0 Y0 of a program [mm]."""
        return self.bounds_mm[:2]

    @property
    def travel_mm(self) -> float:
        """Length of all ways between cuts, from and to the zero point [mm]."""
        stops = [self.zero_mm]
        for one in self.passes:
            stops += [tuple(one.chain[0, :2]), tuple(one.chain[-1, :2])]
        stops.append(self.zero_mm)
        return sum(float(np.hypot(*np.subtract(a, b))) for a, b in zip(stops[::2], stops[1::2], strict=True))

    def time_s(self, table: Table) -> float:
        """Estimate the time of the whole cut from the table's speeds, without speeding up and slowing down [s]."""
        cutting = self.cut_mm / table.feed_mm_min + self.travel_mm / table.travel_mm_min
        return 60 * cutting + len(self.passes) * table.pierce_s


def cutter_path(cut: Outline, holes: Sequence[tuple[float, float, float]], table: Table) -> CutterPath:
    """Return the path that leaves a cut outline and its holes.

    Args:
        cut: The outline to leave, counter-clockwise, with regions.
        holes: x, y and diameter of the holes to leave [mm].
        table: Kerf, leads, order and direction.

    Raises:
        DesignError: The kerf does not go into a notch or a hole, or there is no room for a lead.
    """
    half = table.kerf_mm / 2
    outline = _outside(cut, half)
    circles = [_inside(x, y, d, half) for x, y, d in holes]
    clockwise = table.outside == "clockwise"
    first = [_hole_pass(c, counter=clockwise) for c in _in_turn(circles, outline)]
    passes, tabs = _outline_passes(outline, cut, table, clockwise)
    return CutterPath(outline, tuple(circles), (*first, *passes), table.kerf_mm, tabs)


def _outside(cut: Outline, half: float) -> Outline:
    try:
        found = parallel(cut, half)
    except GeometryError as error:
        raise DesignError(f"The kerf cannot be laid around this outline: {error}. Use a narrower kerf.") from None
    if found.others:
        x, y = found.others[0].centroid_mm
        raise DesignError(
            f"A kerf of {2 * half:g} mm does not go into the notch near ({x:.0f}, {y:.0f}) mm. Use a narrower kerf, or "
            "less allowance there."
        )
    return without_short_pieces(found.outline, SHORTEST_MM)  # rounded joints leave corners of a hair


def _inside(x: float, y: float, diameter: float, half: float) -> tuple[float, float, float]:
    middle = diameter - 2 * half
    if middle < 4 * LEAST_LEAD_MM - 1e-9:
        raise DesignError(
            f"The hole of {diameter:g} mm at x = {x:.1f} mm has no room for a kerf of {2 * half:g} mm and its lead; "
            "mark it and drill."
        )
    return x, y, middle


def _in_turn(circles: list[tuple[float, float, float]], outline: Outline) -> list[tuple[float, float, float]]:
    """Return the holes in the order of the shortest next way, from the lower left corner on."""
    left, here, out = list(circles), (outline.bounds_mm[0], outline.bounds_mm[1]), []
    while left:
        nearest = min(left, key=lambda c: (np.hypot(c[0] - here[0], c[1] - here[1]), c))
        left.remove(nearest)
        out.append(nearest)
        here = nearest[:2]
    return out


def _hole_pass(circle: tuple[float, float, float], *, counter: bool) -> Pass:
    """Return a hole: from its middle by a half circle onto the cut, once round, and back toward the middle."""
    x, y, diameter = circle
    r, way = diameter / 2, 1.0 if counter else -1.0
    rows = [
        (x, y, way),  # the lead in: half a circle of half the radius
        (x + r, y, way), (x - r, y, way),
        (x + r, y, way * _QUARTER),
        (x + r / 2, y + way * r / 2, 0.0),
    ]  # fmt: skip
    return Pass("hole", _on_grid(np.array(rows)))


def _outline_passes(
    outline: Outline, cut: Outline, table: Table, clockwise: bool
) -> tuple[tuple[Pass, ...], tuple[tuple[float, float], ...]]:
    run = turned_round(outline) if clockwise else outline
    whole = float(lengths_mm(run)[-1])
    entry, lead = _entry(run, cut, table, clockwise)
    tabs = _tabs(run, cut, table, entry, lead, clockwise)
    gap = table.tab_width_mm + table.kerf_mm
    out = [_waste(place(run, t)[1], clockwise) for t in tabs]
    begins = [(entry, None), *((t + gap / 2, way) for t, way in zip(tabs, out, strict=True))]
    ends = [*((t - gap / 2, way) for t, way in zip(tabs, out, strict=True)), (entry + whole, None)]
    passes = []
    for (begin, beside_first), (end, beside_last) in zip(begins, ends, strict=True):
        chain = stretch(run, begin, end)
        came = _lead(run, begin, lead, clockwise, beside_first, arrives=True)
        gone = _lead(run, end, lead, clockwise, beside_last, arrives=False)
        passes.append(_joined(came, chain, gone))
    return tuple(passes), tuple((float(p[0]), float(p[1])) for p in (place(run, t)[0] for t in tabs))


def _lead(
    run: Outline, at_mm: float, lead: float, clockwise: bool, beside: Array | None, *, arrives: bool
) -> tuple[Array, float]:
    """Return the far end of a lead and its bulge: a quarter circle in the waste, or straight out beside a bridge."""
    point, ahead, _ = place(run, at_mm)
    if beside is not None:
        return point + lead * beside, 0.0
    bulge = _QUARTER if clockwise else -_QUARTER  # the waste is left of a clockwise run, right of the other
    return point + lead * (_waste(ahead, clockwise) + (-ahead if arrives else ahead)), bulge


def _joined(came: tuple[Array, float], chain: Array, gone: tuple[Array, float]) -> Pass:
    """Add the leads before and after a cut."""
    rows = np.vstack([[*came[0], came[1]], chain, [*gone[0], 0.0]])
    rows[-2, 2] = gone[1]
    return Pass("outline", _on_grid(rows))


def _on_grid(chain: Array) -> Array:
    """Return a chain on the grid of outlines: the same bytes on any processor."""
    xy, bulge = -round(math.log10(GRID_MM)), -round(math.log10(BULGE_GRID))
    rounded: Array = np.column_stack([np.round(chain[:, :2], xy), np.round(chain[:, 2], bulge)]) + 0.0
    return rounded


def _waste(ahead: Array, clockwise: bool) -> Array:
    """Return the direction into the waste at a place of an outside cut."""
    return np.array([-ahead[1], ahead[0]]) if clockwise else np.array([ahead[1], -ahead[0]])


def _clear(run: Outline, cut: Outline, at: float, lead: float, half: float, clockwise: bool) -> bool:
    """Return whether the half circle of both leads keeps half the kerf from the part."""
    point, ahead, _ = place(run, at)
    middle = point + lead * _waste(ahead, clockwise)
    angle = np.linspace(-np.pi / 2, np.pi / 2, _ARC_LOOKS)
    toward = -_waste(ahead, clockwise)
    around = middle + lead * (np.cos(angle)[:, None] * toward + np.sin(angle)[:, None] * ahead)
    return bool(_keep_off(around[None], cut, half - CLEAR_MM - _PATH_MM).all())


def _clear_beside(run: Outline, cut: Outline, at: Array, gap: float, lead: float, half: float, clockwise: bool) -> Mask:
    """Return where both straight leads beside a bridge keep off the part, and off the cut on its other side."""
    out = _waste(places(run, at)[1].T, clockwise).T
    reach = 2 * (gap + lead)
    clear = np.ones(len(at), dtype=bool)
    for here, far in ((-gap / 2, (gap / 2, gap / 2 + reach)), (gap / 2, (-gap / 2 - reach, -gap / 2))):
        ways = places(run, at + here)[0][:, None] + np.linspace(0, lead, _ARC_LOOKS)[:, None] * out[:, None]
        clear &= _keep_off(ways, cut, half - CLEAR_MM - _PATH_MM)
        beyond = stretches(run, at + far[0], at + far[1])
        of = np.repeat(np.arange(len(at)), [len(chain) - 1 for chain in beyond])
        pieces = [np.vstack(part) for part in zip(*((c[:-1], c[1:]) for c in beyond), strict=True)]
        apart = ways_to_pieces(ways[of], pieces[0][:, :2], pieces[1][:, :2], pieces[0][:, 2])
        clear[of[(apart < gap - NARROWER_MM).any(axis=1)]] = False
    return clear


def _keep_off(ways: Array, cut: Outline, apart_mm: float) -> Mask:
    """Return which ways keep as far from an outline; measured from those pieces whose box is as near."""
    low, high = cut.piece_boxes
    near = (low < ways.max(axis=1)[:, None] + apart_mm) & (high > ways.min(axis=1)[:, None] - apart_mm)
    way, piece = np.nonzero(near.all(axis=2))
    distances = ways_to_pieces(ways[way], cut.starts[piece], cut.ends[piece], cut.bulges[piece])
    clear = np.ones(len(ways), dtype=bool)
    clear[way[(distances < apart_mm).any(axis=1)]] = False
    return clear


_PATH_MM = 1e-5  # the parallel path itself is known no better


def _entry(run: Outline, cut: Outline, table: Table, clockwise: bool) -> tuple[float, float]:
    """Return where the outline is entered, along it, and the radius of the leads."""
    runs = lengths_mm(run)
    i = np.flatnonzero([region == table.enter for region in run.regions])
    if not len(i):
        raise DesignError(f"This outline has no {table.enter} to enter at; choose another place in the service file.")
    along = (runs[i] + (runs[i + 1] - runs[i]) * np.linspace(0.05, 0.95, 7)[:, None]).T.ravel()
    x = places(run, along)[0][:, 0]
    order = x if table.enter == "butt" else np.abs(x - (x.min() + x.max()) / 2)
    in_turn = along[np.argsort(order, kind="stable")].tolist()
    lead = table.lead_mm
    while lead >= LEAST_LEAD_MM:
        for at in in_turn:
            if _clear(run, cut, at, lead, table.kerf_mm / 2, clockwise):
                return at, lead
        lead /= 2
    raise DesignError(f"There is no room for a lead at the {table.enter}; choose a smaller lead or another entry.")


def _tabs(run: Outline, cut: Outline, table: Table, entry: float, lead: float, clockwise: bool) -> list[float]:
    """Return the middles of the bridges, along the outline from the entry on: spread evenly over spine and tang."""
    if table.tabs == 0:
        return []
    whole = float(lengths_mm(run)[-1])
    gap = table.tab_width_mm + table.kerf_mm
    steps = entry + gap + 2 * lead + np.linspace(0, 1, _LOOKS) * (whole - 2 * (gap + 2 * lead))
    for there in (-gap / 2 - lead, 0.0, gap / 2 + lead):
        steps = steps[[region in TAB_REGIONS for region in places(run, steps + there)[2]]]
    good = steps[_clear_beside(run, cut, steps, gap, lead, table.kerf_mm / 2, clockwise)] if len(steps) else steps
    if not len(good):
        raise DesignError("There is no room for a tab on spine or tang; use none, or a smaller lead.")
    chosen: list[float] = []
    for share in (np.arange(table.tabs) + 0.5) / table.tabs:
        at = float(good[int(share * (len(good) - 1))])
        if not chosen or at - chosen[-1] > 2 * (gap + lead):
            chosen.append(at)
    if len(chosen) < table.tabs:
        raise DesignError(f"Only {len(chosen)} tabs have room on spine and tang; ask for fewer or narrower ones.")
    return chosen


def sampled(chain: Array, parts: int) -> Array:
    """Return points along an open chain: every piece in equal parts."""
    share = np.linspace(0, 1, parts + 1)
    n = len(chain) - 1
    starts, ends = np.repeat(chain[:-1, :2], parts + 1, axis=0), np.repeat(chain[1:, :2], parts + 1, axis=0)
    return points_on(starts, ends, np.repeat(chain[:-1, 2], parts + 1), np.tile(share, n))
