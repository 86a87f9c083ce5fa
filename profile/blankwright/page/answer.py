"""The first answer to an edit: the drawing, what can be taken hold of, every value. Built within a blink."""

from __future__ import annotations

from typing import Any

from blankwright.base.units import show_mm
from blankwright.geometry.outline import Outline
from blankwright.ink.svg import line_data, path_data
from blankwright.knife.knife import Knife
from blankwright.page.form import values
from blankwright.page.grips import Arrow, Grip, arrows_of, grips_of
from blankwright.page.steer import Limit, pin_grips
from blankwright.page.typed import shown

_DIGITS = 4


def shape_answer(knife: Knife, table: dict[str, Any], units: str, limit: Limit | None) -> dict[str, Any]:
    """Return what the page draws.

    Args:
        knife: The knife.
        table: The design as a table, for how values were written.
        units: mm or in.
        limit: What was wanted and cannot be, if anything.
    """
    shape = knife.shape
    arrows = arrows_of(shape)
    x0, y0, x1, y1 = knife.cut.bounds_mm
    box = (min(x0, shape.butt_x_mm), y0, x1, y1)
    return {
        "say": "shape",
        "frame": [round(v, _DIGITS) for v in box],
        "finished": {"d": path_data(knife.finished)},
        "cut": None if knife.start.bought else {"d": path_data(knife.cut)},
        "lines": _lines(knife),
        "holes": [_hole(h.circle, h.hole.purpose) for h in knife.holes],
        "front_mm": None if knife.construction == "one-piece" else shape.front_x_mm,
        "butt_mm": shape.butt_x_mm,
        "values": values(knife, table, units),
        "grips": [_grip(g) for g in (*grips_of(shape, arrows), *pin_grips(knife))],
        "arrows": [_arrow(a, units) for a in arrows],
        "limit": limit and limit_answer(limit, units),
    }


def limit_answer(limit: Limit, units: str) -> dict[str, str]:
    """Return what could not be, in words."""
    wanted, reached = (shown(limit.key, v, units) for v in (limit.wanted_mm, limit.reached_mm))
    return {"key": limit.key, "wanted": wanted, "reached": reached, "why": limit.why}


def _lines(knife: Knife) -> list[dict[str, str]]:
    """Return the lines on the face, and the block on a hidden tang."""
    face = knife.face
    behind = " (other face)" if face.behind else ""
    named = [*(("grind line", chain) for chain in face.grind)]
    named += [("plunge line", face.plunge)] if face.plunge else []
    found = [{"name": name + behind, "d": line_data(chain)} for name, chain in named]
    block = knife.block
    return found + ([{"name": "handle block", "d": path_data(block)}] if block else [])


def _hole(circle: tuple[float, float, float], purpose: str) -> dict[str, Any]:
    x, y, across = circle
    return {"at": _place((x, y)), "mm": round(across, _DIGITS), "purpose": purpose}


def _place(at: tuple[float, float]) -> list[float]:
    return [round(at[0], _DIGITS), round(at[1], _DIGITS)]


def _grip(grip: Grip) -> dict[str, Any]:
    keys = {axis: pull.key if pull else None for axis, pull in (("x", grip.x), ("y", grip.y))}
    return {"id": grip.name, "words": grip.words, "at": _place(grip.at), **keys}


def _arrow(arrow: Arrow, units: str) -> dict[str, Any]:
    grip = arrow.grip
    return {
        "key": arrow.key, "words": arrow.words, "shown": show_mm(arrow.value_mm, units, 1), "axis": arrow.axis,
        "a": _place(arrow.a), "b": _place(arrow.b), "grip": grip.name if grip else None,
    }  # fmt: skip


def silhouette(outline: Outline) -> dict[str, Any]:
    """Return an outline alone, to be shown beside others at one scale."""
    return {"d": path_data(outline), "frame": [round(v, _DIGITS) for v in outline.bounds_mm]}
