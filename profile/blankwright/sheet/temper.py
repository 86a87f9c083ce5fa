"""Freezing and tempering: how cold before the first temper, which row of the chart, how often; nothing is promised."""

from __future__ import annotations

from blankwright.base.said import Line, Quantity, Standing
from blankwright.knife.heat import Heat
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.quantities import ASKED, celsius, lines
from blankwright.sheet.tablelines import band_row, cautions_of, rule_line
from blankwright.shop.hardening import TemperPoint, TemperTable
from blankwright.shop.ovenplan import THERMOMETER

_RAISED = "a temper can be raised, never taken back"
_WARM = "Temper as soon as it is hand-warm: untempered steel cracks by itself."
_ROOM = "Let it come to room temperature first, then temper within the hour: warmer it is not hard all through."
_TURNS = "The whole blade at heat before the time counts; let it cool to the hand between two tempers."
_BETWEEN = "To freeze it, stop after the first temper: the next stage says how, and what follows."
_AS_COUPON = "Temper as the coupon that passed was tempered; twice, cooled between."
_AS_MAKER = "Take the temper from the steel maker's table and from a coupon; twice, cooled between."


def cold(knife: Knife) -> Stage | None:
    """Return freezing, for a steel that makers freeze; None for any other."""
    heat = knife.heat
    if heat is None or heat.entry.cold is None:
        return None
    rule, first = heat.entry.cold, heat.cold_first
    return Stage(
        "cold",
        "Freeze it, or leave this out",
        facts=(Line(rule.text, (), Standing(rule.source, rule.status)),),
        steps=lines(
            "Let it come to room temperature, wipe it dry, and lower it slowly into the cold."
            if first else "After the first temper let it come to room temperature and lower it slowly into the cold.",
            "Leave it until it is cold all through, then let it come back to room temperature by itself.",
            "Temper next." if first else "Temper it once more.",
        ),
        checks=lines("No crack shows, above all at the notch and the holes."),
        cautions=cautions_of("cold"),
    )  # fmt: skip


def temper(knife: Knife) -> Stage:
    """Return tempering."""
    heat = knife.heat
    warm = heat is None or heat.entry.temper_from == "hand-warm"
    how = lines(_TURNS) if heat is not None else lines(_AS_MAKER if knife.start.known else _AS_COUPON)
    oily = heat is None or heat.medium.oily
    return Stage(
        "temper",
        "Temper, at once" if warm else "Temper, within the hour",
        () if heat is None else _figures(heat),
        () if heat is None else (_chart(heat.entry.chosen_temper),),
        facts=() if heat is None else _facts(heat),
        steps=(
            rule_line(THERMOMETER),
            *(lines("Wipe off all oil.") if oily else ()),
            *lines(_WARM if warm else _ROOM),
            *how,
            *(lines(_BETWEEN) if heat is not None and heat.entry.cold is not None and not heat.cold_first else ()),
        ),
        checks=lines(
            "A file now just bites. No hardness is promised here: test a coupon that went through with the blade.",
            "It is straight. Small bends are pressed out warm, straight from the oven.",
        ),
        cautions=cautions_of("temper"),
        weighed=() if heat is None else tuple(_other(t) for t in heat.entry.temper if not t.chosen),
    )


def _figures(heat: Heat) -> tuple[Row, ...]:
    entry, choice = heat.entry, heat.temper
    rows = [
        band_row("Temper", entry.tempers, card="temper"),
        band_row("each time", entry.temper_length, card="each time"),
    ]
    if not choice.points:
        return tuple(rows)
    label = f"Temper at, for {choice.low:g} HRC" if heat.wished_hrc else "Temper at, usual here"
    first, last = choice.points[0], choice.points[-1]
    table = entry.chosen_temper
    value = celsius(first.temper_c, last.temper_c if last is not first else None)
    begin = _RAISED if last is first else f"begin at the coolest: {_RAISED}"
    note = f"{'as wished: ' if heat.wished_hrc else ''}{choice.words} of the chart below; {begin}"
    card = "temper at" if last is first else "coolest first"
    rows.insert(0, Row(label, (value,), Standing(table.source, table.status), note, card=card))
    return tuple(rows)


def _facts(heat: Heat) -> tuple[Line, ...]:
    usual = () if heat.wished_hrc else (rule_line(heat.usual),)
    if heat.wished_hrc and not heat.temper.points:
        text = f"No row of the chart has the wished {heat.wished_hrc:g} HRC: {heat.temper.words}."
        return (Line(text, (), ASKED),)
    if heat.temper.words == "the nearest row":
        return (*usual, *lines("This steel's chart does not reach what is usual: the nearest row is taken."))
    return usual


def _chart(table: TemperTable) -> Table:
    """Return hardness against temper, as the table that is used has it."""
    standing = Standing(table.source, table.status)
    rows = tuple(Row(celsius(p.temper_c).shown(), (hrc(p),), standing) for p in table.points)
    return Table(f"Temper: {table.name}", ("hardness, not promised",), rows, standing)


def hrc(point: TemperPoint) -> Quantity:
    """Return the hardness of a row."""
    whole = point.hrc_low % 1 == 0 and point.hrc_high % 1 == 0
    return Quantity(
        point.hrc_low, "HRC", 0 if whole else 1, point.hrc_high if point.hrc_high != point.hrc_low else None
    )  # fmt: skip


def _other(table: TemperTable) -> Line:
    """Return a chart that disagrees with the one that is used."""
    return Line(
        f"Another chart ({table.name}): " + ", ".join("{}: {}" for _ in table.points) + ".",
        tuple(value for p in table.points for value in (celsius(p.temper_c), hrc(p))),
        Standing(table.source, table.status),
    )
