"""Area, centroid and second moments of a chain of arcs and lines, in closed form.

Each piece gives the polygon part of its chord and the circular segment between chord and arc. Segment
formulas: area and first moment as in any handbook (Machinery's Handbook, "Properties of circular
segments"); second moments by integrating over the segment about the circle's centre and shifting. For
small angles those closed forms lose digits by cancellation, so below SERIES_BELOW_RAD their Taylor series
are used (coefficients from a 60-digit contour integral of the closed forms; the tests rebuild them with
mpmath). All sums run about a local origin and are moved to the centroid by the parallel-axis rule: a
part drawn a kilometre from the origin keeps its digits.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.base.gauss import gauss_legendre

_NODES = 20  # enough for a half circle and a cubic to the last digit

SERIES_BELOW_RAD = 0.5
"""Half the arc's angle below which the series are used; their first neglected term is 1e-18 there."""

# Coefficients of alpha, alpha^3, ... (area, along, across) and of alpha^2, alpha^4, ... (first moment),
# in units of the half chord to the power 2, 3, 4 and 4.
_AREA = (
    0.666666666666666667, 0.0888888888888888889, 0.0126984126984126984, 0.00169312169312169312,
    0.000213777991555769334, 2.59728513696767665e-5, 3.06963269926232889e-6, 3.55433740639674865e-7,
    4.05141237302561871e-8, 4.56103024091843657e-9, 5.0834151717805773e-10, 5.61880963675797215e-11,
)  # fmt: skip
_FIRST = (
    0.133333333333333333, 0.031746031746031746, 0.00592592592592592593, 0.000962000962000962001,
    0.000142850682533222216, 1.99526125452051378e-5, 2.66575305479756149e-6, 3.44370051707177591e-7,
    4.33297872887251474e-8, 5.33758593036960617e-9, 6.46163108227166797e-10,
)  # fmt: skip
_ALONG = (
    0.133333333333333333, 0.0253968253968253968, 0.00507936507936507937, 0.000923520923520923521,
    0.000154671900703646735, 2.42814211068179322e-5, 3.62165068047420989e-6, 5.18399025716182598e-7,
    7.1747034888130419e-8, 9.65614825743574971e-9, 1.26935595127948208e-9, 1.63551295829448707e-10,
)  # fmt: skip
_ACROSS = (
    0.0, 0.0380952380952380952, 0.0126984126984126984, 0.00292448292448292448, 0.000559581511962464343,
    9.54342541644128946e-5, 1.50386207031087205e-5, 2.23656138794123813e-6, 3.18221050710395908e-7,
    4.3719711046260312e-8, 5.83843823921935269e-9, 7.61568382779663811e-10,
)  # fmt: skip


@dataclass(frozen=True)
class Moments:
    """What a plane area weighs and how it is spread.

    Args:
        area_mm2: Signed area [mm^2], positive when the outline runs counter-clockwise.
        centroid_mm: Centroid x, y [mm].
        ixx_mm4: Integral of (y - centroid y)^2 [mm^4].
        iyy_mm4: Integral of (x - centroid x)^2 [mm^4].
        ixy_mm4: Integral of (x - centroid x)(y - centroid y) [mm^4].
    """

    area_mm2: float
    centroid_mm: tuple[float, float]
    ixx_mm4: float
    iyy_mm4: float
    ixy_mm4: float


_SERIES = np.array([_AREA, (*_FIRST, 0.0), _ALONG, _ACROSS]).T[::-1, :, None]
"""The coefficients of one power after the other, the highest first, of all four."""


