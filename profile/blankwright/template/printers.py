"""How much each of the maker's printers is off, kept in the user's configuration folder.

A printer seldom prints 100 mm as 100 mm, and rarely equally wrong in both directions. The maker prints a
template, measures its 100 mm bars, and the next template is stretched by 100 / measured in each direction.
"""

from __future__ import annotations

import math
import os
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.onefile import write_over
from blankwright.base.plain import plain_text, quoted
from blankwright.base.reading import MAX_BYTES, parse_toml, read_text
from blankwright.base.units import length_mm

BAR_MM = 100.0
"""Length of the bars that are measured [mm]."""
MOST_OFF_MM = 3.0
"""Largest error of a printed bar that is taken for the printer's own [mm], 3 %; beyond, the page was scaled."""
ALIKE_MM = 0.3
"""Bars that differ by no more are off by one factor [mm]: about what an eye can tell on a rule (common practice)."""
MOST_ALIKE_MM = 2.0
"""Largest error of both bars by one factor that is taken for the printer's own [mm]. A viewer that fits the page to a
margin of 3 mm, the smallest that is usual, shrinks A4 to 97.1 % and Letter to 97.2 %; a printer errs unevenly (common
practice)."""
MOST_NAME = 40
"""Longest name of a printer [characters]."""

_FILE = "printers.toml"
_KEYS = ("measured_x", "measured_y")
_HEAD = "# How long the 100 mm bars came out on each printer, x along the lower edge, y along the left edge.\n"


@dataclass(frozen=True)
class Printer:
    """A printer and how long its 100 mm bars came out.

    Args:
        name: The maker's name for it, 1 to 40 characters; blanks around it are dropped.
        measured_x_mm: The bar across the page as printed [mm].
        measured_y_mm: The bar up the page as printed [mm].

    Raises:
        RequestError: The name is empty, too long or no text, a bar is more than 3 % off, or both are 2 % off alike.
    """

    name: str
    measured_x_mm: float
    measured_y_mm: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", _trimmed(self.name))
        for axis, value in (("x", self.measured_x_mm), ("y", self.measured_y_mm)):
            if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
                raise RequestError(
                    f"printer '{self.name}': the bar in {axis} must be a length in mm, got {told(value)}."
                )
        reason = ""
        if max(self._off_mm) > MOST_OFF_MM:
            reason = f"more than {MOST_OFF_MM:g} % off is not the printer"
        elif self.alike and min(self._off_mm) >= MOST_ALIKE_MM:
            reason = f"{MOST_ALIKE_MM:g} % off and more, the same both ways, is not the printer"
        if reason:
            raise RequestError(
                f"printer '{self.name}': the 100 mm bars measured {self.measured_x_mm:g} mm in x and"
                f" {self.measured_y_mm:g} mm in y; {reason}. Your viewer scaled the page; print at actual size"
                " and measure again, from line centre to line centre (97 to 103 mm is taken, 98 to 102 mm where both"
                " are alike)."
            )

    @property
    def _off_mm(self) -> tuple[float, float]:
        return abs(self.measured_x_mm - BAR_MM), abs(self.measured_y_mm - BAR_MM)

    @property
    def alike(self) -> bool:
        """Whether both bars are off by one factor: the mark of a viewer that scales, hardly ever of a printer."""
        apart = abs(self.measured_x_mm - self.measured_y_mm)
        return apart <= ALIKE_MM + 1e-9 and min(self._off_mm) > ALIKE_MM

    @property
    def stretch(self) -> tuple[float, float]:
        """Factors in x and y that make the next print true [unitless]."""
        return (BAR_MM / self.measured_x_mm, BAR_MM / self.measured_y_mm)


def remember(printer: Printer, folder: Path | None = None) -> Path:
    """Keep a printer; one of the same name is replaced.

    Args:
        printer: The printer.
        folder: Where to keep it; None is the user's configuration folder, made when needed.

    Returns:
        The file that holds it.

    Raises:
        RequestError: The file cannot be written, or what is there cannot be read (and is left as it is).
    """
    path = _path(folder)

    def changed() -> str:
        return _text(_read(path) | {printer.name: printer})

    write_over(path, changed, new_folder=True)
    return path


