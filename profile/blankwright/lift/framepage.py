"""The pages of a frame: markers, two bars to measure, and how to take the photo. The middle stays empty."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.ink.bars import MAIN_MM, level_bar, upright_bar
from blankwright.ink.marks import Marks, Text
from blankwright.ink.papers import Paper
from blankwright.lift.frame import MARKER_MM, Sheet, frame
from blankwright.lift.markers import drawn

_WORDS_MM = 2.0
_MEASURE = "measure both bars, first to last tick: --measured-x, --measured-y"
_PHOTO = {
    "whole": "lay it flat, the thing in the middle; the camera high and straight above",
    "left": "left half: lay it flat, its open side towards the right half",
    "right": "right half: lay it flat, its open side towards the left half",
}
_FILE = "frame_{paper}{halves}.pdf"


@dataclass(frozen=True)
class PrintedFrame:
    """A frame as it is written.

    Args:
        name: Name of the file.
        paper: What it is printed on.
        sheets: Its sheets.
        pdf: The file.
    """

    name: str
    paper: str
    sheets: tuple[Sheet, ...]
    pdf: bytes

    @property
    def data(self) -> dict[str, object]:
        """The frame as data, lengths in mm."""
        return {
            "file": self.name,
            "sheets": [
                {
                    "side": sheet.side,
                    "paper_mm": [sheet.width_mm, sheet.height_mm],
                    "middle_mm": [sheet.middle.x1 - sheet.middle.x0, sheet.middle.y1 - sheet.middle.y0],
                    "bar_x_mm": sheet.level.length_mm,
                    "bar_y_mm": sheet.upright.length_mm,
                    "markers": len(sheet.markers),
                }
                for sheet in self.sheets
            ],
        }

    @property
    def words(self) -> str:
        """How large a thing it is for, and what to do with it."""
        first, halves = self.sheets[0], len(self.sheets)
        width, height = halves * (first.middle.x1 - first.middle.x0), first.middle.y1 - first.middle.y0
        more = ", longer when the halves lie apart" if halves > 1 else ""
        return (
            f"room for a thing of {width:.0f} x {height:.0f} mm{more}\n"
            f"Print at actual size and measure both bars from their first tick to their last"
            f" ({first.level.length_mm:g} and {first.upright.length_mm:g} mm when the print is true). Then:"
            f" blankwright lift PHOTO --frame {self.paper} --measured-x LENGTH --measured-y LENGTH"
        )


def printed_frame(paper: Paper, sheets: int) -> PrintedFrame:
    """Return a frame as a PDF at true size; the same paper gives the same bytes.

    Args:
        paper: What it is printed on.
        sheets: 1, or 2 for a thing that is longer than the paper.

    Raises:
        RequestError: Neither 1 nor 2 sheets, or the paper is too small.
    """
    from blankwright.ink.pdf import Layer, Page, pdf_bytes  # noqa: PLC0415 - needs the PDF library

    laid = frame(paper, sheets)
    pages = [
        Page(sheet.width_mm, sheet.height_mm, (Layer(_marks(sheet, paper), None),), f"frame, {sheet.side}")
        for sheet in laid
    ]
    subject = f"{paper.name}, {sheets} sheet{'s' if sheets > 1 else ''}"
    pdf = pdf_bytes(pages, title="Frame for a photo", subject=subject, stretch=(1.0, 1.0))
    return PrintedFrame(_FILE.format(paper=paper.name, halves="_x2" if sheets > 1 else ""), paper.name, laid, pdf)


def _marks(sheet: Sheet, paper: Paper) -> Marks:
    marks = Marks()
    marks.add(*(drawn(number, corner, MARKER_MM) for number, corner in sheet.markers))
    x, y = sheet.level.at
    level_bar(marks, x, y, sheet.level.length_mm, _MEASURE)
    upright_bar(marks, *sheet.upright.at, sheet.upright.length_mm)
    sheets = "" if sheet.side == "whole" else " x2"
    more = f"frame {paper.name}{sheets}; {_PHOTO[sheet.side]}"
    marks.add(Text(x + MAIN_MM + 18.0, y - 4.2, more, _WORDS_MM, "start"))
    return marks
