"""How a steel is hardened and tempered, as a bench sheet needs it, and what temper gives an asked hardness."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields, read_toml
from blankwright.base.said import STATUSES
from blankwright.shop.bands import Band, Rule, built, number, printed_c, read_band, read_rule, read_rules
from blankwright.shop.tables import material

__all__ = [
    "QUENCHES", "FoundSteel", "Hardening", "SoakLaw", "TemperPoint", "TemperTable",
    "found_steel", "hardening", "hardenings", "read_hardening", "soak_for",
]  # fmt: skip

QUENCHES = ("water", "fast oil", "medium oil", "plates", "air")
"""What a blade is quenched in."""

FOUND = "unknown"
"""Name of the table for found steel; it holds steps, no figures."""

_TABLE = Path(__file__).parent / "data" / "hardening.toml"
_HEAT_C = (100.0, 1300.0)  # nothing is forged or hardened outside
_HRC = (20.0, 70.0)  # the scale's own ends
_KEYS = (
    "title", "normalise", "no_normalise", "preheat", "harden", "harden_others", "set_point", "soak", "soak_law",
    "quench", "quench_in", "as_quenched", "temper", "tempers", "temper_length", "cold", "choices", "notes",
)  # fmt: skip


def _need(condition: bool, message: str) -> None:
    if not condition:
        raise RequestError(message)


@dataclass(frozen=True)
class TemperPoint:
    """Hardness after tempering at one temperature.

    Args:
        temper_c: Temperature [°C].
        printed: The temperature as its source printed it.
        hrc_low: Lower end of the hardness [HRC].
        hrc_high: Upper end, no less [HRC].
    """

    temper_c: float
    printed: str
    hrc_low: float
    hrc_high: float

    def __post_init__(self) -> None:
        _need(20 <= self.temper_c <= 750, f"temper: {self.temper_c:g} C is outside 20 to 750 C.")
        good = _HRC[0] <= self.hrc_low <= self.hrc_high <= _HRC[1]
        _need(good, f"temper at {self.printed}: hardness must be low then high, 20 to 70 HRC.")

    @property
    def hrc(self) -> float:
        """Middle of the hardness [HRC]."""
        return (self.hrc_low + self.hrc_high) / 2


@dataclass(frozen=True)
class TemperTable:
    """Hardness against temper, from one source.

    Args:
        name: What the table is, in words.
        points: At least two, rising in temperature.
        chosen: True for the one that is used; the others are shown beside it.
        source: Where it comes from.
        status: One of STATUSES.
    """

    name: str
    points: tuple[TemperPoint, ...]
    chosen: bool
    source: str
    status: str

    def __post_init__(self) -> None:
        _need(bool(self.name.strip()) and bool(self.source.strip()), "temper: name or source is empty.")
        _need(self.status in STATUSES, f"temper '{self.name}': status must be one of: {', '.join(STATUSES)}.")
        temps = [point.temper_c for point in self.points]
        rising = len(temps) >= 2 and all(a < b for a, b in itertools.pairwise(temps))
        _need(rising, f"temper '{self.name}': needs two or more points with rising temperature.")


@dataclass(frozen=True)
class SoakLaw:
    """Minutes at heat by thickness, as a steel maker prints them.

    Args:
        points: Pairs (thickness [mm], time [min]), rising in thickness.
        source: Where it comes from.
        status: One of STATUSES.
    """

    points: tuple[tuple[float, float], ...]
    source: str
    status: str

    def __post_init__(self) -> None:
        _need(self.status in STATUSES and bool(self.source.strip()), "soak_law: source or status is wrong.")
        sizes = [point[0] for point in self.points]
        rising = len(sizes) >= 2 and all(a < b for a, b in itertools.pairwise(sizes))
        _need(rising, "soak_law: needs two or more points with rising thickness.")


@dataclass(frozen=True)
class Hardening:
    """What is known of hardening one steel.

    Args:
        steel: Name in the table of steels, or the maker's own.
        title: The name in words.
        normalise: Normalising temperature [C], or None.
        no_normalise: Why not, where there is none.
        preheat: Preheating temperatures, in order [C].
        harden: The hardening range to use [C].
        harden_others: What other sources print [C].
        set_point: What makers set the oven to, if another figure than the top of the range [C].
        soak: Time at heat [min].
        soak_law: Time at heat by thickness, where the source gives it.
        quench: How to quench, in words.
        quench_in: One or more of QUENCHES, the usual first.
        as_quenched: Hardness before tempering [HRC].
        temper: Temper tables, exactly one of them chosen.
        tempers: How many tempers [times].
        temper_length: How long each [h].
        cold: Freezing after the quench, or None.
        choices: Where sources disagree: what was taken and why.
        notes: What else to know.
    """

    steel: str
    title: str
    normalise: Band | None
    no_normalise: Rule | None
    preheat: tuple[Band, ...]
    harden: Band
    harden_others: tuple[Band, ...]
    set_point: Band | None
    soak: Band
    soak_law: SoakLaw | None
    quench: Rule
    quench_in: tuple[str, ...]
    as_quenched: Band
    temper: tuple[TemperTable, ...]
    tempers: Band
    temper_length: Band
    cold: Rule | None
    choices: tuple[Rule, ...]
    notes: tuple[Rule, ...]

    def __post_init__(self) -> None:
        _need((self.normalise is None) != (self.no_normalise is None), "give either normalise or no_normalise.")
        for name in self.quench_in:
            _need(name in QUENCHES, f"quench_in: '{name}' is not one of: {', '.join(QUENCHES)}.")
        _need(bool(self.quench_in), "quench_in is empty.")
        _need(sum(table.chosen for table in self.temper) == 1, "temper: exactly one table must be chosen.")
        _need(not self.harden_others or bool(self.choices), "harden_others need a word in choices: why this range.")
        softest = min(point.hrc_low for point in self.chosen_temper.points)
        _need(softest <= self.as_quenched.high, "as_quenched lies below everything in the temper table.")

    @property
    def chosen_temper(self) -> TemperTable:
        """The temper table that is used."""
        return next(table for table in self.temper if table.chosen)

    @property
    def weak(self) -> tuple[str, ...]:
        """What of it is from memory, in the words of a sheet."""
        parts = (("hardening range", self.harden), ("soak", self.soak), ("hardness as quenched", self.as_quenched))
        found = [name for name, part in parts if part.status == "from memory"]
        return (*found, "temper chart") if self.chosen_temper.status == "from memory" else tuple(found)


@dataclass(frozen=True)
class FoundSteel:
    """How to find out about a steel that nobody can name: steps, no figures.

    Args:
        title: The name in words.
        steps: What to do, in order.
    """

    title: str
    steps: tuple[Rule, ...]

    def __post_init__(self) -> None:
        _need(bool(self.title.strip()) and bool(self.steps), "found steel needs a title and steps.")


def hardening(steel_name: str) -> Hardening | None:
    """Return how a steel of the tables is hardened; None for found steel and where nothing is known.

    Args:
        steel_name: Name or alias in the table of steels, such as "AEB-L".

    Raises:
        RequestError: No such material; the message suggests the nearest.

    >>> hardening("aeb-l").steel
    '13C26'
    >>> hardening("unknown") is None
    True
    """
    return _shipped()[0].get(material(steel_name, "[material] grade").name)


def hardenings() -> tuple[Hardening, ...]:
    """Return every hardening of the shipped table, in its order."""
    return tuple(_shipped()[0].values())


def found_steel() -> FoundSteel:
    """Return how to find out about found steel."""
    return _shipped()[1]


@cache
def _shipped() -> tuple[dict[str, Hardening], FoundSteel]:
    tables = dict(read_toml(_TABLE))
    row = Fields(tables.pop(FOUND), f"{_TABLE.name} [{FOUND}]")
    row.only(("title", "steps"))
    return _read_all(tables, _TABLE.name), FoundSteel(row.text("title"), read_rules(row, "steps"))


def read_hardening(path: Path) -> dict[str, Hardening]:
    """Read a maker's own file, of the same form as the shipped table.

    Args:
        path: The file; one table per steel.

    Returns:
        Each steel by the name of its table.

    Raises:
        RequestError: Unreadable, empty, or a figure is missing or wrong; names file, table, key and range.
    """
    tables = read_toml(path)
    if not tables:
        raise RequestError(f"{path.name}: holds no steel. Give one table per steel, such as [my-steel].")
    return _read_all(tables, path.name)


def _read_all(tables: dict[str, Any], file: str) -> dict[str, Hardening]:
    return {name: _read_one(name, Fields(tables, file).sub(name)) for name in tables}


def _read_one(name: str, row: Fields) -> Hardening:
    row.only(_KEYS)
    return built(
        row.where,
        lambda: Hardening(
            steel=name,
            title=row.text("title"),
            normalise=read_band(row.sub("normalise"), "C", *_HEAT_C) if "normalise" in row.table else None,
            no_normalise=_maybe_rule(row, "no_normalise"),
            preheat=_bands_c(row, "preheat"),
            harden=read_band(row.sub("harden"), "C", *_HEAT_C),
            harden_others=_bands_c(row, "harden_others"),
            set_point=read_band(row.sub("set_point"), "C", *_HEAT_C) if "set_point" in row.table else None,
            soak=read_band(row.sub("soak"), "min", 0.5, 240),
            soak_law=_soak_law(row.sub("soak_law")) if "soak_law" in row.table else None,
            quench=read_rule(row.sub("quench")),
            quench_in=_words(row, "quench_in"),
            as_quenched=read_band(row.sub("as_quenched"), "HRC", *_HRC),
            temper=tuple(_temper(table) for table in row.rows("temper")),
            tempers=read_band(row.sub("tempers"), "times", 1, 5),
            temper_length=read_band(row.sub("temper_length"), "h", 0.25, 24),
            cold=_maybe_rule(row, "cold"),
            choices=read_rules(row, "choices"),
            notes=read_rules(row, "notes"),
        ),
    )


def _maybe_rule(row: Fields, key: str) -> Rule | None:
    return read_rule(row.sub(key)) if key in row.table else None


def _bands_c(row: Fields, key: str) -> tuple[Band, ...]:
    return tuple(read_band(table, "C", *_HEAT_C) for table in row.rows(key)) if key in row.table else ()


def _words(row: Fields, key: str) -> tuple[str, ...]:
    value = row.table.get(key)
    if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
        raise RequestError(f"{row.where} {key}: must be a list of: {', '.join(QUENCHES)}.")
    return tuple(value)


def _lists(row: Fields, key: str, size: int, example: str) -> list[Fields]:
    """Return a list of lists as tables whose keys are the places "0", "1" and so on."""
    value = row.table.get(key)
    if not isinstance(value, list) or not all(isinstance(v, list) and len(v) == size for v in value):
        raise RequestError(f"{row.where} {key}: must be a list such as {example}.")
    places = [str(place) for place in range(size)]
    return [
        Fields(dict(zip(places, item, strict=True)), f"{row.where} {key} number {i}") for i, item in enumerate(value, 1)
    ]


def _temper(row: Fields) -> TemperTable:
    row.only(("name", "chosen", "points", "source", "status"))
    chosen = row.table.get("chosen")
    if not isinstance(chosen, bool):
        raise RequestError(f"{row.where} chosen: must be true or false, got {chosen!r}.")
    points = tuple(_temper_point(point) for point in _lists(row, "points", 3, '["400 F", 62, 63]'))
    name, source, status = row.text("name"), row.text("source"), row.choice("status", STATUSES)
    return built(row.where, lambda: TemperTable(name, points, chosen, source, status))


def _temper_point(row: Fields) -> TemperPoint:
    printed = row.text("0")
    temper_c = printed_c(printed, row.where)[0]
    low, high = (number(row, place, *_HRC) for place in ("1", "2"))
    return built(row.where, lambda: TemperPoint(temper_c, printed, low, high))


def _soak_law(row: Fields) -> SoakLaw:
    row.only(("points", "source", "status"))
    pairs = tuple((number(p, "0", 0.3, 50), number(p, "1", 0.5, 240)) for p in _lists(row, "points", 2, "[2.5, 5]"))
    source, status = row.text("source"), row.choice("status", STATUSES)
    return built(row.where, lambda: SoakLaw(pairs, source, status))


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
    if law is None or not law.points[0][0] <= thickness_mm <= law.points[-1][0]:
        return entry.soak
    for (a_mm, a_min), (b_mm, b_min) in itertools.pairwise(law.points):
        if a_mm <= thickness_mm <= b_mm:
            minutes = a_min + (b_min - a_min) * (thickness_mm - a_mm) / (b_mm - a_mm)
            break
    printed = f"{minutes:.3g} min at {thickness_mm:g} mm"
    return Band(minutes, minutes, "min", printed, law.source, law.status)