def _segments(half: Array, alpha: Array) -> tuple[Array, Array, Array, Array]:
    """Return signed area, first moment, and second moments along and across the chord, per segment.

    Args:
        half: (n,) half chord [mm].
        alpha: (n,) signed half angle of the arc [rad].

    The first moment is taken about the chord's middle, toward the side on which a counter-clockwise arc lies.
    """
    small = np.abs(alpha) < SERIES_BELOW_RAD
    a = np.where(small, alpha, 0.0)
    area, first, along, across = a * _summed(_SERIES, a * a)
    first = a * first
    if not small.all():
        t = np.where(small, 1.0, alpha)
        s, c = np.sin(t), np.cos(t)
        flat = t - s * c
        area = np.where(small, area, flat / s**2)
        first = np.where(small, first, (2 / 3 * s**3 - c * flat) / s**3)
        along = np.where(small, along, (3 * t - 3 * s * c - 2 * s**3 * c) / (12 * s**4))
        across = np.where(small, across, ((flat + 2 * s**3 * c) / 4 - 4 / 3 * c * s**3 + c * c * flat) / s**4)
    return area * half**2, first * half**3, along * half**4, across * half**4


def _summed(series: Array, x: Array) -> Array:
    """Return the sums of power series in x, the coefficients of the highest power first, by Horner's rule."""
    value: Array = series[0] + x * 0.0
    for coefficients in series[1:]:
        value = coefficients + value * x
    return value


def _segment_areas(half: Array, alpha: Array) -> Array:
    """Return the signed areas that _segments returns, to the last digit."""
    small = np.abs(alpha) < SERIES_BELOW_RAD
    a = np.where(small, alpha, 0.0)
    area: Array = a * _summed(_SERIES[:, 0], a * a)
    if not small.all():
        t = np.where(small, 1.0, alpha)
        s = np.sin(t)
        area = np.where(small, area, (t - s * np.cos(t)) / s**2)
    return area * half**2


def area_of_chain(starts: Array, ends: Array, bulges: Array) -> float:
    """Return the signed area alone, a third of the work; arguments are those of of_chain.

    Raises:
        GeometryError: The chain encloses no area.
    """
    origin = starts.mean(axis=0)
    p, q = starts - origin, ends - origin
    d = ends - starts
    area = (p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]).sum() / 2
    area += _segment_areas(np.hypot(d[:, 0], d[:, 1]) / 2, 2 * np.arctan(bulges)).sum()
    if area == 0:
        raise GeometryError("the outline encloses no area")
    return float(area)


def of_chain(starts: Array, ends: Array, bulges: Array) -> Moments:
    """Integrate over the area inside a closed chain.

    Args:
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) bulge of each piece [unitless].

    Raises:
        GeometryError: The chain encloses no area.
    """
    origin = starts.mean(axis=0)
    p, q = starts - origin, ends - origin
    x0, y0, x1, y1 = p[:, 0], p[:, 1], q[:, 0], q[:, 1]
    cross = x0 * y1 - x1 * y0
    area = cross.sum() / 2
    mx = ((x0 + x1) * cross).sum() / 6
    my = ((y0 + y1) * cross).sum() / 6
    syy = ((y0 * y0 + y0 * y1 + y1 * y1) * cross).sum() / 12
    sxx = ((x0 * x0 + x0 * x1 + x1 * x1) * cross).sum() / 12
    sxy = ((2 * x0 * y0 + x0 * y1 + x1 * y0 + 2 * x1 * y1) * cross).sum() / 24

    d = ends - starts  # not q - p, which is 0 for a piece far shorter than its distance from the origin
    chord = np.hypot(d[:, 0], d[:, 1])
    seg, first, along, across = _segments(chord / 2, 2 * np.arctan(bulges))
    ux, uy = d[:, 0] / chord, d[:, 1] / chord
    rx, ry = uy, -ux  # right of the chord: the side of a counter-clockwise arc
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    fx, fy = first * rx, first * ry  # first moment about the chord's middle
    area += seg.sum()
    mx += (seg * cx + fx).sum()
    my += (seg * cy + fy).sum()
    sxx += (seg * cx * cx + 2 * cx * fx + along * ux * ux + across * rx * rx).sum()
    syy += (seg * cy * cy + 2 * cy * fy + along * uy * uy + across * ry * ry).sum()
    sxy += (seg * cx * cy + cx * fy + cy * fx + along * ux * uy + across * rx * ry).sum()
    if area == 0:
        raise GeometryError("the outline encloses no area")
    gx, gy = mx / area, my / area
    return Moments(
        area_mm2=float(area),
        centroid_mm=(float(gx + origin[0]), float(gy + origin[1])),
        ixx_mm4=float(syy - area * gy * gy),
        iyy_mm4=float(sxx - area * gx * gx),
        ixy_mm4=float(sxy - area * gx * gy),
    )


