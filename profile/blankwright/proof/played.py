"""What a program for a table makes the cutter do: an interpreter of its own, which refuses whatever it does not know.

NISTIR 6556 (2000): words of a letter and a number, modal from line to line; G0 travel, G1 line, G2 and G3 arcs with
the centre in I and J, G4 wait, G20 inches, G21 millimetres, G90 absolute. Where an arc's centre is counted from and how
the cutter is switched differs from controller to controller and is said by whoever asks.
"""

from __future__ import annotations

import math
import re
from dataclasses import field

import numpy as np

from blankwright.base.errors import ProofError
from blankwright.base.frozen import dataclass
from blankwright.base.units import MM_PER_INCH, mm_per
from blankwright.proof.reader import Contour, CutDrawing

MAX_LINES = 200_000
RADII_MM = 0.003
"""Both ends of an arc are as far from its centre to this: words of four decimals, and a little more in inches."""

_WORD = re.compile(r"([A-Z])([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")
_MODES = {"G17", "G40", "G90", "G94", "G90.1", "G91.1"}
_ENDS = {"M2", "M30"}


@dataclass(frozen=True)
class Controller:
    """How one's controller reads a program.

    Args:
        from_zero: Whether the centre of an arc is counted from the zero point, not from the arc's start.
        on: Words that start the cutter, such as "M3".
        off: Words that stop it.
        unit: mm or in, the unit that the program must set.
    """

    from_zero: bool
    on: str
    off: str
    unit: str


@dataclass
class _State:
    place: tuple[float, float] | None = None
    motion: str = ""
    unit_mm: float = 0.0
    cutting: bool = False
    rows: list[list[float]] = field(default_factory=list)
    cuts: list[Contour] = field(default_factory=list)
    ended: bool = False


def play(text: str, name: str, controller: Controller, zero_mm: tuple[float, float]) -> CutDrawing:
    """Play a program and return its cuts as a drawing: an open contour for each, in the order they are run.

    Args:
        text: The program.
        name: Its file name, for messages.
        controller: How it is read.
        zero_mm: Where in the drawing X0 Y0 is [mm].

    Raises:
        ProofError: Something that a plain controller does not know, or would do wrong; names the line.
    """
    state = _State()
    lines = text.split("\n")
    if len(lines) > MAX_LINES:
        raise ProofError(f"{name}: more than {MAX_LINES} lines; no knife needs that.")
    for number, raw in enumerate(lines, start=1):
        words = re.sub(r"\([^()]*\)|;.*", "", raw).strip()
        if not words:
            continue
        if state.ended:
            raise ProofError(f"{name}, line {number}: the program goes on after its end.")
        try:
            _line(words, state, controller, number)
        except ValueError as error:
            raise ProofError(f"{name}, line {number}: {error}") from None
    if not state.ended or state.cutting:
        raise ProofError(f"{name}: the program does not end with the cutter off.")
    if state.unit_mm != mm_per(controller.unit):
        raise ProofError(f"{name}: the program is not in {controller.unit}.")
    return _drawing(name, state, zero_mm)


def _line(words: str, state: _State, controller: Controller, number: int) -> None:
    if words in (controller.on, controller.off):
        _switch(words == controller.on, state, number)
        return
    found = words.split()
    given: dict[str, float] = {}
    for word in found:
        match = _WORD.fullmatch(word)
        if match is None:
            raise ValueError(f"'{word[:20]}' is no word.")
        letter, value = match[1], float(match[2])
        if letter in "GM":
            _mode(f"{letter}{match[2]}", state)
        elif letter in given or letter not in "XYIJFP":
            raise ValueError(f"'{word[:20]}' is not known here, or twice in one line.")
        else:
            given[letter] = value
    if given.keys() & set("XYIJ"):
        _move(given, state, controller)


def _switch(on: bool, state: _State, number: int) -> None:
    if on and (state.cutting or state.place is None):
        raise ValueError("the cutter is on already, or nobody knows where it is.")
    if not on and state.cutting:
        state.cuts.append(Contour("PROGRAM", "CUT", np.array(state.rows), closed=False, line=number))
    state.cutting = on
    state.rows = [[*state.place, 0.0]] if on and state.place is not None else []


def _mode(word: str, state: _State) -> None:
    if word in ("G0", "G1", "G2", "G3", "G4"):
        state.motion = word if word != "G4" else state.motion
    elif word in ("G20", "G21"):
        state.unit_mm = MM_PER_INCH if word == "G20" else 1.0
    elif word in _ENDS:
        state.ended = True
    elif word not in _MODES:
        raise ValueError(f"'{word}' is not known.")


def _move(given: dict[str, float], state: _State, controller: Controller) -> None:
    if not state.unit_mm or not state.motion:
        raise ValueError("a move before unit and kind of move are set.")
    here = state.place
    last = here or (math.nan, math.nan)
    there = tuple(given[k] * state.unit_mm if k in given else last[i] for i, k in enumerate("XY"))
    if not all(map(math.isfinite, there)):
        raise ValueError("a place that is not known.")
    arc = state.motion in ("G2", "G3")
    if state.cutting != (state.motion != "G0") or arc != bool(given.keys() & set("IJ")):
        raise ValueError("a travel with the cutter on, a cut with it off, or an arc without its centre.")
    if state.cutting and here is not None:
        state.rows[-1][2] = _bulge(here, there, given, state, controller) if arc else 0.0  # type: ignore[arg-type]
        state.rows.append([*there, 0.0])
    state.place = (there[0], there[1])


def _bulge(
    here: tuple[float, float], there: tuple[float, float], given: dict[str, float], state: _State, by: Controller
) -> float:
    """Return the bulge of an arc from its centre; a full turn is refused, nobody here writes one."""
    i, j = (given.get(k, 0.0) * state.unit_mm for k in "IJ")
    x, y = (i, j) if by.from_zero else (here[0] + i, here[1] + j)
    radii = math.dist(here, (x, y)), math.dist(there, (x, y))
    if abs(radii[0] - radii[1]) > RADII_MM or min(radii) == 0 or here == there:
        raise ValueError(f"both ends of an arc must be as far from its centre; found {radii[0]:.4f}, {radii[1]:.4f}.")
    turn = math.atan2(there[1] - y, there[0] - x) - math.atan2(here[1] - y, here[0] - x)
    turn = turn % math.tau if state.motion == "G3" else -((-turn) % math.tau)
    return math.tan(turn / 4)


def _drawing(name: str, state: _State, zero_mm: tuple[float, float]) -> CutDrawing:
    """Return the cuts as a drawing in mm."""
    shift = np.array([*zero_mm, 0.0])
    cuts = [Contour(c.kind, c.layer, c.vertices + shift, c.closed, c.line) for c in state.cuts]
    return CutDrawing(
        name=name, release=None, insunits=4, measurement=None, extents=None,
        layers=("CUT",), hidden_layers=(), contours=tuple(cuts), circles=(), points=(), others=(), in_blocks=(),
        mirrored=(),
    )  # fmt: skip
