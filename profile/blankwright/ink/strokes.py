"""Single-line letters: a text as open chains of lines and arcs, for a tool that follows one line.

The letters are drawn in strokes.toml beside this module; accents and umlauts are put together from a letter and its
mark. Heights are those of a capital.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError
from blankwright.base.fields import read_toml
from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import piece_bounds

UNITS = 10.0
"""A capital's height in the units of the file."""

_BARE = {"i": "ı", "j": "ȷ"}
"""Letters that lose their dot under a mark."""

Stroke = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class Glyph:
    """A letter: its width and its strokes, in tenths of a capital's height."""

    width: float
    strokes: tuple[Stroke, ...]


@dataclass(frozen=True, eq=False)
class Stroked:
    """A drawing of single lines.

    Args:
        chains: Its lines [mm].
    """

    chains: tuple[Chain, ...]

    @property
    def box_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [mm]."""
        boxes = [piece_bounds(c.starts, c.ends, c.bulges) for c in self.chains]
        (x0, y0), (x1, y1) = np.vstack([b[0] for b in boxes]).min(axis=0), np.vstack([b[1] for b in boxes]).max(axis=0)
        return float(x0), float(y0), float(x1), float(y1)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height [mm]."""
        x0, y0, x1, y1 = self.box_mm
        return x1 - x0, y1 - y0

    def grown(self, factor: float) -> Stroked:
        """Return the drawing larger about the origin.

        Args:
            factor: By how much [unitless].
        """
        return Stroked(tuple(Chain(c.vertices * np.array([factor, factor, 1.0])) for c in self.chains))

    def about(self, x_mm: float, y_mm: float, turn_deg: float) -> Stroked:
        """Return the drawing turned counter-clockwise, its middle at a place.

        Args:
            x_mm: Where its middle goes [mm].
            y_mm: Likewise [mm].
            turn_deg: By how much it is turned [degrees].
        """
        x0, y0, x1, y1 = self.box_mm
        c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
        turn = np.array([[c, s], [-s, c]])
        out = []
        for chain in self.chains:
            xy = (chain.vertices[:, :2] - [(x0 + x1) / 2, (y0 + y1) / 2]) @ turn + [x_mm, y_mm]
            out.append(Chain(np.column_stack([xy, chain.vertices[:, 2]])))
        return Stroked(tuple(out))


def letters(text: str, height_mm: float, where: str = "") -> Stroked:
    """Return a text as single lines, its baseline at y = 0 and its first letter at x = 0.

    Args:
        text: One line.
        height_mm: Height of a capital [mm].
        where: File and key for the message.

    Raises:
        RequestError: A character is not in the file, or there is nothing to draw.
    """
    table = _table()
    scale, at = height_mm / UNITS, 0.0
    chains: list[Chain] = []
    for character in unicodedata.normalize("NFC", text):
        if character.isspace():
            at += table.word - table.letter
            continue
        glyph = _glyph(character, table)
        if glyph is None:
            place = f"{where}: " if where else ""
            raise RequestError(
                f"{place}'{character}' is not among the single-line letters. There are A to Z, a to z, digits, Latin "
                f"letters with their usual accents, and {' '.join(sorted(c for c in table.glyphs if not c.isalnum()))}"
            )
        for stroke in glyph.strokes:
            rows = np.array(stroke) * [scale, scale, 1.0] + [at * scale, 0.0, 0.0]
            chains.append(Chain(rows))
        at += glyph.width + table.letter
    if not chains:
        raise RequestError(f"{where}: there is nothing to draw." if where else "there is nothing to draw.")
    return Stroked(tuple(chains))


@dataclass(frozen=True)
class _Table:
    glyphs: dict[str, Glyph]
    over: dict[str, tuple[Stroke, ...]]
    under: dict[str, tuple[Stroke, ...]]
    letter: float
    word: float
    small: float
    above: float


def _glyph(character: str, table: _Table) -> Glyph | None:
    """Return a letter as it is drawn, or put together from a letter and its marks; None when it cannot be."""
    if character in table.glyphs:
        return table.glyphs[character]
    parts = list(unicodedata.normalize("NFD", character))
    base, marks = parts[0], parts[1:]
    over = [m for m in marks if _code(m) in table.over]
    glyph = table.glyphs.get(_BARE.get(base, base) if over else base)
    if glyph is None or not marks or any(_code(m) not in table.over and _code(m) not in table.under for m in marks):
        return None
    wide = max(glyph.width, 2 * max(abs(x) for m in over for stroke in table.over[_code(m)] for x, _, _ in stroke)
               if over else 0.0)  # fmt: skip
    middle, top = wide / 2, table.above + (table.small if base.islower() and base not in "bdfhklt" else UNITS)
    strokes = [_moved(stroke, (wide - glyph.width) / 2, 0.0) for stroke in glyph.strokes]
    for mark in marks:
        high = mark in over
        drawn = table.over[_code(mark)] if high else table.under[_code(mark)]
        strokes += [_moved(stroke, middle, top if high else 0.0) for stroke in drawn]
    return Glyph(wide, tuple(strokes))


def _code(mark: str) -> str:
    return f"{ord(mark):04X}"


def _moved(stroke: Stroke, dx: float, dy: float) -> Stroke:
    return tuple((x + dx, y + dy, b) for x, y, b in stroke)


@cache
def _table() -> _Table:
    table = read_toml(Path(__file__).parent / "strokes.toml")
    spaces = table["spaces"]
    return _Table(
        {name: Glyph(float(row["width"]), _strokes(row["strokes"])) for name, row in table["glyphs"].items()},
        {name: _strokes(rows) for name, rows in table["over"].items()},
        {name: _strokes(rows) for name, rows in table["under"].items()},
        spaces["letter"], spaces["word"], spaces["small"], spaces["over"],
    )  # fmt: skip


def _strokes(rows: Sequence[Any]) -> tuple[Stroke, ...]:
    return tuple(tuple((float(p[0]), float(p[1]), float(p[2]) if len(p) > 2 else 0.0) for p in row) for row in rows)


def cross(x_mm: float, y_mm: float, arm_mm: float) -> tuple[Chain, Chain]:
    """Return a centre mark: two short lines that cross.

    Args:
        x_mm: Its place [mm].
        y_mm: Likewise [mm].
        arm_mm: Half the length of a line [mm].
    """
    along: Array = np.array([[x_mm - arm_mm, y_mm, 0.0], [x_mm + arm_mm, y_mm, 0.0]])
    across: Array = np.array([[x_mm, y_mm - arm_mm, 0.0], [x_mm, y_mm + arm_mm, 0.0]])
    return Chain(along), Chain(across)
