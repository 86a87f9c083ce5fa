"""A photo of a thing that lies in a frame: from its pixels to mm at the height of the thing's upper side.

Colours are taken back to light by the curve of sRGB (IEC 61966-2-1): half way between dark and light is then where an
edge is, however blurred it is.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.ink.bars import MAIN_MM
from blankwright.ink.papers import Paper, papers
from blankwright.lift.frame import SIDES, Laid, Sheet, frame, side_of
from blankwright.lift.photocamera import Camera
from blankwright.lift.photofit import Corners, Fitted, Known, fit, laid
from blankwright.lift.photomarkers import LEAST_CELL_PX, Found, Numbers, find_markers
from blankwright.lift.pictures import Pixels

MOST_TILT_DEG = 30.0
"""A photo from further aside is refused [degrees]: of a thing 3 mm thick a side wall of 1.7 mm is seen."""
MOST_BLUR_MM = 0.6
"""A photo that is blurred more is refused [mm]."""
LEAST_SHARE = 0.6
"""So large a share of a sheet's markers has to be seen and to agree."""
_MOST_STRETCH = 0.08
# A viewer that fits a page to the paper shrinks it by 3 to 6 %.
_MOST_REST_MM = 0.6
_SMALL_PER_MM = 4.0
_TILT_DEG = 15.0
_PULL = 3.0
_LEAST_CONTRAST = 0.1


