"""The build sheet of a knife as files: an HTML page and a PDF, with the pictures at their head, and the bench card."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from blankwright.base.errors import unknown
from blankwright.base.frozen import dataclass
from blankwright.drawing.content import part_drawing
from blankwright.drawing.sections import sections_of
from blankwright.ink.marks import Marks
from blankwright.ink.papers import Paper, paper
from blankwright.knife.knife import Knife
from blankwright.sheet.brief import told_once
from blankwright.sheet.html import sheet_html
from blankwright.sheet.model import Sheet
from blankwright.sheet.picture import Picture, bench_drawing, part_picture, section_picture, slices_of
from blankwright.sheet.stages import sheet_of

if TYPE_CHECKING:
    from blankwright.sheet.prices import Prices

PAPERS = ("A4", "Letter")
"""Papers of a build sheet."""

WIDE_MM = 186.0
"""Width of the pictures: what both papers have between their margins [mm]."""


DETAIL_MM = 40.0
"""Width of the enlarged edge among the sections [mm]."""

PHONE_MM, PHONE_DETAIL_MM = 94.0, 24.0
"""Width of the pictures on a phone of 390 px, and of the enlarged edge among them [mm]."""


@dataclass(frozen=True)
class SheetWishes:
    """What a build sheet shall be.

    Args:
        paper: The paper it is printed on.
        units: "mm" or "in".
        hand: The hand that will hold the knife, such as "men 50" or "88 mm"; None for none.
        prices: The user's prices, or None.
    """

    paper: Paper
    units: str = "mm"
    hand: str | None = None
    prices: Prices | None = None


def sheet_paper(name: str) -> Paper:
    """Return the paper of a build sheet.

    Raises:
        RequestError: Neither A4 nor Letter.
    """
    for known in PAPERS:
        if name.strip().lower() == known.lower():
            return paper(known)
    raise unknown("paper", name, PAPERS, "--paper")


def sheet_data(knife: Knife, wishes: SheetWishes) -> Sheet:
    """Return the sheet as data.

    Raises:
        RequestError: Start and stock do not go together, or no such hand.
    """
    return sheet_of(knife, wishes.prices, wishes.hand)


def pictures_of(knife: Knife, units: str = "mm") -> tuple[Picture, ...]:
    """Return the pictures of the head: the part with its dimensions, and the knife in section."""
    name = knife.design.name
    return (
        part_picture(part_drawing(knife, units=units), WIDE_MM, f"{name}: outline with dimensions", units),
        section_picture(sections_of(knife, 1.0, DETAIL_MM, units), WIDE_MM, f"{name}: sections along the blade", units),
    )


def phone_pictures(knife: Knife, units: str = "mm") -> tuple[Picture, ...]:
    """Return the same pictures as narrow as a phone, their lettering as large."""
    name = knife.design.name
    return (
        part_picture(part_drawing(knife, units=units), PHONE_MM, f"{name}: outline with dimensions", units),
        section_picture(
            sections_of(knife, 1.0, PHONE_DETAIL_MM, units), PHONE_MM, f"{name}: sections along the blade", units
        ),
    )


def sheet_page(
    knife: Knife, wishes: SheetWishes, sheet: Sheet | None = None, pictures: tuple[Picture, ...] = ()
) -> dict[str, str | bytes]:
    """Return the sheet's page, which a browser shows and prints, by its name.

    Args:
        knife: The knife.
        wishes: What the sheet shall be.
        sheet: The sheet as data, when it is at hand.
        pictures: Its pictures, when they are at hand.

    Raises:
        RequestError: Start and stock do not go together, or no such hand.
    """
    shown = sheet or sheet_data(knife, wishes)
    broad, narrow = pictures or pictures_of(knife, wishes.units), phone_pictures(knife, wishes.units)
    page = sheet_html(told_once(shown), broad, narrow, units=wishes.units, paper=wishes.paper.name)
    return {f"{knife.design.slug}_sheet.html": page}


def sheet_files(knife: Knife, wishes: SheetWishes, sheet: Sheet | None = None) -> dict[str, str | bytes]:
    """Return the sheet's page and its PDF by name; arguments and errors are those of sheet_page."""
    from blankwright.sheet.pdf import sheet_pdf  # noqa: PLC0415 - needs the PDF library

    shown, pictures = sheet or sheet_data(knife, wishes), pictures_of(knife, wishes.units)
    printed = sheet_pdf(told_once(shown), pictures, units=wishes.units, paper=wishes.paper)
    name = f"{knife.design.slug}_sheet_{wishes.paper.name.lower()}.pdf"
    return {**sheet_page(knife, wishes, shown, pictures), name: printed, **card_file(knife, wishes, shown)}


def card_file(knife: Knife, wishes: SheetWishes, sheet: Sheet | None = None) -> dict[str, str | bytes]:
    """Return the bench card, one page, by its name; arguments and errors are those of sheet_page."""
    from blankwright.sheet.card import card_of  # noqa: PLC0415 - as below
    from blankwright.sheet.cardpdf import card_pdf  # noqa: PLC0415 - needs the PDF library

    shown, units = sheet or sheet_data(knife, wishes), wishes.units
    drawing = bench_drawing(part_drawing(knife, units=units))

    @cache
    def part(larger: float) -> Marks:
        return part_picture(drawing, WIDE_MM / larger, "", units).marks

    page = card_pdf(card_of(shown, units), part, slices_of(knife, units), wishes.paper)
    return {f"{knife.design.slug}_card_{wishes.paper.name.lower()}.pdf": page}
