"""What the grinder sets and measures at places along the blade: angles, heights, scribe lines, raise on the stone."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.design.tang import chord_at
from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Taper
from blankwright.solid.section import Bevels, sides

_HEEL_MM = 0.01
"""The height at the heel is measured this far ahead of its corner, where an upright line meets the outline twice."""


@dataclass(frozen=True)
class BenchStation:
    """A blade at one place.

    Args:
        place: The place in words and lengths.
        x_mm: Distance ahead of the heel [mm].
        low_mm: y of the edge there [mm].
        height_mm: Edge to spine [mm].
        spine_mm: Thickness of the spine [mm].
        grind_height_mm: Edge to grind line, at most the height [mm].
        bevel_deg: Angle of the finished primary bevel to the middle of the blade, right and left [degrees]; of a
            curved one the chord's.
        platen_deg: The same before hardening, with the edge left thick and the stock not yet tapered: what to set a
            platen or jig to; None when nothing is hardened.
        scribe_mm: How far from the right and the left face of the stock to scribe the edge left before hardening
            [mm]; None as before.
        raise_mm: How high the middle of the spine is held over a stone while the right, and the left, edge bevel lies
            flat on it [mm]; None for a flat side, which lies down whole, and for an edge that sees no stone.
        gap_mm: Clear height under the spine's lower corner then [mm]; None likewise.
    """

    place: Line
    x_mm: float
    low_mm: float
    height_mm: float
    spine_mm: float
    grind_height_mm: float
    bevel_deg: tuple[float, float]
    platen_deg: tuple[float, float] | None
    scribe_mm: tuple[float, float] | None
    raise_mm: tuple[float | None, float | None]
    gap_mm: tuple[float | None, float | None]

    @property
    def name(self) -> str:
        """The place in words, in mm."""
        return self.place.text()


def places(length_mm: float) -> tuple[tuple[Line, float], ...]:
    """Return the places that are measured: heel, middle, near the tip (50 mm before it, on a short blade a quarter)."""
    near = 50.0 if length_mm >= 120 else length_mm / 4
    before = said("{} before the tip", mm(near, 0))
    return ((said("heel"), 0.0), (said("middle"), length_mm / 2), (before, length_mm - near))


def station(
    place: Line, x_mm: float, outline: Outline, taper: Taper, bevels: Bevels, before: Bevels | None, stock_mm: float
) -> BenchStation:
    """Return the figures of one place.

    Args:
        place: The place in words and lengths.
        x_mm: Distance ahead of the heel [mm].
        outline: The finished outline.
        taper: Thickness of the spine.
        bevels: The finished grind.
        before: The grind before hardening, or None.
        stock_mm: Thickness of the stock [mm].

    Raises:
        GeometryError: The outline does not reach there.
    """
    chord = chord_at(outline, max(x_mm, _HEEL_MM))
    if chord is None:
        raise GeometryError(f"the blade does not reach {x_mm:.1f} mm ahead of the heel")
    low = chord[0] if x_mm > 0 else min(chord[0], 0.0)  # a rounded heel is as high as the corner that it rounds
    height, spine = chord[1] - low, float(taper.at(np.array([x_mm]))[0])
    lifts, gaps = zip(*_stone(height, spine, bevels), strict=True)
    return BenchStation(
        place=place, x_mm=x_mm, low_mm=low, height_mm=height, spine_mm=spine,
        grind_height_mm=min(bevels.height_mm or height, height),
        bevel_deg=_angles(height, spine, bevels),
        platen_deg=_angles(height, stock_mm, before) if before else None,
        scribe_mm=_scribe(stock_mm, before) if before else None,
        raise_mm=(lifts[0], lifts[1]), gap_mm=(gaps[0], gaps[1]),
    )  # fmt: skip


def _stone(height: float, spine: float, bevels: Bevels) -> list[tuple[float | None, float | None]]:
    """Return raise and clear gap of each side: distances from the stone, which is the line of that edge bevel.

    A point u above the edge and z out on the bevel's side lies u sin - z cos above the stone. The spine's corner on
    that side has all of the side's share of the thickness, its middle half of the thickness less.
    """
    found: list[tuple[float | None, float | None]] = []
    for side, angle in zip(sides(np.array([height]), np.array([spine]), bevels), bevels.edge_angles_deg, strict=True):
        face = float(side.face[0])
        if face <= 0 or bevels.blunt:
            found.append((None, None))
            continue
        lift, lean = height * float(np.sin(np.radians(angle))), float(np.cos(np.radians(angle)))
        found.append((lift - (face - spine / 2) * lean, max(lift - face * lean, 0.0)))
    return found


def _angles(height: float, spine: float, bevels: Bevels) -> tuple[float, float]:
    """Return the angle of both bevels: how far they come out over how high they are."""
    found = []
    for side in sides(np.array([height]), np.array([spine]), bevels):
        run, rise = float(side.top[0] - side.foot[0]), float(side.face[0] - side.behind[0])
        found.append(float(np.degrees(np.arctan2(max(rise, 0.0), run))) if run > 0 else 0.0)
    return found[0], found[1]


def _scribe(stock: float, before: Bevels) -> tuple[float, float]:
    """Return how far from each face the edge is scribed: what that side's bevel takes off the stock at the edge."""
    off = max(stock - before.behind_edge_mm, 0.0)
    return off * before.shares[0], off * before.shares[1]


def stations(
    outline: Outline, taper: Taper, bevels: Bevels, before: Bevels | None, stock_mm: float, length_mm: float
) -> Sequence[BenchStation]:
    """Return the figures of all places that are measured; arguments as for station."""
    return [station(place, x, outline, taper, bevels, before, stock_mm) for place, x in places(length_mm)]
