"""The files of a placing: its picture, and where it fits the sheet to lay on the piece."""

from __future__ import annotations

import re
from pathlib import Path

from blankwright.base.files import write_files
from blankwright.stock.forgedbar import ForgedTold
from blankwright.stock.paper import placing_pdf
from blankwright.stock.picture import placing_svg
from blankwright.stock.report import Told
from blankwright.template.scenes import Wishes


def placing_files(told: Told | ForgedTold, wishes: Wishes) -> dict[str, str | bytes]:
    """Return the files by name, without the slug in front.

    Args:
        told: The placing.
        wishes: On what is printed.

    Raises:
        RequestError: The paper is too small.
    """
    if isinstance(told, ForgedTold):
        return {}
    files: dict[str, str | bytes] = {"placing_mm.svg": placing_svg(told.placed)}
    if told.placed.fits:
        files[f"placing_{wishes.paper.name.lower()}.pdf"] = placing_pdf(told.placed, wishes)
    return files


def write_placing(out: Path, slug: str, files: dict[str, str | bytes]) -> tuple[Path, list[str], list[str]]:
    """Write the files into out/<slug>/; those of an earlier placing that this one has not are taken away.

    Nothing is written where there are none, as of a forging.

    Returns:
        The folder, the names of the files, and remarks on edited ones that are kept and older ones that are gone.

    Raises:
        RequestError: The folder cannot be written.
    """
    older = re.compile(rf"{re.escape(slug)}_placing_(mm\.svg|.+\.pdf)")
    return out / slug, *write_files(out / slug, {f"{slug}_{name}": content for name, content in files.items()}, older)
