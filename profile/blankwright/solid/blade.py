"""A ground blade as a solid: volume and centre of volume from its outline, its spine's thickness and its grind.

The outline ahead of the heel is cut into strips at every joint of its arcs, at every change of the taper, at the
plunge line and where the blade becomes as low as its grind line or its edge bevel. Inside a strip edge and spine are
one arc each, the sections are closed forms (section.py), and the integral along the blade is taken by Gauss-Legendre
after x = middle - half cos(pi s), which keeps its order where an outline stands upright (a round tip). The result is
exact to about 1e-9, with a round tip above an edge bevel to 1e-7; the tests hold it against closed forms and meshes.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.base.gauss import gauss_legendre
from blankwright.base.units import MM_PER_INCH
from blankwright.geometry.distance import LINE_BULGE, shares
from blankwright.geometry.outline import Outline, circles, points_on
from blankwright.solid.section import Bevels, cuts_through, integrals

Index = NDArray[np.intp]

_NODES = 12
_LEAST_STRIP_MM = 1e-7
_FAR_OUT_MM = 1e3  # further than any face: nothing is ground there
_LOOKS = 4
_HALVINGS = 30  # of a look's distance, at most some centimetres: below the least strip


@dataclass(frozen=True)
class Taper:
    """Thickness of the spine along the blade, straight between the places given.

    Args:
        x_mm: Rising places along x [mm].
        thickness_mm: Thickness at each [mm].
    """

    x_mm: tuple[float, ...]
    thickness_mm: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.x_mm) != len(self.thickness_mm) or len(self.x_mm) < 2 or min(np.diff(self.x_mm)) <= 0:
            raise GeometryError("a taper needs two or more rising places and a thickness for each")
        if min(self.thickness_mm) <= 0:
            raise GeometryError("a taper's thickness must be above 0 mm")

    def at(self, x: Array) -> Array:
        """Return the thickness at places along x [mm]."""
        result: Array = np.interp(x, self.x_mm, self.thickness_mm)
        return result


@dataclass(frozen=True)
class Plunge:
    """Where the grind begins: unground steel (the ricasso) up to the plunge line, then a round step down to the bevel.

    The step is a part of a circle, upright and tangent to the ground surface: what the edge of a belt or wheel leaves.

    Args:
        at_mm: Length of the ricasso, heel to plunge line [mm]; 0 for ground through to the heel.
        radius_mm: Radius of the step [mm]; 0 for a sharp one.
    """

    at_mm: float
    radius_mm: float

    def __post_init__(self) -> None:
        if not (self.at_mm >= 0 and self.radius_mm >= 0):
            raise GeometryError("a plunge line lies at or ahead of the heel, and its radius is 0 mm or more")

    def full_mm(self, face_mm: float) -> float:
        """Return where the bevel has its full depth [mm], for a face this far from the edge's plane."""
        depth = min(face_mm, self.radius_mm)
        return self.at_mm + float(np.sqrt(self.radius_mm**2 - (self.radius_mm - depth) ** 2))

    def out_mm(self, x: Array, face_mm: float) -> Array:
        """Return how much further out the ground surface lies at places along x [mm]; far out on the ricasso."""
        left = self.full_mm(face_mm) - x
        step = self.radius_mm - np.sqrt(np.maximum(self.radius_mm**2 - np.maximum(left, 0.0) ** 2, 0.0))
        result: Array = np.where(x <= self.at_mm, _FAR_OUT_MM, step)
        return result

    def at_step_mm(self, step_mm: float, face_mm: float) -> float:
        """Return where the ground surface lies further out by a step [mm]."""
        step = min(step_mm, self.radius_mm)
        return self.full_mm(face_mm) - float(np.sqrt(self.radius_mm**2 - (self.radius_mm - step) ** 2))


@dataclass(frozen=True)
class Solid:
    """A volume and its centre.

    Args:
        volume_mm3: Volume [mm^3].
        centre_mm: Centre x, y, z [mm].
    """

    volume_mm3: float
    centre_mm: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class Strips:
    """A blade ahead of the heel, laid out for integrals along it.

    Args:
        x: (n,) places ahead of the heel [mm].
        weight: (n,) weights of an integral over x [mm].
        low: (n,) lower y of the outline there [mm].
        high: (n,) upper y [mm].
    """

    x: Array
    weight: Array
    low: Array
    high: Array

    @property
    def height(self) -> Array:
        """(n,) height of the blade [mm]."""
        return np.maximum(self.high - self.low, 0.0)


