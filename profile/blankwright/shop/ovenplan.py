"""What to set the oven to for one blade, when its soak begins, and what all of that assumes."""

from __future__ import annotations

from dataclasses import dataclass

from blankwright.base.errors import RequestError
from blankwright.shop.bands import Band, Rule, show_c
from blankwright.shop.hardening import Hardening, soak_for
from blankwright.shop.heating import (
    BIOT_LIMIT,
    MOST_C,
    SOURCE,
    biot,
    conductivity_w_mk,
    heat_time_s,
    radiation_w_m2k,
)

__all__ = ["DOOR", "LOAD", "SHORT_C", "THERMOMETER", "OvenPlan", "oven_plan"]

SHORT_C = 10.0
"""A blade counts as at heat this far below the oven: the last degrees take as long as all the others [°C]."""

SCALES_FAST_C = 870.0
"""Above this bare steel is wrapped in foil (common practice) [°C]."""

PRACTICE = "shop practice"

DOOR = Rule(
    "Opening the door costs about 55 °C (100 °F) each time: set the oven at the top of the range, let it settle, load "
    "quickly, and count nothing until it shows its set point again.",
    PRACTICE,
    "common practice",
)
"""What the door costs."""

LOAD = Rule(
    "Load only as many blades as the oven recovers from within a few minutes, on edge in a rack, faces free and a "
    "finger's breadth apart; faces that see each other heat later than this time says.",
    PRACTICE,
    "common practice",
)
"""How many blades at once."""

THERMOMETER = Rule(
    "Check the oven with a second thermometer beside the blade: household thermostats are commonly off by 10 to 15 °C.",
    PRACTICE,
    "common practice",
)
"""Why one thermometer is not enough."""


@dataclass(frozen=True)
class OvenPlan:
    """The oven for one blade.

    Args:
        steel: The steel's title.
        thickness_mm: Thickness of the blade at its thickest [mm].
        set_c: What the oven is set to [°C].
        target_c: What the blade is to reach [°C].
        at_heat_c: Where it counts as at heat and the soak begins [°C]: the target, or SHORT_C below the oven.
        heat_s: Time from loading to at_heat_c [s]; low for the surface that takes up most.
        soak: Time at heat after that [min].
        biot: Biot number at the end of the heating.
        preheat: Preheating steps, in order [C].
        rules: Door, load and thermometer.
        assumptions: What the time rests on.
    """

    steel: str
    thickness_mm: float
    set_c: float
    target_c: float
    at_heat_c: float
    heat_s: Band
    soak: Band
    biot: float
    preheat: tuple[Band, ...]
    rules: tuple[Rule, ...]
    assumptions: tuple[Rule, ...]

    def __post_init__(self) -> None:
        if not (self.at_heat_c <= self.target_c <= self.set_c and self.at_heat_c < self.set_c):
            raise RequestError("an oven plan needs at_heat, target and set point in that order.")
        if not self.assumptions or not self.rules:
            raise RequestError("an oven plan names its rules and assumptions.")

    @property
    def soak_starts(self) -> str:
        """When the soak begins, in words."""
        return (
            f"The soak begins when the blade is at {show_c(self.at_heat_c)}: about {_minutes(self.heat_s)} after the "
            f"oven is back at {show_c(self.set_c)} with the blade in it."
        )

    @property
    def words(self) -> tuple[str, ...]:
        """The plan as lines for a sheet."""
        steps = [f"Preheat: {band.words()}." for band in self.preheat]
        return (
            *steps,
            f"Set the oven to {show_c(self.set_c)}; the blade is to reach {show_c(self.target_c)}.",
            self.soak_starts,
            f"Soak {self.soak.words()}, then quench at once.",
        )


def _minutes(heat_s: Band) -> str:
    low, high = heat_s.low / 60, heat_s.high / 60
    return f"{low:.1f} min" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f} min"


