"""A piece of stock as it lies on the bench: its outline, thickness, and the places to keep clear of or to save.

Coordinates are those of the stock file: x along the piece, y across it, from its lower left corner. Every outline is a
chain of lines and arcs, so that a round hole is a round hole and every distance is exact.
"""

from __future__ import annotations

import math
from functools import cached_property
from itertools import pairwise
from typing import Literal, get_args

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError, told
from blankwright.base.frozen import dataclass
from blankwright.geometry.distance import crossing_place
from blankwright.geometry.outline import Outline
from blankwright.shop.records import Material

Kind = Literal["bar", "sheet", "found"]
KINDS: tuple[Kind, ...] = get_args(Kind)

ZoneKind = Literal["avoid", "keep"]
ZONE_KINDS: tuple[ZoneKind, ...] = get_args(ZoneKind)

Part = Literal["knife", "blade", "flat", "spine", "handle"]
PARTS: tuple[Part, ...] = get_args(Part)
"""Where on the finished knife a place that is kept may lie; "flat" is the blade above the grind line."""

Face = Literal["either", "front", "back"]
FACES: tuple[Face, ...] = get_args(Face)
"""On which face of the piece something is: the front lies up, as the stock file is drawn."""

Faces = Literal["unsaid", "alike", "front"]
FACE_WORDS: tuple[Faces, ...] = get_args(Faces)

LONGEST_MM, THICKEST_MM, MOST_PIECES, MOST_POINTS = 20_000.0, 300.0, 10_000, 5_000
"""What a stock file may say: beyond is a slip of the unit."""


@dataclass(frozen=True, eq=False)
class Zone:
    """A place on a piece.

    Args:
        kind: "avoid": no steel of the knife comes from here; "keep": it shall be on the knife.
        outline: Its outline, counter-clockwise; a round one is two half circles [mm].
        margin_mm: How far the cut outline stays away from it, or how far inside the knife it stays [mm].
        name: What it is, for sentences, such as "bolt hole".
        part: On which part of the finished knife a kept place shall lie.
        share: How much of a kept place shall be there [0 to 1].
        face: On which face of the piece it is; a texture or a stamp has one, a hole has none.

    Raises:
        RequestError: A field cannot be, or the outline crosses itself.
    """

    kind: ZoneKind
    outline: Outline
    margin_mm: float = 0.0
    name: str = ""
    part: Part = "knife"
    share: float = 1.0
    face: Face = "either"

    def __post_init__(self) -> None:
        for key, value, allowed in (
            ("kind", self.kind, ZONE_KINDS), ("on", self.part, PARTS), ("face", self.face, FACES),
        ):  # fmt: skip
            if value not in allowed:
                raise RequestError(f"{key}: {told(value)} is unknown. Allowed: {', '.join(allowed)}.")
        _within("margin", self.margin_mm, 0.0, 200.0)
        _within("share", self.share, 0.01, 1.0)
        object.__setattr__(self, "outline", sound(self.outline, "zone"))

    @property
    def words(self) -> str:
        """What it is called in a sentence."""
        return self.name or ("zone to keep" if self.kind == "keep" else "zone to avoid")

    @property
    def circle(self) -> tuple[float, float, float] | None:
        """Centre and diameter of a round zone [mm]; None for any other."""
        v = self.outline.vertices
        if len(v) != 2 or not np.allclose(v[:, 2], 1.0, atol=1e-12):
            return None
        (x0, y0), (x1, y1) = v[:, :2].tolist()
        return (x0 + x1) / 2, (y0 + y1) / 2, math.hypot(x1 - x0, y1 - y0)


