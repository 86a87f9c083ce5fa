"""Short hands for the rooms of the sheet: quantities, standings, lines."""

from __future__ import annotations

from blankwright.base.said import Line, Quantity, Standing, Value
from blankwright.shop.records import Figure

OUTLINE = Standing("from the solved outline of this design", "computed")
WEIGHED = Standing("from outline, grind, holes and the density of the material", "computed")
GROUND = Standing("from outline, stock, taper and bevel of this design", "computed")
ASKED = Standing("from the design: what was asked, or its family's default", "computed")
PLACES = Standing("the places that are measured: our choice along this blade", "computed")
PRACTICE = Standing("rule of the trade", "common practice")

OWN = frozenset({OUTLINE, WEIGHED, GROUND, ASKED, PLACES})
"""Standings of the design itself: on paper such a figure has no mark, for it has no source to look up."""

NEAR_TIP = "near tip"
STATIONS = {0: "heel", 1: "middle", 2: NEAR_TIP}
"""Heads of the places that are measured, on the bench card."""


def mm(value: float, digits: int = 1, upto: float | None = None) -> Quantity:
    """Return a length [mm]."""
    return Quantity(value, "mm", digits, upto)


def grams(value: float) -> Quantity:
    """Return a mass [g]."""
    return Quantity(value, "g", 1)


def deg(value: float, digits: int = 1) -> Quantity:
    """Return an angle [degrees]."""
    return Quantity(value, "deg", digits)


def celsius(value: float, upto: float | None = None) -> Quantity:
    """Return a temperature [°C]."""
    return Quantity(value, "°C", 0, upto)


def practice(source: str) -> Standing:
    """Return the standing of a rule of the trade."""
    return Standing(source, "common practice")


def published(source: str) -> Standing:
    """Return the standing of a published figure."""
    return Standing(source, "published")


def computed(source: str) -> Standing:
    """Return the standing of a computed figure."""
    return Standing(source, "computed")


def standing(figure: Figure) -> Standing:
    """Return the standing of a row of the trade's tables."""
    return Standing(figure.source, figure.status)


def lines(*words: str) -> tuple[Line, ...]:
    """Return sentences without numbers."""
    return tuple(Line(each) for each in words)


def said(words: str, standing: Standing, *values: Value) -> Line:
    """Return a sentence with numbers."""
    return Line(words, values, standing)