@dataclass(frozen=True, eq=False)
class Boundary:
    """Places along a closed chain where integrals over its inside are taken.

    Args:
        x: (n, m) places on each piece [mm].
        y: (n, m) likewise [mm].
        dx: (n, m) how x grows there with the share of the piece [mm].
        dy: (n, m) likewise [mm].
    """

    x: Array
    y: Array
    dx: Array
    dy: Array


def boundary(starts: Array, ends: Array, bulges: Array) -> Boundary:
    """Return the places along a closed chain where integrals are taken.

    Args:
        starts: (n, 2) start of each piece [mm].
        ends: (n, 2) end of each piece [mm].
        bulges: (n,) bulge of each piece [unitless].
    """
    s, _ = _nodes()
    turn = 4 * np.arctan(bulges)[:, None]
    half = turn / 2
    stretch = np.where(np.abs(half) < 1e-12, 1.0, half / np.where(half == 0, 1.0, np.sin(half)))
    d = (ends - starts)[:, None, :]
    # along an arc the chord's direction turns steadily; its own integral is the point itself
    angle = (s - 0.5) * turn
    cos, sin = np.cos(angle) * stretch, np.sin(angle) * stretch
    dx, dy = d[..., 0] * cos - d[..., 1] * sin, d[..., 0] * sin + d[..., 1] * cos
    return Boundary(*_along(starts, ends, turn, s), dx, dy)


def weighted(along: Boundary, polynomial: tuple[float, ...]) -> tuple[float, float, float]:
    """Integrate a weight that is a polynomial in x, and its first moments, over the area inside a closed chain.

    Green's theorem turns both into integrals along the pieces, taken by Gauss-Legendre: on an arc the integrand is a
    product of sines and cosines, and the nodes are so many that what is left out is below the last digit.

    Args:
        along: Places along the chain.
        polynomial: Coefficients of 1, x, x^2, ... of the weight.

    Returns:
        Integrals of the weight, of x times the weight and of y times the weight.
    """
    _, w = _nodes()
    x, y, dx, dy = along.x, along.y, along.dx, along.dy
    g = _summed(np.array(polynomial)[::-1], x)
    over = _summed(_integral(polynomial)[::-1], x)
    first = _summed(_integral((0.0, *polynomial))[::-1], x)
    whole = float((over * dy * w).sum())
    return whole, float((first * dy * w).sum()), float(-(g * y * y / 2 * dx * w).sum())


def _integral(polynomial: tuple[float, ...]) -> Array:
    """Return the coefficients of the integral from 0."""
    return np.array([0.0, *(c / (k + 1) for k, c in enumerate(polynomial))])


@lru_cache(maxsize=1)
def _nodes() -> tuple[Array, Array]:
    """Return nodes and weights of Gauss-Legendre from 0 to 1."""
    s, w = gauss_legendre(_NODES)
    return (s + 1) / 2, w / 2


def _along(starts: Array, ends: Array, turn: Array, s: Array) -> tuple[Array, Array]:
    """Return x and y at shares s of every piece: (n, m) each."""
    half = turn / 2
    flat = np.abs(half) < 1e-12
    safe = np.where(flat, 1.0, np.sin(half))
    # chord coordinates of an arc point: sin(s turn / 2) / sin(turn / 2), turned by (s - 1) turn / 2
    reach = np.where(flat, s, np.sin(s * half) / safe)
    lean = (s - 1) * half
    d = ends - starts
    along, across = reach * np.cos(lean), reach * np.sin(lean)
    x = starts[:, :1] + d[:, :1] * along - d[:, 1:] * across
    y = starts[:, 1:] + d[:, 1:] * along + d[:, :1] * across
    return x, y
