"""The outline of a thing in a photo: the empty middle of the frame made straight, and what is seen in it.

The middle is drawn anew as a picture in which every pixel is equally large on the thing's upper side, in light and not
in the camera's greys. From there on it is a scan whose scale is known.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.design.lifted import BudgetRow
from blankwright.lift.contour import PixelCurve, PixelCurves, contour
from blankwright.lift.frame import Laid
from blankwright.lift.photo import Photo, linear, read_photo
from blankwright.lift.photobudget import outward, rows
from blankwright.lift.pictures import MOST_PIXELS, Picture, Pixels, library
from blankwright.lift.scale import Scale
from blankwright.lift.scans import seen_in
from blankwright.lift.seen import Seen

_FINER, _ROWS, _COARSE = 2, 128, 4
# Each pixel is the mean of so many rays across and down; rows that are drawn at once; pixels from place to place.
_WHITE = 235.0
_DOUBT_MM, _LEAST_PLACES = 0.05, 12
# A hole's place is taken where its wall adds less; a circle through fewer places is none.
_FINER_WORDS = "Use more pixels to the mm: go nearer, or let the frame fill the photo."
_IN_A_PHOTO = {
    "pixels and their noise": _FINER_WORDS,
    "arcs laid along the border": _FINER_WORDS,
    "corners and tip continued to where their sides meet": _FINER_WORDS,
    "a corner that was rounded": _FINER_WORDS,
    "where in the blur the border lies": "Focus on the thing and hold the camera still.",
    "places that hardly stand out": "Light it evenly from all sides, without shadow or glare.",
}
# What lessens a part that a scan has too.


_SPOILED = "the markers of the photo do not lie as on a flat frame. Press the paper flat and take the photo again."


@dataclass(frozen=True, eq=False)
class Straight:
    """The middle of the frame as seen from straight above.

    Args:
        pixels: (h, w) or (h, w, 3) in light, white paper nearly 255.
        origin_mm: Where the upper left corner of the first pixel is on the paper [mm].
        pixel_mm: Size of a pixel [mm].
    """

    pixels: Pixels
    origin_mm: Array
    pixel_mm: float

    def to_mm(self, pixels: Array) -> Array:
        """Return (n, 2) places on the paper [mm] for places in the picture, y down from its upper left corner."""
        places: Array = self.origin_mm + pixels * (self.pixel_mm, -self.pixel_mm)
        return places

    def to_pixels(self, places_mm: Array) -> Array:
        """Return the way back."""
        back: Array = (places_mm - self.origin_mm) / (self.pixel_mm, -self.pixel_mm)
        return back


def _lessened(row: BudgetRow) -> str:
    """Return what lessens a row in a photo, by the words that its own begin with."""
    return next((words for begin, words in _IN_A_PHOTO.items() if row.what.startswith(begin)), row.lessen)


def photographed(picture: Picture, laid: Laid) -> Seen:
    """Return what a photo of a thing in a frame shows.

    Args:
        picture: The photo.
        laid: What the maker says of frame and thing.

    Raises:
        RequestError: The frame cannot be read, or nothing stands out in its middle, or it reaches over the frame.
    """
    cv = library("cv2", "reading a photo")
    try:
        return _seen(cv, picture, laid)
    except (GeometryError, np.linalg.LinAlgError, cv.error):  # what a spoiled photo can do to a fit
        raise RequestError(_SPOILED) from None


def _seen(cv: Any, picture: Picture, laid: Laid) -> Seen:
    colours = picture.pixels
    grey: Pixels = colours if colours.ndim == 2 else cv.cvtColor(colours, cv.COLOR_RGB2GRAY)
    photo = read_photo(grey, picture.focal_35_mm, laid)
    straight = straightened(cv, photo, colours)
    curves = contour(straight.pixels)
    if curves.touches:
        raise RequestError(
            "the thing reaches out of the frame's empty middle, or a shadow does. Lay it inside and light it evenly;"
            " for a longer thing use larger paper or two halves: blankwright frame --sheets 2"
        )
    curves = replace(curves, holes=tuple(_trusted(photo, straight, hole) for hole in curves.holes))
    seen = seen_in(straight.pixels, curves, scale(photo, straight, curves))
    budget = tuple(replace(row, lessen=_lessened(row)) for row in seen.budget)
    return replace(seen, budget=budget)


def scale(photo: Photo, straight: Straight, curves: PixelCurves) -> Scale:
    """Return the mapping of a straightened photo, with what it may be off."""
    outline = straight.to_mm(curves.outline.points)
    x, y = outline.T
    if float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) < 0:
        outline = outline[::-1]
    return Scale(straight.to_mm, straight.to_pixels, straight.pixel_mm, rows(photo, outline), photo.notes)


def straightened(cv: Any, photo: Photo, colours: Pixels) -> Straight:
    """Return the middle of the frame as seen from straight above, at the height of the thing's upper side.

    A pixel is as large as one of the photo, or as its blur: smaller ones would show no more, and jump about more.

    Args:
        cv: OpenCV.
        photo: The photo.
        colours: (h, w) grey or (h, w, 3) its pixels.
    """
    low, high = _inner(photo.middle_mm)
    area = float(np.prod(high - low))
    least = np.sqrt(area / MOST_PIXELS) * _FINER
    pixel_mm = max(max(1.0, photo.found.blur_px) / photo.pixels_per_mm(photo.middle_mm), float(least))
    wide, tall = np.floor((high - low) / pixel_mm).astype(int).tolist()
    straight = Straight(np.zeros((1, 1), dtype=np.uint8), np.array([low[0], high[1]]), pixel_mm)
    where = _where(photo, straight, wide, tall)
    drawn_rows = []
    for top in range(0, tall, _ROWS):
        y, x = (np.mgrid[top * _FINER : min(top + _ROWS, tall) * _FINER, 0 : wide * _FINER] + 0.5) / _FINER / _COARSE
        at = cv.remap(where, x.astype(np.float32), y.astype(np.float32), cv.INTER_LINEAR)
        drawn = linear(cv.remap(colours, at[..., 0], at[..., 1], cv.INTER_CUBIC, borderMode=cv.BORDER_REPLICATE))
        drawn_rows.append(cv.resize(drawn, (wide, x.shape[0] // _FINER), interpolation=cv.INTER_AREA))
    light = np.concatenate(drawn_rows)
    white = np.maximum(np.percentile(light[::4, ::4], 95, axis=(0, 1)), 0.02)
    pixels = np.clip(np.round(light / white * _WHITE), 0, 255).astype(np.uint8)
    return replace(straight, pixels=np.ascontiguousarray(pixels))


def _where(photo: Photo, straight: Straight, wide: int, tall: int) -> NDArray[np.float32]:
    """Return where in the photo every fourth place of the straightened picture is [pixels]."""
    y, x = np.mgrid[0 : tall // _COARSE + 2, 0 : wide // _COARSE + 2]
    places = straight.to_mm(np.column_stack([x.ravel(), y.ravel()]) * float(_COARSE))
    return photo.pixels(places).astype(np.float32).reshape(*x.shape, 2)


def _inner(corners: Array) -> tuple[Array, Array]:
    """Return the upright rectangle inside the middle, whose corners run counter-clockwise from the lower left."""
    a, b, c, d = corners
    return np.array([max(a[0], d[0]), max(a[1], b[1])]), np.array([min(b[0], c[0]), min(c[1], d[1])])


def _trusted(photo: Photo, straight: Straight, hole: PixelCurve) -> PixelCurve:
    """Return the part of a hole's border where its upper edge is seen, and not its wall below that edge."""
    places = straight.to_mm(hole.points)
    x, y = places.T
    around = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    away = outward(places) if around < 0 else -outward(places)  # away from the steel is into the hole
    good = photo.doubt_mm(places, away) <= _DOUBT_MM
    if good.sum() < _LEAST_PLACES:
        return hole
    return PixelCurve(hole.points[good], hole.contrast[good], hole.weak[good])
