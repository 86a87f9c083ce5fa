"""A thing held against its drawing: laid on it, what is left and what is short, where, and what the file can tell."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property, lru_cache
from itertools import product
from pathlib import Path
from typing import Any, Literal, get_args

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.reading import is_plain_file
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.design.lifted import Lifted, read_lifted
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.lift.laid import TURN, pose_of
from blankwright.lift.naming import End, Side
from blankwright.lift.offness import Line as Row
from blankwright.lift.run import Request, seen_by
from blankwright.lift.run import laid as laid_as
from blankwright.lift.seen import Seen
from blankwright.lift.stretches import LEAST_TOLD_MM, Differences, Stretch, differences

Lay = Literal["fit", "heel"]

MOST_TOLD = 8
"""So many places are told of one blade; the picture shows all."""
_ROBUST_MM = 0.3
_LEAST_MM = 0.01
_PLACES = 1_500
_LIKE_MM, _UNLIKE_MM = 0.6, 8.0
"""A thing that is nearer than this by the mean lies the right way; one that is further off is another one."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """A thing on its drawing.

    Args:
        file: What it was lifted from.
        drawing: The design's finished outline.
        lifted: The thing.
        laid: How it was laid on.
        notes: What its source is to be told of, such as what a measured length was taken for.
        by_itself: Whether its scale is from a length of the thing itself.
    """

    file: str
    drawing: Outline
    lifted: Lifted
    laid: Pose
    notes: tuple[Line, ...] = ()
    by_itself: bool = False

    @cached_property
    def thing(self) -> Outline:
        """The thing as it lies on the drawing."""
        return self.lifted.outline.placed(self.laid.turn_deg, self.laid.x_mm, self.laid.y_mm)

    @cached_property
    def differences(self) -> Differences:
        """What is left and what is short, place by place."""
        return differences(self.drawing, self.thing)

    @cached_property
    def unlike_mm(self) -> float:
        """How unlike they are: the mean of what they differ by, of which no place counts more than the limit [mm]."""
        return float(np.minimum(np.abs(self.differences.off_mm), _UNLIKE_MM).mean())

    @property
    def told_from_mm(self) -> float:
        """Less than this the file cannot tell [mm]."""
        return max(self.lifted.within_mm, LEAST_TOLD_MM)

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """Where it differs by more than the file may be off, the worst first."""
        return tuple(self.differences.stretches(self.told_from_mm))

    @property
    def short(self) -> bool:
        """Whether it is short by more than the file may be off: what is ground away cannot be put back."""
        return any(s.mm < 0 for s in self.stretches)


def lay_of(word: str) -> Lay:
    """Read how a thing is to be laid on its drawing.

    Raises:
        RequestError: Neither fit nor heel.
    """
    if word not in get_args(Lay):
        raise unknown("way to lay it", word, get_args(Lay), "--lay")
    return word  # type: ignore[return-value]


def compared(drawing: Outline, asked: Request, lay: Lay) -> Comparison:
    """Hold what a file shows against a drawing.

    Args:
        drawing: The design's finished outline.
        asked: The file, and what is said of it.
        lay: By best fit, or by heel and edge.

    Raises:
        RequestError: The file cannot be read, shows no outline, or another thing.
    """
    best: Comparison | None = None
    seen = _seen(asked)
    for lifted in [read_lifted(asked.file)] if seen is None else _ways(seen, asked):
        laid = best_lie(drawing, lifted.outline) if lay == "fit" else Pose(0.0, 0.0, 0.0, flipped=False)
        one = Comparison(asked.file.name, drawing, lifted, laid)
        if seen is not None:
            one = replace(one, notes=seen.notes, by_itself=seen.by_itself)
        if best is None or one.unlike_mm < best.unlike_mm:
            best = one
        if best.unlike_mm < _LIKE_MM:
            break
    if best is None or best.unlike_mm > _UNLIKE_MM / 2:
        off = "far" if best is None else f"{best.unlike_mm:.0f} mm"
        raise RequestError(
            f"{asked.file}: lies {off} off the design by the mean: it shows another thing, its scale is "
            "wrong, or heel and tip were not found. Say --tip and --edge, or lift it first and correct its file."
        )
    return best


def _seen(asked: Request) -> Seen | None:
    """Return what a source shows; None of a file that a lift wrote, which is read as it is."""
    path: Path = asked.file
    if path.suffix == ".toml" and is_plain_file(path):
        with path.open("rb") as stream:
            if b"arcs_within" in stream.read(100_000):
                return None
    try:
        return seen_by(asked)
    except RequestError as error:  # of several blades it must be told which
        text = str(error)
        raise error if path.name in text else RequestError(f"{path}: {text[:1].lower()}{text[1:]}") from None


def _ways(seen: Seen, asked: Request) -> Iterator[Lifted]:
    """Yield the thing as the rules name it, then with its ends changed.

    A drawing tells which end is which better than any rule; what the maker says stands.
    """
    yield laid_as(seen, asked).lifted
    for tip, edge in product(get_args(End), get_args(Side)):
        if asked.tip in (None, tip) and asked.edge in (None, edge):
            try:
                yield laid_as(seen, replace(asked, tip=tip, edge=edge)).lifted
            except RequestError:
                continue


def refuse_shared(ones: Sequence[Comparison]) -> None:
    """Refuse several blades whose scale is from one length of a thing itself: each has its own.

    Raises:
        RequestError: There are several.
    """
    held = [one.file for one in ones if one.by_itself]
    if len(held) > 1:
        raise RequestError(
            f"--measured-x, --measured-y: one blade's own length was held against {len(held)} pictures "
            f"({', '.join(held[:MOST_TOLD])}). Each blade has its own: compare them one by one, or lay a 100 mm bar "
            "beside each, along and across, and say that."
        )


def best_lie(drawing: Outline, thing: Outline) -> Pose:
    """Return how a thing lies best on a drawing: least squares on which a nick or a proud stretch does not pull."""
    from scipy.optimize import least_squares  # noqa: PLC0415 - only this needs it

    row = Row(drawing)
    points, _ = thing.sampled(max(thing.perimeter_mm / _PLACES, 0.2))

    @lru_cache(maxsize=1)
    def lain(*numbers: float) -> tuple[Pose, Array, Array, Array]:
        """Return a lie, the points in it, and how far they are off in which directions: slopes ask of the same lie."""
        lie = pose_of(numbers)
        there = lie.points(points)
        return lie, there, *row.off(there)

    def off(numbers: Any) -> Any:
        return lain(*numbers)[2].copy()  # the solver writes into what it is given

    def slopes(numbers: Any) -> Any:
        lie, there, _, n = lain(*numbers)
        x, y = (there - np.array([lie.x_mm, lie.y_mm])).T
        return np.column_stack([TURN * (x * n[:, 1] - y * n[:, 0]), n])

    numbers = np.zeros(3)
    scale = 1.0
    for _ in range(4):
        numbers = least_squares(
            off, numbers, slopes, loss="cauchy", f_scale=scale, x_scale=(0.1, 0.1, 0.1), ftol=1e-9, xtol=1e-7
        ).x
        scale = max(2 * 1.4826 * float(np.median(np.abs(off(numbers)))), _LEAST_MM)
    return pose_of(numbers)


def comparison_lines(one: Comparison) -> list[Line]:
    """Return a comparison in sentences."""
    out = [*one.notes, said("{} tells what differs by more than {}.", one.file, exact_mm(round(one.told_from_mm, 2)))]
    if not one.stretches:
        return [*out, said("Nothing is left and nothing is short.")]
    out += [s.line for s in one.stretches[:MOST_TOLD]]
    more = len(one.stretches) - MOST_TOLD
    if more > 0:
        out.append(
            said(
                f"{more} more places, less than {{}} each; the picture shows them.",
                mm(abs(one.stretches[MOST_TOLD - 1].mm), 1),
            )
        )
    return out


def table_lines(ones: Sequence[Comparison], units: str) -> list[str]:
    """Return several blades as a table, one a row: what is left, what is short, and the worst place."""
    wide = max(len(one.file) for one in ones)
    rows = [f"{'blade':{wide}}  {'left':>8}  {'short':>8}  worst"]
    for one in ones:
        d = one.differences
        worst = one.stretches[0].line.text(units) if one.stretches else "nothing that the file tells"
        left, short = (mm(v, 1).shown(units) for v in (d.over_mm, d.short_mm))
        rows.append(f"{one.file:{wide}}  {left:>8}  {short:>8}  {worst}")
    return rows + [f"{one.file}: {note.text(units)}" for one in ones for note in one.notes]


def report_of(one: Comparison) -> dict[str, Any]:
    """Return a comparison as data."""
    return {
        "format": 1,
        "file": one.file,
        "over_mm": one.differences.over_mm,
        "short_mm": one.differences.short_mm,
        "within_mm": one.lifted.within_mm,
        "told_from_mm": one.told_from_mm,
        "short": one.short,
        "notes": [note.text() for note in one.notes],
        "laid": {"turn_deg": one.laid.turn_deg, "x_mm": one.laid.x_mm, "y_mm": one.laid.y_mm},
        "places": [
            {"from_mm": s.from_mm, "to_mm": s.to_mm, "region": s.region, "mm": s.mm, "at_mm": list(s.at_mm)}
            for s in one.stretches
        ],
    }