def oven_plan(
    entry: Hardening,
    *,
    thickness_mm: float,
    emissivity: Band,
    start_c: float,
    density_kg_m3: float,
    target_c: float | None = None,
    set_c: float | None = None,
) -> OvenPlan:
    """Return the oven for a blade of a steel.

    Args:
        entry: The steel.
        thickness_mm: Thickness of the blade at its thickest [mm].
        emissivity: Of its surface, a range; see heating.SURFACES.
        start_c: Temperature of the blade when it is loaded, after the last preheat if there is one [°C].
        density_kg_m3: Density of the steel [kg/m3].
        target_c: What the blade is to reach [°C]; None for the middle of the steel's range.
        set_c: What the oven is set to [°C]; None for the steel's set point, or the top of its range.

    Raises:
        RequestError: A figure that cannot be, a target outside the range of every source, or an oven below the target.
    """
    target = entry.harden.middle if target_c is None else target_c
    oven = _usual_set_c(entry) if set_c is None else set_c
    _check_target(entry, target, oven)
    at_heat = min(target, oven - SHORT_C)
    times = [
        heat_time_s(
            thickness_mm=thickness_mm,
            emissivity=value,
            oven_c=oven,
            start_c=start_c,
            to_c=at_heat,
            density_kg_m3=density_kg_m3,
        )
        for value in (emissivity.high, emissivity.low)
    ]
    coefficient = radiation_w_m2k(emissivity=emissivity.high, oven_c=oven, blade_c=at_heat)
    lump = biot(coefficient_w_m2k=coefficient, length_mm=thickness_mm / 2, conductivity=conductivity_w_mk(at_heat))
    heat = Band(times[0], times[1], "s", "radiation on both faces", f"computed from {SOURCE}", "computed")
    return OvenPlan(
        steel=entry.title,
        thickness_mm=thickness_mm,
        set_c=oven,
        target_c=target,
        at_heat_c=at_heat,
        heat_s=heat,
        soak=soak_for(entry, thickness_mm),
        biot=lump,
        preheat=entry.preheat,
        rules=(DOOR, LOAD, THERMOMETER),
        assumptions=_assumptions(entry, emissivity, lump, target, start_c),
    )


def _usual_set_c(entry: Hardening) -> float:
    return (entry.harden if entry.set_point is None else entry.set_point).high


def _check_target(entry: Hardening, target_c: float, set_c: float) -> None:
    low = min(band.low for band in (entry.harden, *entry.harden_others))
    high = max(band.high for band in (entry.harden, *entry.harden_others))
    if not low <= target_c <= high:
        raise RequestError(
            f"target: {entry.title} is hardened from {low:g} to {high:g} °C by every source together, not from "
            f"{target_c:g} °C."
        )
    if not target_c <= set_c <= MOST_C:
        raise RequestError(f"oven: set {set_c:g} °C must be at least the target, {target_c:g} °C, and at most 1200 °C.")


def _assumptions(entry: Hardening, emissivity: Band, lump: float, target_c: float, start_c: float) -> tuple[Rule, ...]:
    holds = "so it does" if lump < BIOT_LIMIT else "so it does not hold: the core lags, add soak"
    found = [
        Rule(f"The oven stands at its set point and the blade goes in at {start_c:g} °C.", "ours", "computed"),
        Rule(
            f"Heat comes by radiation on both faces, emissivity {emissivity.words()}; moving air would shorten it.",
            emissivity.source,
            emissivity.status,
        ),
        Rule(
            f"The blade is one temperature through its thickness where the Biot number is below {BIOT_LIMIT:g}; it is "
            f"{lump:.3f}, {holds}.",
            "heat-transfer texts",
            "from memory",
        ),
        Rule("Specific heat of carbon steel, with its peak near 735 °C; alloyed steel differs.", SOURCE, "published"),
    ]
    if target_c > SCALES_FAST_C:
        text = "In a foil packet count on two to two and a half times the time: the foil is one radiation shield more."
        found.append(Rule(text, "grey shield of the blade's own emissivity", "computed"))
    if entry.weak:
        found.append(
            Rule(f"From memory for this steel: {', '.join(entry.weak)}.", "the table's own status", "computed")
        )
    return tuple(found)
