"""The tables of the trade as they can be read: what stands in each row, from where, and how far it can be trusted."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Any

from blankwright.base.errors import named
from blankwright.base.frozen import dataclass
from blankwright.base.units import show_mm
from blankwright.ink.papers import papers
from blankwright.report.choices import choice_data, choice_rows, starts
from blankwright.shop import (
    dialects,
    drills,
    edges,
    finishes,
    grit,
    hand,
    hardening,
    quenches,
    rods,
    rough,
    services,
    sheets,
    stagecautions,
    tables,
    woodblades,
)
from blankwright.shop.bands import Band, Rule
from blankwright.shop.dialects import Dialect
from blankwright.shop.own import is_own, own_row
from blankwright.shop.records import Figure, Process


@dataclass(frozen=True)
class Told:
    """One figure or rule of a row.

    Args:
        what: What it is.
        value: The figure with its unit, or the rule.
        standing: How far it can be trusted.
        source: Where it comes from.
    """

    what: str
    value: str
    standing: str
    source: str


_TABLES: dict[str, tuple[str, Callable[[], Iterable[Any]]]] = {
    "steels": ("blade steels", lambda: tables.materials("steels")),
    "woods": ("woods for handles and wooden blades", lambda: tables.materials("woods")),
    "laminates": ("laminates for handles", lambda: tables.materials("laminates")),
    "bones": ("bone, antler and horn for handles", lambda: tables.materials("bones")),
    "metals": ("metals for pins and fittings", lambda: tables.materials("metals")),
    "processes": ("ways to cut a blank", tables.processes),
    "fits": ("how pins sit in their holes", tables.fits),
    "starts": ("from what the work starts", starts),
    "services": ("what a cutting service wants of a file", lambda: map(services.service, services.service_names())),
    "dialects": ("words of controllers for a program", lambda: map(dialects.dialect, dialects.dialect_names())),
    "parts": ("figures of what is cut beside the blade", lambda: sheets.part_figures().values()),
    "sheets": ("what that is cut from", lambda: sheets.sheet_stocks().values()),
    "papers": ("sheets of paper", papers),
    "found": ("what found steel was, and what it loses", lambda: rough.pieces().values()),
    "hardening": ("how steels are hardened and tempered", lambda: hardening.hardenings().values()),
    "quenches": ("what a blade is quenched in, and how", lambda: quenches.media().values()),
    "cautions": ("cautions by stage of the work", lambda: stagecautions.stages().values()),
    "glues": ("kinds of glue", lambda: finishes.glues().values()),
    "finishes": ("finishes and care", lambda: finishes.finishes().values()),
    "edges": ("edge angles by type of knife, each side", edges.edge_angles),
    "hardness": ("hardness that is usual by type of knife", edges.usual_hardnesses),
    "woodblades": ("what a blade of wood asks for", lambda: (woodblades.wood_blade(),)),
    "drills": ("drills that are stocked", lambda: (d for series in drills.SERIES for d in drills.drills(series))),
    "rods": ("rods that are sold for pins", rods.rods),
    "grits": ("grains of coated abrasives", lambda: (g for scale in grit.SCALES for g in grit.grits(scale))),
    "hands": ("hands of a survey", lambda: hand.hands().values()),
}
"""Tables by name: what each holds, and its rows."""


_ENDS = {"_kg_m3": "kg/m3", "_mm_min": "mm/min", "_mm": "mm", "_um": "µm", "_s": "s"}
"""Ends of names that say the unit."""


def tables_data() -> dict[str, Any]:
    """Return the list of tables as data."""
    return {"tables": [{"name": n, "holds": words, "rows": len(list(rows()))} for n, (words, rows) in _TABLES.items()]}


def table_data(name: str, one: str | None = None) -> dict[str, Any]:
    """Return a table as data, or one row of it.

    Args:
        name: A table, or the file of one's own row.
        one: Name of a row; None for all.

    Raises:
        RequestError: No such table or row, or a file of one's own that is not valid.
    """
    return {
        "table": name,
        "rows": [
            {"name": _name(row), "title": getattr(row, "title", ""), "aliases": list(getattr(row, "aliases", ()))}
            | ({"note": row.note} if getattr(row, "note", "") else {})
            | ({"choice": found} if (found := choice_data(name, row)) else {})
            | {"figures": [dataclasses.asdict(told) for told in _told(row, "")]}
            for row in _rows(name, one)
        ],
    }


def tables_text() -> str:
    """Return the list of tables."""
    rows = [(n, words, f"{len(list(found()))} rows") for n, (words, found) in _TABLES.items()]
    return (
        _aligned(rows) + "\nRead one with: blankwright tables NAME, and one row of it with: blankwright tables NAME ROW"
    )


def table_text(name: str, one: str | None = None) -> str:
    """Return a table: what a choice needs side by side, then every figure with its source.

    Args:
        name: A table, or the file of one's own row.
        one: Name of a row; None for all.

    Raises:
        RequestError: As table_data.
    """
    found = _rows(name, one)
    beside = choice_rows(_known(name), found)
    text = _figures(found, blocks=one is not None)
    return f"{_aligned(beside)}\n\n{text}" if beside else text


def _figures(found: Sequence[Any], *, blocks: bool) -> str:
    """Return every figure with its source: one line a row where a row is one figure, else a block for each."""
    rows = [(row, list(_told(row, ""))) for row in found]
    if not blocks and all(len(told) == 1 for _, told in rows):
        return _aligned([(_name(row), _title(row), t.value, t.standing, t.source) for row, (t,) in rows])
    parts = []
    for row, told in rows:
        note = f"\n  {row.note}" if getattr(row, "note", "") else ""
        lines = _aligned([(f"  {t.what}", t.value, t.standing, t.source) for t in told])
        parts.append(f"{_name(row)}: {_title(row)}{note}\n{lines}")
    return "\n\n".join(parts)


def _rows(name: str, one: str | None = None) -> list[Any]:
    """Return the rows of a table, or one of them; of a steel how it is hardened as well."""
    if is_own(name):
        row = own_row(name)
        return [row, *_heat_of(row)]
    found = list(named("table", name, _TABLES, "tables")[1]())
    if one is None:
        return found
    by_name = {key.lower(): row for row in found for key in (_name(row), *getattr(row, "aliases", ()))}
    row = named("row", one.strip().lower(), by_name, f"tables {name}")
    return [row, *(_heat_of(row) if name == "steels" else ())]


def _heat_of(row: Any) -> list[Any]:
    heat = hardening.hardening(row.name) if getattr(row, "kind", "") in ("steel", "stainless") else None
    return [heat] if heat is not None else []


def _known(name: str) -> str:
    """Return the table that a row of one's own would stand in."""
    if not is_own(name):
        return name
    row = own_row(name)
    return "processes" if isinstance(row, Process) else "steels" if row.kind in ("steel", "stainless") else ""