@dataclass(frozen=True, eq=False)
class Photo:
    """A photo whose camera is known.

    Args:
        thickness_mm: Height of what is seen above the paper [mm].
        found: The markers.
        fitted: The camera and how well it is known.
        bars_mm: (2,) length of the bars that were measured [mm].
        middle_mm: (n, 2) corners of the empty middle, where the thing lies [mm].
        height_measured: Whether the camera's height was measured.
        notes: What the maker should know.
    """

    thickness_mm: float
    found: Found
    fitted: Fitted
    bars_mm: Array
    middle_mm: Array
    height_measured: bool
    notes: tuple[Line, ...]

    @property
    def camera(self) -> Camera:
        """The camera."""
        return self.fitted.camera

    def mm(self, pixels: Array) -> Array:
        """Return (n, 2) where places of the photo are on the thing's upper side: x right and y up on the paper [mm].

        Args:
            pixels: (n, 2) x and y in the photo, whole numbers at the middles of pixels.
        """
        return self.camera.places_mm(pixels, self.thickness_mm)

    def pixels(self, places_mm: Array) -> Array:
        """Return (n, 2) where places on the thing's upper side are seen [pixels]."""
        return self.camera.seen_px(places_mm, self.thickness_mm)

    @property
    def window_px(self) -> Array:
        """(n, 2) corners of the empty middle as seen [pixels]."""
        return self.camera.seen_px(self.middle_mm)

    def pixels_per_mm(self, places_mm: Array) -> float:
        """Return how many pixels a mm has at the middle of places."""
        middle = (places_mm.max(axis=0) + places_mm.min(axis=0)) / 2
        a, b, c = self.pixels(middle + np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        return float(np.sqrt(abs((b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0])))

    def doubt_mm(self, places_mm: Array, outward: Array) -> Array:
        """Return (n,) how far a place would be off if its lower edge were seen and not its upper one [mm].

        The camera looks under no edge: where the outline faces away from the point below the camera, the upper edge
        hides all else. Where it faces that point, the side wall is seen below the upper edge, and may be as dark.

        Args:
            places_mm: (n, 2) places of the outline [mm].
            outward: (n, 2) unit directions away from the steel.
        """
        facing = ((self.camera.place_mm[:2] - places_mm) * outward).sum(axis=1)
        doubt: Array = np.maximum(facing, 0.0) * self.thickness_mm / self.camera.height_mm
        return doubt


def read_photo(grey: Pixels, focal_35_mm: float | None, said_of_it: Laid) -> Photo:
    """Return a photo with its camera.

    Args:
        grey: (h, w) 8 bit greys, upright as it was taken.
        focal_35_mm: Focal length in 35 mm film as the file says it, or None.
        said_of_it: What the maker says of frame and thing.

    Raises:
        RequestError: Too few markers, too small, too blurred, too far aside, or they do not lie as on the frame; says
            what to do.
    """
    found = find_markers(grey, linear(grey))
    sheets = _sheets(found, said_of_it.paper)
    _refuse_small(found)
    bars = np.array([
        _bar(said_of_it.measured_x_mm, sheets[0].level.length_mm, "--measured-x", said_of_it.paper),
        _bar(said_of_it.measured_y_mm, sheets[0].upright.length_mm, "--measured-y", said_of_it.paper),
    ])  # fmt: skip
    measured = np.array([said_of_it.measured_x_mm, said_of_it.measured_y_mm])
    corners, numbers = _corners(found, sheets, measured / bars)
    _refuse_unread(numbers, sheets)
    known = Known(grey.shape[1], grey.shape[0], focal_35_mm, said_of_it.camera_mm)
    try:
        fitted = fit(corners, known)
    except GeometryError as error:
        raise RequestError(f"the markers of the photo do not lie as on a frame: {error}") from None
    _refuse_odd(fitted, found, sheets, numbers, said_of_it.paper)
    middle = _middle(sheets, fitted, measured / bars)
    photo = Photo(said_of_it.thickness_mm, found, fitted, measured, middle, said_of_it.camera_mm is not None, ())
    _refuse_poor(photo)
    return Photo(**{**vars(photo), "notes": tuple(_notes(photo, known))})


def linear(grey: Pixels) -> NDArray[np.float32]:
    """Return 8 bit greys of sRGB as linear light, 0 to 1 (IEC 61966-2-1)."""
    step = np.arange(256) / 255
    table = np.where(step <= 0.04045, step / 12.92, ((step + 0.055) / 1.055) ** 2.4).astype(np.float32)
    return table[grey]


def _bar(measured_mm: float, whole_mm: float, option: str, paper: Paper) -> float:
    """Return which length of a bar was measured."""
    near = min((whole_mm, MAIN_MM), key=lambda length: abs(measured_mm / length - 1))
    if abs(measured_mm / near - 1) > _MOST_STRETCH:
        raise RequestError(
            f"{option}: the bar is {whole_mm:g} mm long when the frame is printed true, got {measured_mm:g} mm. Measure"
            f" from its first tick to its last (or to that of {MAIN_MM:g} mm) and give the length with its unit. Or was"
            f" the frame printed on other paper than {paper.name}?"
        )
    return near


def _sheets(found: Found, paper: Paper) -> tuple[Sheet, ...]:
    """Return the sheets that are seen."""
    sides = {side_of(int(n)) for n in found.numbers}
    count = {side: sum(side_of(int(n)) == side for n in found.numbers) for side in sides}
    if not count:
        raise RequestError(
            "the photo shows no marker of a frame. Print one with: blankwright frame; lay the thing in its middle and"
            " take the whole frame into the photo, sharp and evenly lit."
        )
    whole = frame(paper, 1)
    if count.get("whole", 0) >= max(count.get(side, 0) for side in SIDES):
        return whole
    if not (count.get("left") and count.get("right")):
        side = "right" if count.get("left") else "left"
        raise RequestError(f"the photo shows no marker of the {side} half of the frame. Take both halves into it.")
    return frame(paper, 2)


def _refuse_small(found: Found) -> None:
    if found.cell_px < LEAST_CELL_PX:
        raise RequestError(
            f"the photo is too small: a marker is {6 * found.cell_px:.0f} pixels wide, and {6 * LEAST_CELL_PX:.0f} are"
            " needed. Use the camera's full resolution, go nearer, or let the frame fill the photo."
        )
    if found.contrast < _LEAST_CONTRAST:
        raise RequestError("the photo is too dark or too pale: black and white of the markers hardly differ.")


def _corners(found: Found, sheets: tuple[Sheet, ...], stretch: Array) -> tuple[Corners, Numbers]:
    """Return corners of the markers of these sheets, with the sheet that shows more as the first."""
    places = {n: (sheet.side, sheet.corners_mm(n)) for sheet in sheets for n, _ in sheet.markers}
    ours = np.array([int(n) in places for n in found.numbers])
    numbers = found.numbers[ours]
    if len(numbers) < 4:
        raise RequestError("the photo shows too few markers of the frame. Take the whole frame into it.")
    paper = np.array([places[int(n)][1] for n in numbers]) * stretch
    second = np.array([places[int(n)][0] == "right" for n in numbers])
    return Corners(paper, found.corners_px[ours], second), numbers


def _refuse_unread(numbers: Numbers, sheets: tuple[Sheet, ...]) -> None:
    """Refuse a photo in which too few markers can be read, or none along a side."""
    read = {int(n) for n in numbers}
    for sheet in sheets:
        missing = {n for n, _ in sheet.markers if n not in read}
        if len(missing) > (1 - LEAST_SHARE) * len(sheet.markers):
            name = "frame" if sheet.side == "whole" else f"{sheet.side} half"
            raise RequestError(
                f"{len(missing)} of {len(sheet.markers)} markers of the {name} cannot be read. Take all of it into the"
                " photo, sharp, evenly lit, with nothing on the markers."
            )
        _refuse_bare_side(sheet, missing)


def _refuse_odd(fitted: Fitted, found: Found, sheets: tuple[Sheet, ...], numbers: Numbers, paper: Paper) -> None:
    """Refuse a photo whose markers do not agree with one another."""
    rest_mm = fitted.spread_px / (found.cell_px / 3.0)
    if fitted.kept.sum() < LEAST_SHARE * len(fitted.kept) or rest_mm > _MOST_REST_MM:
        others = ", ".join(p.name for p in papers() if p.name != paper.name)
        raise RequestError(
            f"the markers do not lie as on a frame of {paper.name}: {fitted.kept.sum()} of {len(fitted.kept)} agree,"
            f" to {rest_mm:.2f} mm. Was it printed on other paper ({others})? Else press it flat and take it again."
        )
    _refuse_unread(numbers[fitted.kept], sheets)


def _refuse_bare_side(sheet: Sheet, missing: set[int]) -> None:
    """Refuse a sheet of which one side shows no marker: what lies there is not held."""
    left, right = min(x for _, (x, _) in sheet.markers), max(x for _, (x, _) in sheet.markers)
    low, high = min(y for _, (_, y) in sheet.markers), max(y for _, (_, y) in sheet.markers)
    seen = [place for n, place in sheet.markers if n not in missing]
    sides = {
        "left": sum(x == left for x, _ in seen), "right": sum(x == right for x, _ in seen),
        "lower": sum(y == low for _, y in seen), "upper": sum(y == high for _, y in seen),
    }  # fmt: skip
    for side, count in sides.items():
        if count < 2:
            raise RequestError(
                f"the markers along the {side} side of the frame cannot be read. Take them into the photo."
            )


def _middle(sheets: tuple[Sheet, ...], fitted: Fitted, stretch: Array) -> Array:
    """Return the corners of the empty middle [mm], counter-clockwise; of two halves, with what is between them."""
    boxes = [np.array([(b.x0, b.y0), (b.x1, b.y0), (b.x1, b.y1), (b.x0, b.y1)]) * stretch
             for b in (sheet.middle for sheet in sheets)]  # fmt: skip
    if len(boxes) == 1:
        return boxes[0]
    left, right = boxes[0], laid(boxes[1], fitted.second)
    return np.array([left[0], right[1], right[2], left[3]])


def _refuse_poor(photo: Photo) -> None:
    camera, per_mm = photo.camera, photo.pixels_per_mm(photo.middle_mm)
    if camera.tilt_deg > MOST_TILT_DEG:
        raise RequestError(
            f"the photo is taken too far aside: {camera.tilt_deg:.0f} degrees from straight down, at most"
            f" {MOST_TILT_DEG:.0f} are taken. Hold the camera above the middle of the frame."
        )
    if photo.found.blur_px / per_mm > MOST_BLUR_MM:
        raise RequestError(
            f"the photo is too blurred: edges are {2 * photo.found.blur_px / per_mm:.1f} mm wide. Focus on the frame,"
            " hold the camera still, use more light."
        )


def _notes(photo: Photo, known: Known) -> list[Line]:
    notes, camera = [], photo.camera
    out = len(photo.fitted.kept) - int(photo.fitted.kept.sum())
    if out:
        notes.append(said(f"{out} markers do not agree with the others and were left out: is the paper flat there?"))
    if camera.tilt_deg > _TILT_DEG:
        notes.append(
            said(f"The camera looked {camera.tilt_deg:.0f}° aside. Straight down is better: no side wall is seen.")
        )
    if photo.pixels_per_mm(photo.middle_mm) < _SMALL_PER_MM:
        per_mm = photo.pixels_per_mm(photo.middle_mm)
        notes.append(said(f"A mm has only {per_mm:.1f} pixels; more show the tip and corners better."))
    if known.camera_mm is not None and abs(camera.height_mm - known.camera_mm) > _PULL * known.camera_spread_mm:
        notes.append(
            said("The camera's height does not go with the photo: measured {}, seen {}.", mm(known.camera_mm, 0),
                 mm(camera.height_mm, 0))
        )  # fmt: skip
    return notes
