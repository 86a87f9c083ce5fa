"""What a build sheet is: stages, in each of which what to do, what to know, what to check and what to mind stand apart.

A number with a unit cannot stand there without its standing. The bench card is drawn from the same stages: what stands
on it too is marked here, so that both papers say one thing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import NUMBER_WITH_UNIT, Line, Named, Size, Spot, Standing, Value

OWN_WORDS = (
    "A figure without a mark is this design's own: asked for, its family's default, or computed from its outline, "
    "stock, grind and densities."
)
"""What the end of the sheet says of them."""

BESIDE = "beside the title"
"""On the bench card such a figure stands beside its stage's title and needs no label."""


@dataclass(frozen=True)
class Row:
    """One figure, or one row of a table.

    Args:
        label: What it is.
        values: One value, or one for each column of its table.
        standing: Where it comes from.
        note: Words behind it.
        sign: What stands between several values of a single figure.
        card: Its short label on the bench card, or BESIDE; empty where hands at the bench do not need it.

    Raises:
        RequestError: No label or no value.
    """

    label: str
    values: tuple[Value, ...]
    standing: Standing
    note: str = ""
    sign: str = " x "
    card: str = ""

    def __post_init__(self) -> None:
        if not self.label.strip() or not self.values:
            raise RequestError("a row needs a label and a value.")


@dataclass(frozen=True)
class Table:
    """Rows with several columns.

    Args:
        title: Over the first column.
        heads: Heads of the other columns, in words or as sentences with lengths.
        rows: Rows with one value for each of them.
        standing: Where numbers in title and heads come from; needed as soon as one has a unit.
        card: Columns that stand on the bench card, by place, each with its short head; those rows that have a label
            there. Empty where the table does not.

    Raises:
        RequestError: A row that does not fit, or a number without standing.
    """

    title: str
    heads: tuple[str | Line, ...]
    rows: tuple[Row, ...]
    standing: Standing | None = None
    card: Mapping[int, str] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        words = (self.title, *(head for head in self.heads if isinstance(head, str)))
        if self.standing is None and any(NUMBER_WITH_UNIT.search(each) for each in words):
            raise RequestError(f"table '{self.title}' has a number over it and does not say where it comes from.")
        for row in self.rows:
            if len(row.values) != len(self.heads):
                raise RequestError(f"row '{row.label}' has {len(row.values)} values for {len(self.heads)} columns.")

    def head_words(self, units: str = "mm") -> tuple[str, ...]:
        """Return the heads of the columns in the reader's units."""
        return tuple(head if isinstance(head, str) else head.text(units) for head in self.heads)


@dataclass(frozen=True)
class Stage:
    """One stage of the work. Each kind of thing has its place, so that none stands among another.

    Args:
        code: Short name that never changes, such as "drill".
        title: Its name in words.
        rows: Figures: label, figure, standing.
        tables: Figures in columns.
        facts: What to know: sentences that ask for nothing to be done.
        ready: Things to have ready before it begins.
        steps: What to do, in the order of the hands.
        checks: What to look at before going on.
        cautions: What to mind, the weightiest first.
        weighed: Where sources disagree, what was taken and why; stands at the end of the sheet.
    """

    code: str
    title: str
    rows: tuple[Row, ...] = ()
    tables: tuple[Table, ...] = ()
    facts: tuple[Line, ...] = ()
    ready: tuple[Line, ...] = ()
    steps: tuple[Line, ...] = ()
    checks: tuple[Line, ...] = ()
    cautions: tuple[Line, ...] = ()
    weighed: tuple[Line, ...] = ()

    @property
    def lines(self) -> tuple[Line, ...]:
        """Every sentence, in the order of the sheet; what was weighed comes last."""
        return (*self.facts, *self.ready, *self.steps, *self.checks, *self.cautions, *self.weighed)

    def standings(self) -> Iterator[Standing]:
        """Yield the standings in the order in which they stand on the sheet, each once."""
        found: dict[Standing, None] = {}
        for row in self.rows:
            found[row.standing] = None
        for table in self.tables:
            if table.standing is not None:
                found[table.standing] = None
            found |= dict.fromkeys(row.standing for row in table.rows)
        for line in self.lines:
            if line.standing is not None:
                found[line.standing] = None
        yield from found


@dataclass(frozen=True)
class Sheet:
    """A whole build sheet.

    Args:
        title: Name of the knife.
        subtitle: Family, construction, stock and start in words.
        code: The design code.
        stages: The head first, then the stages in the order of the work.
        closing: The last words.
        own: Standings of the design itself: on paper such a figure has no mark, for it has no source to look up.
    """

    title: str
    subtitle: str
    code: str
    stages: tuple[Stage, ...]
    closing: str
    own: frozenset[Standing] = frozenset()

    @property
    def standings(self) -> tuple[Standing, ...]:
        """Every standing once, in the order of the sheet."""
        return tuple(dict.fromkeys(s for stage in self.stages for s in stage.standings()))

    @property
    def marks(self) -> dict[Standing, int]:
        """The number of the mark of every standing that has one, in the order of the sheet."""
        return {s: n for n, s in enumerate((s for s in self.standings if s not in self.own), start=1)}

    @property
    def weighed(self) -> tuple[tuple[str, Line], ...]:
        """What was weighed against what, each with the title of its stage; a sentence stands there once."""
        found: dict[Line, str] = {}
        for stage in self.stages:
            for line in stage.weighed:
                found.setdefault(line, stage.title)
        return tuple((title, line) for line, title in found.items())


def sheet_table(sheet: Sheet) -> dict[str, Any]:
    """Return a sheet as plain data for JSON."""
    return {
        "title": sheet.title,
        "subtitle": sheet.subtitle,
        "design_code": sheet.code,
        "stages": [_stage(stage) for stage in sheet.stages],
        "closing": sheet.closing,
    }


def _stage(stage: Stage) -> dict[str, Any]:
    return {
        "code": stage.code,
        "title": stage.title,
        "rows": [_row(r) for r in stage.rows],
        "tables": [
            {"title": t.title, "columns": list(t.head_words()), "rows": [_row(r) for r in t.rows]} for t in stage.tables
        ],
        "facts": [_line(x) for x in stage.facts],
        "ready": [_line(x) for x in stage.ready],
        "steps": [_line(x) for x in stage.steps],
        "checks": [_line(x) for x in stage.checks],
        "cautions": [_line(x) for x in stage.cautions],
        "weighed": [_line(x) for x in stage.weighed],
    }


def _row(row: Row) -> dict[str, Any]:
    note = {"note": row.note} if row.note else {}
    return {"label": row.label, "values": [_value(v) for v in row.values], **note, **_standing(row.standing)}


def _line(line: Line) -> dict[str, Any]:
    values = {"values": [_value(v) for v in line.values]} if line.values else {}
    return {"words": line.text(), **values, **(_standing(line.standing) if line.standing else {})}


def _value(value: Value) -> Any:
    if isinstance(value, str):
        return value
    if isinstance(value, Named):
        return {"name": value.name, **_value(value.size)}
    if isinstance(value, Size):
        return {"value": [round(v, 9) + 0.0 for v in value.lengths_mm], "unit": "mm"}
    if isinstance(value, Spot):
        return {"value": [round(v, 9) + 0.0 for v in (value.x_mm, value.y_mm)], "unit": "mm"}
    found: dict[str, Any] = {"value": round(value.value, 9) + 0.0, "unit": value.unit}
    return found | ({"upto": round(value.upto, 9) + 0.0} if value.upto is not None else {})


def _standing(standing: Standing) -> dict[str, str]:
    return {"source": standing.source, "status": standing.status}
