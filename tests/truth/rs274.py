"""A plain interpreter of RS-274 for the tests: plays a program back and refuses everything that it does not know.

The language is that of "The NIST RS274NGC Interpreter, version 3", NISTIR 6556, 2000: modal groups, words, comments,
arcs by their centre with I and J from the start, which G91.1 confirms and G90.1 changes to the zero point. A machine
that cuts knows M3 and M5 as cutter on and off.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
MM_PER_INCH = 25.4
RADII_MM = 0.002
"""An arc whose two radii differ by more is refused."""

_WORD = re.compile(r"([A-Z])\s*([+-]?(?:\d+\.?\d*|\.\d+))")
_GROUPS = {0: "motion", 1: "motion", 2: "motion", 3: "motion", 17: "plane", 20: "units", 21: "units", 40: "radius",
           90: "distance", 90.1: "arc centres", 91.1: "arc centres", 94: "feed mode", 4: "dwell"}  # fmt: skip
_LETTERS = set("GMXYIJFP")


class RefusedError(Exception):
    """The program holds something that a plain machine does not do."""


@dataclass(frozen=True)
class Move:
    """One move [mm]: from where to where, how, and with the cutter on or off."""

    line: int
    kind: str
    start: tuple[float, float]
    end: tuple[float, float]
    centre: tuple[float, float] | None
    cutting: bool
    feed_mm_min: float

    @property
    def angle(self) -> float:
        """Angle of an arc [rad], counter-clockwise positive; ends on the start make a full turn."""
        assert self.centre is not None
        (ax, ay), (bx, by), (cx, cy) = self.start, self.end, self.centre
        turn = math.atan2(by - cy, bx - cx) - math.atan2(ay - cy, ax - cx)
        if self.kind == "G3":
            return turn % math.tau or math.tau
        return -((-turn) % math.tau or math.tau)

    @property
    def length_mm(self) -> float:
        """Length of the way [mm]."""
        if self.centre is None:
            return math.dist(self.start, self.end)
        return abs(self.angle) * math.dist(self.start, self.centre)

    def points(self, flat_mm: float) -> Array:
        """Return points along the move, chords no further than flat_mm from an arc; the start is left out."""
        if self.centre is None:
            return np.array([self.end])
        centre, radius = np.array(self.centre), math.dist(self.start, self.centre)
        step = 2 * math.acos(max(1 - flat_mm / radius, 0.0)) if radius > flat_mm else 1.0
        n = max(1, math.ceil(abs(self.angle) / step))
        first = math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])
        at = first + self.angle * np.arange(1, n + 1) / n
        out = centre + radius * np.column_stack([np.cos(at), np.sin(at)])
        out[-1] = self.end
        return out


@dataclass
class Played:
    """What a program made the machine do."""

    comments: list[str] = field(default_factory=list)
    moves: list[Move] = field(default_factory=list)
    waits_s: list[float] = field(default_factory=list)
    ended: bool = False

    @property
    def cuts(self) -> list[list[Move]]:
        """Runs of moves with the cutter on."""
        out: list[list[Move]] = []
        before = False
        for move in self.moves:
            if move.cutting:
                if not before:
                    out.append([])
                out[-1].append(move)
            before = move.cutting
        return out


def play(text: str, *, semicolons: bool = False, end: int = 2, few_words: bool = False) -> Played:
    """Play a program back from the machine's zero point.

    Args:
        text: The program.
        semicolons: A comment runs from a semicolon to the end of its line, not between parentheses.
        end: The M word at the end.
        few_words: The controller knows no compensation, so nothing need switch it off.
    """
    comment = re.compile(r";[ ]*(.*)" if semicolons else r"\(([^()]*)\)")
    out = Played()
    modes: dict[str, int] = {}
    at, on, feed = (0.0, 0.0), False, 0.0
    for number, raw in enumerate(text.split("\n"), start=1):
        if not raw.isascii() or len(raw) > 256:
            raise RefusedError(f"line {number}: not plain, or longer than 256 characters")
        if out.ended and raw.strip():
            raise RefusedError(f"line {number}: goes on after the end")
        line = comment.sub(lambda hit: out.comments.append(hit[1]) or "", raw).strip().upper()
        words = [(letter, float(value)) for letter, value in _WORD.findall(line)]
        if re.sub(r"\s", "", _WORD.sub("", line)) or any(letter not in _LETTERS for letter, _ in words):
            raise RefusedError(f"line {number}: {raw!r}")
        codes = [int(v) if v == int(v) else v for letter, v in words if letter == "G"]
        stops = [int(v) if v == int(v) else -1 for letter, v in words if letter == "M"]
        values = {letter: v for letter, v in words if letter not in "GM"}
        if len(values) != sum(letter not in "GM" for letter, _ in words) or len(stops) > 1:
            raise RefusedError(f"line {number}: a word twice")
        named = [_GROUPS.get(code, "?") for code in codes]
        if "?" in named or len(set(named)) != len(named):
            raise RefusedError(f"line {number}: unknown, or two of one group: {raw!r}")
        modes.update({g: c for g, c in zip(named, codes, strict=True) if g != "dwell"})
        scale = {20: MM_PER_INCH, 21: 1.0}.get(modes.get("units", -1), 0.0)
        if "F" in values:
            feed = values["F"] * scale
        if stops and stops[0] == 3:
            on = True
        elif stops and stops[0] == 5:
            on = False
        elif stops and stops[0] == end:
            out.ended = True
        elif stops:
            raise RefusedError(f"line {number}: M{stops[0]}")
        if "dwell" in named:
            if set(values) != {"P"} or values["P"] < 0:
                raise RefusedError(f"line {number}: a wait needs P alone")
            out.waits_s.append(values["P"])
            continue
        if "P" in values:
            raise RefusedError(f"line {number}: P belongs to a wait")
        if set(values) & set("XYIJ"):
            set_up = (modes.get("distance"), modes.get("plane"), modes.get("radius", 40 if few_words else None))
            if set_up != (90, 17, 40) or scale == 0:
                raise RefusedError(f"line {number}: moves before G17 G40 G90 and a unit")
            from_zero = modes.get("arc centres") == 90.1
            at = _move(number, f"G{modes.get('motion')}", values, at, on, feed, scale, out, from_zero)
        elif "motion" in named:
            raise RefusedError(f"line {number}: a motion without a place")
    if not out.ended:
        raise RefusedError(f"no M{end}")
    if on:
        raise RefusedError("the cutter is left on")
    return out


def _move(
    number: int, kind: str, values: dict[str, float], at: tuple[float, float], on: bool, feed: float, scale: float,
    out: Played, from_zero: bool,
) -> tuple[float, float]:  # fmt: skip
    x, y = (values.get("X", at[0] / scale) * scale, values.get("Y", at[1] / scale) * scale)
    centre = None
    if kind in ("G2", "G3"):
        if not set(values) & {"I", "J"}:
            raise RefusedError(f"line {number}: an arc without its centre")
        start = (0.0, 0.0) if from_zero else at
        centre = (start[0] + values.get("I", 0.0) * scale, start[1] + values.get("J", 0.0) * scale)
        if abs(math.dist(at, centre) - math.dist((x, y), centre)) > RADII_MM:
            raise RefusedError(f"line {number}: the radii of the arc differ")
    elif set(values) & {"I", "J"}:
        raise RefusedError(f"line {number}: a centre without an arc")
    elif kind not in ("G0", "G1"):
        raise RefusedError(f"line {number}: a place without a motion")
    if kind == "G0" and on:
        raise RefusedError(f"line {number}: rapid with the cutter on")
    if kind != "G0" and not on:
        raise RefusedError(f"line {number}: cuts with the cutter off")
    if kind != "G0" and feed <= 0:
        raise RefusedError(f"line {number}: no feed")
    out.moves.append(Move(number, kind, at, (x, y), centre, on, feed))
    return x, y
