"""The outline of a thing, behind the drawing: lifted from a file of the folder; and a design fitted to it."""

from __future__ import annotations

from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.reading import parse_toml, read_text
from blankwright.base.said import mm, said
from blankwright.design.bought import is_lifted_table
from blankwright.design.lifted import Lifted, read_lifted
from blankwright.design.request import PATTERN_KEY, Design
from blankwright.page.answer import silhouette
from blankwright.page.folder import MOST_DESIGN, Folder
from blankwright.page.protocol import Asked
from blankwright.page.typed import with_unit

_ON_THE_PAGE = (
    ("say both --measured-x and --measured-y; or say --dpi 300", "say beside it how long and how high it is"),
    ("check which is x, the direction across the picture", "check that long is the direction across the picture"),
    ("x is the direction across the picture, y that down it", "long is the direction across the picture, high down it"),
    ("in the picture along x", "across the picture"),
    ("in the picture along y", "down the picture"),
    ("Measure one of these, or correct --dpi", "Measure one of these"),
    ("Check --dpi, or the measured lengths", "Check how long and how high it is"),
    ("--dpi and --measured-x, --measured-y are for pictures", "how long and how high a thing is, is for pictures"),
    ("Say --measured-x", "Say how long it is"),
    ("Say --measured-y", "Say how high it is"),
    ("--measured-x", "long"),
    ("--measured-y", "high"),
    ("say which is the edge with --edge up or --edge down", "lift it with the command, which can be told the edge"),
    ("Say --tip and --edge", "Lift it with the command, which can be told tip and edge"),
    ("--fit ", ""),
)
"""What a command line is told, and what the page calls it."""


def behind(folder: Folder, asked: Asked, units: str) -> dict[str, Any]:
    """Return the outline that a file shows, laid where the knife lies: heel at nought, edge on the board line.

    Args:
        folder: The started folder.
        asked: The file, and how long and high the thing in a picture is as it stands lowest on a flat board.
        units: mm or in, for what is told of it.

    Raises:
        RequestError: No file of the folder, or it shows no outline; says what to do.
    """
    from blankwright.lift.seen import within_said  # noqa: PLC0415 - only who lifts needs it

    lifted, told = _lifted(folder, asked, units)
    holes = [{"at": [h.x_mm, h.y_mm], "mm": h.diameter_mm} for h in lifted.holes]
    wide, high = lifted.outline.size_mm
    words = "{} long and {} high. A place may be off by {}, in 95 of 100 cases."
    size = said(words, mm(wide), mm(high), within_said(lifted.within_mm)).text(units)
    head = {"say": "behind", "n": asked.n, "name": asked["name"], "holes": holes, "told": [size, *told]}
    return head | silhouette(lifted.outline)


def fitted(folder: Folder, asked: Asked, design: Design, units: str) -> tuple[dict[str, str | None], list[str]]:
    """Return the sizes of the design's own family that come nearest to an outline, and what is to be said of them.

    Args:
        folder: The started folder.
        asked: The file, and how long and high the thing in a picture is.
        design: The design that is fitted.
        units: mm or in, for what is said.

    Raises:
        RequestError: As `behind`; or the family cannot be laid on it.
    """
    from blankwright.lift.designed import fit_lines, fit_outline  # noqa: PLC0415 - only who fits needs it

    if design.family.beside:
        raise RequestError("this design is an outline that exists; there is nothing to fit.")
    lifted, _ = _lifted(folder, asked, units)
    try:
        done = fit_outline(lifted.outline, design.name, design.family.path_or_name)
    except RequestError as error:
        raise _here(error) from None
    shape = done.best.shape
    offered = {
        d.name: d.key
        for f, c in ((design.family, design.construction), (shape.family, shape.construction))
        for d in f.offered(c)
    }
    values: dict[str, str | None] = {offered[name]: None for name in design.dimensions_mm if name in offered}
    values |= {offered[name]: f"{value_mm:.12g} mm" for name, value_mm in done.asked_mm.items()}
    if design.overall_mm is not None:
        values["blade.overall_length"] = None
    if shape.construction != design.construction:
        values["handle.construction"] = shape.construction
    handle = shape.family.patterns.get(shape.construction)
    if handle is not None and handle != design.pattern:
        values[PATTERN_KEY] = handle
    return values, [line.text(units) for line in fit_lines(done)]


def _lifted(folder: Folder, asked: Asked, units: str) -> tuple[Lifted, list[str]]:
    path = folder.outline(asked["name"])
    if path.suffix == ".toml" and is_lifted_table(parse_toml(read_text(path, MOST_DESIGN, "an outline"), path.name)):
        return read_lifted(path), []
    from blankwright.lift.run import lift, request  # noqa: PLC0415 - only who lifts needs it

    try:
        long, high = (with_unit(asked[side], units) if asked[side] else None for side in ("long", "high"))
        done = lift(request(path, measured_x=long, measured_y=high))
    except RequestError as error:
        raise _here(error) from None
    return done.lifted, [_on_the_page(line.text(units)) for line in done.notes]


def _here(error: RequestError) -> RequestError:
    return RequestError(_on_the_page(str(error)))


def _on_the_page(text: str) -> str:
    for there, here in _ON_THE_PAGE:
        text = text.replace(there, here)
    return text
