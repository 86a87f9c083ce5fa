"""The knife in section: at heel, middle and near the tip, through the handle, and the edge enlarged."""

from __future__ import annotations

import math

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.said import Line, bare, said
from blankwright.design.tang import chord_at
from blankwright.drawing.sectionmarks import Area, Section, Width
from blankwright.geometry.chain import Chain, straight
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife
from blankwright.solid.blade import face_mm
from blankwright.solid.ground import Ground
from blankwright.solid.handlebodies import FLATS, SECTIONS, flat_corners
from blankwright.solid.section import SQUARE_DEG, Bevels, cuts_through, edge_plane_mm, faces, sides
from blankwright.solid.stations import BenchStation, places, station

LOW_SCALE, SCALE, HIGH_MM = 1.0, 2.0, 62.0
"""Sections are drawn twice as large, a blade higher than HIGH_MM at true size."""
DETAIL_SCALES = (20.0, 10.0, 5.0, 2.0)
DETAIL_WIDE_MM, DETAIL_HIGH_MM = 64.0, 46.0
"""The edge is enlarged as far as it fits this on the sheet."""
_AHEAD_MM = 0.5
"""With a ricasso the first section lies this far ahead of where the bevel has its full depth."""
_STEPS = 96
_ROUND = 48
_JUST_MM = 1e-9


def sections_of(
    knife: Knife, scale: float | None = None, detail_mm: float = DETAIL_WIDE_MM, units: str = "mm"
) -> tuple[Section, ...]:
    """Return the sections of a knife, as the drawing shows them: seen from the handle toward the tip.

    Args:
        knife: The knife.
        scale: How large the sections are drawn; None for what suits a drawing.
        detail_mm: Greatest width of the enlarged edge on the drawing [mm].
        units: What the figures are in: "mm", or "in" for a picture of the sheet.

    Raises:
        RequestError: A setting of grind or handle is missing.
    """
    ground = knife.ground
    high = max(knife.shape.values_mm["heel_height"], knife.finished.bounds_mm[3] - knife.finished.bounds_mm[1])
    scale = scale or (SCALE if high <= HIGH_MM else LOW_SCALE)
    marks = blade_stations(knife)
    blade = [_blade(knife, ground, s, "ABC"[i], scale, units) for i, s in enumerate(marks)]
    handle = _handle(knife, ground, "ABCD"[len(blade)], scale, units)
    return (*blade, *handle, _edge(knife, ground, marks[0], detail_mm, units))


def blade_stations(knife: Knife) -> list[BenchStation]:
    """Return the places at which the blade is shown in section."""
    return [_station(knife, knife.ground, place, x) for place, x in blade_places(knife, knife.ground)]


def blade_places(knife: Knife, ground: Ground) -> list[tuple[Line, float]]:
    """Return the names and places of the blade's sections: the first ahead of a plunge line when there is one."""
    length = knife.shape.values_mm["blade_length"]
    found = list(places(length))
    if ground.plunge is not None:
        full = ground.plunge.full_mm(face_mm(ground.plunge, ground.taper, ground.bevels))
        found[0] = (said("ahead of the plunge"), full + _AHEAD_MM)
    first = found[0][1]
    return [found[0], *(place for place in found[1:] if place[1] > first + 1.0)]


def _station(knife: Knife, ground: Ground, place: Line, x: float) -> BenchStation:
    stock = knife.stock_mm
    return station(place, x, knife.edge_line, ground.taper, ground.bevels, ground.before, stock)


def profile(height_mm: float, spine_mm: float, bevels: Bevels, top_mm: float | None = None) -> tuple[Array, Array]:
    """Return right and left face of a section as (n, 2) points, across and up, from the edge upward [mm].

    Args:
        height_mm: Height of the blade there [mm].
        spine_mm: Thickness of the spine there [mm].
        bevels: The grind.
        top_mm: Where to end [mm]; None for at the spine.
    """
    end = height_mm if top_mm is None else min(top_mm, height_mm)
    stops = {0.0, end, *np.linspace(0.0, end, _STEPS + 1).tolist()}
    if bevels.blunt:
        stops |= {float(v) for v in bevels.edge_radius_mm * (1 - np.cos(np.linspace(0, np.pi / 2, 13))) if v <= end}
    for side in sides(np.array([height_mm]), np.array([spine_mm]), bevels):
        stops |= {float(v) for v in (side.foot[0], side.top[0]) if v <= end}
    u = np.array(sorted(stops))
    if bevels.edge_angle_deg == SQUARE_DEG:
        u = np.maximum(u, _JUST_MM)  # an edge left square has its whole thickness from the first
    same = np.full_like(u, height_mm), np.full_like(u, spine_mm)
    right, left = faces(u, *same, bevels)
    plane = edge_plane_mm(same[1], bevels)
    right, left = np.maximum(right, plane), np.minimum(left, plane)  # a hollow that cuts through leaves nothing
    return np.column_stack([right, u]), np.column_stack([left, u])


def _closed(right: Array, left: Array) -> Outline:
    points = np.concatenate([right, left[::-1]])
    apart = np.hypot(*(np.roll(points, -1, axis=0) - points).T) > 1e-9
    return Outline(np.column_stack([points[apart], np.zeros(int(apart.sum()))]))


