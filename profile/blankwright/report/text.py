"""The report for a reader at a terminal: short, aligned, in the reader's units. Prints what the report data hold."""

from __future__ import annotations

import textwrap
from typing import Any

from blankwright.base.units import in_units, show_area_mm2, show_g, show_mm
from blankwright.knife.holes import made_words
from blankwright.report.weights import balance_lines

_CURVE = ("EDGE-BUMP", "EDGE-FLAT", "BELLY-RADIUS", "NOTCH-RADIUS", "GRIP", "KNUCKLES")
"""Checks whose words are worth reading when nothing is wrong: how the curve will feel and grind."""

_MARKS = {"warning": "!", "error": "x"}


def text_report(report: dict[str, Any], units: str, size_words: str, folder: str) -> str:
    """Return the report as lines of text.

    Args:
        report: The report data (the layout of S.json).
        units: "mm" or "in", for reading only.
        size_words: Overall size of the part in words.
        folder: Where the files are.
    """
    blocks = [
        head_lines(report, units),
        _defaults(report),
        _dimensions(report, units),
        [size_words],
        _allowance(report, units),
        _clearance(report, units),
        _weights(report, units),
        _holes(report, units),
        _curve(report, units),
        _checks(report, units),
        _to_maker(report),
        _cautions(report),
        _files(report, folder),
    ]
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def head_lines(report: dict[str, Any], units: str) -> list[str]:
    """Return the line that says which knife, stock and process this is."""
    design, material = report["design"], report["material"]
    thickness = float(design["material"]["thickness"].split()[0])
    way = report["allowance"]["process"] or report["start"]["words"]
    return [
        f"{design['name']}  ({design['handle']['construction']}, {material['title']}, "
        f"{show_mm(thickness, units)}, {way})  design {report['design_code']}"
    ]


def _defaults(report: dict[str, Any]) -> list[str]:
    """Say which settings nobody asked for: the family gave them, and the report file says from where."""
    design, sources = report["design"], report["design_sources"]
    idle = ["grind."]
    if not design.get("pins", {}).get("count"):
        idle.append("pins.")
    if design["handle"]["construction"] != "full":
        idle.append("scales.")
    given = [key for key, source in sources.items() if source != "asked" and not key.startswith(tuple(idle))]
    if not given:
        return []
    text = f"from the family, not asked: {', '.join(given)}"
    return textwrap.wrap(text, 96, initial_indent="  ", subsequent_indent="  ")


def _dimensions(report: dict[str, Any], units: str) -> list[str]:
    rows = [(d["key"], d["asked_mm"], d["value_mm"], d["how"]) for d in report["dimensions"]]
    rows.append(("overall", None, report["dimensions_mm"]["overall_length"], "computed"))
    wide = max(len(r[0]) for r in rows)
    lines = [f"  {'dimension':<{wide}}  {'asked':>11}  {'reached':>11}"]
    for key, asked, value, how in rows:
        shown = show_mm(asked, units) if asked is not None else how
        lines.append(f"  {key:<{wide}}  {shown:>11}  {show_mm(value, units):>11}")
    return lines


def _allowance(report: dict[str, Any], units: str) -> list[str]:
    a = report["allowance"]
    if a["process"] is None:
        return []
    lines = ["  allowance   " + "   ".join(f"{r} {show_mm(mm, units)}" for r, mm in a["regions_mm"].items())]
    for part in a["parts"]:
        where = "" if len(part["regions"]) == len(a["regions_mm"]) else f" ({', '.join(part['regions'])})"
        standing = "" if part["status"] == part["for"] else f": {part['status']}"
        lines.append(f"    {show_mm(part['mm'], units, 3):>9}  {part['for']}{where}{standing}")
    return lines


def _clearance(report: dict[str, Any], units: str) -> list[str]:
    c = report["clearance"]
    if c["least_mm"] is None:
        return []
    x, y = (show_mm(v, units, 1) for v in c["at_mm"])
    return [
        f"  least clearance found in the file   {show_mm(c['least_mm'], units, 3)} at x {x}, y {y}",
        f"  left when the cut takes its worst   {show_mm(c['worst_case_part_mm'], units, 3)}",
    ]


_FLAT = (("blank, as cut", "cut_blank"), ("blank, ground to the line", "finished_blank"))


def _weights(report: dict[str, Any], units: str) -> list[str]:
    bought = report["start"]["bought"]
    rows = (("finished outline", "finished"), *(() if bought else (("cut outline", "cut"),)))
    lines = [f"  {name:<26}{show_area_mm2(report['outlines'][key]['area_mm2'], units):>12}" for name, key in rows]
    stages = (
        *((("blank, as bought", "cut_blank"),) if bought else _FLAT),
        ("blade and tang, ground", "ground_blade"),
        ("handle", "handle"),
        ("finished knife", "finished_knife"),
    )
    for name, key in stages:
        grams = report["mass_g"][key]
        if grams is not None and not (key == "handle" and grams == 0):
            lines.append(f"  {name:<26}{show_g(grams, units):>12}")
    lines += balance_lines(report, units)[:1]
    if report["not_weighed"]:
        lines.append(f"  {report['not_weighed']}")
    return lines


def _holes(report: dict[str, Any], units: str) -> list[str]:
    lines = []
    for h in report["holes"]:
        made = made_words(h["made_by"], h["cut_diameter_mm"], units)
        if h["made_by"] == "drill" and report["delivery"]:
            made += ", spot only" if report["delivery"]["marks"] else ", not in the file"
        place = f"x {show_mm(h['x_mm'], units):>11}, y {show_mm(h['y_mm'], units):>9}"
        lines.append(f"  {h['purpose']:<10} {show_mm(h['diameter_mm'], units):>9} at {place}   {made}")
    return lines


def _curve(report: dict[str, Any], units: str) -> list[str]:
    return [
        f"  {in_units(c['message'], units)}" for c in report["checks"] if c["code"] in _CURVE and c["level"] == "ok"
    ]


def _checks(report: dict[str, Any], units: str) -> list[str]:
    checks = report["checks"]
    count = {level: sum(c["level"] == level for c in checks) for level in ("ok", "warning", "error")}
    lines = [f"  checks   {count['ok']} ok, {count['warning']} to look at, {count['error']} wrong"]
    lines += [
        f"    {_MARKS[c['level']]} {c['code']}: {in_units(c['message'], units)}" for c in checks if c["level"] != "ok"
    ]
    return lines


def _to_maker(report: dict[str, Any]) -> list[str]:
    """Return what an order asks of the maker, not of the shop."""
    wide = [textwrap.wrap(text, 92, initial_indent="    ", subsequent_indent="    ") for text in report["to_maker"]]
    return ["  for the maker", *(line for lines in wide for line in lines)] if wide else []


def _cautions(report: dict[str, Any]) -> list[str]:
    return textwrap.wrap(report["cautions"], 96, initial_indent="  ", subsequent_indent="  ")


def _files(report: dict[str, Any], folder: str) -> list[str]:
    return [f"  wrote {folder}/{name}" for name in report["files"]]
