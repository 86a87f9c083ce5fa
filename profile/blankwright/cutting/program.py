"""The cutter's path as a program in RS-274: absolute, arcs by their centre, nothing a plain controller does not know.

NISTIR 6556 (2000): G0 travel, G1 line, G2 and G3 arcs with I and J for the centre, G4 wait, G17 plane XY, G20 inches,
G21 millimetres, G40 no compensation, G90 absolute, G94 feed per minute, M3 and M5 cutter on and off, M2 end; comments
in parentheses. What controllers differ in stands in a dialect's text file.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.path import Run
from blankwright.geometry.outline import points_on
from blankwright.shop.dialects import Dialect
from blankwright.shop.services import Table

_STRAIGHT = 1e-9
_DECIMALS = {"mm": 4, "in": 5}

FLATTEST_MM = 10_000.0
"""Arcs of a larger radius are run as lines: with four decimals a controller cannot tell where their centre is."""

LEAVES_MM = 0.0003
"""Such a line leaves its arc by no more: less than the hair by which the proof lets an outline lie further out."""


@dataclass(frozen=True)
class _Pen:
    """Writes words in one dialect and one unit."""

    dialect: Dialect
    unit: str
    zero_mm: tuple[float, float]

    def number(self, value_mm: float) -> str:
        """Write a length."""
        text = f"{value_mm if self.unit == 'mm' else value_mm / MM_PER_INCH:.{_DECIMALS[self.unit]}f}"
        return text[1:] if float(text) == 0 and text.startswith("-") else text

    def at(self, row: Array) -> str:
        """Write a place."""
        x, y = (self.number(float(row[k]) - self.zero_mm[k]) for k in (0, 1))
        return f"X{x} Y{y}"

    def comment(self, text: str) -> list[str]:
        """Write a comment in plain ASCII, without the signs that end one or begin another."""
        plain = text.replace("(", "[").replace(")", "]").replace(";", ",").encode("ascii", "replace").decode()
        plain = re.sub(r"\s+", " ", plain)
        signs = {"brackets": f"({plain})", "semicolon": f"; {plain}"}
        return [signs[self.dialect.comments]] if self.dialect.comments in signs else []

    def wait(self, time_s: float) -> list[str]:
        """Write a wait, none where there is nothing to wait for."""
        time = time_s if self.dialect.wait_unit == "s" else 1000 * time_s
        return [f"{self.dialect.wait}{time:g}"] if time_s > 0 else []

    def feed(self, feed_mm_min: float) -> str:
        """Write a speed."""
        return f" F{feed_mm_min:g}" if self.unit == "mm" else f" F{feed_mm_min / MM_PER_INCH:.2f}"

    def cuts(self, chain: Array, feed_mm_min: float) -> list[str]:
        """Write one cut; end and centre of an arc are rounded so that both radii agree."""
        out, speed = [], self.feed(feed_mm_min)
        for row, after in itertools.pairwise(_without_flat_arcs(chain)):
            bulge = float(row[2])
            if abs(bulge) < _STRAIGHT:
                out.append(f"G1 {self.at(after)}{speed}")
            else:
                i, j = _centre(row, after)
                if self.dialect.from_zero:
                    i, j = i + float(row[0]) - self.zero_mm[0], j + float(row[1]) - self.zero_mm[1]
                words = f"{self.at(after)} I{self.number(i)} J{self.number(j)}"
                out.append(f"{'G3' if bulge > 0 else 'G2'} {words}{speed}")
            speed = ""
        return out


def program_text(run: Run, table: Table, dialect: Dialect, unit: str, head: Sequence[str]) -> str:
    """Return a path as a program; X0 Y0 is its lower left corner.

    Args:
        run: All cuts in their order.
        table: Speeds and waits.
        dialect: What the controller wants.
        unit: mm or in.
        head: Lines of comment at the top.
    """
    pen = _Pen(dialect, unit, run.zero_mm)
    time = "seconds" if dialect.wait_unit == "s" else "milliseconds"
    lines = [line for text in head for line in pen.comment(text)]
    lines += pen.comment(f"waits are in {time}, arc centres are counted {dialect.arc_centres}")
    lines.append(
        " ".join(filter(None, (dialect.begin, dialect.mm if unit == "mm" else dialect.inch, dialect.arc_word)))
    )
    lines.append(dialect.off)
    for number, one in enumerate(run.passes, start=1):
        lines += pen.comment(f"{one.kind} {number} of {len(run.passes)}")
        lines += [f"G0 {pen.at(one.chain[0])}", dialect.on, *pen.wait(table.pierce_s)]
        lines += [*pen.cuts(one.chain, table.feed_mm_min), dialect.off]
    lines += [f"G0 {pen.at(np.array(run.zero_mm))}", dialect.end]
    return "\n".join(lines) + "\n"


def _without_flat_arcs(chain: Array) -> Array:
    """Return a chain whose arcs of an endless radius are lines."""
    rows: list[Array] = []
    for row, after in itertools.pairwise(chain):
        bulge, chord = abs(float(row[2])), float(np.hypot(*(after[:2] - row[:2])))
        radius = chord * (1 + bulge * bulge) / (4 * bulge) if bulge >= _STRAIGHT else 0.0
        if radius <= FLATTEST_MM:
            rows.append(row)
            continue
        rise = bulge * chord / 2
        count = max(1, math.ceil(math.sqrt(rise / LEAVES_MM)))  # halving a chord takes the rise down to a quarter
        share = np.arange(count) / count
        points = points_on(np.tile(row[:2], (count, 1)), np.tile(after[:2], (count, 1)), np.full(count, row[2]), share)
        rows += list(np.column_stack([points, np.zeros(count)]))
    return np.array([*rows, chain[-1]])


def _centre(row: Array, after: Array) -> tuple[float, float]:
    """Return the centre from the start of an arc [mm]."""
    bulge = float(row[2])
    dx, dy = float(after[0] - row[0]), float(after[1] - row[1])
    # from the chord's middle to the centre: chord (1 - b^2) / 4 b to the left of a counter-clockwise arc
    off = (1 - bulge * bulge) / (4 * bulge)
    return dx / 2 - dy * off, dy / 2 + dx * off