def _blade(knife: Knife, ground: Ground, s: BenchStation, letter: str, scale: float, units: str) -> Section:
    bevels = ground.bevels
    cut = bevels if knife.scallops is None else bevels.unsharpened(bevels.behind_edge_mm)
    right, left = profile(s.height_mm, s.spine_mm, cut)
    facts = [
        f"spine {bare(s.spine_mm, 2, units)}",
        f"height {bare(s.height_mm, 1, units)}",
        f"bevel {_pair(s.bevel_deg, bevels, 1)}",
        f"edge {bare(bevels.behind_edge_mm, 2, units)} thick, rounded" if bevels.blunt
        else f"behind the edge {bare(bevels.behind_edge_mm, 2, units)}",
    ]  # fmt: skip
    if knife.scallops is not None:
        facts[1] = f"height {bare(s.height_mm, 1, units)} to the points' line"
    if s.grind_height_mm < s.height_mm - 0.05:
        facts.insert(2, f"grind line {bare(s.grind_height_mm, 1, units)} above the edge")
    if bool(cuts_through(np.array([s.height_mm]), np.array([s.spine_mm]), bevels)[0]):
        facts.append("the hollow cuts through here")
    hatch = "steel" if knife.material.kind != "wood" else "wood"
    area = Area(_closed(right, left), hatch)
    return Section(
        letter, f"{letter}-{letter}, {s.place.text(units)}, {scale:g}:1", s.x_mm, scale, (area,), tuple(facts)
    )


def _pair(angles: tuple[float, float], bevels: Bevels, digits: int) -> str:
    """Say an angle for each side: once when they are alike, the ground side's alone when the other is flat."""
    kind = "" if bevels.kind == "flat" or digits == 0 else ", chord"
    one, two = (f"{a:.{digits}f}°" for a in angles)
    if bevels.right_share in (0.0, 1.0):
        return f"{one if bevels.right_share else two} on the {'right' if bevels.right_share else 'left'}{kind}"
    return f"{one} each side{kind}" if one == two else f"right {one}, left {two}{kind}"


def _edge(knife: Knife, ground: Ground, s: BenchStation, detail_mm: float, units: str) -> Section:
    """The edge at the first place, enlarged: finished, and as it is left before hardening."""
    stock = knife.stock_mm
    bevels, before = ground.bevels, ground.before
    wide = stock if before else min(s.spine_mm, 3 * bevels.behind_edge_mm)
    scale = next((n for n in DETAIL_SCALES if wide * n <= detail_mm), DETAIL_SCALES[-1])
    high = min(max(DETAIL_HIGH_MM / scale, 1.6 * bevels.edge_bevel_mm), s.height_mm)
    shown = bevels if knife.scallops is None else bevels.unsharpened(bevels.behind_edge_mm)
    right, left = profile(s.height_mm, s.spine_mm, shown, high)
    facts = _edge_words(knife, bevels, units)
    finished = Area(_closed(right, left), "steel" if knife.material.kind != "wood" else "wood", bordered=False)
    chains = _ending(right, left)
    title = f"edge at A-A{', before its scallops' if knife.scallops else ''}, {scale:g}:1"
    if before is None or s.scribe_mm is None:
        return Section("", title, None, scale, (finished,), tuple(facts), wide=chains)
    r, lf = profile(s.height_mm, stock, before, high)
    half, low = stock / 2, (float(lf[0, 0]), float(r[0, 0]))
    facts += ["", "dashed: left on until", f"after hardening, {bare(before.behind_edge_mm, 2, units)} thick",
              _scribe_words(s, units)]  # fmt: skip
    spans = ((-half, low[0], s.scribe_mm[1]), (low[0], low[1], before.behind_edge_mm), (low[1], half, s.scribe_mm[0]))
    return Section(
        "", title, None, scale, (finished,), tuple(facts), wide=chains,
        left_on=(*_ending(r, lf), straight((low[0], 0.0), (low[1], 0.0))),
        thin=tuple(straight((z, 0.0), (z, high)) for z in (-half, half)),
        widths=tuple(Width(a, b, bare(mm, 2, units)) for a, b, mm in spans if b - a > 0.02),
    )  # fmt: skip


def _edge_words(knife: Knife, bevels: Bevels, units: str) -> list[str]:
    """Say what the edge measures: of scallops how they are sharpened, each from one face."""
    behind = bare(bevels.behind_edge_mm, 2, units)
    if knife.scallops is not None:
        from blankwright.knife.scallops import scallop_edge  # noqa: PLC0415 - few edges have them

        angle, face = scallop_edge(bevels)
        return [
            f"{behind} thick on the line of the points",
            f"scallops {bare(knife.scallops.depth_mm, 1, units)} deep, cut square to the faces",
            f"then sharpened {angle:.0f}° from {face} face only",
        ]
    if bevels.blunt:
        return [f"edge {behind} thick", f"rounded, radius {bare(bevels.edge_radius_mm, 2, units)}"]
    return [
        f"edge {_pair(bevels.edge_angles_deg, bevels, 0)}",
        f"edge bevel {bare(bevels.edge_bevel_mm, 2, units)} high",
        f"behind the edge {behind}",
    ]


