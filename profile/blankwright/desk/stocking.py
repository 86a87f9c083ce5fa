"""A knife on a piece of steel, and many on several: what `place` and `nest` tell, as objects of a script."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from blankwright.base.doors import a_number, a_path, a_whole_number, one_of
from blankwright.base.errors import unknown
from blankwright.desk.script import Knife, request
from blankwright.ink.papers import paper as named_paper
from blankwright.knife.knife import finish
from blankwright.stock.files import placing_files, write_placing
from blankwright.stock.forgedbar import ForgedTold
from blankwright.stock.jobfile import read_job
from blankwright.stock.nest import LEAST_S, MOST_S, MOST_SEED, nested
from blankwright.stock.nestfiles import SPLITS, write_layout
from blankwright.stock.nestpicture import sheet_svg
from blankwright.stock.nestreport import Report
from blankwright.stock.picture import placing_svg
from blankwright.stock.place import Wish
from blankwright.stock.run import placed_on, told_data, told_lines
from blankwright.stock.stockfile import pieces_of
from blankwright.template.scenes import wishes

if TYPE_CHECKING:
    from blankwright.design.parts import Family
    from blankwright.design.request import Design
    from blankwright.knife.aimed import Aimed
    from blankwright.stock.piece import Piece
    from blankwright.stock.report import Told


class Placing:
    """Where a knife goes on a piece of steel, or whether a bar is enough to forge it from.

    Args:
        told: What was found.
        pieces: All pieces that were asked for.
    """

    def __init__(self, told: Told | ForgedTold, pieces: tuple[Piece, ...]) -> None:
        self.told, self.pieces = told, pieces

    @property
    def fits(self) -> bool:
        """Whether it fits."""
        return self.told.fits

    @property
    def knife(self) -> Knife:
        """The knife as it was placed: of the largest size, where that was asked for."""
        core = self.told.knife if isinstance(self.told, ForgedTold) else self.told.placed.wanted.knife
        return Knife(core.design)

    @property
    def would_do(self) -> tuple[dict[str, str], ...]:
        """Changes with which it fits where it does not, each solved and placed: settings for request()."""
        if isinstance(self.told, ForgedTold):
            return self.told.would_do
        return tuple(offer.settings for offer in self.told.offers)

    @property
    def data(self) -> dict[str, Any]:
        """Piece, place [mm], turn [degrees], room [mm] and what would do, as `blankwright place --json` has them."""
        return told_data(self.told, self.pieces)

    def write(self, out: str | Path, paper: str = "A4") -> list[Path]:
        """Write the picture and, where it fits, the sheet at true size to lay on the steel into out/<name>/.

        Args:
            out: Folder.
            paper: Paper of the sheet, such as "A4" or "Letter".

        Returns:
            The written files; none of a forging.

        Raises:
            RequestError: The folder cannot be written, or the paper is unknown.
        """
        files = placing_files(self.told, wishes(paper))
        folder, names, _ = write_placing(a_path(out, "a folder to write into"), self.knife.design.slug, files)
        return [folder / name for name in names]

    def _repr_svg_(self) -> str | None:
        """Return a picture for a notebook."""
        return None if isinstance(self.told, ForgedTold) else placing_svg(self.told.placed)

    def __str__(self) -> str:
        return "\n".join(line.text() for line in told_lines(self.told, self.pieces))

    def __repr__(self) -> str:
        return f"<Placing: {self.told.lines()[0].text()}>"


def place(
    what: str | Path | Family | Design | Knife | Aimed,
    stock: str | Path,
    *,
    piece: str | None = None,
    largest: str | None = None,
    grain_deg: float | None = None,
    flip: bool = True,
) -> Placing:
    """Find where on a piece of steel a knife goes: where it has the most room all round, the cutter's slot in.

    Args:
        what: The knife, as request() takes it.
        stock: A stock file (.toml), or a shipped one, such as "leaf_spring".
        piece: Only this piece of the stock file; None for whichever holds it.
        largest: A length by its key, such as "blade.length", that shall be as large as fits; None leaves the knife.
        grain_deg: Greatest angle between blade and grain [degrees]; None for any.
        flip: Whether the knife may be turned over, where blade and steel allow it.

    Raises:
        RequestError: An unknown name or key, or something that cannot be; it says what.
        DesignError: The design is no knife.

    >>> found = place("paring", "mill_file")
    >>> found.fits, found.data["piece"]
    (True, 'Mill file')
    """
    wish = Wish(None if grain_deg is None else a_number(grain_deg, "grain_deg", 0, 90), None if flip else False)
    key = None if largest is None else one_of(largest, str, "largest")
    pieces = pieces_of(stock, None if piece is None else one_of(piece, str, "piece"))
    return Placing(placed_on(finish(request(what)), pieces, wish, key), pieces)


class Nest:
    """A job laid out on its sheets and bars, measured by exact distances.

    Args:
        report: The layout with its figures.
    """

    def __init__(self, report: Report) -> None:
        self.report = report

    @property
    def complete(self) -> bool:
        """Whether every blank has a place."""
        return self.report.complete

    @property
    def data(self) -> dict[str, Any]:
        """Sheets, places [mm], masses [g] and what is left over, as `blankwright nest --json` has them."""
        return self.report.data

    def write(self, out: str | Path, paper: str = "A4", files: str = "sheet") -> list[Path]:
        """Write cutting files, layout, chalk map, offcuts and data into out/<job>/.

        Args:
            out: Folder.
            paper: Paper of layout and map.
            files: "sheet" for a cutting file a piece, "part" for one a blank.

        Returns:
            The written files.

        Raises:
            RequestError: The folder cannot be written, or a word is unknown.
        """
        split = next((one for one in SPLITS if one == files), None)
        if split is None:
            raise unknown("word", str(files), SPLITS, "files")
        where = a_path(out, "a folder to write into")
        folder, names, _ = write_layout(where, self.report, named_paper(paper), split)
        return [folder / name for name in names]

    def _repr_svg_(self) -> str | None:
        """Return a picture of the first sheet for a notebook."""
        layout = self.report.layout
        return sheet_svg(layout, layout.sheets[0]) if layout.sheets else None

    def __str__(self) -> str:
        return "\n".join(line.text() for line in self.report.lines())

    def __repr__(self) -> str:
        return f"<Nest {self.report.layout.job.name}: {self.report.lines()[0].text()}>"


def nest(job: str | Path, seconds: float = 20.0, *, seed: int = 1, workers: int = 2) -> Nest:
    """Lay several blanks out on sheets, bars and found pieces, as close as is found in the time given.

    Args:
        job: A job file (.toml), or a shipped one, such as "galley_set".
        seconds: How long to look [s]; an interrupt keeps the best so far.
        seed: Another number takes other chances.
        workers: Processor cores to use.

    Raises:
        RequestError: Something in the job, its stock or a number cannot be; it says what.
        DesignError: A design is no knife.

    >>> nest("galley_set", 0.5).complete
    True
    """
    time_s = a_number(seconds, "seconds", LEAST_S, MOST_S)
    cores = a_whole_number(workers, "workers", 1, 64)
    return Nest(Report(nested(read_job(job), time_s, seed=a_whole_number(seed, "seed", 0, MOST_SEED), workers=cores)))
