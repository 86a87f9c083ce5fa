"""The report for a reader at a terminal: short, aligned, in the reader's units. Asks the knife and its proof."""

from __future__ import annotations

import textwrap

from blankwright.base.finding import LEVELS
from blankwright.base.units import show_area_mm2, show_g, show_mm
from blankwright.cutting.covernote import to_maker
from blankwright.design.parts import REGIONS
from blankwright.knife.knife import Knife
from blankwright.knife.words import part_words, stage_names
from blankwright.report.data import Report
from blankwright.report.weights import balance_lines

_TOLD = ("EDGE-BUMP", "NOTCH-RADIUS")
"""Checks whose words are worth reading when nothing is wrong."""

_MARKS = {"warning": "!", "error": "x"}

_WIDE = 96


def text_report(report: Report, units: str) -> str:
    """Return the report as lines of text.

    Args:
        report: The knife, and what was written of it.
        units: "mm" or "in", for reading only.
    """
    knife = report.knife
    blocks = [
        [head_line(knife, units)],
        _defaults(knife),
        _dimensions(knife, units),
        [part_words(knife)],
        _allowance(knife, units),
        _clearance(report, units),
        _weights(knife, units),
        _holes(report, units),
        _figures(report, units),
        _checks(report, units),
        _to_maker(report, units),
        textwrap.wrap(knife.cautions, _WIDE, initial_indent="  ", subsequent_indent="  "),
        [f"  wrote {report.folder}/{name}" for name in report.files],
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def head_line(knife: Knife, units: str) -> str:
    """Return the line that says which knife, stock and process this is."""
    way = knife.allowance.process if knife.allowance else knife.start.words
    way += ", left soft" if knife.start.soft and "soft" not in way else ""
    stock = f"{knife.material.title}, {show_mm(knife.stock_mm, units)}"
    return f"{knife.design.name}  ({knife.construction}, {stock}, {way})  design {knife.code}"


def _defaults(knife: Knife) -> list[str]:
    """Say which settings nobody asked for: the family gave them, and the report file says from where."""
    design = knife.design
    idle = ["grind.", *(("cutting.", "pins.") if knife.shape.there is not None else ())]
    if design.pins is None or not design.pins.count:
        idle.append("pins.")
    if knife.construction != "full":
        idle.append("scales.")
    given = [key for key in sorted(design.sources) if design.by_family(key) and not key.startswith(tuple(idle))]
    if not given:
        return []
    text = f"taken from the family: {', '.join(given)}"
    return textwrap.wrap(text, _WIDE, initial_indent="  ", subsequent_indent="  ")


def _dimensions(knife: Knife, units: str) -> list[str]:
    rows = [
        (s.dimension.key, s.asked_mm, s.value_mm, "measured" if s.dimension.measured else "follows")
        for s in knife.shape.solved
    ]
    rows.append(("overall", None, knife.shape.overall_length_mm, "computed"))
    wide = max(len(r[0]) for r in rows)
    lines = [f"  {'dimension':<{wide}}  {'asked':>11}  {'reached':>11}"]
    for key, asked, value, how in rows:
        shown = show_mm(asked, units) if asked is not None else how
        lines.append(f"  {key:<{wide}}  {shown:>11}  {show_mm(value, units):>11}")
    return lines


def _allowance(knife: Knife, units: str) -> list[str]:
    a = knife.allowance
    if a is None:
        return []
    lines = []
    if knife.service is not None:
        lines.append(f"  process     {a.process}, as {knife.service.title} cuts")
    lines.append("  allowance   " + "   ".join(f"{r} {show_mm(mm, units)}" for r, mm in a.regions_mm.items()))
    for part in a.parts:
        where = "" if len(part.regions) == len(REGIONS) else f" ({', '.join(part.regions)})"
        standing = "" if part.status == part.name else f": {part.status}"
        lines.append(f"    {show_mm(part.mm, units, 3):>9}  {part.name}{where}{standing}")
    return lines


def _clearance(report: Report, units: str) -> list[str]:
    proof = report.proof
    if proof is None or proof.least_mm is None or proof.at_mm is None or proof.worst_case_part_mm is None:
        return []
    x, y = (show_mm(v, units, 1) for v in proof.at_mm)
    return [
        f"  least clearance found in the file          {show_mm(proof.least_mm, units, 3)} at x {x}, y {y}",
        f"  still left in the worst case of the cut    {show_mm(proof.worst_case_part_mm, units, 3)}",
    ]


def _weights(knife: Knife, units: str) -> list[str]:
    weights, bought, names = knife.weights, knife.start.bought, stage_names(knife)
    areas = [("finished outline", knife.finished), *([] if bought else [("cut outline", knife.cut)])]
    lines = [f"  {name:<26}{show_area_mm2(outline.area_mm2, units):>12}" for name, outline in areas]
    stages = [] if knife.start.ground else [(f"blank, {knife.start.blank_words}", knife.cut_blank.mass_g)]
    stages += [] if bought else [(names.line, knife.finished_blank.mass_g)]
    for name, body in (
        (names.part, weights.ground_blade),
        ("handle", weights.handle if weights.handle and weights.handle.mass_g else None),
        ("finished knife", weights.finished_knife),
    ):
        stages += [(name, body.mass_g)] if body is not None else []
    lines += [f"  {name:<26}{show_g(grams, units):>12}" for name, grams in stages]
    lines += balance_lines(knife, units)[:1]
    return [*lines, *([f"  {weights.why_not}"] if weights.why_not else [])]


def _holes(report: Report, units: str) -> list[str]:
    lines = []
    for made in report.knife.holes:
        hole, how = made.hole, made.how.text(units)
        if made.made.made_by == "drill" and report.delivery:
            how += ", spot only" if report.delivery.style.marks else ", not in the file"
        place = f"x {show_mm(hole.x_mm, units):>11}, y {show_mm(hole.y_mm, units):>9}"
        lines.append(f"  {hole.purpose:<10} {show_mm(hole.diameter_mm, units):>9} at {place}   {how}")
    return lines


def _figures(report: Report, units: str) -> list[str]:
    """Say how the edge runs and how the knife lies in the hand: what is known, and what a check found in order."""
    fine = [f.text(units) for f in report.knife.findings if f.level == "ok" and f.code in _TOLD]
    told = [*(f.line.text(units) for f in report.knife.figures), *fine]
    return [line for text in told for line in textwrap.wrap(text, 116, initial_indent="  ", subsequent_indent="    ")]


def _checks(report: Report, units: str) -> list[str]:
    ok, look, wrong = (sum(f.level == level for f in report.findings) for level in LEVELS)
    lines = [f"  checks   {ok} ok, {look} to look at, {wrong} wrong"]
    for f in report.findings:
        if f.level in _MARKS:
            text = f"{_MARKS[f.level]} {f.code}: {f.text(units)}"
            lines += textwrap.wrap(text, 112, initial_indent="    ", subsequent_indent="      ")
    return lines


def _to_maker(report: Report, units: str) -> list[str]:
    """Return what an order asks of the maker, not of the shop."""
    told = [line.text(units) for line in to_maker(report.delivery)] if report.delivery else []
    wide = [textwrap.wrap(text, 92, initial_indent="    ", subsequent_indent="    ") for text in told]
    return ["  for the maker", *(line for lines in wide for line in lines)] if wide else []