def _ending(right: Array, left: Array) -> tuple[Chain, ...]:
    """Return both faces as open chains."""
    return tuple(Chain(np.column_stack([points, np.zeros(len(points))])) for points in (right, left))


def _scribe_words(s: BenchStation, units: str) -> str:
    right, left = s.scribe_mm or (0.0, 0.0)
    if abs(right - left) < 0.005:
        return f"scribe {bare(right, 2, units)} from each face"
    if min(right, left) < 0.005:
        return f"scribe {bare(max(right, left), 2, units)} from the {'right' if right > left else 'left'} face"
    return f"scribe {bare(right, 2, units)} from the right, {bare(left, 2, units)} left"


def _handle(knife: Knife, ground: Ground, letter: str, scale: float, units: str) -> list[Section]:
    """The section through the handle: tang and scales, tang and block, or the board."""
    x = handle_place_mm(knife)
    chord = chord_at(knife.finished, x)
    if chord is None:
        return []
    low, high = chord
    thick = float(ground.taper.at(np.array([x]))[0])
    tang = _rectangle(thick, low, high)
    title = f"{letter}-{letter}, handle, {scale:g}:1"
    kind = "wood" if knife.material.kind == "wood" else "steel"
    if knife.construction == "one-piece":
        board = (f"board {bare(thick, 1, units)} thick", f"height {bare(high - low, 1, units)}")
        return [Section(letter, title, x, scale, (Area(tang, kind),), board)]
    facts: tuple[str, ...] = (f"tang {bare(thick, 2, units)} thick, {bare(high - low, 1, units)} high",)
    if knife.construction == "hidden":
        return [_on_block(knife, Section(letter, title, x, scale, (Area(tang, "steel"),), facts), tang, units)]
    handle = knife.handle
    if handle is None:
        return []
    one, name = handle.swell.at(x), handle.material.title
    halves = [Area(_half_round(one, low, high, handle.section, thick / 2, side), "wood") for side in (1.0, -1.0)]
    facts += (f"scales {bare(one, 1, units)} each", name, f"across {bare(thick + 2 * one, 1, units)}")
    return [Section(letter, title, x, scale, (Area(tang, kind), *halves), facts)]


def handle_place_mm(knife: Knife) -> float:
    """Return where the handle is cut: halfway along the tang, clear of holes."""
    shape = knife.shape
    x = (shape.front_x_mm + shape.tang_end_x_mm) / 2
    for h in knife.holes:
        clear = h.hole.diameter_mm / 2 + 4.0
        if abs(h.hole.x_mm - x) < clear:
            return h.hole.x_mm + clear
    return x


def _on_block(knife: Knife, alone: Section, tang: Outline, units: str) -> Section:
    """Put the block round a hidden tang; without one only the tang is shown."""
    handle = knife.handle
    if handle is None or alone.at_mm is None:
        return alone
    chord = chord_at(handle.outline, alone.at_mm)
    if chord is None:
        return alone
    low, high = chord
    wide, kind = handle.swell.at(alone.at_mm), handle.section
    right, left = (_half_round(wide / 2, low, high, kind, 0.0, side).vertices for side in (1.0, -1.0))
    points = np.concatenate([right[:-1], left[:-1]])
    whole = Outline(points) if kind != "slab" else _rectangle(wide, low, high)
    facts = (*alone.facts, f"block {bare(wide, 1, units)} wide, {bare(high - low, 1, units)} high",
             handle.material.title)  # fmt: skip
    return Section(
        alone.letter, alone.title, alone.at_mm, alone.scale, (Area(whole, "wood", hole=tang), *alone.areas), facts
    )


def _rectangle(thick: float, low: float, high: float) -> Outline:
    z = thick / 2
    return Outline(np.array([[-z, low, 0.0], [z, low, 0.0], [z, high, 0.0], [-z, high, 0.0]]))


def _half_round(thick: float, low: float, high: float, kind: str, off: float, side: float) -> Outline:
    """Return one side's section, |2y/h|^n + (z/s)^n = 1, counter-clockwise from its low corner; n is in SECTIONS."""
    middle, half = (low + high) / 2, (high - low) / 2
    n = SECTIONS.get(kind, 0.0)
    if kind in FLATS:
        share, out = np.array(flat_corners(kind)[::-1]).T
        z, y = thick * out, middle + half * share
    elif math.isinf(n):
        z, y = np.array([0.0, thick, thick, 0.0]), np.array([low, low, high, high])
    else:
        angle = np.linspace(-np.pi / 2, np.pi / 2, 2 * _ROUND + 1)
        sine, cosine = np.sin(angle), np.maximum(np.cos(angle), 0.0)
        z, y = thick * cosine ** (2 / n), middle + half * np.sign(sine) * np.abs(sine) ** (2 / n)
        z[[0, -1]] = 0.0
    rows = np.column_stack([side * (off + z), y, np.zeros(len(z))])
    return Outline(rows if side > 0 else rows[::-1])
