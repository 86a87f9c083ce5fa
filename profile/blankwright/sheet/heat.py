"""Hardening and tempering: what is known of this steel, what is not, and what to mind."""

from __future__ import annotations

from blankwright.base.said import Line, Quantity, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.oven import oven_lines, oven_table
from blankwright.sheet.quantities import ASKED, celsius, lines, mm
from blankwright.sheet.tablelines import band_row, cautions_of, rule_line, rule_lines
from blankwright.shop.hardening import Hardening, found_steel, hardening
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
        steps=rule_lines(found_steel().steps),
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
            *lines("Temper as soon as it is hand-warm: untempered steel cracks by itself."),
            *(lines("Take the temper from the steel maker's table and from a coupon; twice, cooled between.")
              if knife.start.known
              else lines("Temper as the coupon that passed was tempered; twice, cooled between.")),
            rule_line(THERMOMETER),
        ),
        checks=lines(
            "A file now just bites. No hardness is promised here: test a coupon that went through with the blade.",
            "It is straight. Small bends are pressed out warm, straight from the oven.",
        ),
        cautions=cautions_of("temper"),
    )  # fmt: skip


def _known(knife: Knife) -> Hardening | None:
    """Return what the tables know of this steel; None for found steel, whatever it is called."""
    return hardening(knife.material.name) if knife.start.known else None


def _figures(knife: Knife) -> tuple[Row, ...]:
    entry = _known(knife)
    if entry is None:
        return ()
    rows = [band_row("Harden at", entry.harden)]
    rows += [band_row("others print", band) for band in entry.harden_others]
    rows.append(
        Row(
            "Quench in",
            (" or ".join(entry.quench_for(knife.stock_mm)[0]),),
            Standing(entry.quench.source, entry.quench.status),
        )
    )
    rows.append(band_row("Before any temper", entry.as_quenched, "as printed; not promised"))
    return tuple(rows)


def _temper_figures(knife: Knife) -> tuple[Row, ...]:
    entry = _known(knife)
    return (
        ()
        if entry is None
        else (band_row("Temper", entry.tempers, "times"), band_row("each time", entry.temper_length))
    )


def _temper_tables(knife: Knife) -> tuple[Table, ...]:
    """Return hardness against temper; a table that disagrees stands beside the one that is used."""
    entry = _known(knife)
    if entry is None:
        return ()
    return tuple(
        Table(f"Temper: {table.name}" + ("" if table.chosen or len(entry.temper) == 1 else " (disagrees)"),
              ("hardness, not promised",),
              tuple(Row(celsius(p.temper_c).shown(), (Quantity(p.hrc_low, "HRC", 0 if p.hrc_low % 1 == 0 else 1,
                    p.hrc_high if p.hrc_high != p.hrc_low else None),), Standing(table.source, table.status))
                    for p in table.points),
              Standing(table.source, table.status))
        for table in sorted(entry.temper, key=lambda t: not t.chosen)
    )  # fmt: skip


def _known_steps(knife: Knife) -> tuple[Line, ...]:
    entry = _known(knife)
    told = (
        lines(_NOTHING_KNOWN)
        if entry is None
        else (rule_line(entry.quench, "Quench: "), *((rule_line(entry.cold),) if entry.cold else ()))
    )
    disputes = () if entry is None else tuple(rule_line(rule) for rule in (*entry.choices, *entry.notes))
    return (
        *lines(
            _LABEL,
            "Harden a coupon of the same steel first, break it and look at the grain.",
            "Heat evenly, edge and spine alike, and go straight down into the quench, without waving.",
        ),
        *oven_lines(),
        *told,
        *disputes,
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
