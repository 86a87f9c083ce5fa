"""The bench card: of every stage of the sheet what hands at the bench need, and nothing else.

It reads the sheet, so that both say one thing: the figures that carry a label for the card, the papers' and places'
columns, the weightiest cautions in few words.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from blankwright.base.frozen import dataclass
from blankwright.base.said import Named, Quantity, Value, joined
from blankwright.sheet.brief import MOST, briefs, shared
from blankwright.sheet.model import BESIDE, Row, Sheet, Stage, Table
from blankwright.sheet.quantities import NEAR_TIP


@dataclass(frozen=True)
class Told:
    """One figure of the card; a blank to write into where it is not known before."""

    label: str
    figure: str


@dataclass(frozen=True)
class Grid:
    """Figures under short heads.

    Args:
        heads: One for each column.
        rows: Label and figures of each row; a label may be empty.
    """

    heads: tuple[str, ...]
    rows: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class CardStage:
    """One stage on the card.

    Args:
        number: Its number on the sheet.
        title: Its name.
        beside: The one figure that stands beside the title; empty for none.
        told: Single figures.
        grids: Figures under heads.
        cautions: At most three, in few words.
    """

    number: int
    title: str
    beside: str
    told: tuple[Told, ...]
    grids: tuple[Grid, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True)
class Card:
    """What stands on a bench card.

    Args:
        title: Name of the knife.
        subtitle: Family, construction, stock and start in words.
        code: The design code.
        sizes: What its lengths are in, in words.
        always: What to mind at many stages, said once.
        stages: The stages, in the order of the work.
        closing: The last words.
    """

    title: str
    subtitle: str
    code: str
    sizes: str
    always: tuple[str, ...]
    stages: tuple[CardStage, ...]
    closing: str


BLANK = "______ °C"
"""Room to write a temperature that only a coupon can tell."""

CLOSING = "How and why: the build sheet. Local rules, the makers' data sheets and licensed practice come first."

SIZES = {"mm": "sizes in mm", "in": "sizes in inches"}


def card_of(sheet: Sheet, units: str = "mm") -> Card:
    """Return the card of a sheet.

    Args:
        sheet: The sheet; its head, which is no stage of the work, is left out.
        units: "mm" or "in".
    """
    work = sheet.stages[1:]
    told = [briefs(stage.cautions) for stage in work]
    always = shared(told)
    own = [tuple(one for one in each if one not in always)[:MOST] for each in told]
    stages = tuple(_stage(s, n, own[n - 1], units) for n, s in enumerate(work, start=1))
    closing = " ".join([*_near_tip(work, units), CLOSING])
    return Card(sheet.title, sheet.subtitle, sheet.code, SIZES[units], always, stages, closing)


def _near_tip(stages: Sequence[Stage], units: str) -> tuple[str, ...]:
    """Say where the place near the tip is, which heads columns of the card in two words."""
    tables = [table for stage in stages for table in stage.tables]
    found = [table.head_words(units)[n] for table in tables for n, head in table.card.items() if head == NEAR_TIP]
    return (f"{NEAR_TIP.capitalize()}: {found[0]}.",) if found else ()


def _stage(stage: Stage, number: int, cautions: tuple[str, ...], units: str) -> CardStage:
    beside = [joined(row.values, units, row.sign) for row in stage.rows if row.card == BESIDE]
    told: list[Told] = []
    grids = []
    for table in stage.tables:
        if not table.card:
            continue
        rows = [(r, tuple(r.values[n] for n in table.card)) for r in table.rows if r.card]
        if set(table.card.values()) == {""}:
            beside += [joined(shown, units, r.sign) for r, shown in rows if r.card == BESIDE]
            told += [Told(r.card, joined(shown, units, r.sign)) for r, shown in rows if r.card != BESIDE]
        else:
            alike, others = _alike(table, units)
            told += alike
            grids += [_grid(table, others, units)] if others or not alike else []
    told += [Told(r.card, joined(r.values, units, r.sign)) for r in stage.rows if r.card not in ("", BESIDE)]
    if stage.code == "temper" and not any("°" in one.figure for one in told):
        told.append(Told("at, from your coupon", BLANK))
    return CardStage(number, stage.title, " ".join(beside), tuple(told), tuple(grids), cautions)


def _alike(table: Table, units: str) -> tuple[list[Told], list[Row]]:
    """Return rows whose figure is the same at every place, which then needs to be said once, and the others."""
    told, others = [], []
    for row in (row for row in table.rows if row.card):
        shown = {joined((row.values[place],), units, "") for place in table.card}
        if len(table.card) > 1 and len(shown) == 1:
            told.append(Told(row.card, shown.pop()))
        else:
            others.append(row)
    return told, others


def _grid(table: Table, rows: list[Row], units: str) -> Grid:
    """Return a table's columns for the card; one column lies down, and one without rows of its own is its heads."""
    if not rows:
        return Grid((), ((_first(table.title), tuple(table.card.values())),))
    if len(table.card) == 1:
        ((place, title),) = table.card.items()
        return Grid(tuple(r.card for r in rows), ((title, tuple(_bare(r.values[place], units) for r in rows)),))
    shown = tuple((r.card, tuple(_bare(r.values[place], units) for place in table.card)) for r in rows)
    return Grid(tuple(table.card.values()), shown)


def _first(title: str) -> str:
    return title.split(" ", 1)[0].lower()


def _bare(value: Value, units: str) -> str:
    """Return a figure as a column of the card has it: a length without its unit, which stands in the card's head."""
    text = joined((value,), units, "")
    length = not isinstance(value, str | Named) and (not isinstance(value, Quantity) or value.unit == "mm")
    return re.sub(r" (mm|in)$", "", text) if length else text
