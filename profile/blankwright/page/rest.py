"""What follows the drawing: weights, findings, holes, bench, a section; then what is dear. In steps that can stop."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from blankwright.base.errors import BlankwrightError
from blankwright.base.finding import Finding
from blankwright.base.said import Line, said
from blankwright.base.units import show_area_mm2, show_g, show_mm
from blankwright.design.request import Design
from blankwright.drawing.sections import profile
from blankwright.ink.svg import path_data
from blankwright.knife.knife import Knife
from blankwright.knife.moves import Move, each_move
from blankwright.knife.words import part_words
from blankwright.page.grips import words_of
from blankwright.page.steer import CANNOT, Limit, solved
from blankwright.page.typed import exact, shown
from blankwright.page.work import Look
from blankwright.sheet.handfit import hand_breadth, hand_rows
from blankwright.sheet.prices import Prices, read_prices
from blankwright.sheet.shopping import shopping
from blankwright.solid.stations import BenchStation, station

PRICES = "prices.toml"
"""A file of prices in the started folder, from which costs are told."""

_TIP_MM = 0.5
"""A section is drawn at most this near to heel and tip."""


def rest(knife: Knife, look: Look, before: Knife | None) -> Iterator[dict[str, Any] | None]:
    """Yield None between steps, and at last the second answer.

    Args:
        knife: The knife.
        look: How the page wants it.
        before: The knife as it was opened, or saved last.
    """
    units = look.units
    told: dict[str, Any] = {"say": "rest", "weight": weight_answer(knife, units)}
    yield None
    told["findings"] = [_finding(f, units) for f in knife.findings]
    told["figures"] = [{"code": f.code, "text": f.line.text(units), "at": f.at_mm} for f in knife.figures]
    yield None
    told["stations"] = [_station(s, units) for s in knife.stations]
    told["section"] = section_answer(knife, units, look.section_mm)
    told["pins"] = [
        {
            "at": [h.hole.x_mm, h.hole.y_mm],
            "words": f"{h.hole.purpose} {shown('pins.diameter', h.hole.diameter_mm, units)}",
            "how": h.how.text(units),
            "why": h.made.reason.text(units) if isinstance(h.made.reason, Line) else str(h.made.reason),
        }
        for h in knife.holes
    ]
    told["area"] = show_area_mm2(knife.finished.area_mm2, units)
    told["size"] = part_words(knife, units)
    told["hand"] = hand_answer(knife, look)
    same = before is None or before.finished == knife.finished
    told["before"] = None if same or before is None else {"d": path_data(before.finished)}
    told["start"], told["cautions"], told["code"] = knife.start.words, knife.cautions, knife.code
    yield told


def weight_answer(knife: Knife, units: str) -> dict[str, Any]:
    """Return what the knife weighs and where it balances, in words."""
    weights = knife.weights
    balance, whole = weights.balance_mm, weights.finished_knife
    return {
        "knife": show_g(whole.mass_g, units) if whole else None,
        "blank": show_g(knife.cut_blank.mass_g, units),
        "balance": balance_words(balance, units) if balance is not None else None,
        "balance_mm": balance,
        "centre": list(whole.centre_mm[:2]) if whole else None,
        "parts": [
            {
                "words": p.name, "weight": show_g(p.body.mass_g, units),
                "balance": show_mm(p.body.centre_mm[0], units, 1),
            }
            for p in weights.parts
        ],
        "why_not": weights.why_not,
    }  # fmt: skip


def balance_words(balance_mm: float, units: str) -> str:
    """Say where a knife balances."""
    if abs(balance_mm) < 0.05:
        return "at the heel"
    return f"{show_mm(abs(balance_mm), units, 1)} {'ahead of' if balance_mm > 0 else 'behind'} the heel"


def hand_answer(knife: Knife, look: Look) -> dict[str, Any] | None:
    """Return the hand that is drawn behind the handle, and whether the handle serves it; None for none."""
    if look.hand is None:
        return None
    try:
        breadth_mm, name, _ = hand_breadth(look.hand)
        rows = hand_rows(knife, look.hand)
    except BlankwrightError as error:
        return {"words": look.hand, "breadth_mm": None, "text": str(error)}
    fits = next((row.note for row in rows if row.label.startswith("Breadth")), "")
    return {"words": name, "breadth_mm": breadth_mm, "text": fits}


def _finding(f: Finding, units: str) -> dict[str, Any]:
    return {"code": f.code, "level": f.level, "text": f.text(units), "at": f.at_mm}


def _station(s: BenchStation, units: str) -> dict[str, Any]:
    return {"place": s.place.text(units), "at_mm": s.x_mm, "rows": station_rows(s, units)}


def station_rows(s: BenchStation, units: str) -> list[list[str]]:
    """Return the figures of one place along the blade, each with its words."""
    rows = [
        ["height", show_mm(s.height_mm, units, 1)],
        ["spine", show_mm(s.spine_mm, units)],
        ["grind height", show_mm(s.grind_height_mm, units, 1)],
        ["bevel", " / ".join(dict.fromkeys(f"{deg:.2f}°" for deg in s.bevel_deg))],
    ]
    lifts = [v for v in s.raise_mm if v is not None]
    if lifts:
        rows.append(["spine above the stone", " / ".join(dict.fromkeys(show_mm(v, units, 1) for v in lifts))])
    return rows


def section_answer(knife: Knife, units: str, at_mm: float | None) -> dict[str, Any] | None:
    """Return the blade in section at a place, seen from the handle toward the tip; None where it has none.

    Args:
        knife: The knife.
        units: mm or in.
        at_mm: Distance ahead of the heel [mm]; None for the middle.
    """
    length_mm = knife.shape.values_mm["blade_length"]
    x = min(max(length_mm / 2 if at_mm is None else at_mm, _TIP_MM), length_mm - _TIP_MM)
    ground = knife.ground
    try:
        place = said("section")
        s = station(place, x, knife.finished, ground.taper, ground.bevels, ground.before, knife.stock_mm)
        right, left = profile(s.height_mm, s.spine_mm, ground.bevels)
    except BlankwrightError:
        return None
    points = [*right.tolist(), *left.tolist()[::-1]]
    d = "M" + "L".join(f"{across:.4f} {-up:.4f}" for across, up in points) + "Z"
    wide = s.spine_mm / 2
    return {"x_mm": x, "d": d, "rows": station_rows(s, units), "frame": [-wide, 0.0, wide, s.height_mm]}


def more(knife: Knife, units: str, limit: tuple[Limit, Design] | None, folder: Path) -> Iterator[dict[str, Any] | None]:
    """Yield None between steps, and at last the third answer.

    Args:
        knife: The knife.
        units: mm or in.
        limit: What could not be, and the design that was wanted; None when all could.
        folder: Where a file of prices may lie.
    """
    ways: list[dict[str, Any]] = []
    if limit is not None:
        for way in ways_out(*limit, units):
            ways += [way] if way else []
            yield None
    moves = []
    for move in each_move(knife):
        moves.append(_move(move, units))
        yield None
    yield {"say": "more", "moves": moves, **needs(knife, units, folder), "ways": ways}


def _move(move: Move, units: str) -> dict[str, Any]:
    if move.grams is None or move.balance_mm is None:
        return {"change": move.change.text(units), "weight": None, "balance": None, "why_not": move.why_not}
    sign = "+" if move.grams >= 0 else ""
    way = "+" if move.balance_mm >= 0 else ""
    return {
        "change": move.change.text(units), "weight": sign + show_g(move.grams, units),
        "balance": way + show_mm(move.balance_mm, units, 1), "why_not": "",
    }  # fmt: skip


def ways_out(limit: Limit, wanted: Design, units: str) -> Iterator[dict[str, Any] | None]:
    """Yield, for every other dimension that was asked for, where it would go if it were let follow; None for no way.

    Args:
        limit: What could not be.
        wanted: The design that asks for it.
        units: mm or in.
    """
    for d in wanted.family.offered(wanted.construction):
        if d.key == limit.key or d.name not in wanted.dimensions_mm:
            continue
        loose = Design(
            wanted.name, wanted.family, wanted.construction,
            {k: v for k, v in wanted.dimensions_mm.items() if k != d.name}, wanted.overall_mm, wanted.settings,
            wanted.sources, wanted.folder,
        )  # fmt: skip
        try:
            there = solved(loose, None).shape.values_mm[d.name]
        except (*CANNOT, BlankwrightError):
            yield None
            continue
        now = shown(d.key, wanted.dimensions_mm[d.name], units)
        words = f"{words_of(d.key)} {shown(d.key, there, units)} instead of {now}"
        yield {"key": d.key, "words": words, "values": {d.key: None, limit.key: exact(limit.wanted_mm, "mm")}}


def needs(knife: Knife, units: str, folder: Path) -> dict[str, Any]:
    """Return what is to be bought, and what it costs where the folder holds a file of prices."""
    told: dict[str, Any] = {"needs": [], "costs": [], "costs_why_not": ""}
    prices: Prices | None = None
    try:
        prices = read_prices(folder / PRICES) if (folder / PRICES).is_file() else None
    except BlankwrightError as error:
        told["costs_why_not"] = str(error)
    try:
        tables = shopping(knife, prices).tables
    except BlankwrightError as error:
        return told | {"costs_why_not": str(error)}
    for name, table in zip(("needs", "costs"), tables, strict=False):
        told[name] = [
            [row.label, *(v if isinstance(v, str) else v.shown(units) for v in row.values)] for row in table.rows
        ]
    return told