@dataclass(frozen=True, eq=False)
class Stretches:
    """Part of an outline along x, cut where it changes its kind.

    Args:
        rails: The outline's lower and upper pieces.
        cuts: (n,) rising places where stretches begin and end [mm].
    """

    rails: _Rails
    cuts: Array

    def chords(self, stretch: Index, x: Array) -> tuple[Array, Array]:
        """Return lower and upper y at places, each in a stretch given by its number [mm]."""
        middle = (self.cuts[1:] + self.cuts[:-1]) / 2
        return self.rails.at(self.rails.strip_at(middle[stretch]), x)


def lay_out(outline: Outline, taper: Taper, grinds: Sequence[Bevels], plunge: Plunge | None = None) -> Strips:
    """Cut a blade into strips in which nothing changes its kind, for all of some grinds.

    Args and errors are those of ground_blade.
    """
    breaks, levels = ends(taper, grinds, plunge)
    return strips(outline, tuple(breaks), tuple(levels))


def ends(taper: Taper, grinds: Sequence[Bevels], plunge: Plunge | None) -> tuple[list[float], list[float]]:
    """Return the places, and the heights of the blade, at which sections begin to change in another way [mm]."""
    levels = {m for bevels in grinds for m in (*bevels.edge_bevels_mm, bevels.height_mm) if m is not None and m > 0}
    breaks = [*taper.x_mm]
    for bevels in grinds if plunge else ():
        breaks += _plunge_breaks(plunge, taper, bevels) if plunge else []
    return breaks, sorted(levels)


def stretches(outline: Outline, breaks_mm: Sequence[float], levels_mm: Sequence[float], begin_mm: float) -> Stretches:
    """Cut what lies ahead of a place into stretches in which nothing changes its kind.

    Args:
        outline: The outline; ahead of the place every upright line crosses it twice.
        breaks_mm: Places at which a stretch must end [mm].
        levels_mm: Heights at which a stretch must end, wherever the outline is as high [mm].
        begin_mm: The place [mm].

    Raises:
        GeometryError: Nothing lies ahead of it, or an upright line crosses the outline more than twice there.
    """
    rails = _rails(outline, begin_mm)
    return Stretches(rails, _apart(rails.cuts, (*breaks_mm, *_places_as_high_as(rails, levels_mm))))


def ground_blade(
    outline: Outline, taper: Taper, bevels: Bevels, plunge: Plunge | None = None, laid: Strips | None = None
) -> Solid:
    """Return the solid of what lies ahead of the heel (x above 0).

    Args:
        outline: The finished outline, counter-clockwise; ahead of the heel every upright line crosses it twice.
        taper: Thickness of the spine.
        bevels: The grind.
        plunge: Where the grind begins; None for ground through to the heel.
        laid: The outline laid out for this grind, when it is at hand.

    Raises:
        GeometryError: Nothing lies ahead of the heel, an upright line crosses the outline more than twice there, or
            a hollow grind cuts through.
    """
    laid = laid or lay_out(outline, taper, [bevels], plunge)
    spine = taper.at(laid.x)
    through = cuts_through(laid.height, spine, bevels)
    if through.any():
        at = float(laid.x[through].min())
        raise GeometryError(
            f"the hollow grind cuts through {at:.0f} mm ({at / MM_PER_INCH:.2f} in) ahead of the heel; "
            "use a larger wheel, a lower grind or thicker stock"
        )
    out = plunge.out_mm(laid.x, face_mm(plunge, taper, bevels)) if plunge else None
    area, moment, across = integrals(laid.height, spine, bevels, out)
    volume = float((laid.weight * area).sum())
    if volume <= 0:
        raise GeometryError("no blade lies ahead of the heel")
    mx = float((laid.weight * area * laid.x).sum())
    my = float((laid.weight * (area * laid.low + moment)).sum())
    mz = 0.0 if bevels.alike else float((laid.weight * across).sum())
    return Solid(volume, (mx / volume, my / volume, mz / volume))


def face_mm(plunge: Plunge, taper: Taper, bevels: Bevels) -> float:
    """Return how far the farther face lies from the edge's plane at the plunge line [mm]."""
    return float(taper.at(np.array([plunge.at_mm]))[0]) * max(bevels.shares)


def _plunge_breaks(plunge: Plunge, taper: Taper, bevels: Bevels) -> list[float]:
    """Return where the sections begin to change in another way near a plunge line [mm]."""
    spine = float(taper.at(np.array([plunge.at_mm]))[0])
    face = face_mm(plunge, taper, bevels)
    thicknesses = (spine, spine - min(bevels.behind_edge_mm, spine))
    steps = [share * thick for share in bevels.shares for thick in thicknesses]
    return [plunge.at_mm, plunge.full_mm(face), *(plunge.at_step_mm(step, face) for step in steps)]


