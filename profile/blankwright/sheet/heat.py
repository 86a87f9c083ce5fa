"""Hardening and tempering: what is known of this steel, what is not, and what to mind."""

from __future__ import annotations

from blankwright.base.said import Line, Quantity, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.oven import oven_lines, oven_table
from blankwright.sheet.quantities import ASKED, celsius, lines, mm, said
from blankwright.sheet.tablelines import band_row, cautions_of, rule_line, rule_lines, to_do, to_know
from blankwright.shop.hardening import Hardening, TemperPoint, found_steel, hardening
from blankwright.shop.ovenplan import THERMOMETER

_NOTHING_KNOWN = (
    "Nothing is known here of hardening this steel: ask its maker for temperature, soak, quench and temper before any "
    "heat comes near it."
)
_LABEL = "The steel maker's data sheet for this melt goes before every figure here."


def coupon(knife: Knife) -> Stage:
    """Return the test coupon, which comes before the knife sees any heat."""
    return Stage(
        "coupon",
        "Test coupon, before the knife is cut",
        facts=to_know(found_steel().steps),
        steps=to_do(found_steel().steps),
        checks=lines("Two coupons in a row came out hard, whole and fine in the break."),
        cautions=lines(
            "Without a coupon that passed, this steel stays a pattern: do not make a knife of it.",
            "Stand out of the line of a breaking coupon; glass-hard steel flies.",
        ),
    )


def _before_heat(knife: Knife) -> str:
    """Say what is done before the steel is heated; what is there already, or comes later, is left out."""
    done = ["every hole drilled"] if knife.holes and not knife.start.bought else []
    done += [] if knife.design.cutting.notch_after_hardening else ["notch finished"]
    return f"Before anything: {', '.join([*done, 'scratches out', 'design code written down'])}."


def harden(knife: Knife) -> Stage:
    """Return hardening. Holes, notch and deep scratches are done before."""
    before = knife.ground.before
    rows = () if before is None else (Row("Edge left", (mm(before.behind_edge_mm, 2),), ASKED),)
    figures, entry = _figures(knife), _known(knife)
    return Stage(
        "harden",
        "Harden",
        (*rows, *figures),
        () if entry is None else (oven_table(knife, entry),),
        facts=_known_facts(knife) if knife.start.known else (),
        weighed=() if entry is None else _weighed(entry),
        steps=(
            *lines(_before_heat(knife)),
            *(_known_steps(knife) if knife.start.known else _coupon_steps()),
        ),
        checks=lines(
            "A file skates along the whole edge. Where it bites, the blade was not hot there or not fast enough.",
            "Sight along it in the first minute: while it is warm it can still be pressed straight. Never bend it cold "
            "before tempering.",
        ),
        cautions=_heat_cautions(),
    )


def temper(knife: Knife) -> Stage:
    """Return tempering."""
    return Stage(
        "temper",
        "Temper, at once",
        _temper_figures(knife),
        _temper_tables(knife),
        steps=(
            rule_line(THERMOMETER),
            *lines("Temper as soon as it is hand-warm: untempered steel cracks by itself."),
            *(lines("Take the temper from the steel maker's table and from a coupon; twice, cooled between.")
              if knife.start.known
              else lines("Temper as the coupon that passed was tempered; twice, cooled between.")),
        ),
        checks=lines(
            "A file now just bites. No hardness is promised here: test a coupon that went through with the blade.",
            "It is straight. Small bends are pressed out warm, straight from the oven.",
        ),
        cautions=cautions_of("temper"),
        weighed=_other_charts(knife),
    )  # fmt: skip


def _known(knife: Knife) -> Hardening | None:
    """Return what the tables know of this steel; None for found steel, whatever it is called."""
    return hardening(knife.material.name) if knife.start.known else None


def _figures(knife: Knife) -> tuple[Row, ...]:
    entry = _known(knife)
    if entry is None:
        return ()
    rows = [band_row("Harden at", entry.harden)]
    rows.append(
        Row(
            "Quench in",
            (" or ".join(entry.quench_for(knife.stock_mm)),),
            Standing(entry.quench.source, entry.quench.status),
            card="quench in",
        )
    )
    rows.append(band_row("Before any temper", entry.as_quenched, "as printed; not promised"))
    return tuple(rows)


def _temper_figures(knife: Knife) -> tuple[Row, ...]:
    entry = _known(knife)
    return (
        ()
        if entry is None
        else (
            band_row("Temper", entry.tempers, card="temper"),
            band_row("each time", entry.temper_length, card="each time"),
        )
    )


def _temper_tables(knife: Knife) -> tuple[Table, ...]:
    """Return hardness against temper, as the table that is used has it."""
    entry = _known(knife)
    if entry is None:
        return ()
    table = entry.chosen_temper
    standing = Standing(table.source, table.status)
    rows = tuple(Row(celsius(p.temper_c).shown(), (_hrc(p),), standing) for p in table.points)
    return (Table(f"Temper: {table.name}", ("hardness, not promised",), rows, standing),)


def _hrc(point: TemperPoint) -> Quantity:
    return Quantity(
        point.hrc_low,
        "HRC",
        0 if point.hrc_low % 1 == 0 else 1,
        point.hrc_high if point.hrc_high != point.hrc_low else None,
    )


def _other_charts(knife: Knife) -> tuple[Line, ...]:
    """Return the charts that disagree with the one that is used."""
    entry = _known(knife)
    if entry is None:
        return ()
    return tuple(
        Line(f"Another chart ({table.name}): " + ", ".join("{}: {}" for _ in table.points) + ".",
             tuple(value for p in table.points for value in (celsius(p.temper_c), _hrc(p))),
             Standing(table.source, table.status))
        for table in entry.temper if not table.chosen
    )  # fmt: skip


def _known_facts(knife: Knife) -> tuple[Line, ...]:
    entry = _known(knife)
    if entry is None:
        return lines(_LABEL, _NOTHING_KNOWN)
    return (*lines(_LABEL), rule_line(entry.quench, "Quench: "), *rule_lines(entry.notes))


def _weighed(entry: Hardening) -> tuple[Line, ...]:
    """Return what other sources print, and what was taken and why."""
    others = tuple(
        said("Others print {} for hardening.", Standing(band.source, band.status), celsius(band.low, band.high))
        for band in entry.harden_others
    )
    return (*others, *rule_lines(entry.choices))


def _known_steps(knife: Knife) -> tuple[Line, ...]:
    entry = _known(knife)
    cold = () if entry is None or entry.cold is None else (rule_line(entry.cold),)
    return (
        *lines("Harden a coupon of the same steel first, break it and look at the grain."),
        *oven_lines(),
        *lines("Heat evenly, edge and spine alike, and go straight down into the quench, without waving."),
        *cold,
    )


def _coupon_steps() -> tuple[Line, ...]:
    return lines(
        "Do what the coupon that passed was given, and nothing else: no chart is meant for this steel.",
        "Quench straight down, without waving.",
    )


def _heat_cautions() -> tuple[Line, ...]:
    return (
        Line("A torch or forge heats unevenly: thin edge and tip run hot first, coarsen and turn brittle. Heat the "
             "spine, keep the blade moving, and look at it in dim light."),
        *cautions_of("heat"),
        *cautions_of("quench"),
    )  # fmt: skip
