"""The verdict on a cutting file for a reader at a terminal: short, aligned, in the reader's units."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from blankwright.base.finding import Level
from blankwright.base.said import Line, Size
from blankwright.base.units import show_mm
from blankwright.inspection.outcome import Inspected, counts_of, cut_length_mm, layers_of
from blankwright.inspection.roles import NAMED, UNNAMED, WORDS
from blankwright.inspection.sizing import in_words

MOST_LAYERS = 24
"""So many layers are listed at a terminal; all of them in the data."""
_MARKS: dict[Level, str] = {"error": "x", "warning": "!"}


def inspected_text(seen: Inspected, units: str) -> str:
    """Return the verdict as lines of text.

    Args:
        seen: What the inspection came to.
        units: "mm" or "in", for reading only.
    """
    blocks = [
        [head(seen)],
        size_line(seen),
        _facts(seen, units),
        _parts(seen, units),
        _told(seen, units, "error", "faults"),
        _told(seen, units, "warning", "to look at"),
        _clauses("mended", seen.mended, units),
        _clauses("not repaired; no file written", seen.not_mended, units),
        [f"  wrote {name}" for name in seen.files],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def head(seen: Inspected) -> str:
    """Return the verdict in one line."""
    faults, look = len(seen.verdict.of("error")), len(seen.verdict.of("warning"))
    if not faults and not look:
        return f"inspect {seen.name}: fit to cut"
    return f"inspect {seen.name}: {_many(faults, 'fault') if faults else 'no faults'}, {look} to look at"


def size_line(seen: Inspected) -> list[str]:
    """Return the size of the part, in both units; nothing where there is none."""
    size = seen.verdict.size_mm
    return [] if size is None else [f"The part is {in_words(size)}."]


def _facts(seen: Inspected, units: str) -> list[str]:
    c = counts_of(seen.verdict)
    if not c["entities"]:
        return []
    shortest = "" if c["shortest_mm"] is None else f", the shortest {show_mm(c['shortest_mm'], units, 3)}"
    inside = f"{_many(c['holes'], 'hole')}, {_many(c['spots'], 'drill spot')}"
    long = cut_length_mm(seen.verdict)
    rows = [
        ("release", seen.release or "not named"),
        ("unit", seen.unit or "not named, taken as mm"),
        ("contours", f"{c['closed']} closed, {c['open']} open; {inside}"),
        ("pieces", f"{c['pieces']} lines and arcs{shortest}"),
        ("cut", f"{show_mm(long, units, 0)} long, {_many(c['pierces'], 'pierce')}"),
    ]
    return [f"  {name:<10} {text}" for name, text in [*rows, *_layers(seen)]]


def _layers(seen: Inspected) -> list[tuple[str, str]]:
    """Say of each layer what it was taken for; nothing where one is there and is cut, as its name lets one expect."""
    rows = layers_of(seen.verdict)
    if len(rows) < 2 and all(row["role"] == "cut" and row["why"] in {UNNAMED, NAMED} for row in rows):
        return []
    shown = rows[:MOST_LAYERS]
    out = [
        (
            "layers" if k == 0 else "",
            f"{row['name']}{', colour ' + row['colour'] if row['colour'] else ''}: "
            f"{WORDS.get(row['role'], 'no lines')}{', ' + row['why'] if row['why'] else ''}; "
            f"{_many(row['entities'], 'entity')}",
        )
        for k, row in enumerate(shown)
    ]
    return [*out, ("", f"and {len(rows) - len(shown)} more")] if len(rows) > len(shown) else out


def _parts(seen: Inspected, units: str) -> list[str]:
    """List the sorts of parts: how many there are, and what to look at on them; a single part has no list."""
    parts = seen.parts
    if len(parts) < 2:
        return []
    lines = [f"  {len(parts)} parts"]
    first = [p for k, p in enumerate(parts) if p.alike == k]
    for p in first[:MOST_LAYERS]:
        same = [q for q in parts if q.alike == p.alike]
        numbers = sorted({n for q in same for n in q.findings})
        more = ", ..." if len(numbers) > 8 else ""
        told = f"see {', '.join(map(str, numbers[:8]))}{more}" if numbers else "nothing on it"
        size = Size((max(p.outline.size_mm), min(p.outline.size_mm))).shown(units)
        lines.append(
            f"  {len(same):>3} x {size}, {_many(len(p.holes), 'hole')}: cut {show_mm(p.cut_mm, units, 0)}, "
            f"{_many(p.pierces, 'pierce')}; {told}"
        )
    return [*lines, f"      and {len(first) - MOST_LAYERS} more sorts"] if len(first) > MOST_LAYERS else lines


def _many(count: int, noun: str) -> str:
    more = "entities" if noun == "entity" else f"{noun}s"
    return f"{count} {noun if count == 1 else more}"


def _told(seen: Inspected, units: str, level: Level, title: str) -> list[str]:
    """List the findings of a level, with the numbers that the picture shows."""
    found = [(number, f) for number, f in enumerate(seen.told, start=1) if f.level == level]
    if not found:
        return []
    wide = max(len(f.code) for f in seen.told)
    lines = [f"  {title}"]
    for number, f in found:
        begin = f"  {number:>3} {_MARKS[level]} {f.code:<{wide}}  "
        lines += textwrap.wrap(f.text(units), 104, initial_indent=begin, subsequent_indent=" " * len(begin))
    return lines


def _clauses(title: str, told: Sequence[Line], units: str) -> list[str]:
    if not told:
        return []
    wrapped = [
        textwrap.wrap(line.text(units), 104, initial_indent="      ", subsequent_indent="      ") for line in told
    ]
    return [f"  {title}", *(line for lines in wrapped for line in lines)]
