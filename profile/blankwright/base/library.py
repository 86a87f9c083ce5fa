"""Where the shipped templates are: the same answer from a wheel, an editable install and a source tree."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from blankwright.base.errors import RequestError


@cache
def templates_dir() -> Path:
    """Return the folder that holds families/, designs/ and scripts/.

    A wheel carries it inside the package; an editable install and a source tree have it beside profile/.

    Raises:
        RequestError: The installation is incomplete.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "templates", package.parent.parent / "templates"):
        if (folder / "families").is_dir():
            return folder
    raise RequestError("The templates folder is missing from this installation; install Blankwright again.")


@cache
def families_dir() -> Path:
    """Return the folder of the shipped families."""
    return templates_dir() / "families"
