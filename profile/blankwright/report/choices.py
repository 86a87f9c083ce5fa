"""What a choice among the rows of a table needs to know, side by side: steels, processes, fits, starts, services."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.said import bare
from blankwright.design.keys import STARTS
from blankwright.knife.start import Start, start_words
from blankwright.shop.allowance import allowance
from blankwright.shop.bands import Rule
from blankwright.shop.hardening import hardening
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.shop.records import Fit, Material, Process
from blankwright.shop.services import Service

PLATE_MM, PART_MM, PIN_MM = 3.0, 350.0, 5.0
"""Stock, length of a chef's knife and pin for which a choice is told [mm]."""
NONE = "-"
"""What stands where a row has nothing to say."""


@dataclass(frozen=True)
class StartRow:
    """How work can start, as a design asks for it.

    Args:
        name: What stands in [start] from.
        title: The same in words.
        means: What its papers then say.
    """

    name: str
    title: str
    means: Rule


def starts() -> tuple[StartRow, ...]:
    """Return every start that a design can ask for."""
    rows = []
    for name in STARTS:
        start = Start(name, start_words(name), name != "found")
        told = [
            "outline and holes are there, no cutting file" if start.bought else "cut with oversize, holes made",
            "hardened and tempered" if start.heated else "hard already, kept cool",
        ]
        told += ["bought by volume"] if name == "forged" else []
        told += ["grade unknown: coupons first, no figure of heat"] if not start.known else []
        rows.append(StartRow(name, start.words, Rule("; ".join(told) + ".", "what the papers of it say", "computed")))
    return tuple(rows)


_ROWS = (Material, Process, Fit, Service, StartRow)
"""Rows that are told side by side; how a steel is hardened stands in its own."""


@dataclass(frozen=True)
class Choice:
    """How the rows of a table are told side by side.

    Args:
        heads: One for each column behind the name.
        values: The values of a row, one for each head.
    """

    heads: tuple[str, ...]
    values: Callable[[Any], tuple[str, ...]]


def choice(name: str) -> Choice | None:
    """Return how the rows of a table are told side by side; None for a table that is read row by row."""
    return _CHOICES.get(name)


def choice_data(name: str, row: Any) -> dict[str, str]:
    """Return what a choice needs of a row, by its heads; nothing for a table that is read row by row."""
    found = choice(name) if isinstance(row, _ROWS) else None
    return {} if found is None else dict(zip(found.heads, found.values(row), strict=True))


def choice_rows(name: str, rows: Sequence[Any]) -> list[tuple[str, ...]]:
    """Return heads and rows side by side; none for a table that is read row by row."""
    found = choice(name)
    told = [row for row in rows if isinstance(row, _ROWS)]
    return [] if found is None else [("", *found.heads), *((row.name, *found.values(row)) for row in told)]


def _steel(row: Material) -> tuple[str, ...]:
    entry = hardening(row.name)
    rusts = "stainless" if row.kind == "stainless" else "rusts"
    if entry is None:
        return (rusts, "not known: ask its maker", *[NONE] * 5)
    low, high = entry.tempers.low, entry.tempers.high
    times = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    points = entry.chosen_temper.points
    span = f"{min(p.hrc_low for p in points):g} to {max(p.hrc_high for p in points):g}"
    wrap = {"none": "bare", "coat": "stop-off coat", "foil": "foil"}[entry.protect.by]
    frozen = "yes" if entry.cold is not None else "no"
    return (rusts, entry.harden.words(), entry.soak.words(), " or ".join(entry.quench_in), wrap, frozen,
            f"{times} times, {span} HRC")  # fmt: skip


def _process(row: Process) -> tuple[str, ...]:
    kinds = ", ".join(kind for kind in row.materials if kind != "stainless")
    thick = f"{row.thickness_min_mm.value:g} to {row.thickness_max_mm.value:g}"
    kind = "steel" if "steel" in row.materials else row.materials[0]
    try:
        left = allowance(row.name, thickness_mm=PLATE_MM, size_mm=PART_MM, material_kind=kind, overrides={}).regions_mm
        outside = f"{bare(left['edge'], 2)} / {bare(left['spine'], 2)}"
    except RequestError:
        outside = NONE
    least = row.smallest_hole_for_mm(PLATE_MM)
    hole = "drill all" if least is None else f"from {least:g}, {row.pin_holes} pins"
    return (kinds, thick, f"{row.kerf_mm.value:g}", f"{row.burnt_layer_mm.value:g}", outside, hole)


def _fit(row: Fit) -> tuple[str, ...]:
    tang, _ = finished_hole_mm(PIN_MM, row.name)
    scale, _ = scale_hole_mm(PIN_MM, row.name)
    return (row.title, bare(tang, 2), bare(scale, 2))


def _service(row: Service) -> tuple[str, ...]:
    limit = row.limit_for(PLATE_MM)
    thickest = max((one.up_to_mm for one in row.limits), default=0.0)
    least = (NONE, NONE, NONE)
    if limit is not None:
        least = (f"{limit.smallest_hole_mm:g}", f"{limit.smallest_corner_mm:g}", f"{limit.smallest_wall_mm:g}")
    return (row.title, row.process, f"{thickest:g}", *least, row.holes, f"{row.release}, {row.unit}")


_CHOICES: dict[str, Choice] = {
    "steels": Choice(("kind", "harden at", "soak", "quench in", "against air", "freeze", "temper"), _steel),
    "processes": Choice(
        ("cuts", "thick mm", "kerf mm", "spoilt mm", "left at edge / spine, 3 mm", "holes, 3 mm"), _process
    ),
    "fits": Choice(("", "tang hole, 5 mm pin", "handle hole"), _fit),
    "starts": Choice(("", "what it means"), lambda row: (row.title, row.means.text)),
    "services": Choice(
        ("", "cuts by", "up to mm", "hole, 3 mm", "corner", "wall", "holes", "file"), _service
    ),
}  # fmt: skip
"""Tables whose rows are told side by side, by name."""
