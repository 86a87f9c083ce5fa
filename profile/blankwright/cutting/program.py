"""The cutter's path in RS-274: metric, absolute, arcs by their centre, nothing a plain controller does not know.

NISTIR 6556 (2000): G0 travel, G1 line, G2 and G3 arcs with I and J from the
start to the centre, G4 P wait in seconds, G17 plane XY, G21 millimetres, G40 no compensation, G90 absolute, G94 feed in
mm/min, M3 and M5 cutter on and off, M2 end; comments in parentheses. G91.1, centres from the start of the arc, came
later: there it is the only way, and controllers that know another one are set to it (common practice).
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

from blankwright.base.arrays import Array

_STRAIGHT = 1e-9
_DECIMALS = 4


def program_text(
    chains: Sequence[Array],
    zero_mm: tuple[float, float],
    *,
    feed_mm_min: float,
    pierce_s: float,
    head: Sequence[str],
    names: Sequence[str],
) -> str:
    """Return a path as a program.

    Args:
        chains: (n, 3) x, y and bulge to the next point of each cut, in order [mm].
        zero_mm: The point of the drawing that becomes X0 Y0 [mm].
        feed_mm_min: Speed of the cut [mm/min].
        pierce_s: Wait after the cutter is on [s].
        head: Lines of comment at the top.
        names: One comment for each cut.
    """
    lines = [f"({_safe(line)})" for line in head]
    lines += ["(G4 P is in seconds, arc centres are from the start of the arc)", "G17 G21 G40 G90 G91.1 G94", "M5"]
    for name, chain in zip(names, chains, strict=True):
        x, y = _at(chain[0], zero_mm)
        lines += [f"({_safe(name)})", f"G0 X{x} Y{y}", "M3"]
        if pierce_s > 0:
            lines.append(f"G4 P{pierce_s:g}")
        lines += _cuts(chain, zero_mm, feed_mm_min)
        lines.append("M5")
    lines += ["G0 X0.0000 Y0.0000", "M2"]
    return "\n".join(lines) + "\n"


def _cuts(chain: Array, zero: tuple[float, float], feed: float) -> list[str]:
    """Return the words of one cut; end and centre of an arc are rounded so that both radii agree."""
    out, speed = [], f" F{feed:g}"
    for row, after in itertools.pairwise(chain):
        x, y = _at(after, zero)
        bulge = float(row[2])
        if abs(bulge) < _STRAIGHT:
            out.append(f"G1 X{x} Y{y}{speed}")
        else:
            i, j = _centre(row, after)
            out.append(f"{'G3' if bulge > 0 else 'G2'} X{x} Y{y} I{_number(i)} J{_number(j)}{speed}")
        speed = ""
    return out


def _centre(row: Array, after: Array) -> tuple[float, float]:
    """Return the centre from the start of an arc [mm]."""
    bulge = float(row[2])
    dx, dy = float(after[0] - row[0]), float(after[1] - row[1])
    # from the chord's middle to the centre: chord (1 - b^2) / 4 b to the left of a counter-clockwise arc
    off = (1 - bulge * bulge) / (4 * bulge)
    return dx / 2 - dy * off, dy / 2 + dx * off


def _at(row: Array, zero: tuple[float, float]) -> tuple[str, str]:
    return _number(float(row[0]) - zero[0]), _number(float(row[1]) - zero[1])


def _number(value: float) -> str:
    text = f"{value:.{_DECIMALS}f}"
    return text[1:] if float(text) == 0 and text.startswith("-") else text


def _safe(text: str) -> str:
    """Return a comment in plain ASCII without parentheses, which end it."""
    plain = text.replace("(", "[").replace(")", "]").encode("ascii", "replace").decode()
    return re.sub(r"\s+", " ", plain)
