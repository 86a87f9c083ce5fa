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

_ON_THE_PAGE = (
    ("say both --measured-x and --measured-y; or say --dpi 300", "say beside it how long and how high it is"),
    ("--measured-x", "long"),
    ("--measured-y", "high"),
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
    lifted, told = _lifted(folder, asked, units)
    holes = [{"at": [h.x_mm, h.y_mm], "mm": h.diameter_mm} for h in lifted.holes]
    wide, high = lifted.outline.size_mm
    size = said("{} long and {} high.", mm(wide), mm(high)).text(units)
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
        done = lift(request(path, measured_x=asked["long"] or None, measured_y=asked["high"] or None))
    except RequestError as error:
        raise _here(error) from None
    return done.lifted, [line.text(units) for line in done.notes]


def _here(error: RequestError) -> RequestError:
    text = str(error)
    for there, here in _ON_THE_PAGE:
        text = text.replace(there, here)
    return RequestError(text)