@lru_cache(maxsize=16)
def strips(outline: Outline, breaks_mm: tuple[float, ...], levels_mm: tuple[float, ...] = ()) -> Strips:
    """Return a blade laid out; kept, as the next knife weighed is often of the same outline.

    Args:
        outline: The outline.
        breaks_mm: Further places at which a strip must end [mm].
        levels_mm: Heights of the blade at which a strip must end, wherever it is as high [mm].

    Raises:
        GeometryError: Nothing lies ahead of the heel, or an upright line crosses the outline more than twice there.
    """
    rails = _rails(outline)
    cuts = _apart(rails.cuts, (*breaks_mm, *_places_as_high_as(rails, levels_mm)))
    x, weight = nodes(cuts[:-1], cuts[1:])
    strip = np.repeat(rails.strip_at((cuts[1:] + cuts[:-1]) / 2), x.shape[1])
    x, weight = x.ravel(), weight.ravel()
    return Strips(x, weight, *rails.at(strip, x))


def nodes(begin: Array, end: Array) -> tuple[Array, Array]:
    """Return (n, 12) places and weights of integrals from (n,) begins to (n,) ends, close together toward both."""
    s, w = _nodes(_NODES)
    middle, half = (begin + end) / 2, (end - begin) / 2
    x: Array = middle[:, None] - half[:, None] * np.cos(np.pi * s)
    weight: Array = half[:, None] * np.pi * np.sin(np.pi * s) * w
    return x, weight


@lru_cache(maxsize=1)
def _nodes(count: int) -> tuple[Array, Array]:
    """Return nodes and weights of Gauss-Legendre from 0 to 1."""
    s, w = gauss_legendre(count)
    return (s + 1) / 2, w / 2


Pieces = tuple[Array, Array, Array]


@dataclass(frozen=True, eq=False)
class _Rails:
    """The outline ahead of the heel as a lower and an upper piece for each strip between joints.

    Args:
        cuts: (n + 1,) where strips begin and end, rising, from the heel to the tip [mm].
        lower: (n,) the lower piece of each strip.
        upper: (n,) the upper piece.
        lines: (m, 3) of every piece: x and y of its start [mm] and its slope.
        arcs: (m, 4) of every piece: centre x, y and radius [mm], and on which side of its centre it lies; 0 for a line.
    """

    cuts: Array
    lower: Index
    upper: Index
    lines: Array
    arcs: Array

    def strip_at(self, x: Array) -> Index:
        """Return (n,) the strips in which places lie."""
        return np.searchsorted(self.cuts, x) - 1

    def at(self, strip: Index, x: Array) -> tuple[Array, Array]:
        """Return (n,) lower and (n,) upper y at places in given strips [mm]."""
        low, high = self.of(strip)
        return low(x), high(x)

    def of(self, strip: Index) -> tuple[_Curves, _Curves]:
        """Return the lower and the upper pieces of given strips, to be asked for y at many places."""
        return _Curves(self, self.lower[strip]), _Curves(self, self.upper[strip])


class _Curves:
    """Pieces of an outline as y over x: each a line or a part of a circle."""

    def __init__(self, rails: _Rails, piece: Index) -> None:
        self.x, self.y, self.slope = rails.lines[piece].T
        self.cx, self.cy, radius, self.side = rails.arcs[piece].T
        self.square, self.straight = radius**2, self.side == 0

    def __call__(self, x: Array) -> Array:
        """Return y of each piece at its own place [mm]."""
        straight = self.y + self.slope * (x - self.x)
        rest = np.maximum(self.square - (x - self.cx) ** 2, 0.0)
        result: Array = np.where(self.straight, straight, self.cy + self.side * np.sqrt(rest))
        return result


