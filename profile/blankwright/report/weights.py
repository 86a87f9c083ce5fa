"""Weights for a reader at a terminal: stages, parts, bench figures and what moves them, as aligned tables."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from blankwright.base.units import MM_PER_INCH, show_area_mm2, show_g, show_mm


def weights_report(report: dict[str, Any], units: str, head: Sequence[str]) -> str:
    """Return the weights of a report as lines of text.

    Args:
        report: The report data (the layout of S.json), with "what_moves_it" when that was worked out.
        units: "mm" or "in", for reading only.
        head: Lines that stand first.
    """
    blocks = [
        list(head), _areas(report, units), _stages(report, units), _parts(report, units), _bench(report, units),
        _moves(report, units),
    ]  # fmt: skip
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def aim_report(found: dict[str, Any], units: str) -> str:
    """Return the outcome of aiming as lines of text."""
    lines = ["reached" if found["reached"] else "not within reach; the nearest figures"]
    rows = [("", "asked", "before", "now")]
    for key, name in (("weight_g", "weight"), ("balance_mm", "balance"), ("blade_area_mm2", "blade area")):
        asked = found["asked"].get(key)
        before, now = found["before"][key], found["figures"][key]
        rows.append((name, _figure(key, asked, units), _figure(key, before, units), _figure(key, now, units)))
    lines += [f"  {a:<12}{b:>12}{c:>12}{d:>12}" for a, b, c, d in rows]
    if found["changes"]:
        lines.append("")
        lines += [f"  {c['key']:<24}{c['from']:>12}  ->  {c['to']}" for c in found["changes"]]
    if found["limits"]:
        lines.append("")
        lines += [f"  {text}" for text in found["limits"]]
    return "\n".join(lines) + "\n"


def _figure(key: str, value: float | None, units: str) -> str:
    if value is None:
        return "-"
    if key == "weight_g":
        return show_g(value, units)
    return show_mm(value, units, 1) if key == "balance_mm" else show_area_mm2(value, units)


def _areas(report: dict[str, Any], units: str) -> list[str]:
    rows = (("finished outline", "finished"), ("cut outline", "cut"))
    return [f"  {name:<26}{show_area_mm2(report['outlines'][key]['area_mm2'], units):>12}" for name, key in rows]


def _stages(report: dict[str, Any], units: str) -> list[str]:
    lines = [f"  {'stage':<26}{'weight':>12}{'taken off':>12}{'balance':>12}"]
    for s in report["stages"]:
        off = show_g(s["taken_off_g"], units) if s["taken_off_g"] is not None else ""
        lines.append(
            f"  {s['name']:<26}{show_g(s['mass_g'], units):>12}{off:>12}{show_mm(s['centre_mm'][0], units, 1):>12}"
        )
    return lines


def _parts(report: dict[str, Any], units: str) -> list[str]:
    if report["not_weighed"]:
        return [f"  {report['not_weighed']}"]
    lines = [f"  {'part':<26}{'weight':>12}{'volume':>12}{'balance':>12}"]
    lines += [
        f"  {p['name']:<26}{show_g(p['mass_g'], units):>12}{_volume(p['volume_mm3'], units):>12}"
        f"{show_mm(p['centre_mm'][0], units, 1):>12}"
        for p in report["parts"]
    ]
    lines.append(f"  {'finished knife':<26}{show_g(report['mass_g']['finished_knife'], units):>12}")
    return [*lines, *balance_lines(report, units)]


def balance_lines(report: dict[str, Any], units: str) -> list[str]:
    """Return where the knife balances, and how it hangs in a pinch grip."""
    balance, pinch = report["balance_mm"], report["pinch"]
    if balance is None:
        return []
    side = "ahead of the heel" if balance >= 0 else "behind the heel"
    lines = [f"  {'balance':<26}{show_mm(abs(balance), units, 1):>12} {side}"]
    moment = pinch["moment_nmm"]
    drops = "the tip drops" if moment > 0 else "the butt drops"
    where = f"about a pinch {show_mm(pinch['x_mm'], units, 0 if units == 'mm' else None)} ahead of the heel"
    lines.append(f"  {'moment':<26}{abs(moment):>7.0f} N mm {where}; {drops}")
    return lines


def _volume(value_mm3: float, units: str) -> str:
    return f"{value_mm3 / MM_PER_INCH**3:.3f} in³" if units == "in" else f"{value_mm3 / 1000:.2f} cm³"


def _bench(report: dict[str, Any], units: str) -> list[str]:
    stations = report["bench"]
    if not stations:
        return []
    rows: list[tuple[str, list[str]]] = [
        ("blade height", [show_mm(s["height_mm"], units) for s in stations]),
        ("spine", [show_mm(s["spine_mm"], units) for s in stations]),
        ("grind height", [show_mm(s["grind_height_mm"], units) for s in stations]),
        ("bevel, finished", [_pair(s["bevel_deg"], _degrees) for s in stations]),
    ]
    if stations[0]["platen_deg"]:
        rows += [
            ("platen, before hardening", [_pair(s["platen_deg"], _degrees) for s in stations]),
            ("scribe the edge from each face", [_pair(s["scribe_mm"], lambda v: show_mm(v, units)) for s in stations]),
        ]
    rows += [
        ("raise the spine on the stone", [_pair(s["raise_mm"], lambda v: show_mm(v, units, 1)) for s in stations]),
        ("clear under the spine then", [_pair(s["gap_mm"], lambda v: show_mm(v, units, 1)) for s in stations]),
    ]
    names = [s["at"] for s in stations]
    wide = [max(len(name), *(len(cells[i]) for _, cells in rows)) + 3 for i, name in enumerate(names)]
    lines = [f"  {'at the bench':<32}" + "".join(f"{n:>{w}}" for n, w in zip(names, wide, strict=True))]
    lines += [f"  {name:<32}" + "".join(f"{c:>{w}}" for c, w in zip(cells, wide, strict=True)) for name, cells in rows]
    if any(s["bevel_deg"][0] != s["bevel_deg"][1] for s in stations):
        lines.append("  two figures: right side / left side, seen from the handle with the edge down")
    return lines


def _degrees(value: float) -> str:
    return f"{value:.2f} deg"


def _pair(values: Sequence[float], show: Any) -> str:
    """Write one figure when both sides are alike, else both."""
    right, left = show(values[0]), show(values[1])
    return right if right == left else f"{right} / {left}"


def _moves(report: dict[str, Any], units: str) -> list[str]:
    moves = report.get("what_moves_it")
    if not moves:
        return []
    wide = max(len(m["change"]) for m in moves) + 2
    lines = [f"  {'what moves it':<{wide}}{'weight':>12}{'balance':>12}"]
    for m in moves:
        if m["mass_g"] is None:
            lines.append(f"  {m['change']:<{wide}}{'-':>12}{'-':>12}   {m['why_not'].split(':')[0].split('. ')[0]}")
            continue
        grams, mm = show_g(m["mass_g"], units), show_mm(m["balance_mm"], units, 1)
        lines.append(f"  {m['change']:<{wide}}{_signed(grams):>12}{_signed(mm):>12}")
    return [*lines, "  balance: plus is toward the tip"]


def _signed(text: str) -> str:
    return text if text.startswith("-") else f"+{text}"