@dataclass(frozen=True, eq=False)
class Piece:
    """One piece of stock, or several that are alike.

    Args:
        name: What it is called.
        kind: "bar", "sheet" or "found".
        outline: Its outline, counter-clockwise [mm].
        thickness: Places along x and the thickness there, straight between and level beyond [mm].
        zones: Places to avoid and to keep.
        margin_mm: Rim along its edge that no knife is made of [mm].
        grain_deg: Direction of rolling, counter-clockwise from x [degrees]; None where it is not known.
        quantity: How many there are.
        own_kerf_mm: Width of the saw's or cutter's slot where the maker gives it [mm]; None for the process's own.
        faces: "alike" where both are worth the same, "front" where that one is to be seen, else "unsaid".
        material: What it is of; None where nobody says.

    Raises:
        RequestError: A field cannot be, the outline crosses itself, or a zone lies beside the piece.
    """

    name: str
    kind: Kind
    outline: Outline
    thickness: tuple[tuple[float, float], ...]
    zones: tuple[Zone, ...] = ()
    margin_mm: float = 0.0
    grain_deg: float | None = None
    quantity: int = 1
    own_kerf_mm: float | None = None
    faces: Faces = "unsaid"
    material: Material | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise RequestError(f"kind: {told(self.kind)} is unknown. Allowed: {', '.join(KINDS)}.")
        if self.faces not in FACE_WORDS:
            raise RequestError(f"faces: {told(self.faces)} is unknown. Allowed: alike, front.")
        _within("margin", self.margin_mm, 0.0, 200.0)
        if self.own_kerf_mm is not None:
            _within("kerf", self.own_kerf_mm, 0.0, 20.0)
        if self.grain_deg is not None:
            _within("grain", self.grain_deg, -360.0, 360.0)
        if not 1 <= self.quantity <= MOST_PIECES:
            raise RequestError(f"quantity: {told(self.quantity)} is out of range. Allowed: 1 to {MOST_PIECES}.")
        _check_thickness(self.thickness)
        object.__setattr__(self, "outline", sound(self.outline, "outline"))
        wide, high = self.outline.size_mm
        if max(wide, high) > LONGEST_MM or min(wide, high) < 1.0:
            raise RequestError(f"the piece is {wide:g} x {high:g} mm. Allowed: 1 mm to {LONGEST_MM:g} mm.")
        for number, zone in enumerate(self.zones, start=1):
            if _apart(self.outline, zone.outline):
                x0, y0, x1, y1 = zone.outline.bounds_mm
                raise RequestError(
                    f"zone {number} ({zone.words}) lies beside the piece, from ({x0:g}, {y0:g}) to "
                    f"({x1:g}, {y1:g}) mm. Places are measured from the lower left corner of the piece."
                )

    @property
    def kerf_mm(self) -> float | None:
        """Width of the slot where the stock file gives it [mm]; None for the process's own."""
        return self.own_kerf_mm

    @property
    def avoided(self) -> tuple[Zone, ...]:
        """The zones to stay clear of."""
        return tuple(z for z in self.zones if z.kind == "avoid")

    @property
    def kept(self) -> tuple[Zone, ...]:
        """The zones to save."""
        return tuple(z for z in self.zones if z.kind == "keep")

    def words_of(self, zone: Zone) -> str:
        """Return what one of its zones is called in a sentence: with its number where others are called so too."""
        alike = [other for other in self.zones if other.words == zone.words]
        return zone.words if len(alike) == 1 else f"{zone.words} (zone {self.zones.index(zone) + 1})"

    @cached_property
    def least_thickness_mm(self) -> float:
        """Thickness where it is thinnest [mm]."""
        return min(mm for _, mm in self.thickness)

    def thickness_at(self, x_mm: Array) -> Array:
        """Return the thickness at places along x [mm]."""
        at, mm = zip(*self.thickness, strict=True)
        found: Array = np.interp(x_mm, at, mm)
        return found


def round_zone(x_mm: float, y_mm: float, diameter_mm: float) -> Outline:
    """Return a circle as an outline of two half circles [mm].

    >>> round_zone(5.0, 5.0, 2.0).size_mm
    (2.0, 2.0)
    """
    half = diameter_mm / 2
    return Outline(np.array([[x_mm + half, y_mm, 1.0], [x_mm - half, y_mm, 1.0]]))


def box(length_mm: float, width_mm: float) -> Outline:
    """Return a rectangle from the origin [mm]."""
    return polygon([(0.0, 0.0), (length_mm, 0.0), (length_mm, width_mm), (0.0, width_mm)])


def polygon(points: list[tuple[float, float]]) -> Outline:
    """Return straight lines from point to point as an outline [mm].

    Raises:
        RequestError: Fewer than three points that differ.
    """
    kept = [p for p, after in zip(points, [*points[1:], points[0]], strict=True) if math.dist(p, after) > 1e-6]
    if len(kept) < 3:
        raise RequestError("three or more points that differ are needed.")
    return Outline(np.array([[x, y, 0.0] for x, y in kept]))


def sound(outline: Outline, what: str) -> Outline:
    """Return an outline as a counter-clockwise one.

    Raises:
        RequestError: It crosses itself or encloses nothing.
    """
    place = crossing_place(outline)
    if place is not None:
        raise RequestError(f"the {what} crosses itself near ({place[0]:g}, {place[1]:g}) mm. Go round it in order.")
    if abs(outline.area_mm2) < 1e-3:
        raise RequestError(f"the {what} encloses no area.")
    return outline if outline.area_mm2 > 0 else outline.reversed()


def _within(key: str, value: float, least: float, greatest: float) -> None:
    if not (math.isfinite(value) and least <= value <= greatest):
        raise RequestError(f"{key}: {value:g} is out of range. Allowed: {least:g} to {greatest:g}.")


def _check_thickness(stations: tuple[tuple[float, float], ...]) -> None:
    if not stations:
        raise RequestError("thickness: a thickness is needed.")
    for (x, _), (after, _) in pairwise(stations):
        if not x < after:
            raise RequestError(f"thickness: its places must grow; {after:g} mm comes behind {x:g} mm.")
    for _, mm in stations:
        _within("thickness", mm, 0.1, THICKEST_MM)


def _apart(one: Outline, other: Outline) -> bool:
    """Whether the boxes of two outlines do not even touch."""
    a, b = one.bounds_mm, other.bounds_mm
    return a[0] > b[2] or b[0] > a[2] or a[1] > b[3] or b[1] > a[3]
