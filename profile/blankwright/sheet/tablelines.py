"""Lines and rows from the tables of the trade: rules, cautions by stage, ranges, each with its standing."""

from __future__ import annotations

import re
from collections.abc import Sequence

from blankwright.base.errors import named
from blankwright.base.said import Line, Quantity, Standing
from blankwright.sheet.model import Row
from blankwright.shop.bands import Band, Rule
from blankwright.shop.stagecautions import stage

_DEGREES = re.compile(r"(\d) ([CF])\b")


def rule_line(rule: Rule, before: str = "") -> Line:
    """Return a rule of the tables as a line."""
    words = spelled(before + rule.text).replace("{", "(").replace("}", ")")
    return Line(words, (), Standing(rule.source, rule.status))


def spelled(text: str) -> str:
    """Return a text of the tables with its units as they are printed: 210 C as 210 °C, mg/m3 as mg/m³."""
    return _DEGREES.sub(r"\1 °\2", text).replace("g/m3", "g/m³")


def rule_lines(rules: Sequence[Rule]) -> tuple[Line, ...]:
    """Return rules of the tables as lines."""
    return tuple(rule_line(rule) for rule in rules)


def to_do(rules: Sequence[Rule]) -> tuple[Line, ...]:
    """Return those rules of the tables that say what to do."""
    return rule_lines([rule for rule in rules if rule.kind == "do"])


def to_know(rules: Sequence[Rule]) -> tuple[Line, ...]:
    """Return those rules of the tables that say what to know."""
    return rule_lines([rule for rule in rules if rule.kind == "know"])


def cautions_of(name: str, *which: str) -> tuple[Line, ...]:
    """Return the cautions of a stage of the trade's table.

    Args:
        name: The stage's name there.
        which: Names of its cautions, in the order they are said in; none for all.

    Raises:
        RequestError: No such stage or caution; the message suggests the nearest.
    """
    rules = stage(name).rules
    if not which:
        return rule_lines(rules)
    known = {rule.name: rule for rule in rules if rule.name}
    return rule_lines([named(f"caution of '{name}'", one, known) for one in which])


def band_row(label: str, band: Band, note: str = "", digits: int = 0, card: str = "") -> Row:
    """Return a row of a range from the tables."""
    unit = {"C": "°C", "times": "times"}.get(band.unit, band.unit)
    value = Quantity(band.low, unit, digits, band.high if band.high != band.low else None)
    return Row(label, (value,), Standing(band.source, band.status), note, card=card)
