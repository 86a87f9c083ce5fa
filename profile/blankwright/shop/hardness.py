"""What a hardness is on another scale: Rockwell C, Vickers and Brinell, between printed rows only."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.said import STATUSES

__all__ = ["SCALES", "Conversion", "convert", "hardness_table"]

SCALES = ("HRC", "HV", "HB")
"""The scales, in the order of a row."""

_TABLE = Path(__file__).parent / "data" / "hardness.toml"


@dataclass(frozen=True)
class Conversion:
    """A table of the same hardness on three scales.

    Args:
        rows: HRC, HV and HB, or None where Brinell is not printed; rising.
        source: Where they come from.
        status: One of STATUSES.
        note: What the maker should know.
    """

    rows: tuple[tuple[float, float, float | None], ...]
    source: str
    status: str
    note: str

    def __post_init__(self) -> None:
        if self.status not in STATUSES or not self.source.strip() or not self.note.strip():
            raise RequestError("a conversion needs a source, a note and a known status.")
        for place in range(3):
            values = [value for row in self.rows if (value := row[place]) is not None]
            if len(values) < 2 or not all(a < b for a, b in itertools.pairwise(values)):
                raise RequestError(f"hardness: {SCALES[place]} must rise from row to row.")

    def pairs(self, from_scale: str, to_scale: str) -> list[tuple[float, float]]:
        """Return the rows that hold both scales."""
        a, b = SCALES.index(from_scale), SCALES.index(to_scale)
        return [(x, y) for row in self.rows if (x := row[a]) is not None and (y := row[b]) is not None]


@cache
def hardness_table() -> Conversion:
    """Return the shipped conversion."""
    row = Fields(read_toml(_TABLE), _TABLE.name).sub("table")
    row.only(("title", "source", "status", "note", "rows"))
    rows = tuple(
        (float(line[0]), float(line[1]), float(line[2]) if len(line) == 3 else None) for line in row.table["rows"]
    )
    return Conversion(rows, row.text("source"), row.choice("status", STATUSES), row.text("note"))


def convert(value: float, from_scale: str, to_scale: str) -> float:
    """Return a hardness on another scale, between printed rows.

    Args:
        value: The hardness.
        from_scale: One of SCALES.
        to_scale: One of SCALES.

    Raises:
        RequestError: An unknown scale, or a value outside the table; the message gives its range.

    >>> convert(60, "HRC", "HV")
    697.0
    """
    for scale in (from_scale, to_scale):
        if scale not in SCALES:
            raise unknown("scale of hardness", scale, SCALES)
    pairs = hardness_table().pairs(from_scale, to_scale)
    for (x0, y0), (x1, y1) in itertools.pairwise(pairs):
        if x0 <= value <= x1:
            return y0 + (value - x0) / (x1 - x0) * (y1 - y0)
    raise RequestError(
        f"hardness: the table goes from {pairs[0][0]:g} to {pairs[-1][0]:g} {from_scale}, not to {value:g}. "
        "Nothing is continued beyond it."
    )
