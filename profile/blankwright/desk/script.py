"""Blankwright in a script: solve a knife, look at it, cut it, weigh it, write it, sweep hundreds of them."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, Unpack

from blankwright.base.arrays import Array
from blankwright.base.doors import a_path, a_table, a_whole_number, many, one_of, some_words
from blankwright.base.errors import BlankwrightError, RequestError, told, unknown
from blankwright.base.fixed import FixedTable
from blankwright.design.dimensions import Dimensions
from blankwright.design.family import load_family
from blankwright.design.keys import with_unit, with_units
from blankwright.design.parts import Family
from blankwright.design.request import Design, build_design, read_design
from blankwright.design.settings import Value
from blankwright.design.shape import FINE
from blankwright.design.tang import Hole
from blankwright.geometry.outline import MOST_POINTS, Outline
from blankwright.knife import knife as whole
from blankwright.knife.blank import cut_outline, oversize_of
from blankwright.report.data import document, masses_g

if TYPE_CHECKING:
    from blankwright.knife.aimed import Aimed

FIRST, WINDOW = 8, 64
"""Lists that are sent ahead of the row that is asked for: few at first, for who looks at some rows of an endless sweep,
twice as many with each list that comes back, until they keep a hall of workers busy."""

CHUNK = 16
"""Designs sent to a worker at a time: enough to hide the cost of sending, few enough to share evenly."""


_FLAT = ("finished_area_mm2", "cut_area_mm2", "finished_blank_g", "cut_blank_g")
_WEIGHED = ("finished_knife_g", "balance_mm")


class Runner(Protocol):
    """What runs a sweep elsewhere: executors of concurrent.futures, of a cluster, of anything with `submit`."""

    def submit(self, fn: Any, /, *args: Any) -> Any:
        """Run a function, and return a future with `result()`."""


class Knife:
    """A solved knife.

    Args:
        design: The request it was solved from.
    """

    def __init__(self, design: Design) -> None:
        self._design = one_of(design, Design, "a knife's request")
        self.core = whole.finish(design)
        """The finished knife that every paper reads, each answer computed when first asked for."""
        _ = self.core.allowance  # a process that does not cut this stock is told at once

    @property
    def design(self) -> Design:
        """The request it was solved from; solve(design.replace(...)) makes another knife."""
        return self._design

    @property
    def finished(self) -> Outline:
        """The finished outline: arcs and lines, with area_mm2, perimeter_mm, centroid_mm, bounds_mm."""
        return self.core.finished

    @property
    def holes(self) -> tuple[Hole, ...]:
        """The holes of the finished blank."""
        return tuple(h.hole for h in self.core.holes)

    @cached_property
    def dimensions_mm(self) -> dict[str, float]:
        """Every dimension reached, by name, with overall_length [mm]."""
        return FixedTable(self.core.shape.values_mm, overall_length=self.core.shape.overall_length_mm)

    def cut(self, process: str | None = None) -> Outline:
        """Return the outline to cut.

        Args:
            process: A cutting process, such as "water-jet"; None for the design's own.

        Raises:
            RequestError: Unknown process, or one that does not cut this stock.

        >>> knife = solve("chef")
        >>> knife.cut("plasma-table").area_mm2 > knife.cut("water-jet").area_mm2 > knife.finished.area_mm2
        True
        """
        if process is None or process == self.core.oversize.process:
            return self.core.cut
        oversize = oversize_of(self.design, self.finished, self.core.material, process, heated=self.core.start.heated)
        return cut_outline(self.core.shape.smooth, oversize.regions_mm).outline

    def curvature(self, curve: str = "edge", count: int = 200) -> Array:
        """Return how a curve of the family bends, from its splines and not from the arcs that stand for them.

        Args:
            curve: A curve or region of the family, such as "edge" or "spine".
            count: Places along it.

        Returns:
            (count, 4): length from its start [mm], x [mm], y [mm], curvature [1/mm], positive where it turns left on
            the way round the outline, counter-clockwise.

        Raises:
            RequestError: The family has no such curve, or the count is no whole number from 2 on.

        >>> rows = solve("chef").curvature("edge", 50)
        >>> rows.shape, bool((rows[25:, 3] > 0).all())  # the belly turns left, heel to tip
        ((50, 4), True)
        """
        count = a_whole_number(count, "count", 2, MOST_POINTS // FINE)
        curves = self.design.family.curves[self.design.construction]
        name = next((c.name for c in curves if curve in (c.name, c.region)), None)
        if name is None:
            raise unknown("curve", str(curve), [c.name for c in curves], f"family {self.design.family.name}")
        return self.core.shape.bend(name, count)

    def mass(self) -> dict[str, float | None]:
        """Return the weight of every stage [g]; None where nothing computes it yet."""
        return masses_g(self.core)

    @property
    def balance_mm(self) -> float | None:
        """Centre of mass ahead of the heel [mm], negative behind it; None when the knife cannot be weighed yet."""
        return self.core.weights.balance_mm

    def aim(
        self,
        let: Sequence[str],
        *,
        weight_g: float | None = None,
        balance_mm: float | None = None,
        blade_area_mm2: float | None = None,
    ) -> Aimed:
        """Change what is let, as little as possible, until the targets hold; solve(found.design) makes the new knife.

        Args:
            let: What may change, such as ["scales.thickness", "heel_height=46mm..52mm"].
            weight_g: Weight of the finished knife [g].
            balance_mm: Balance ahead of the heel, negative behind it [mm].
            blade_area_mm2: Blade ahead of the heel, seen from the side [mm2].

        Raises:
            RequestError: No target, or something that cannot be changed.
            DesignError: This knife cannot be weighed.

        >>> found = solve("chef").aim(["heel_height"], weight_g=180)
        >>> found.reached, round(solve(found).mass()["finished_knife"])
        (True, 180)
        """
        from blankwright.knife.aim import aim  # noqa: PLC0415 - only aiming needs the solver behind it

        targets = {"weight_g": weight_g, "balance_mm": balance_mm, "blade_area_mm2": blade_area_mm2}
        return aim(self.design, {k: v for k, v in targets.items() if v is not None}, let)

    def report(self) -> dict[str, Any]:
        """Return the report as data, without a written file (clearance is null)."""
        return document(self.core, None, [])

    def write(self, out: str | Path, extras: tuple[str, ...] = (), paper: str = "A4") -> list[Path]:
        """Write what `make` writes, cutting file, papers and report, into out/<name>/, and prove the cutting file.

        Args:
            out: Folder.
            extras: Further layers of the cutting file, "finished", "grind" and "notes"; "sections" on the drawing;
                "stl" for solids to print and hold.
            paper: Paper of the template, such as "A4" or "Letter".

        Returns:
            The written files.

        Raises:
            RequestError: The folder cannot be written.
            ProofError: The written file does not prove right; nothing is left behind.
        """
        from blankwright.desk.make import make  # noqa: PLC0415 - writing needs more than solving
        from blankwright.template.scenes import wishes  # noqa: PLC0415

        words = some_words(extras, "extras")
        made = make(self.design, a_path(out, "a folder to write into"), words, wanted=wishes(paper))
        return [made.folder / name for name in made.report["files"]]

    def _repr_svg_(self) -> str:
        """Return a picture for a notebook."""
        from blankwright.drawing.svg import HoleMark, outline_svg  # noqa: PLC0415

        marks = tuple(HoleMark(h.x_mm, h.y_mm, h.diameter_mm, "") for h in self.holes)
        return outline_svg(self.finished, self.core.cut, marks)

    def __eq__(self, other: object) -> bool:
        """Whether both were solved from the same request: the answer is the same then, to the last digit."""
        return self.design == other.design if isinstance(other, Knife) else NotImplemented

    def __hash__(self) -> int:
        return hash(self.design)

    def __repr__(self) -> str:
        v = self.dimensions_mm
        return (
            f"<Knife {self.design.name}: blade {v['blade_length']:.2f} mm, heel {v['heel_height']:.2f} mm, "
            f"overall {v['overall_length']:.2f} mm>"
        )


def request(
    what: str | Path | Family | Design | Knife | Aimed,
    *,
    construction: str | None = None,
    settings: Mapping[str, object] | None = None,
    name: str | None = None,
    **dimensions_mm: Unpack[Dimensions],
) -> Design:
    """Return a design without solving it.

    Args:
        what: A family's name, a design or family file, a Family, or a Design to change; a Knife or what aim() found
            stands for its design.
        construction: "full", "hidden" or "one-piece"; None for the family's first.
        settings: Values by dotted key as in a design file, such as {"material.thickness": "2.5 mm"}; a number is in
            mm, degrees, g or %, by its key.
        name: Name of the knife; None for that of the design, or of the family.
        **dimensions_mm: Dimensions by name with _mm at the end, such as blade_length_mm=210. A type checker knows
            those of the shipped families; others of one's own family it takes as settings, by key.

    Raises:
        RequestError: An unknown name, key or dimension.

    >>> request("chef", blade_length_mm=200, settings={"material.thickness": 2.5}, name="Galley")
    <Design Galley: chef, full; blade_length 200 mm, material.thickness 2.5>
    """
    changes = a_table(settings, "settings")
    for key, value in (("handle.construction", construction), ("name", name)):
        if value is not None and changes.setdefault(key, value) != value:
            raise RequestError(f"settings: {key} is {told(changes[key])}, beside {told(value)}; leave one out.")
    start = getattr(what, "design", what)
    if isinstance(start, Design):
        base = start.replace(changes)
    elif isinstance(start, Family):
        base = build_design({"name": start.name}, with_units(changes), f"family {start.name}", None, start)
    else:
        base = read_design(_named(start), with_units(changes))
    for d in base.family.offered(base.construction):
        if d.key in changes and f"{d.name}_mm" in dimensions_mm:
            raise RequestError(f"settings: {d.key} is asked beside {d.name}_mm; leave one out.")
    return base.asking(dimensions_mm)


def _named(what: object) -> str | Path:
    if not isinstance(what, (str, os.PathLike)):
        raise RequestError(f"expected a family's name, a design file, a Family, a Design or a Knife, got {told(what)}.")
    return a_path(what, "a family's name or a design file") if isinstance(what, os.PathLike) else what


def solve(
    what: str | Path | Family | Design | Knife | Aimed,
    *,
    construction: str | None = None,
    settings: Mapping[str, object] | None = None,
    name: str | None = None,
    **dimensions_mm: Unpack[Dimensions],
) -> Knife:
    """Solve a knife.

    Args:
        what: A family's name, a design or family file, a Family, a Design, or a Knife to change.
        construction: "full", "hidden" or "one-piece"; None for the family's first.
        settings: Values by dotted key as in a design file; a number is in mm, degrees, g or %, by its key.
        name: Name of the knife; None for that of the design, or of the family.
        **dimensions_mm: Dimensions by name with _mm at the end.

    Raises:
        RequestError: The request is wrong.
        DesignError: The dimensions or holes do not go together; the message says what works.

    >>> solve("chef", blade_length_mm=210, heel_height_mm=48)
    <Knife chef: blade 210.00 mm, heel 48.00 mm, overall 344.00 mm>
    """
    return Knife(request(what, construction=construction, settings=settings, name=name, **dimensions_mm))


def row(one: Design | Knife, weights: bool = False) -> dict[str, Any]:
    """Solve one design and return it as a plain row.

    Every row of a family and construction has the same columns: name, family, construction, error (None when fine),
    the settings that were asked for, by key with the unit behind it, dimensions, areas and weights. Of a design
    that cannot be solved, dimensions are what was asked; what there is no answer for is None.

    Args:
        one: The design; a Knife stands for its own.
        weights: Whether the finished knife is weighed as well: finished_knife_g and balance_mm.
    """
    one = one_of(getattr(one, "design", one), Design, "a design of the sweep")
    out: dict[str, Any] = {"name": one.name, "family": one.family.name, "construction": one.construction, "error": None}
    out |= {with_unit(key): _cell(value) for key, value in one.settings.items() if one.asked(key)}
    lengths = dict.fromkeys((*(d.name for d in one.family.offered(one.construction)), "overall_length"))
    found: dict[str, float | None] = {f"{name}_mm": None for name in lengths}
    found |= dict.fromkeys((*_FLAT, *(_WEIGHED if weights else ())))
    try:
        work = whole.finish(one)
        found |= {f"{name}_mm": value for name, value in work.shape.values_mm.items()}
        found["overall_length_mm"] = work.shape.overall_length_mm
        found |= dict(zip(_FLAT, (work.finished.area_mm2, work.cut.area_mm2, work.finished_blank.mass_g,
                                  work.cut_blank.mass_g), strict=True))  # fmt: skip
        if weights and (finished := work.weights.finished_knife) is not None:
            found |= dict(zip(_WEIGHED, (finished.mass_g, finished.centre_mm[0]), strict=True))
    except BlankwrightError as error:
        out["error"] = str(error)
        found = dict.fromkeys(found) | {f"{name}_mm": mm for name, mm in one.dimensions_mm.items()}
        found["overall_length_mm"] = one.overall_mm
    return out | found


def _cell(value: Value) -> float | int | str:
    """Return a setting as one cell of a table; several lengths are words."""
    return ", ".join(f"{item:g}" for item in value) if isinstance(value, tuple) else value


def _rows(designs: list[Design | Knife], weights: bool) -> list[dict[str, Any]]:
    return [row(one, weights) for one in designs]


def sweep(
    designs: Iterable[Design | Knife], executor: Runner | None = None, *, weights: bool = False
) -> Iterator[dict[str, Any]]:
    """Solve many designs and yield one plain row for each, in order; pandas.DataFrame(sweep(...)) takes them.

    Args:
        designs: Designs, as from request(), or knives. A design that cannot be solved gives a row with its "error".
        executor: Anything with `submit` that returns a future, such as those of concurrent.futures or of a cluster;
            None solves here, one after the other. Designs are read as they are needed, a few lists ahead; what was
            sent ahead is called back when nobody asks for more rows.
        weights: Whether finished knives are weighed as well; without, the rows hold the flat blank's weight.

    >>> base = request("chef")
    >>> rows = list(sweep(base.replace(blade_length_mm=mm) for mm in (200, 5000)))
    >>> [row["error"] is None for row in rows]
    [True, False]
    """
    designs = many(designs, "sweep")
    if executor is None:
        yield from (row(one, weights) for one in designs)
        return
    if not hasattr(executor, "submit") or isinstance(executor, type):
        raise RequestError(f"sweep: an executor has a method submit, got {told(executor)}.")
    ahead: deque[Any] = deque()
    most = min(FIRST, WINDOW)
    try:
        for chunk in _chunks(designs):
            ahead.append(_future(executor.submit(_rows, chunk, weights)))
            if len(ahead) >= most:
                yield from ahead.popleft().result()
                most = min(2 * most, WINDOW)
        while ahead:
            yield from ahead.popleft().result()
    finally:
        for future in ahead:
            if hasattr(future, "cancel"):
                future.cancel()


def _future(sent: Any) -> Any:
    if not hasattr(sent, "result"):
        raise RequestError(f"sweep: submit has to return a future with result(), got {told(sent)}.")
    return sent


def _chunks(designs: Iterable[Design | Knife]) -> Iterator[list[Design | Knife]]:
    """Yield designs in small lists, no more of them read than are asked for."""
    rest = iter(designs)
    while chunk := list(islice(rest, CHUNK)):
        yield chunk


__all__ = ["Knife", "load_family", "read_design", "request", "row", "solve", "sweep"]
