"""Aiming: change free dimensions and settings, as little as possible, until weight, balance or blade area hold.

Each step asks a bounded linear least-squares solver (scipy, Stark and Parker's bounded-variable method) for the
smallest change that brings the figures to their targets, as they answer at the point reached; targets weigh so much
more than changes that they are met first. Where they cannot be met, the same steps end at the nearest figures, a gram
counting as much as a millimetre of balance and as 50 mm2 of blade.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.doors import a_number, some_words
from blankwright.base.errors import BlankwrightError, DesignError, RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, mm, said
from blankwright.design.request import Design
from blankwright.design.shape import Shape
from blankwright.knife.aimed import Aimed, Change
from blankwright.knife.knife import Knife, finish
from blankwright.knife.knobs import DIGITS, Knob, knob_of
from blankwright.knife.moves import with_dimension, with_setting
from blankwright.solid.blade import strips

FIGURES = ("weight_g", "balance_mm", "blade_area_mm2")
_WORTH = {"weight_g": 1.0, "balance_mm": 1.0, "blade_area_mm2": 0.02}
_GOOD = {"weight_g": 0.05, "balance_mm": 0.05, "blade_area_mm2": 5.0}
"""A target counts as met within this: half of what is promised."""

_FIRM = 1e4
"""A gram off weighs as much as a change by this many whole ranges."""
_STEP = 1e-4
"""Share of a range over which slopes are measured."""
_ROUNDS, _HALVINGS, _STILL = 25, 12, 1e-7
_BENDS = 3
_NEAR = 0.01
"""Within this share of every range figures answer nearly straight: steps lead to a known end, and a step that does not
help at once does not help when it is shorter."""
_KNOWN = 1e-3
"""Share of a range to which a value is known where targets are out of reach: figures hardly change about the nearest
ones, so that the last digits of a computation, which differ from processor to processor, move it by 3e-5 of it."""
_MOST_KNOBS = 6


_WITHIN = {"weight_g": (1, 20_000), "balance_mm": (-1000, 1000), "blade_area_mm2": (1, 1e6)}
"""What a knife's figures can be at all [g, mm, mm2]; what this knife can reach is another question."""


def aim(design: Design, asked: dict[str, float], let: Sequence[str]) -> Aimed:
    """Change a design within its family's ranges until targets hold, by the smallest change.

    Args:
        design: The design to start from.
        asked: Targets by figure: weight_g of the finished knife [g], balance_mm ahead of the heel [mm],
            blade_area_mm2 of the blade ahead of the heel, seen from the side [mm2].
        let: What may change: keys of the design file ("scales.thickness"), script names ("heel_height"), each with
            its own range when wanted ("scales.thickness=5mm..9mm").

    Raises:
        RequestError: No or an unknown target, nothing let, an unknown key, a key that has no value to start from.
        DesignError: The design given does not hold together, or cannot be weighed.
    """
    for name in asked:
        if name not in FIGURES:
            raise unknown("target", name, FIGURES, "aim")
    asked = {name: a_number(value, f"aim: {name}", *_WITHIN[name]) for name, value in asked.items()}
    if not asked:
        raise RequestError(
            "aim: give a target, such as --weight 190g or --balance 12mm (in a script weight_g=190 or balance_mm=12)."
        )
    knife = finish(design)
    knobs = [knob_of(knife, words) for words in some_words(let, "aim: let")]
    if not 1 <= len(knobs) <= _MOST_KNOBS or len({k.key for k in knobs}) < len(knobs):
        raise RequestError(
            f"aim: name 1 to {_MOST_KNOBS} different keys that may change, such as --let scales.thickness."
        )
    search = _Search(design, knife.shape, [k for k in knobs if k.unit], asked)
    before = search.figures(knife)
    counts = [k for k in knobs if not k.unit]
    best: tuple[tuple[bool, float], Design, Array] | None = None
    for values in itertools.product(*(range(int(k.least), int(k.greatest) + 1) for k in counts)):
        base = design
        for knob, value in zip(counts, values, strict=True):
            base = with_setting(base, knob.key, value)
        found = search.from_base(base)
        if found is None:
            continue
        point, off = found
        turned = sum(((v - k.start) / (k.greatest - k.least)) ** 2 for k, v in zip(counts, values, strict=True))
        met = search.met(off)
        rank = (not met, search.change(point) + turned if met else _miss(off))
        if best is None or rank < best[0]:
            best = (rank, search.turned(base, point), point)
    if best is None:
        raise DesignError("aim: this design cannot be weighed, so there is nothing to aim at.")
    return search.result(best[1], knobs, before, best[2])


