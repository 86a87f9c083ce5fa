"""How a steel is hardened and tempered, as a bench sheet needs it."""

from __future__ import annotations

import itertools
from functools import cache
from typing import Annotated, Literal

from blankwright.base.fields import Fields, read_one_table, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_row, read_table
from blankwright.base.said import NOT_CHECKED, Status
from blankwright.shop.bands import Band, Rule, printed_c
from blankwright.shop.own import HARDENING, is_own, own_fields
from blankwright.shop.records import UNKNOWN
from blankwright.shop.tables import DATA, material

Quench = Literal["water", "fast oil", "medium oil", "plates", "air"]
"""What a blade is quenched in."""

Wrap = Literal["none", "coat", "foil"]
"""What keeps air from a blade at heat."""

ColdTurn = Literal["before the first temper", "after the first temper"]
"""When a blade is frozen, where it is."""

TemperTurn = Literal["hand-warm", "room temperature"]
"""How cold a blade is before its first temper."""

_TABLE = DATA / "hardening.toml"
_WET = {"water", "fast oil", "medium oil"}
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
        rising = bool(sizes) and all(a < b for a, b in itertools.pairwise(sizes))
        need(rising, "soak_law: needs a point, or more with rising thickness.")


@dataclass(frozen=True)
class Thicker(TableRow):
    """What thicker stock is quenched in.

    Args:
        over: From this thickness on [mm].
        quench_in: One or more media, the usual first.
        quench: How, in words.
    """

    over: Annotated[float, In(0.5, 25)]
    quench_in: tuple[Quench, ...]
    quench: Rule


@dataclass(frozen=True)
class Protection(TableRow):
    """What keeps air from a blade at heat.

    Args:
        by: none, coat or foil.
        source: Where it comes from.
        status: How far it can be trusted.
    """

    by: Wrap
    source: str
    status: Status


@dataclass(frozen=True)
class Cold(TableRow):
    """Freezing, which a maker may do or leave.

    Args:
        when: Before or after the first temper.
        text: What it does, in words.
        source: Where it comes from.
        status: How far it can be trusted.
    """

    when: ColdTurn
    text: str
    source: str
    status: Status


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
        protect: What keeps air from it at heat.
        temper_from: How cold the blade is before its first temper.
        normalise_first: Why stock as bought is normalised too, before it is ground; None where it is not.
        cold: Freezing, or None.
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
    protect: Protection
    temper_from: TemperTurn
    normalise: Annotated[Band | None, _HEAT] = None
    no_normalise: Rule | None = None
    preheat: Annotated[tuple[Band, ...], _HEAT] = ()
    harden_others: Annotated[tuple[Band, ...], _HEAT] = ()
    set_point: Annotated[Band | None, _HEAT] = None
    soak_law: SoakLaw | None = None
    quench_thick: Thicker | None = None
    normalise_first: Rule | None = None
    cold: Cold | None = None
    choices: tuple[Rule, ...] = ()
    notes: tuple[Rule, ...] = ()

    def check(self) -> None:
        """Refuse what contradicts itself."""
        need((self.normalise is None) != (self.no_normalise is None), "give either normalise or no_normalise.")
        need(bool(self.quench_in), "quench_in is empty.")
        need(self.normalise_first is None or self.normalise is not None, "normalise_first needs normalise.")
        wrapped = self.protect.by != "foil" or not _WET.intersection(self.quench_in[:1])
        need(wrapped, f"protect: a foil packet is not quenched in {self.quench_in[0]}; name plates or air first.")
        early = self.cold is None or self.cold.when != "before the first temper"
        need(early or self.temper_from == "room temperature", "cold before the first temper: no blade is then warm.")
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

    def quench_for(self, thickness_mm: float) -> tuple[tuple[Quench, ...], Rule]:
        """Return what a blade of a thickness is quenched in, the usual first, and how."""
        thick = self.quench_thick
        if thick is None or thickness_mm < thick.over:
            return self.quench_in, self.quench
        return thick.quench_in, thick.quench

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
        steel_name: Name or alias in the table of steels, such as "AEB-L", or the file of one's own.

    Raises:
        RequestError: No such material; the message suggests the nearest.

    >>> hardening("AEBL").name
    'AEB-L'
    >>> hardening("unknown") is None
    True
    """
    if is_own(steel_name):
        return _own(steel_name)
    return _shipped(material(steel_name, "[material] grade").name)


def _own(name: str) -> Hardening | None:
    """Return how a steel of one's own is hardened, as its file has it; None where it says nothing."""
    fields = own_fields(name, "[material] grade")
    return read_row(Hardening, fields.sub(HARDENING), name=name) if HARDENING in fields.table else None


