"""What to set the oven to for one blade, when its soak begins, and what all of that assumes."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import NOT_CHECKED
from blankwright.shop.bands import Band, Rule
from blankwright.shop.hardening import Hardening, Soak, soak_for
from blankwright.shop.heating import (
    BIOT_LIMIT,
    SOURCE,
    biot,
    conductivity_w_mk,
    heat_time_s,
    radiation_w_m2k,
)

SHORT_C = 10.0
"""A blade counts as at heat this far below the oven: the last degrees take as long as all the others [°C]."""

PRACTICE = "shop practice"

DOOR_COST = Rule(
    "Opening the door costs about 55 °C (100 °F) each time. The oven is never set higher to make up for it.",
    PRACTICE,
    "common practice",
    "know",
)
"""What the door costs."""

DOOR = Rule(
    "Let the oven settle at its set point, load quickly, and count nothing until it shows that again.",
    PRACTICE,
    "common practice",
)
"""What is done about it."""

PREHEATED = (
    Rule(
        "Hold it at each preheat of the table until the whole blade is as hot as the oven.",
        PRACTICE,
        "common practice",
    ),
    Rule(
        "Leave it in while the oven rises to its set point, or change it quickly into one that has settled there; "
        "count nothing until the oven shows its set point.",
        PRACTICE,
        "common practice",
    ),
)
"""The same for a steel that is preheated: it is not loaded cold into an oven at its set point."""

LOAD = Rule(
    "Load on edge in a rack, faces free and a finger's breadth apart, only as many as the oven recovers from within a "
    "few minutes.",
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
        set_c: What the oven is set to, and what the steel reaches while it soaks [°C].
        at_heat_c: Where the blade counts as at heat and the soak begins [°C]: SHORT_C below the oven.
        heat_s: Time from loading to at_heat_c [s]; low for the surface that takes up most.
        soak: Time at heat after that.
        wrap: What keeps air from the blade: none, coat or foil. The time is for it.
        biot: Biot number at the end of the heating.
        preheat: Preheating steps, in order [C].
        assumptions: What the time rests on.
    """

    set_c: float
    at_heat_c: float
    heat_s: Band
    soak: Soak
    wrap: str
    biot: float
    preheat: tuple[Band, ...]
    assumptions: tuple[Rule, ...]

    def __post_init__(self) -> None:
        if not self.at_heat_c < self.set_c:
            raise RequestError("an oven plan needs at_heat below the set point.")
        if not self.assumptions:
            raise RequestError("an oven plan names its assumptions.")


def oven_plan(
    entry: Hardening, *, thickness_mm: float, emissivity: Band, start_c: float, density_kg_m3: float
) -> OvenPlan:
    """Return the oven for a blade of a steel.

    Args:
        entry: The steel.
        thickness_mm: Thickness of the blade at its thickest [mm].
        emissivity: Of its surface, a range; see heating.SURFACES.
        start_c: Temperature of the blade when it is loaded, after the last preheat if there is one [°C].
        density_kg_m3: Density of the steel [kg/m3].

    Raises:
        RequestError: A figure that cannot be.
    """
    oven = entry.set_c
    at_heat = oven - SHORT_C
    wrap = entry.protect.by
    fast, slow = (
        (foil_factor(value) if wrap == "foil" else 1.0)
        * heat_time_s(
            thickness_mm=thickness_mm,
            emissivity=value,
            oven_c=oven,
            start_c=start_c,
            to_c=at_heat,
            density_kg_m3=density_kg_m3,
        )
        for value in (emissivity.high, emissivity.low)
    )
    coefficient = radiation_w_m2k(emissivity=emissivity.high, oven_c=oven, blade_c=at_heat)
    lump = biot(coefficient_w_m2k=coefficient, length_mm=thickness_mm / 2, conductivity=conductivity_w_mk(at_heat))
    return OvenPlan(
        set_c=oven,
        at_heat_c=at_heat,
        heat_s=Band(fast, slow, "s", "radiation on both faces", f"computed from {SOURCE}", "computed"),
        wrap=wrap,
        soak=soak_for(entry, thickness_mm),
        biot=lump,
        preheat=entry.preheat,
        assumptions=_assumptions(entry, emissivity, lump, oven, start_c),
    )


def foil_factor(emissivity: float) -> float:
    """Return how many times longer a blade takes in a foil packet than bare.

    Oven to foil 1/e, foil to blade 2/e - 1 (grey parallel faces), against 1/e of the bare blade: 3 - e in all.

    Args:
        emissivity: Of blade and foil alike.

    >>> foil_factor(0.5)
    2.5
    """
    return 3 - emissivity


def _assumptions(entry: Hardening, emissivity: Band, lump: float, set_c: float, start_c: float) -> tuple[Rule, ...]:
    through = "Heats evenly through" if lump < BIOT_LIMIT else "Its core lags, add soak"
    found = [
        Rule(f"The oven stands at its set point and the blade goes in at {start_c:.0f} °C.", "ours", "computed"),
        Rule(
            f"Heat comes by radiation on both faces, emissivity {emissivity.words()}; moving air would shorten it.",
            emissivity.source,
            emissivity.status,
        ),
        Rule(
            f"{through}: its Biot number is {lump:.3f}, the limit {BIOT_LIMIT:g}.",
            "heat-transfer texts",
            NOT_CHECKED,
        ),
        Rule("Specific heat of carbon steel, with its peak near 735 °C; alloyed steel differs.", SOURCE, "published"),
    ]
    if entry.protect.by == "foil":
        text = (
            f"It lies in a foil packet, one radiation shield more: {foil_factor(emissivity.high):.1f} to "
            f"{foil_factor(emissivity.low):.1f} times the time of a bare blade, which is in the figure."
        )
        found.append(Rule(text, "grey shield of the blade's own emissivity", "computed"))
    if entry.weak:
        found.append(
            Rule(
                f"Not checked against a source for this steel: {', '.join(entry.weak)}.",
                "the table's own status",
                "computed",
            )
        )
    return tuple(found)