def _name(row: Any) -> str:
    return str(row.printed if isinstance(row, grit.Grit) else row.name)


def _title(row: Any) -> str:
    also = ", ".join(getattr(row, "aliases", ()))
    kinds = ", ".join(getattr(row, "materials", ()))
    more = f" (also {also})" if also else f" (for {kinds})" if kinds else ""
    return str(getattr(row, "title", "")) + more


_FIGURES: dict[type, Callable[[Any, str], list[tuple[str, str]]]] = {
    Figure: lambda v, what: [(what, f"{v.value:g} {v.unit}")],
    Band: lambda v, what: [(what, v.words())],
    Dialect: lambda v, what: [(what or "words", v.words)],
    Rule: lambda v, what: [(what, v.text)],
    hardening.Protection: lambda v, what: [(what, v.by)],
    hardening.Cold: lambda v, what: [(f"{what}, {v.when}", v.text)],
    sheets.PartFigure: lambda v, _: [(v.what, v.value)],
    sheets.SheetStock: lambda v, _: [
        ("cut by", ", ".join(v.cut_by)),
        ("caution", v.cautions(None)),
    ],
}
"""What is told of a figure or rule that has source and standing of its own: what it is, and its value."""


def _told(value: Any, what: str) -> Iterator[Told]:
    """Yield every figure and rule of a row, however deep it stands."""
    if type(value) in _FIGURES:
        for name, text in _FIGURES[type(value)](value, what):
            yield Told(name, text, value.status, value.source)
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _told(item, f"{what} {key}".strip())
    elif isinstance(value, tuple):
        for item in value:
            yield from _told(item, what)
    elif dataclasses.is_dataclass(value):
        if hasattr(value, "source"):
            yield Told(what or "size", _numbers(value), getattr(value, "status", ""), value.source)
            return
        for field in dataclasses.fields(value):
            yield from _told(getattr(value, field.name), f"{what} {_words(field.name)}".strip())


def _numbers(row: Any) -> str:
    """Return the numbers of a row whose source and standing are its own."""
    shown = []
    for field in dataclasses.fields(row):
        value = getattr(row, field.name)
        if isinstance(value, float):
            unit = next((unit for end, unit in _ENDS.items() if field.name.endswith(end)), "")
            shown.append(f"{_words(field.name)} {round(value, 3):g} {unit}".strip())
        elif field.name == "points":
            shown += [_point(point) for point in value]
    return ", ".join(shown)


def _point(point: Any) -> str:
    if isinstance(point, hardening.TemperPoint):
        return f"{point.printed}: {Band(point.hrc_low, point.hrc_high, 'HRC', '-', '-', 'computed').words()}"
    return f"{show_mm(point.thickness, digits=1)}: {point.minutes:g} min"


def _words(field: str) -> str:
    end = next((end for end in _ENDS if field.endswith(end)), "")
    return field.removesuffix(end).replace("_", " ")


def _aligned(rows: Sequence[tuple[str, ...]]) -> str:
    """Return rows in columns; an empty column goes."""
    kept = [i for i in range(len(rows[0])) if any(row[i] for row in rows)]
    wide = [max(min(len(row[i]), 60) for row in rows) for i in kept]
    lines = ["  ".join(row[i].ljust(w) for i, w in zip(kept, wide, strict=True)).rstrip() for row in rows]
    return "\n".join(lines)
