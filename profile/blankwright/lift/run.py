"""Lifting an outline from a file of any kind: what is asked, the order of things, and what is written and reported."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, get_args

from blankwright.base.errors import RequestError, unknown
from blankwright.base.files import write_files
from blankwright.base.frozen import dataclass
from blankwright.base.onefile import refuse_taken
from blankwright.base.plain import plain_text, slug_of
from blankwright.base.reading import is_plain_file, why_no_file
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.base.units import length_mm
from blankwright.design.lifted import BudgetRow, Lifted, LiftedHole, lifted_text
from blankwright.inspection.sniff import is_svg
from blankwright.lift.byhand import is_table, measured_by_hand
from blankwright.lift.frame import Laid
from blankwright.lift.frame import laid as frame_laid
from blankwright.lift.naming import End, Named, Side, named
from blankwright.lift.pictures import picture_kind
from blankwright.lift.scale import Measured, measured
from blankwright.lift.seen import Seen, within_said

Kind = Literal["drawing", "picture", "points"]

READ_MM = 0.5
"""What a reading with rule and square may be off where nothing is said: common practice, half a millimetre."""
_HEAD = 4_096
_PICTURES = {".png", ".jpg", ".jpeg", ".tif", ".tiff", ".pdf"}
_GROUP_CODE = re.compile(rb"(\xef\xbb\xbf)?\s*(0|999)[ \t]*\r?\n")  # a DXF begins with a section or a comment
_UNFRAMED = said(
    "This is a photo: tilt, lens and the thickness of the thing are not corrected. Print a frame: blankwright frame"
)


@dataclass(frozen=True)
class Request:
    """What is asked of a lift.

    Args:
        file: A drawing, a picture or a table of points.
        name: Name of the thing; it names the files.
        dpi: Dots to the inch of a picture, or None for what its file says.
        lengths: What was measured.
        tip: Where the tip is seen, or None.
        edge: Where the edge is seen, or None.
        layers: Layers of a drawing that hold the outline.
        page: Page of a PDF.
        read_mm: What a reading of a point may be off [mm].
        frame: What is said of the frame of a photo, or None without one.
    """

    file: Path
    name: str
    dpi: float | None = None
    lengths: tuple[Measured, ...] = ()
    tip: End | None = None
    edge: Side | None = None
    layers: tuple[str, ...] = ()
    page: int = 1
    read_mm: float = READ_MM
    frame: Laid | None = None

    @property
    def slug(self) -> str:
        """The name as files have it."""
        return slug_of(self.name)


@dataclass(frozen=True, eq=False)
class Lift:
    """What a lift came to.

    Args:
        lifted: The outline in the design's coordinates.
        named: How it was laid there.
        seen: What the source shows.
        notes: What the maker should know.
    """

    lifted: Lifted
    named: Named
    seen: Seen
    notes: tuple[Line, ...]


def request(
    file: Path, *, name: str | None = None, dpi: float | None = None, measured_x: str | None = None,
    measured_y: str | None = None, tip: str | None = None, edge: str | None = None, layers: tuple[str, ...] = (),
    page: int = 1, reading: str | None = None, frame: str | None = None, thick: str | None = None,
    camera_height: str | None = None,
) -> Request:  # fmt: skip
    """Read what a maker typed.

    Raises:
        RequestError: Something does not fit; says what would.
    """
    if not is_plain_file(file):
        raise RequestError(f"{str(file)[:200]}: {why_no_file(file, 'drawing, picture or table of points')}.")
    if dpi is not None and not 30 <= dpi <= 5_000:
        raise RequestError(f"--dpi: {dpi:g} is out of range. Allowed: 30 to 5000.")
    if not 1 <= page <= 10_000:
        raise RequestError(f"--page: {page} is out of range. Allowed: 1 to 10000.")
    for option, value, allowed in (("--tip", tip, get_args(End)), ("--edge", edge, get_args(Side))):
        if value is not None and value not in allowed:
            raise unknown("side", value, allowed, option)
    lengths = tuple(m for m in (measured("x", measured_x), measured("y", measured_y)) if m is not None)
    read_mm = READ_MM if reading is None else length_mm(reading, "--reading")
    if not 0 < read_mm <= 10:
        raise RequestError(f"--reading: {reading} is out of range. Allowed: above 0 to 10 mm.")
    if frame is None and (thick is not None or camera_height is not None):
        raise RequestError("--thickness and --camera-height go with --frame PAPER, for a photo in a printed frame.")
    around = None if frame is None else frame_laid(frame, measured_x, measured_y, thick, camera_height)
    called = plain_text((name if name is not None else file.stem).strip(), "--name" if name else "FILE")[:200]
    return Request(
        file, called or "lifted", dpi, lengths, tip, edge, layers, page, read_mm, around  # type: ignore[arg-type]
    )  # fmt: skip


def kind_of(file: Path) -> Kind:
    """Return what kind of source a file is, by its first bytes.

    Raises:
        RequestError: It has the name of a picture, and is none.
    """
    with file.open("rb") as stream:
        head = stream.read(_HEAD)
    if picture_kind(head) is not None:
        return "picture"
    if is_svg(head) or _GROUP_CODE.match(head):
        return "drawing"
    if is_table(file):
        return "points"
    if file.suffix.lower() in _PICTURES:
        what = "begins like no PNG, JPEG, TIFF or PDF, and is no drawing either" if head else "is empty"
        raise RequestError(f"{file}: is called a picture, and {what}. Scan it or save it again.")
    return "drawing"


def lift(asked: Request) -> Lift:
    """Lift an outline.

    Raises:
        RequestError: The file cannot be read, or shows no outline; says what to do.
    """
    return laid(seen_by(asked), asked)


def seen_by(asked: Request) -> Seen:
    """Return what the source shows.

    Raises:
        RequestError: As `lift`.
    """
    try:
        kind = kind_of(asked.file)
    except OSError as error:
        raise RequestError(f"{asked.file}: cannot be read ({error.strerror or error}).") from None
    if kind == "picture":
        from blankwright.lift.photoseen import photographed  # noqa: PLC0415
        from blankwright.lift.pictures import read_picture  # noqa: PLC0415 - with libraries of the extra
        from blankwright.lift.scans import Said, refuse_small, scanned  # noqa: PLC0415

        picture = read_picture(asked.file, dpi=asked.dpi, page=asked.page)
        if asked.frame is not None:
            seen = photographed(picture, asked.frame)
        else:
            seen = scanned(picture, Said(asked.dpi, asked.lengths))
            if picture.focal_35_mm is not None:
                seen = replace(seen, notes=(*seen.notes, _UNFRAMED))
        refuse_small(seen.outline)
        return seen
    _refuse_unused(asked, kind)
    if kind == "points":
        return measured_by_hand(asked.file, asked.read_mm)
    from blankwright.lift.drawings import drawn  # noqa: PLC0415 - the inspection, for drawings alone

    return drawn(asked.file, asked.layers)


def _refuse_unused(asked: Request, kind: Kind) -> None:
    if asked.frame is not None:
        raise RequestError("--frame is for a photo of a thing in a printed frame. Leave it out.")
    if asked.dpi is not None or asked.lengths:
        what = "a drawing has its own unit" if kind == "drawing" else "measured points are lengths already"
        raise RequestError(f"--dpi and --measured-x, --measured-y are for pictures: {what}. Leave them out.")


def laid(seen: Seen, asked: Request) -> Lift:
    """Lay what a source shows into the design's coordinates.

    Raises:
        RequestError: It is no outline that a file can hold.
    """
    found = named(seen.outline, asked.tip, asked.edge)
    holes = []
    for x, y, diameter in seen.holes:
        ((hx, hy),) = found.placing.of(_place(x, y)).tolist()
        holes.append(LiftedHole(round(hx, 6) + 0.0, round(hy, 6) + 0.0, round(diameter, 6)))
    holes.sort(key=lambda h: (-h.x_mm, h.y_mm))
    budget = tuple(
        BudgetRow(row.what, round(row.mm, 4), row.lessen) for row in (*seen.budget, *found.budget) if row.mm > 0
    )
    outline = found.outline.on_grid()
    lifted = Lifted(asked.name, asked.file.name[:200], outline, tuple(holes), budget)
    notes = list(seen.notes) + list(found.doubts)
    if found.placing.mirrored:
        notes.append(said("It shows the left face of the knife; the outline is as seen from the right one, tip ahead."))
    return Lift(lifted, found, seen, tuple(notes))


def _place(x: float, y: float) -> Any:
    import numpy as np  # noqa: PLC0415 - one row

    return np.array([[x, y]])


def files_of(done: Lift, slug: str) -> dict[str, str | bytes]:
    """Return the files of a lift by name."""
    from blankwright.lift.overlay import overlay_svg  # noqa: PLC0415 - loads a library of its own

    return {
        f"{slug}_lifted.toml": lifted_text(done.lifted, [note.text() for note in done.notes]),
        f"{slug}_lifted.svg": overlay_svg(done.lifted, done.named.placing, done.seen.backdrop, done.notes),
    }


def write(
    done: Lift, folder: Path, slug: str, *, force: bool, more: Mapping[str, str | bytes] = MappingProxyType({})
) -> list[str]:
    """Write the files of a lift, and more beside them; none that is there is written over unless forced.

    Returns:
        Their paths.

    Raises:
        RequestError: A file is there already, or cannot be written.
    """
    names = [f"{slug}_lifted.toml", f"{slug}_lifted.svg", *more]
    for name in names:
        refuse_taken(folder / name, force=force)
    write_files(folder, files_of(done, slug) | dict(more))
    return [(folder / name).as_posix() for name in names]


def report_of(done: Lift) -> dict[str, Any]:
    """Return a lift as data."""
    outline = done.lifted.outline
    return {
        "format": 1,
        "name": done.lifted.name,
        "source": done.lifted.source,
        "outline": {
            "vertices": outline.vertices.tolist(),
            "regions": list(outline.regions),
            "area_mm2": outline.area_mm2,
            "perimeter_mm": outline.perimeter_mm,
            "size_mm": list(outline.size_mm),
        },
        "holes": [{"x_mm": h.x_mm, "y_mm": h.y_mm, "diameter_mm": h.diameter_mm} for h in done.lifted.holes],
        "budget": [{"for": row.what, "mm": row.mm, "lessen": row.lessen} for row in done.lifted.budget],
        "within_mm": done.lifted.within_mm,
        "mirrored": done.named.placing.mirrored,
        "notes": [note.text() for note in done.notes],
        "fit": None,
    }


def lift_lines(done: Lift) -> list[Line]:
    """Return a lift in sentences, for a reader at a terminal."""
    outline = done.lifted.outline
    wide, high = outline.size_mm
    out = [
        said("{} long and {} high, of {} arcs and lines.", mm(wide), mm(high), str(len(outline))),
        *(said("Hole of {} at x {}, y {}.", mm(h.diameter_mm), mm(h.x_mm), mm(h.y_mm)) for h in done.lifted.holes),
        said("A place may be off by {}, in 95 of 100 cases:", within_said(done.lifted.within_mm)),
    ]
    rows = sorted(done.lifted.budget, key=lambda r: -r.mm)
    out += [said("  {} {}. " + _braceless(row.lessen), exact_mm(round(row.mm, 3)), row.what) for row in rows]
    return [*out, *done.notes]


def _braceless(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
