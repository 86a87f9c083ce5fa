"""Weights for a reader at a terminal: stages, parts, bench figures and what moves them, as aligned tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from blankwright.base.said import Value
from blankwright.base.units import MM_PER_INCH, show_area_mm2, show_g, show_mm
from blankwright.knife.knife import Knife
from blankwright.knife.weights import PINCH_AHEAD_MM
from blankwright.report.data import stages_of

if TYPE_CHECKING:
    from blankwright.knife.aimed import Aimed
    from blankwright.knife.moves import Move


def weights_report(knife: Knife, moves: Sequence[Move], units: str, head: str) -> str:
    """Return the weights of a knife as lines of text.

    Args:
        knife: The knife.
        moves: What moves weight and balance, where that was worked out.
        units: "mm" or "in", for reading only.
        head: The line that stands first.
    """
    blocks = [
        [head], _areas(knife, units), _stages(knife, units), _parts(knife, units), _bench(knife, units),
        _moves(moves, units),
    ]  # fmt: skip
    return "\n\n".join("\n".join(block) for block in blocks if block) + "\n"


def aim_report(found: Aimed, units: str) -> str:
    """Return the outcome of aiming as lines of text."""
    lines = ["reached" if found.reached else "not within reach; the nearest figures"]
    rows = [("", "asked", "before", "now")]
    for key, name in (("weight_g", "weight"), ("balance_mm", "balance"), ("blade_area_mm2", "blade area")):
        figures = (found.asked.get(key), found.before[key], found.figures[key])
        asked, before, now = (_figure(key, value, units) for value in figures)
        rows.append((name, asked, before, now))
    lines += [f"  {a:<12}{b:>12}{c:>12}{d:>12}" for a, b, c, d in rows]
    if found.changes:
        shown = [(c.knob.key, *(_value(c.knob.told(v), units) for v in (c.knob.start, c.value))) for c in found.changes]
        lines += ["", *(f"  {key:<24}{before:>12}  ->  {now}" for key, before, now in shown)]
    if found.limits:
        lines += ["", *(f"  {line.text(units)}" for line in found.limits)]
    return "\n".join(lines) + "\n"


def _value(value: Value, units: str) -> str:
    return value if isinstance(value, str) else value.shown(units)


def _figure(key: str, value: float | None, units: str) -> str:
    if value is None:
        return "-"
    if key == "weight_g":
        return show_g(value, units)
    return show_mm(value, units, 1) if key == "balance_mm" else show_area_mm2(value, units)


def _areas(knife: Knife, units: str) -> list[str]:
    bought = knife.start.bought
    rows = (("finished outline", knife.finished), *(() if bought else (("cut outline", knife.cut),)))
    return [f"  {name:<26}{show_area_mm2(outline.area_mm2, units):>12}" for name, outline in rows]


def _stages(knife: Knife, units: str) -> list[str]:
    lines = [f"  {'stage':<26}{'weight':>12}{'taken off':>12}{'balance':>12}"]
    for stage in stages_of(knife):
        off = show_g(stage.taken_off_g, units) if stage.taken_off_g is not None else ""
        weight, balance = show_g(stage.mass_g, units), show_mm(stage.centre_mm[0], units, 1)
        lines.append(f"  {stage.name:<26}{weight:>12}{off:>12}{balance:>12}")
    return lines


def _parts(knife: Knife, units: str) -> list[str]:
    weights = knife.weights
    if weights.finished_knife is None:
        return [f"  {weights.why_not}"]
    lines = [f"  {'part':<26}{'weight':>12}{'volume':>12}{'balance':>12}"]
    lines += [
        f"  {p.name:<26}{show_g(p.body.mass_g, units):>12}{_volume(p.volume_mm3, units):>12}"
        f"{show_mm(p.body.centre_mm[0], units, 1):>12}"
        for p in weights.parts
    ]
    lines.append(f"  {'finished knife':<26}{show_g(weights.finished_knife.mass_g, units):>12}")
    return [*lines, *balance_lines(knife, units)]


def balance_lines(knife: Knife, units: str) -> list[str]:
    """Return where the knife balances, and how it hangs in a pinch grip."""
    balance, moment = knife.weights.balance_mm, knife.weights.pinch_nmm
    if balance is None or moment is None:
        return []
    side = "ahead of the heel" if balance >= 0 else "behind the heel"
    lines = [f"  {'balance':<26}{show_mm(abs(balance), units, 1):>12} {side}"]
    drops = "the tip drops" if moment > 0 else "the butt drops"
    where = f"about a pinch {show_mm(PINCH_AHEAD_MM, units, 0 if units == 'mm' else None)} ahead of the heel"
    lines.append(f"  {'moment':<26}{abs(moment):>7.0f} N mm {where}; {drops}")
    return lines


def _volume(value_mm3: float, units: str) -> str:
    return f"{value_mm3 / MM_PER_INCH**3:.3f} in³" if units == "in" else f"{value_mm3 / 1000:.2f} cm³"


def _bench(knife: Knife, units: str) -> list[str]:
    stations = knife.stations
    if not stations:
        return []
    rows: list[tuple[str, list[str]]] = [
        ("blade height", [show_mm(s.height_mm, units) for s in stations]),
        ("spine", [show_mm(s.spine_mm, units) for s in stations]),
        ("grind height", [show_mm(s.grind_height_mm, units) for s in stations]),
        ("bevel, finished", [_pair(s.bevel_deg, _degrees) for s in stations]),
    ]
    if stations[0].platen_deg:
        rows += [
            ("platen, before hardening", [_pair(s.platen_deg or (), _degrees) for s in stations]),
            (
                "scribe the edge from each face",
                [_pair(s.scribe_mm or (), lambda v: show_mm(v, units)) for s in stations],
            ),
        ]
    if any(lift is not None for s in stations for lift in s.raise_mm):
        rows += [
            ("raise the spine on the stone", [_stone(s.raise_mm, units) for s in stations]),
            ("clear under the spine then", [_stone(s.gap_mm, units) for s in stations]),
        ]
    names = [s.place.text(units) for s in stations]
    wide = [max(len(name), *(len(cells[i]) for _, cells in rows)) + 3 for i, name in enumerate(names)]
    lines = [f"  {'at the bench':<32}" + "".join(f"{n:>{w}}" for n, w in zip(names, wide, strict=True))]
    lines += [f"  {name:<32}" + "".join(f"{c:>{w}}" for c, w in zip(cells, wide, strict=True)) for name, cells in rows]
    if any(len(set(pair)) > 1 for s in stations for pair in (s.bevel_deg, s.raise_mm)):
        lines.append("  two figures: right side / left side, seen from the handle with the edge down")
    return lines


def _degrees(value: float) -> str:
    return f"{value:.2f} deg"


def _pair(values: Sequence[float], show: Callable[[float], str]) -> str:
    """Write one figure when both sides are alike, else both; nothing for none."""
    return " / ".join(dict.fromkeys(show(value) for value in values))


def _stone(values: Sequence[float | None], units: str) -> str:
    """Write a distance from the stone for each side, or for both; a flat side lies down whole."""
    return " / ".join(dict.fromkeys("flat" if v is None else show_mm(v, units, 1) for v in values))


def _moves(moves: Sequence[Move], units: str) -> list[str]:
    if not moves:
        return []
    rows = [(move.change.text(units), move) for move in moves]
    wide = max(len(words) for words, _ in rows) + 2
    lines = [f"  {'what moves it':<{wide}}{'weight':>12}{'balance':>12}"]
    for words, move in rows:
        if move.grams is None or move.balance_mm is None:
            lines.append(f"  {words:<{wide}}{move.in_short:>12}")
        else:
            grams, balance = show_g(move.grams, units), show_mm(move.balance_mm, units, 1)
            lines.append(f"  {words:<{wide}}{_signed(grams):>12}{_signed(balance):>12}")
    return [*lines, "  balance: plus is toward the tip"]


def _signed(text: str) -> str:
    """Write the sign of a figure; nothing has none."""
    return text if text.startswith("-") or float(text.split(maxsplit=1)[0]) == 0 else f"+{text}"