@cache
def _table() -> Fields:
    return Fields(read_toml(_TABLE), _TABLE.name)


@cache
def _shipped(name: str) -> Hardening | None:
    """Return one steel of the shipped table: the whole of it is long, and a knife is of one."""
    table = {} if name == UNKNOWN else read_one_table(_TABLE, name)
    return read_row(Hardening, Fields(table, _TABLE.name).sub(name), name=name) if name in table else None


@cache
def hardenings() -> dict[str, Hardening]:
    """Return every hardening of the shipped table by steel, in its order."""
    return read_table(_table(), Hardening, (UNKNOWN,))


@cache
def found_steel() -> FoundSteel:
    """Return how to find out about found steel."""
    return read_row(FoundSteel, _table().sub(UNKNOWN))


@dataclass(frozen=True)
class Soak:
    """The time at heat for one thickness.

    Args:
        time: Minutes [min].
        uncovered: Why the rule of the steel's maker does not hold for this thickness, in words; empty where it does.
            The time is then the least that anybody prints, never less.
    """

    time: Band
    uncovered: str = ""


def soak_for(entry: Hardening, thickness_mm: float) -> Soak:
    """Return the time at heat for a thickness.

    By the law of the steel maker where there is one; outside it nothing is reckoned on, and the nearest time that is
    printed is the least.

    Args:
        entry: The steel.
        thickness_mm: Thickness of the blade at its thickest [mm].

    >>> soak_for(hardening("14C28N"), 3.0).time.words()
    '6 min'
    >>> soak_for(hardening("14C28N"), 6.0).uncovered
    'not covered: the rule ends at 4 mm'
    """
    law = entry.soak_law
    if law is None:
        return Soak(entry.soak)
    first, last = law.points[0], law.points[-1]
    uncovered = ""
    if thickness_mm > last.thickness:
        minutes, uncovered = last.minutes, f"not covered: the rule ends at {last.thickness:g} mm"
    elif thickness_mm < first.thickness:
        minutes, uncovered = first.minutes, f"not covered: the rule begins at {first.thickness:g} mm"
    else:
        sizes, times = [p.thickness for p in law.points], [p.minutes for p in law.points]
        at = max(i for i, size in enumerate(sizes) if size <= thickness_mm)
        after = min(at + 1, len(sizes) - 1)
        share = (thickness_mm - sizes[at]) / (sizes[after] - sizes[at]) if after > at else 0.0
        minutes = times[at] + (times[after] - times[at]) * share
    printed = f"{minutes:.3g} min at {min(max(thickness_mm, first.thickness), last.thickness):g} mm"
    return Soak(Band(minutes, minutes, "min", printed, law.source, law.status), uncovered)


@dataclass(frozen=True)
class TemperChoice:
    """The rows of a chart that a hardness asks for.

    Args:
        points: One row, or the rows between which it lies, coolest first; empty where the chart does not reach it.
        low: Softest hardness that was looked for [HRC].
        high: Hardest [HRC].
        words: How the rows lie to it: "the row", "the rows around it", "the rows within it", or why there is none.
    """

    points: tuple[TemperPoint, ...]
    low: float
    high: float
    words: str


def temper_for(table: TemperTable, low: float, high: float) -> TemperChoice:
    """Return the rows of a chart for a wished hardness, or for a range that is usual.

    Args:
        table: The chart.
        low: The wish, or the lower end of the range [HRC].
        high: The same, or the upper end [HRC].

    >>> [p.printed for p in temper_for(hardening("1095").chosen_temper, 60, 60).points]
    ['500 F']
    >>> [p.printed for p in temper_for(hardening("52100").chosen_temper, 61, 61).points]
    ['150 C', '260 C']
    >>> [p.printed for p in temper_for(hardening("52100").chosen_temper, 58, 62).points]
    ['150 C', '260 C']
    """
    within = tuple(p for p in table.points if p.hrc_low <= high + 1e-9 and p.hrc_high >= low - 1e-9)
    if len(within) == 1 and within[0].hrc_high < high and within[0] != table.points[0]:
        # one row at the soft end of what is looked for: begin at the cooler, harder one, for a temper can be raised
        at = table.points.index(within[0])
        return TemperChoice(table.points[at - 1 : at + 1], low, high, "the rows around it")
    if within:
        return TemperChoice(within, low, high, "the row" if len(within) == 1 else "the rows within it")
    for harder, softer in itertools.pairwise(table.points):
        if softer.hrc_high < low and high < harder.hrc_low:
            return TemperChoice((harder, softer), low, high, "the rows around it")
    ends = min(p.hrc_low for p in table.points), max(p.hrc_high for p in table.points)
    return TemperChoice((), low, high, f"the chart goes from {ends[0]:g} to {ends[1]:g} HRC")