@lru_cache(maxsize=16)
def _rails(outline: Outline, begin_mm: float = 0.0) -> _Rails:
    """Lay the outline ahead of the heel, or of another place, out; kept: a knife is weighed in several states."""
    pieces = running_one_way(outline)
    a, b, g = pieces
    begin, end = max(begin_mm, float(a[:, 0].min())), float(a[:, 0].max())
    if end - begin <= _LEAST_STRIP_MM:
        raise GeometryError("no blade lies ahead of the heel")
    cuts = _apart(np.array([begin, end]), tuple(a[:, 0]))
    middle = (cuts[1:] + cuts[:-1]) / 2
    over = (np.minimum(a[:, 0], b[:, 0]) <= middle[:, None]) & (middle[:, None] <= np.maximum(a[:, 0], b[:, 0]))
    if (over.sum(axis=1) != 2).any():
        raise GeometryError("an upright line crosses the blade more than twice")
    run = b[:, 0] - a[:, 0]
    slope = (b[:, 1] - a[:, 1]) / np.where(run == 0, 1.0, run)
    lines = np.column_stack([a, slope])
    arcs = np.zeros((len(g), 4))
    bent = np.flatnonzero(np.abs(g) > LINE_BULGE)
    if len(bent):
        centre, radius = circles(a[bent], b[bent], g[bent])
        side = np.sign((a[bent, 1] + b[bent, 1]) / 2 - run[bent] * g[bent] / 2 - centre[:, 1])
        arcs[bent] = np.column_stack([centre, radius, side])
    pair = np.argsort(~over, axis=1, kind="stable")[:, :2]
    rails = _Rails(cuts, pair[:, 0], pair[:, 1], lines, arcs)
    first, second = rails.at(np.arange(len(middle)), middle)
    swap = first > second
    return _Rails(cuts, np.where(swap, pair[:, 1], pair[:, 0]), np.where(swap, pair[:, 0], pair[:, 1]), lines, arcs)


def _apart(cuts: Array, more: Sequence[float]) -> Array:
    """Return cuts and further ones inside them, rising, none so near the one before that nothing lies between."""
    every = np.sort(np.concatenate([cuts, np.asarray(more, dtype=float)]))
    every = every[(every >= cuts[0]) & (every <= cuts[-1])]
    apart: Array = every[np.append(True, np.diff(every) > _LEAST_STRIP_MM)]
    return apart


def _places_as_high_as(rails: _Rails, levels_mm: Sequence[float]) -> list[float]:
    """Return the places ahead of the heel where the blade is exactly as high as one of some levels [mm].

    Heights are compared at places in every strip: one that only touches a level between two of them is not seen, and
    does not bend the integral either.
    """
    if not levels_mm:
        return []
    cuts, n = rails.cuts, len(rails.cuts) - 1
    share = (1 - np.cos(np.pi * np.linspace(0, 1, _LOOKS + 1))) / 2
    places = cuts[:-1, None] + np.diff(cuts)[:, None] * share
    low, high = rails.at(np.repeat(np.arange(n), _LOOKS + 1), places.ravel())
    heights = (high - low).reshape(places.shape)
    over = heights > np.asarray(levels_mm)[:, None, None]
    level, strip, i = np.nonzero(over[:, :, 1:] != over[:, :, :-1])
    a, b = places[strip, i], places[strip, i + 1]
    lower, upper = rails.of(strip)
    asked, was = np.asarray(levels_mm)[level], over[level, strip, i]
    for _ in range(_HALVINGS if len(a) else 0):
        half = (a + b) / 2
        same = (upper(half) - lower(half) > asked) == was
        a, b = np.where(same, half, a), np.where(same, b, half)
    return [float(place) for place in (a + b) / 2]


def running_one_way(outline: Outline) -> Pieces:
    """Return starts, ends and bulges of the outline with every arc cut where it turns back along x."""
    a, b, g = outline.starts, outline.ends, outline.bulges
    low, high = outline.piece_boxes
    turns = (low[:, 0] < np.minimum(a[:, 0], b[:, 0]) - 1e-12) | (high[:, 0] > np.maximum(a[:, 0], b[:, 0]) + 1e-12)
    for i in sorted(np.flatnonzero(turns).tolist(), reverse=True):
        centre, radius = circles(a[i : i + 1], b[i : i + 1], g[i : i + 1])
        ends = centre[0] + np.array([[radius[0], 0.0], [-radius[0], 0.0]])
        share = np.sort(shares(np.repeat(a[i : i + 1], 2, 0), np.repeat(b[i : i + 1], 2, 0), np.repeat(g[i], 2), ends))
        stops = np.concatenate([[0.0], share[(share > 1e-9) & (share < 1 - 1e-9)], [1.0]])
        n = len(stops)
        points = points_on(np.repeat(a[i : i + 1], n, 0), np.repeat(b[i : i + 1], n, 0), np.repeat(g[i], n), stops)
        bulges = np.tan(np.arctan(g[i]) * np.diff(stops))
        a = np.concatenate([a[:i], points[:-1], a[i + 1 :]])
        b = np.concatenate([b[:i], points[1:], b[i + 1 :]])
        g = np.concatenate([g[:i], bulges, g[i + 1 :]])
    return a, b, g
