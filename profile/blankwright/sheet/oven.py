"""The oven for this blade: what to set, when the soak begins, how many at once."""

from __future__ import annotations

from blankwright.base.said import Line, Quantity, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row, Table
from blankwright.sheet.quantities import ASKED, celsius
from blankwright.sheet.tablelines import band_row, rule_lines
from blankwright.shop.hardening import Hardening
from blankwright.shop.heating import surface
from blankwright.shop.ovenplan import DOOR, DOOR_COST, LOAD, PREHEATED, OvenPlan, oven_plan

COLD_C = 20.0
"""A blade without preheat goes into the oven at this temperature [°C]."""

_WRAPPED = {"none": "for the bare blade", "coat": "for the coated blade", "foil": "for the blade in its foil"}
"""What the time is for."""

FINISH = "ground"
"""The surface of a blade before hardening: ground, without scale."""


def plan_of(knife: Knife, entry: Hardening) -> OvenPlan:
    """Return the oven for a knife's thickness, from its last preheat or from cold."""
    return oven_plan(
        entry,
        thickness_mm=knife.stock_mm,
        emissivity=surface(FINISH),
        start_c=entry.preheat[-1].high if entry.preheat else COLD_C,
        density_kg_m3=knife.material.density_kg_m3.value,
    )


def oven_table(knife: Knife, entry: Hardening) -> Table:
    """Return the oven plan as a table."""
    plan = plan_of(knife, entry)
    oven = entry.harden if entry.set_point is None else entry.set_point
    harden = Standing(oven.source, oven.status)
    rests_on = " ".join(rule.text for rule in plan.assumptions)
    time = Standing(f"{plan.heat_s.source}. {rests_on}", "computed")
    low, high = plan.heat_s.low / 60, plan.heat_s.high / 60
    return Table(
        "Oven, for this thickness",
        ("figure",),
        (
            *(band_row("preheat", band) for band in plan.preheat[:-1]),
            *(band_row("preheat", band, card="preheat") for band in plan.preheat[-1:]),  # the time counts from it
            Row("set point; the steel comes to it in the soak", (celsius(plan.set_c),), harden, card="oven set to"),
            Row("soak begins at", (celsius(plan.at_heat_c),), time),
            Row(
                "that is, after the oven is back",
                (Quantity(low, "min", 1, high),),
                time,
                _WRAPPED[plan.wrap],
                card="to heat through",
            ),
            _soak(plan),
        ),
        ASKED,
        card={0: ""},
    )


def _soak(plan: OvenPlan) -> Row:
    """Return the time at heat; what no rule covers is at least the nearest that is printed."""
    time, why = plan.soak.time, plan.soak.uncovered
    least = ", at least" if why else ""
    return band_row(f"then soak{least}", time, why, 0 if time.low % 1 == 0 else 1, card=f"soak{least}")


def oven_lines(entry: Hardening | None = None) -> tuple[Line, ...]:
    """Return what the load and the door ask for, in the order of the hands.

    Args:
        entry: How the steel is hardened, where it is known: one that is preheated is not loaded at the set point.
    """
    return rule_lines((LOAD, *(PREHEATED if entry is not None and entry.preheat else (DOOR,))))


def oven_facts() -> tuple[Line, ...]:
    """Return what to know of the oven."""
    return rule_lines((DOOR_COST,))
