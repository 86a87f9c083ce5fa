"""Where does the thing end in a picture? Its outline and its holes to a fraction of a pixel.

The border is found in two steps. A threshold against the paper, whose brightness is followed across the picture,
gives the border to a pixel. Then the grey along a line across the border is taken in at each place: how much of it is
dark says where the border lies. Both levels are those beside the place, so that light that falls off does not move it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.lift.pictures import Pixels, library
from blankwright.lift.rows import normals, spaced
from blankwright.lift.strokes import across, inner_border, is_line, middle_of_line

LEAST_CONTRAST = 12.0
"""Steps of grey, of 255, that a thing must differ from its ground."""
WEAK_SHARE = 0.4
"""Where the contrast is a smaller share of what it is elsewhere, the place is told."""
MOST_CURVES = 120
MOST_BORDER = 3_000_000
MOST_POINTS = 400_000
"""Pixels of all borders and places of one; a picture with more shows no thing on paper."""

_THUMB = 800
_BORDER_SHARE = 0.03
_STEP = 0.5
_LEVEL = 2.0
"""Pixels over which the levels beside a border are taken."""
_LEAST_HOLE_PX = 12.0
_LEAST_PLACES = 100
_MOST_MOVED_PX = 2.5
_LOW_SHARE, _OVER_NOISE = 0.25, 5.0


@dataclass(frozen=True, eq=False)
class PixelCurve:
    """A closed border in a picture.

    Args:
        points: (n, 2) places, x to the right and y down, in pixels from the picture's upper left corner, about a pixel
            apart. The middle of the first pixel is (0.5, 0.5). Of an outline they run so that the thing lies on the
            left as it is seen; of a hole the other way.
        contrast: (n,) steps of grey between both sides.
        weak: (n,) whether the contrast is too small for the place to be trusted.
    """

    points: Array
    contrast: Array
    weak: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class PixelCurves:
    """What is seen in a picture.

    Args:
        outline: Border of the largest thing.
        holes: Borders in it.
        others: Borders of what else lies beside it, to a pixel.
        blur_px: Standard deviation of the blur along the border [pixels].
        touches: Whether the thing reaches the picture's own edge.
        size: Width and height of the picture [pixels].
        line_px: Width of the line, where the thing is drawn as one [pixels]; 0 for a thing itself.
    """

    outline: PixelCurve
    holes: tuple[PixelCurve, ...]
    others: tuple[Array, ...]
    blur_px: float
    touches: bool
    size: tuple[int, int]
    line_px: float = 0.0


def contour(image: Pixels) -> PixelCurves:
    """Return the borders that are seen in a picture.

    Args:
        image: (h, w) grey or (h, w, 3) colour.

    Raises:
        RequestError: Nothing stands out from its ground, or the libraries for pictures are not installed.
    """
    cv = library("cv2", "finding an outline in a picture")
    grey = clearest_channel(cv, image)
    away = cv.absdiff(grey, _ground(cv, grey))
    soft = cv.GaussianBlur(away, (0, 0), 0.8)
    level, mask = cv.threshold(soft, 0, 255, cv.THRESH_BINARY | cv.THRESH_OTSU)
    if level < LEAST_CONTRAST / 2:
        level, mask = cv.threshold(soft, LEAST_CONTRAST / 2, 255, cv.THRESH_BINARY)
    found, tree, areas, thing = _borders(cv, mask)
    line = is_line(cv, mask, found[thing], float(areas[thing]))
    low = _low_level(soft, float(level))
    if not line and low < 0.8 * level:  # what stands out less than the rest of the thing is seen as well
        _, mask = cv.threshold(soft, low, 255, cv.THRESH_BINARY)
        found, tree, areas, thing = _borders(cv, mask)
    top = tree[0][:, 3] < 0
    h, w = grey.shape
    if areas[thing] < 0.0005 * w * h or len(found[thing]) > MOST_POINTS:
        raise RequestError("No thing of any size stands out from its ground. Lay it on white paper and scan it again.")
    seen = _Refined(cv, grey)
    inner = [c for c, row, a in zip(found, tree[0], areas, strict=True) if row[3] == thing and a > _LEAST_HOLE_PX]
    inner.sort(key=len, reverse=True)
    width, holes = 0.0, tuple(inner[:MOST_CURVES])
    outline, blur = seen.border(found[thing])
    if inner and line:
        coarse, width = inner_border(cv, grey, inner, float(areas[thing]))
        if len(coarse) >= _LEAST_PLACES:
            outline, width, holes = *seen.line(coarse, width), ()
    others = [
        c.reshape(-1, 2) + 0.5
        for k, c in enumerate(found)
        if top[k] and k != thing and len(c) >= 20
    ]  # fmt: skip
    others.sort(key=len, reverse=True)
    edge = found[thing].reshape(-1, 2)
    touches = bool((edge <= 1).any() or (edge >= (w - 2, h - 2)).any())
    return PixelCurves(
        outline,
        tuple(seen.border(c)[0] for c in holes),
        tuple(np.asarray(c, dtype=np.float64) for c in others[:MOST_CURVES]),
        blur,
        touches,
        (w, h),
        width if not holes else 0.0,
    )


def _borders(cv: Any, mask: NDArray[np.uint8]) -> tuple[Any, Any, Array, int]:
    """Return all borders, their tree, the area in each, and which is that of the largest thing.

    Raises:
        RequestError: There is none, or there are more than any knife on paper has.
    """
    rim = cv.countNonZero(cv.morphologyEx(mask, cv.MORPH_GRADIENT, np.ones((3, 3), dtype=np.uint8)))
    if rim > MOST_BORDER:
        raise RequestError("The picture is full of small things; none is a knife. Scan it on plain white paper.")
    found, tree = cv.findContours(mask, cv.RETR_CCOMP, cv.CHAIN_APPROX_NONE)
    if not len(found):
        raise RequestError("Nothing stands out from its ground. Lay the thing on white paper and scan it again.")
    areas = np.array([cv.contourArea(c) for c in found])
    return found, tree, areas, int(np.argmax(np.where(tree[0][:, 3] < 0, areas, -1.0)))


def _low_level(soft: Pixels, level: float) -> float:
    """Return a level that the ground's own noise does not reach."""
    some = soft.ravel()[:: max(1, soft.size // 400_000)]
    ground = some[some < level]
    noise = float(np.percentile(ground, 75)) if len(ground) else level
    return min(level, max(_LOW_SHARE * level, _OVER_NOISE * noise, LEAST_CONTRAST / 2))


def clearest_channel(cv: Any, image: Pixels) -> Pixels:
    """Return the colour channel in which the thing stands out most, or the grey itself."""
    if image.ndim == 2:
        return image
    small = cv.resize(image, _thumb_size(image), interpolation=cv.INTER_AREA)
    spread = [float(small[:, :, k].std()) for k in range(3)]
    return np.ascontiguousarray(image[:, :, int(np.argmax(spread))])


def _thumb_size(image: Pixels) -> tuple[int, int]:
    h, w = image.shape[:2]
    share = min(1.0, _THUMB / max(h, w))
    return max(2, round(w * share)), max(2, round(h * share))


def _ground(cv: Any, grey: Pixels) -> Pixels:
    """Return the brightness of the ground all over: a surface of the second degree through what is no thing."""
    wide, high = _thumb_size(grey)
    small = cv.resize(grey, (wide, high), interpolation=cv.INTER_AREA).astype(np.float64)
    x, y = np.meshgrid(np.linspace(-1, 1, wide), np.linspace(-1, 1, high))
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    rim = np.zeros(small.shape, dtype=bool)
    band = max(1, round(_BORDER_SHARE * min(small.shape)))
    rim[:band] = rim[-band:] = rim[:, :band] = rim[:, -band:] = True
    middle = float(np.median(small[rim]))
    spread = max(1.4826 * float(np.median(np.abs(small[rim] - middle))), 2.0)
    use = rim & (np.abs(small - middle) <= 6 * spread)
    surface = np.full(small.shape, middle)
    for degree in (3, 3, 6, 6, 6):
        if use.sum() < 50:
            break
        a = terms[use][:, :degree]
        step = max(1, len(a) // 20_000)
        weights, *_ = np.linalg.lstsq(a[::step], small[use][::step], rcond=None)
        surface = terms[..., :degree] @ weights
        off = np.abs(small - surface)
        noise = max(1.4826 * float(np.median(off[use])), 1.5)
        use = off <= max(4 * noise, 8.0)
    full = cv.resize(surface.astype(np.float32), (grey.shape[1], grey.shape[0]), interpolation=cv.INTER_LINEAR)
    ground: Pixels = np.clip(np.rint(full, out=full), 0, 255, out=full).astype(np.uint8)
    return ground


class _Refined:
    """Borders to a fraction of a pixel, from the grey across them."""

    def __init__(self, cv: Any, grey: Pixels) -> None:
        self.cv, self.grey = cv, grey

    def border(self, coarse: NDArray[np.int32]) -> tuple[PixelCurve, float]:
        """Return a border and its blur [pixels]."""
        centres = spaced(coarse.reshape(-1, 2)[::-1].astype(np.float64) + 0.5)
        blur = 1.0
        for _ in range(2):  # the second time from where the first one found it, as wide as its blur asks for
            centres, contrast, blur = self._moved(centres, blur)
        middle = float(np.median(contrast))
        weak = contrast < max(WEAK_SHARE * middle, LEAST_CONTRAST)
        return PixelCurve(centres, contrast, weak), blur

    def line(self, coarse: NDArray[np.int32], wide_px: float) -> tuple[PixelCurve, float]:
        """Return the middle of a drawn line from the border of what it encloses, and the line's width [pixels]."""
        points = spaced(coarse.reshape(-1, 2)[::-1].astype(np.float64) + 0.5)
        for _ in range(2):
            normal = normals(points)
            middle, contrast, odd, wide = middle_of_line(self.cv, self.grey, points, normal, wide_px)
            points, wide_px = middle - wide / 2 * normal, wide
        return PixelCurve(middle, contrast, odd), wide

    def _thin(self, points: Array, normal: Array, half: float) -> NDArray[np.bool_]:
        """Return where the thing is so thin that what is looked at inside of one border lies at the other one."""
        low = np.floor(points.min(axis=0)) - 1.0
        wide, high = (np.ceil(points.max(axis=0)) - low + 2.0).astype(int).tolist()
        beside = np.zeros((high, wide), dtype=np.uint8)  # within half of any border
        drawn = np.rint((points - low - 0.5) * 16).astype(np.int32)
        self.cv.polylines(beside, [drawn], True, 1, thickness=int(2 * half), shift=4)
        inside = (points - (half + _LEVEL) * normal - low).astype(np.intp)
        x, y = inside[:, 0], inside[:, 1]
        thin: NDArray[np.bool_] = beside[np.clip(y, 0, high - 1), np.clip(x, 0, wide - 1)] > 0
        return thin

    def _moved(self, points: Array, blur: float) -> tuple[Array, Array, float]:
        normal = normals(points)
        half = 2.0 + 2.0 * min(blur, 3.0)
        t = np.arange(-half - _LEVEL, half + _LEVEL + _STEP / 2, _STEP)
        profile = across(self.cv, self.grey, points, normal, t)
        profile = (np.roll(profile, 1, axis=0) + profile + np.roll(profile, -1, axis=0)) / 3
        inner, outer = profile[:, t <= -half].mean(axis=1), profile[:, t >= half].mean(axis=1)
        thin = self._thin(points, normal, half)
        inner = _from_beside(inner, thin)
        step = outer - inner
        contrast = np.abs(step)
        safe = np.where(contrast > 1.0, step, np.inf)
        share = (outer[:, None] - profile) / safe[:, None]  # 1 inside, 0 outside
        between = (t > -half - 1e-9) & (t < half + 1e-9)
        weights = np.where(between, _STEP, 0.0)
        ends = np.flatnonzero(between)[[0, -1]]
        weights[ends] /= 2
        at = share @ weights - half
        at[thin] = _falls(share[thin], t)
        at = np.clip(at, -_MOST_MOVED_PX, _MOST_MOVED_PX)
        at = np.where(contrast > 1.0, at, 0.0)
        good = contrast > 0.7 * np.median(contrast)
        return points + at[:, None] * normal, contrast, _blur(share[good], t, at[good]) if good.any() else blur


def border_at(cv: Any, grey: Pixels, coarse: Array) -> Array:
    """Return the places of a border that is known to a pixel, to a fraction of one [pixels]."""
    return _Refined(cv, grey).border(np.rint(coarse - 0.5).astype(np.int32))[0].points


def _from_beside(level: Array, left_out: NDArray[np.bool_]) -> Array:
    """Return a level along a closed border, at places that are left out as it is on both sides of them."""
    if not left_out.any() or left_out.all():
        return level
    known = np.flatnonzero(~left_out)
    around: Array = np.interp(np.arange(len(level)), known, level[known], period=len(level))
    return around


def _falls(share: Array, t: Array) -> Array:
    """Return where each profile falls to a half for the last time; how far it is dark inside says nothing of it."""
    dark = share >= 0.5
    last = np.where(dark.any(axis=1), len(t) - 1 - dark[:, ::-1].argmax(axis=1), 0)
    last = np.minimum(last, len(t) - 2)
    rows = np.arange(len(share))
    a, b = share[rows, last], share[rows, last + 1]
    part = np.clip((a - 0.5) / np.maximum(a - b, 1e-9), 0.0, 1.0)
    fallen: Array = np.where(dark.any(axis=1), t[last] + part * (t[1] - t[0]), -_MOST_MOVED_PX)
    return fallen


def _blur(share: Array, t: Array, at: Array) -> float:
    """Return the standard deviation of a blurred step, from where it has fallen to 84 and to 16 per cent [pixels]."""
    if not len(share):
        return 1.0
    pick = slice(None, None, max(1, len(share) // 4000))
    place = np.clip(t + at[pick, None], t[0], t[-1])  # each profile from its own border on
    before = np.clip(t.searchsorted(place, side="right") - 1, 0, len(t) - 2)
    a, b = (np.take_along_axis(share[pick], before + k, axis=1) for k in (0, 1))
    middle = ((b - a) / (t[before + 1] - t[before]) * (place - t[before]) + a).mean(axis=0)
    falling = np.minimum.accumulate(middle)
    high, low = (float(np.interp(-level, -falling, t)) for level in (0.8413, 0.1587))
    return float(np.clip((low - high) / 2, 0.3, 6.0))