def recall(name: str, folder: Path | None = None) -> Printer:
    """Return a printer by its name.

    Args:
        name: The name it was kept under.
        folder: Where it is kept; None is the user's configuration folder.

    Raises:
        RequestError: No printer of this name, with the names that are known; or the file cannot be read.
    """
    path = _path(folder)
    return _found(_trimmed(name), _read(path), path)


def forget(name: str, folder: Path | None = None) -> None:
    """Remove a printer.

    Args:
        name: The name it was kept under.
        folder: Where it is kept; None is the user's configuration folder.

    Raises:
        RequestError: No printer of this name, or the file cannot be read or written.
    """
    path = _path(folder)

    def changed() -> str:
        known = _read(path)
        del known[_found(_trimmed(name), known, path).name]
        return _text(known)

    write_over(path, changed, new_folder=True)


def all_printers(folder: Path | None = None) -> tuple[Printer, ...]:
    """Return every printer that is kept, by name.

    Args:
        folder: Where they are kept; None is the user's configuration folder.

    Raises:
        RequestError: The file cannot be read.
    """
    known = _read(_path(folder))
    return tuple(known[name] for name in sorted(known))


def _path(folder: Path | None) -> Path:
    if folder is None:
        from platformdirs import user_config_dir  # noqa: PLC0415 - only who prints with a correction needs it

        folder = Path(user_config_dir("blankwright", appauthor=False))
    return folder / _FILE


def _trimmed(name: object) -> str:
    text = name.strip() if isinstance(name, str) else ""
    if not 1 <= len(text) <= MOST_NAME:
        raise RequestError(f"a printer's name has 1 to {MOST_NAME} characters, such as office; got {told(name)}.")
    return plain_text(text, "a printer's name")


def _found(name: str, known: dict[str, Printer], path: Path) -> Printer:
    if not known:
        raise RequestError(
            f"unknown printer '{name}': none is kept in {path} yet. Print a template, measure its 100 mm bars and"
            " name the printer with both lengths."
        )
    if name not in known:
        raise unknown("printer", name, known, str(path))
    return known[name]


def _read(path: Path) -> dict[str, Printer]:
    """Read the file; a missing one holds no printer."""
    mend = "Mend the file, or delete it and measure again"
    try:
        if not os.path.lexists(path):
            return {}
        rows = parse_toml(read_text(path, MAX_BYTES, "a file of printers"), str(path))
    except RequestError as error:
        raise RequestError(f"{error} {mend}.") from None
    known: dict[str, Printer] = {}
    for name, row in rows.items():
        try:
            printer = _printer(name, row)
        except RequestError as error:
            raise RequestError(f"{path}: {error} {mend}.") from None
        if printer.name in known:
            raise RequestError(f"{path}: printer '{printer.name}' is there twice. {mend}.")
        known[printer.name] = printer
    return known


def _printer(name: str, row: Any) -> Printer:
    place = f"[{name[:MOST_NAME]}]"
    if not isinstance(row, dict) or set(row) != set(_KEYS):
        raise RequestError(f"{place}: must be a table with exactly {' and '.join(_KEYS)}.")
    x_mm, y_mm = (length_mm(row[key], f"{place}.{key}") for key in _KEYS)
    return Printer(name, x_mm, y_mm)


def _text(known: dict[str, Printer]) -> str:
    return "\n".join([_HEAD, *(_table(known[name]) for name in sorted(known))])


def _table(printer: Printer) -> str:
    x_mm, y_mm = float(printer.measured_x_mm), float(printer.measured_y_mm)
    return f'[{quoted(printer.name)}]\nmeasured_x = "{x_mm!r} mm"\nmeasured_y = "{y_mm!r} mm"\n'