def _miss(off: Array) -> float:
    """Return how far figures are off, all together."""
    return float(np.sqrt((off**2).sum()))


@dataclass(frozen=True, eq=False)
class _End:
    """Where steps ended: the point, how far the figures are off there, and how they answer."""

    point: Array
    off: Array
    slopes: Array


class _Search:
    """One search: designs from points, figures from designs, steps between points."""

    def __init__(self, design: Design, shape: Shape, knobs: list[Knob], asked: dict[str, float]) -> None:
        self.design, self.shape, self.knobs, self.asked = design, shape, knobs, asked
        self.start = np.array([k.start for k in knobs])
        self.low = np.array([k.least for k in knobs])
        self.high = np.array([k.greatest for k in knobs])
        self.span = self.high - self.low
        self.worth = np.array([_WORTH[name] for name in asked])
        self.target = np.array(list(asked.values()))
        self.same_outline = all(k.dimension is None for k in knobs)

    def turned(self, base: Design, point: Array) -> Design:
        """Return the design at a point; every knob is written, also one that stands still while others move."""
        out = base
        for knob, value in zip(self.knobs, point, strict=True):
            number = float(value)
            if knob.dimension is not None:
                out = with_dimension(out, knob.dimension, number)
            else:
                out = with_setting(out, knob.key, number)
        return out

    def figures(self, knife: Knife) -> dict[str, float]:
        """Return all figures of a part.

        Raises:
            DesignError: It cannot be weighed.
        """
        weights = knife.weights
        if weights.finished_knife is None:
            raise DesignError(f"aim: {weights.why_not}")
        laid = strips(knife.finished, knife.ground.taper.x_mm)
        area = float((laid.weight * (laid.high - laid.low)).sum())
        values = (weights.finished_knife.mass_g, weights.finished_knife.centre_mm[0], area)
        return dict(zip(FIGURES, values, strict=True))

    def off(self, base: Design, point: Array) -> Array | None:
        """Return how far each asked figure is off at a point, in its worth; None where there is no such knife."""
        try:
            knife = finish(self.turned(base, point), self.shape if self.same_outline else None)
            figures = self.figures(knife)
        except BlankwrightError:
            return None
        off: Array = (np.array([figures[name] for name in self.asked]) - self.target) * self.worth
        return off

    def met(self, off: Array) -> bool:
        """Return whether figures that are off by this meet every target."""
        good = np.array([_GOOD[name] for name in self.asked])
        return bool((np.abs(off) <= good * self.worth).all())

    def change(self, point: Array) -> float:
        """Return how much a point changes, summed squares of shares of the ranges."""
        return float((((point - self.start) / self.span) ** 2).sum())

    def from_base(self, base: Design) -> tuple[Array, Array] | None:
        """Return the best point for a base design and how far it is off; further starts only when the first misses."""
        ends: list[_End] = []
        for start in self._starts():
            found = self._descend(base, start, ends)
            if found is None:
                continue
            ends.append(found)
            if self.met(found.off):
                break
        best = min(ends, key=lambda end: _miss(end.off), default=None)
        return None if best is None else (best.point, best.off)

    def _starts(self) -> list[Array]:
        middle = (self.low + self.high) / 2
        corners = [
            self.low + self.span * np.array(bits) for bits in itertools.product((0.02, 0.98), repeat=len(self.knobs))
        ]
        return [np.clip(self.start, self.low, self.high), middle, *corners[:16]]

    def _descend(self, base: Design, start: Array, known: Sequence[_End]) -> _End | None:
        """Return where steps from a start end; None where they have nowhere to begin.

        Slopes are those of the last known end, or measured; each step corrects them by what it shows (Broyden,
        Mathematics of Computation 19, 1965, 577-593). They are measured again where they lead no further, and only
        then is the end the end. With more knobs than targets they are measured at every step: the way along the valley
        to the smallest change is short by them, and the same on every processor. Steps that come near a known end go
        no further: they would only find it again.
        """
        point, off = start, self.off(base, start)
        if off is None:
            return None
        slopes, measured = (known[-1].slopes, False) if known else (self._slopes(base, point, off), True)
        for _ in range(_ROUNDS):
            there, there_off = self._along(base, point, off, slopes, again=measured)
            if there_off is not None:
                turn = (there - point) / self.span
                shown = there_off - off - slopes @ turn
                slopes = slopes + np.outer(shown, turn) / float(turn @ turn)
                still = bool((np.abs(turn) <= _STILL).all())
                point, off = there, there_off
                if any((np.abs(end.point - point) <= _NEAR * self.span).all() for end in known):
                    break
                if not still:
                    measured = len(point) > len(off)  # along a valley corrected slopes lead astray
                    if measured:
                        slopes = self._slopes(base, point, off)
                    continue
            if measured:
                break
            slopes, measured = self._slopes(base, point, off), True
        return _End(point, off, slopes)

    def _along(
        self, base: Design, point: Array, off: Array, slopes: Array, *, again: bool
    ) -> tuple[Array, Array | None]:
        """Return the first better point of a step, of its half and so on, and how far it is off; None for none.

        With more knobs than targets a step runs along the targets, and they bend away from it: there further steps
        from its end, by the same slopes, bring the figures home before all are judged together.

        Args:
            base: The design.
            point: Where the step begins.
            off: How far the figures are off there.
            slopes: How the figures answer.
            again: Whether a step that does not help is shortened.
        """
        step = self._step(slopes, point, off)
        size = float((np.abs(step) / self.span).max(initial=0.0))
        if size <= _STILL:
            return point, None
        cost, free = self._cost(off, point), len(point) > len(off)
        halvings = _HALVINGS if size > _NEAR else _BENDS if free else 1
        for halving in range(halvings if again else 1):
            there = self._clipped(point + step / 2**halving)
            there_off = self.off(base, there)
            for _ in range(_BENDS if free else 0):
                if there_off is None or self._cost(there_off, there) < cost:
                    break
                there = self._clipped(there + self._step(slopes, there, there_off))
                there_off = self.off(base, there)
            if there_off is not None and self._cost(there_off, there) < cost:
                return there, there_off
        return point, None

    def _clipped(self, point: Array) -> Array:
        return np.clip(point, self.low, self.high)

    def _cost(self, off: Array, point: Array) -> float:
        return float(((_FIRM * off) ** 2).sum()) + self.change(point)

    def _slopes(self, base: Design, point: Array, off: Array) -> Array:
        """Return how the figures answer at a point, each knob in shares of its range."""
        slopes = np.zeros((len(off), len(point)))
        for i, span in enumerate(self.span):
            for sign in (1.0, -1.0):
                there = point.copy()
                there[i] = np.clip(point[i] + sign * _STEP * span, self.low[i], self.high[i])
                there_off = self.off(base, there) if there[i] != point[i] else None
                if there_off is not None:
                    slopes[:, i] = (there_off - off) / ((there[i] - point[i]) / span)
                    break
        return slopes

    def _step(self, slopes: Array, point: Array, off: Array) -> Array:
        """Return the step to the smallest change that would bring the figures home, were they straight."""
        from scipy.optimize import lsq_linear  # noqa: PLC0415 - heavy, and only aiming needs it

        # in shares of the ranges, so that the solver sees numbers of one size
        matrix = np.vstack([_FIRM * slopes, np.eye(len(point))])
        wanted = np.concatenate([-_FIRM * off, (self.start - point) / self.span])
        low, high = (self.low - point) / self.span, (self.high - point) / self.span
        found = lsq_linear(matrix, wanted, bounds=(low - 1e-12, high + 1e-12), method="bvls")
        result: Array = found.x * self.span
        return result

    def result(self, design: Design, knobs: Sequence[Knob], before: dict[str, float], point: Array) -> Aimed:
        """Return the outcome, its values rounded to what is written."""
        new, changes = self._rounded(design, knobs, lambda _: DIGITS)
        figures = self.figures(finish(new))
        reached = all(abs(figures[name] - value) <= 2 * _GOOD[name] for name, value in self.asked.items())
        if reached:
            return Aimed(new, self.asked, before, figures, changes, reached, ())
        limits = (*self._limits(new, point), *self._counted(new, knobs, figures))
        new, changes = self._rounded(design, knobs, _digits_known)
        return Aimed(new, self.asked, before, self.figures(finish(new)), changes, reached, limits)

    def _rounded(
        self, design: Design, knobs: Sequence[Knob], digits_of: Callable[[Knob], int]
    ) -> tuple[Design, tuple[Change, ...]]:
        """Return the design with its knobs rounded, and what that changed."""
        changes = []
        for knob in knobs:
            value = _value(design, knob)
            if value is None:
                continue
            shown = min(max(round(value, digits_of(knob)), knob.least), knob.greatest)
            if abs(value - knob.start) < 0.5 * 10**-DIGITS:
                shown = knob.start
            if abs(shown - knob.start) >= 0.5 * 10**-DIGITS:
                changes.append(Change(knob, shown))
            if knob.dimension is not None:
                design = with_dimension(design, knob.dimension, shown)
            elif knob.unit:
                design = with_setting(design, knob.key, shown)
        return (design if changes else self.design), tuple(changes)

    def _counted(self, design: Design, knobs: Sequence[Knob], figures: dict[str, float]) -> list[Line]:
        """Say of every count what one more would do, and what all of it is worth: holes do less than one hopes."""
        out = []
        for knob in (k for k in knobs if not k.unit):
            value = int(_value(design, knob) or 0)
            without = self.figures(finish(with_setting(design, knob.key, 0)))
            grams, balance = (figures[name] - without[name] for name in ("weight_g", "balance_mm"))
            worth = said(
                f"{knob.key} stands at {value}: all {value} are worth {_sign(grams)}{{}} and {_sign(balance)}{{}} of "
                "balance", Quantity(abs(grams), "g", 1), mm(abs(balance), 1),
            )  # fmt: skip
            try:
                finish(with_setting(design, knob.key, value + 1))
            except BlankwrightError as error:
                worth = worth.then("; one more: {}", str(error))
            out.append(worth)
        return out

    def _limits(self, design: Design, point: Array) -> tuple[Line, ...]:
        """Say what stands in the way: a knob at its end, or a value beyond which the knife falls apart."""
        out: dict[str, Line] = {}
        for i, knob in enumerate(self.knobs):
            for end, word in ((knob.least, "smallest"), (knob.greatest, "largest")):
                if abs(point[i] - end) <= 1e-6 * self.span[i]:
                    out[knob.key] = said(f"{knob.key} stands at {{}}, its {word} value.", knob.told(end))
        for i, knob in enumerate(self.knobs):
            blocked = self._blocked(design, point, i)
            if blocked and knob.key not in out:
                out[knob.key] = said(f"{knob.key} stands at {{}}: {{}}", knob.told(float(point[i])), blocked)
        if self.knobs and not out:
            return (said("What may change moves the figures too little, or one at the cost of the other."),)
        return tuple(out.values())

    def _blocked(self, design: Design, point: Array, i: int) -> str:
        """Return why a knob cannot be turned a hundredth further, or nothing when it can."""
        for sign in (1.0, -1.0):
            there = point.copy()
            there[i] = np.clip(point[i] + sign * 0.01 * self.span[i], self.low[i], self.high[i])
            try:
                finish(self.turned(design, there), self.shape if self.same_outline else None)
            except BlankwrightError as error:
                return str(error)
        return ""


def _digits_known(knob: Knob) -> int:
    """Return the decimals that a value out of reach is known to."""
    return min(DIGITS, max(0, round(-math.log10((knob.greatest - knob.least) * _KNOWN))))


def _sign(value: float) -> str:
    return "-" if value < 0 else "+"


def _value(design: Design, knob: Knob) -> float | None:
    value = design.dimensions_mm.get(knob.dimension) if knob.dimension else design.settings.get(knob.key)
    return float(value) if isinstance(value, (int, float)) else None
