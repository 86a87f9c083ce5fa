"""The verdict on a cutting file for a reader at a terminal: short, aligned, in the reader's units."""

from __future__ import annotations

import textwrap
from typing import Any

from blankwright.base.units import in_units, show_mm

_MARKS = {"error": "x", "warning": "!"}


def inspected_text(report: dict[str, Any], units: str) -> str:
    """Return the verdict as lines of text.

    Args:
        report: The report data of `inspection`.
        units: "mm" or "in", for reading only.
    """
    blocks = [
        [_head(report)],
        _size(report, units),
        _facts(report, units),
        _told(report, units, "error", "faults"),
        _told(report, units, "warning", "to look at"),
        _mended(report, units),
        [f"  wrote {name}" for name in report["files"]],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def _head(report: dict[str, Any]) -> str:
    count = {level: sum(f["level"] == level for f in report["findings"]) for level in ("error", "warning")}
    if not any(count.values()):
        return f"inspect {report['file']}: fit to cut"
    faults = f"{count['error']} fault{'' if count['error'] == 1 else 's'}, " if count["error"] else "no faults, "
    return f"inspect {report['file']}: {faults}{count['warning']} to look at"


def _size(report: dict[str, Any], units: str) -> list[str]:
    if report["size_mm"] is None:
        return []
    return [in_units(f"The part is {report['size_words']}.", units)]


def _facts(report: dict[str, Any], units: str) -> list[str]:
    c = report["counts"]
    if not c["entities"]:
        return []
    shortest = "" if c["shortest_mm"] is None else f", the shortest {show_mm(c['shortest_mm'], units, 3)}"
    rows = [
        ("release", report["release"] or "not named"),
        ("unit", report["unit"] or "not named, taken as mm"),
        (
            "contours",
            f"{c['closed']} closed, {c['open']} open; {_many(c['holes'], 'hole')}, {_many(c['spots'], 'drill spot')}",
        ),
        ("pieces", f"{c['pieces']} lines and arcs{shortest}"),
    ]
    return [f"  {name:<10} {text}" for name, text in rows]


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _told(report: dict[str, Any], units: str, level: str, title: str) -> list[str]:
    """List the findings of a level, with the numbers that the picture shows."""
    found = [f for f in report["findings"] if f["level"] == level]
    if not found:
        return []
    wide = max(len(f["code"]) for f in report["findings"] if f["level"] in _MARKS)
    lines = [f"  {title}"]
    for f in found:
        head = f"  {f['number']:>3} {_MARKS[level]} {f['code']:<{wide}}  "
        lines += textwrap.wrap(
            in_units(f["message"], units), 104, initial_indent=head, subsequent_indent=" " * len(head)
        )  # fmt: skip
    return lines


def _mended(report: dict[str, Any], units: str) -> list[str]:
    if not report["mended"] and not report["not_mended"]:
        return []
    title = "not mended, nothing written" if report["not_mended"] else "mended"
    lines = [f"  {title}"]
    for text in report["not_mended"] or report["mended"]:
        lines += textwrap.wrap(in_units(text, units), 104, initial_indent="      ", subsequent_indent="      ")
    return lines
