"""How a steel is hardened and tempered, as a bench sheet needs it."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache
from typing import Annotated, Literal

from blankwright.base.fields import Fields, read_toml
from blankwright.base.readrows import In, TableRow, need, read_row, read_rows
from blankwright.base.said import NOT_CHECKED, Status
from blankwright.shop.bands import Band, Rule, printed_c
from blankwright.shop.records import UNKNOWN
from blankwright.shop.tables import DATA, material

Quench = Literal["water", "fast oil", "medium oil", "plates", "air"]
"""What a blade is quenched in."""

_TABLE = DATA / "hardening.toml"
_HEAT = In(100.0, 1300.0, "C")  # nothing is forged or hardened outside
_HRC = In(20.0, 70.0, "HRC")  # the scale's own ends


@dataclass(frozen=True)
class TemperPoint(TableRow):
    """Hardness after tempering at one temperature.

    Args:
        printed: The temperature as its source printed it.
        hrc_low: Lower end of the hardness [HRC].
        hrc_high: Upper end, no less [HRC].
    """

    printed: str
    hrc_low: Annotated[float, _HRC]
    hrc_high: Annotated[float, _HRC]

    def check(self) -> None:
        """Refuse a temperature that is no temper's, and ends in the wrong order."""
        need(20 <= self.temper_c <= 750, f"temper: {self.temper_c:g} C is outside 20 to 750 C.")
        need(self.hrc_low <= self.hrc_high, f"temper at {self.printed}: hardness must be low then high.")

    @property
    def temper_c(self) -> float:
        """Temperature [°C]."""
        return printed_c(self.printed, "temper")[0]


@dataclass(frozen=True)
class TemperTable(TableRow):
    """Hardness against temper, from one source.

    Args:
        name: What the table is, in words.
        points: At least two, rising in temperature.
        chosen: True for the one that is used; the others are shown beside it.
        source: Where it comes from.
        status: How far it can be trusted.
    """

    name: str
    points: tuple[TemperPoint, ...]
    chosen: bool
    source: str
    status: Status

    def check(self) -> None:
        """Refuse points that do not rise in temperature."""
        temps = [point.temper_c for point in self.points]
        rising = len(temps) >= 2 and all(a < b for a, b in itertools.pairwise(temps))
        need(rising, f"temper '{self.name}': needs two or more points with rising temperature.")


@dataclass(frozen=True)
class SoakPoint(TableRow):
    """Time at heat for one thickness.

    Args:
        thickness: Thickness of the blade [mm].
        minutes: Time [min].
    """

    thickness: Annotated[float, In(0.3, 50)]
    minutes: Annotated[float, In(0.5, 240)]


@dataclass(frozen=True)
class SoakLaw(TableRow):
    """Minutes at heat by thickness, as a steel maker prints them.

    Args:
        points: Rising in thickness.
        source: Where it comes from.
        status: How far it can be trusted.
    """

    points: tuple[SoakPoint, ...]
    source: str
    status: Status

    def check(self) -> None:
        """Refuse points that do not rise in thickness."""
        sizes = [point.thickness for point in self.points]
        rising = len(sizes) >= 2 and all(a < b for a, b in itertools.pairwise(sizes))
        need(rising, "soak_law: needs two or more points with rising thickness.")


@dataclass(frozen=True)
class Thicker(TableRow):
    """What thicker stock is quenched in.

    Args:
        over: From this thickness on [mm].
        quench_in: One or more media, the usual first.
    """

    over: Annotated[float, In(0.5, 25)]
    quench_in: tuple[Quench, ...]


@dataclass(frozen=True)
class Hardening(TableRow):
    """What is known of hardening one steel.

    Args:
        name: Name in the table of steels.
        title: The name in words.
        harden: The hardening range to use [C].
        soak: Time at heat [min].
        quench: How to quench, in words.
        quench_in: One or more media, the usual first.
        as_quenched: Hardness before tempering [HRC].
        temper: Temper tables, exactly one of them chosen.
        tempers: How many tempers [times].
        temper_length: How long each [h].
        normalise: Normalising temperature [C], or None.
        no_normalise: Why not, where there is none.
        preheat: Preheating temperatures, in order [C].
        harden_others: What other sources print [C].
        set_point: What the oven is set to, where it is not the top of the range [C].
        soak_law: Time at heat by thickness, where the source gives it.
        quench_thick: What thicker stock is quenched in, where that is another medium.
        cold: Freezing after the quench, or None.
        choices: Where sources disagree: what was taken and why.
        notes: What else to know.
    """

    name: str
    title: str
    harden: Annotated[Band, _HEAT]
    soak: Annotated[Band, In(0.5, 240, "min")]
    quench: Rule
    quench_in: tuple[Quench, ...]
    as_quenched: Annotated[Band, _HRC]
    temper: tuple[TemperTable, ...]
    tempers: Annotated[Band, In(1, 5, "times")]
    temper_length: Annotated[Band, In(0.25, 24, "h")]
    normalise: Annotated[Band | None, _HEAT] = None
    no_normalise: Rule | None = None
    preheat: Annotated[tuple[Band, ...], _HEAT] = ()
    harden_others: Annotated[tuple[Band, ...], _HEAT] = ()
    set_point: Annotated[Band | None, _HEAT] = None
    soak_law: SoakLaw | None = None
    quench_thick: Thicker | None = None
    cold: Rule | None = None
    choices: tuple[Rule, ...] = ()
    notes: tuple[Rule, ...] = ()

    def check(self) -> None:
        """Refuse what contradicts itself."""
        need((self.normalise is None) != (self.no_normalise is None), "give either normalise or no_normalise.")
        need(bool(self.quench_in), "quench_in is empty.")
        need(sum(table.chosen for table in self.temper) == 1, "temper: exactly one table must be chosen.")
        need(not self.harden_others or bool(self.choices), "harden_others need a word in choices: why this range.")
        softest = min(point.hrc_low for point in self.chosen_temper.points)
        need(softest <= self.as_quenched.high, "as_quenched lies below everything in the temper table.")

    @property
    def chosen_temper(self) -> TemperTable:
        """The temper table that is used."""
        return next(table for table in self.temper if table.chosen)

    @property
    def set_c(self) -> float:
        """What the oven is set to, and so what the steel reaches while it soaks [°C]."""
        return (self.harden if self.set_point is None else self.set_point).high

    def quench_for(self, thickness_mm: float) -> tuple[str, ...]:
        """Return what a blade of a thickness is quenched in, the usual first."""
        thick = self.quench_thick
        return self.quench_in if thick is None or thickness_mm < thick.over else thick.quench_in

    @property
    def weak(self) -> tuple[str, ...]:
        """What of it was not checked against a source, in the words of a sheet."""
        parts = (("hardening range", self.harden), ("soak", self.soak), ("hardness as quenched", self.as_quenched))
        found = [name for name, part in parts if part.status == NOT_CHECKED]
        return (*found, "temper chart") if self.chosen_temper.status == NOT_CHECKED else tuple(found)


@dataclass(frozen=True)
class FoundSteel(TableRow):
    """How to find out about a steel that nobody can name: steps, no figures.

    Args:
        title: The name in words.
        steps: What to do, in order.
    """

    title: str
    steps: tuple[Rule, ...]


def hardening(steel_name: str) -> Hardening | None:
    """Return how a steel of the tables is hardened; None for found steel and where nothing is known.

    Args:
        steel_name: Name or alias in the table of steels, such as "AEB-L".

    Raises:
        RequestError: No such material; the message suggests the nearest.

    >>> hardening("aeb-l").name
    '13C26'
    >>> hardening("unknown") is None
    True
    """
    return hardenings().get(material(steel_name, "[material] grade").name)


@cache
def hardenings() -> dict[str, Hardening]:
    """Return every hardening of the shipped table by steel, in its order."""
    return read_rows(_TABLE, Hardening, (UNKNOWN,))


@cache
def found_steel() -> FoundSteel:
    """Return how to find out about found steel."""
    return read_row(FoundSteel, Fields(read_toml(_TABLE), _TABLE.name).sub(UNKNOWN))


def soak_for(entry: Hardening, thickness_mm: float) -> Band:
    """Return the time at heat for a thickness [min].

    By the law of the steel maker where there is one and the thickness lies inside it; the general range elsewhere.

    Args:
        entry: The steel.
        thickness_mm: Thickness of the blade at its thickest [mm].

    >>> soak_for(hardening("14C28N"), 3.0).words()
    '6 min'
    """
    law = entry.soak_law
    if law is None or not law.points[0].thickness <= thickness_mm <= law.points[-1].thickness:
        return entry.soak
    for a, b in itertools.pairwise(law.points):
        if a.thickness <= thickness_mm <= b.thickness:
            share = (thickness_mm - a.thickness) / (b.thickness - a.thickness)
            minutes = a.minutes + (b.minutes - a.minutes) * share
            break
    printed = f"{minutes:.3g} min at {thickness_mm:g} mm"
    return Band(minutes, minutes, "min", printed, law.source, law.status)
