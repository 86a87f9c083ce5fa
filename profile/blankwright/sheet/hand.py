"""Whether the handle fits the hand that will hold it: length against hand breadth, room for the knuckles."""

from __future__ import annotations

from blankwright.design.block import block_outline, has_block
from blankwright.design.tang import chord_at
from blankwright.errors import RequestError
from blankwright.sheet.context import Knife
from blankwright.sheet.model import Row, Standing
from blankwright.sheet.words import OUTLINE, mm, practice, published
from blankwright.units import length_mm

OVER_PALM_MM = 20.0
"""Our proposal: a handle should be this much longer than the hand is broad."""

_BREADTHS: dict[str, dict[int, float]] = {
    "men": {1: 78, 5: 81, 10: 83, 50: 88, 90: 94, 95: 96, 99: 99},
    "women": {1: 69.85, 5: 72, 10: 73, 50: 78, 90: 83, 95: 85, 99: 87},
}
"""Hand breadth by percentile [mm], computed from the per-person file of ANSUR II."""

_SURVEY = published("ANSUR II, 2012, hand breadth; soldiers, not cooks: percentiles computed from the per-person file")
_ROOM = practice("our proposal: a handle 20 mm longer than the hand is broad")
_LEAST, _MOST = 50.0, 130.0


def hand_breadth(words: str) -> tuple[float, str, Standing]:
    """Return a hand's breadth [mm], what to call it and where it comes from.

    Args:
        words: "men 50", "women 5", or a breadth such as "88 mm".

    Raises:
        RequestError: No such hand.
    """
    parts = words.split()
    if parts and parts[0] in _BREADTHS:
        table = _BREADTHS[parts[0]]
        if len(parts) != 2 or parts[1] not in {str(p) for p in table}:
            raise RequestError(
                f"--hand: '{words}' is unknown. Percentiles: {', '.join(map(str, table))}, as in men 50."
            )
        return table[int(parts[1])], f"{parts[0]}, percentile {parts[1]}", _SURVEY
    if not words.strip()[:1].isdigit():
        raise RequestError(f"--hand: '{words}' is unknown. Write men 50, women 95, or a breadth such as 88 mm.")
    breadth = length_mm(words, "--hand")
    if not _LEAST <= breadth <= _MOST:
        raise RequestError(f"--hand: {breadth:g} mm is out of range. Allowed: {_LEAST:g} to {_MOST:g} mm, measured "
                           "across the palm without the thumb.")  # fmt: skip
    return breadth, "your hand", Standing("your own measure, given with --hand", "computed")


def hand_rows(knife: Knife, words: str | None) -> tuple[Row, ...]:
    """Return the check of the handle against a hand; without one, against what it serves.

    Args:
        knife: The knife.
        words: As for hand_breadth, or None.

    Raises:
        RequestError: No such hand.
    """
    length = knife.work.shape.front_x_mm - knife.work.shape.butt_x_mm
    rows = [Row("Handle serves a hand up to", (mm(length - OVER_PALM_MM, 0),), _ROOM,
                "broad: the handle's length less some room at both ends")]  # fmt: skip
    if words is not None:
        breadth, name, where = hand_breadth(words)
        fits = length - OVER_PALM_MM >= breadth
        says = "fits" if fits else "the handle is short for it: ask for a longer one, or hold a dummy first"
        rows.append(Row(f"Breadth of {name}" if name == "your hand" else f"Breadth of a hand ({name})",
                        (mm(breadth, 0),), where, says))  # fmt: skip
    room = _underside(knife)
    if room is not None:
        rows.append(Row("Room for the knuckles, halfway", (mm(max(room, 0.0), 0),), OUTLINE,
                        "above the board; measure your own: fist on a dummy, ruler on the table"))  # fmt: skip
    return tuple(rows)


def _underside(knife: Knife) -> float | None:
    shape, design = knife.work.shape, knife.work.design
    middle = (shape.front_x_mm + shape.butt_x_mm) / 2
    if has_block(design):
        plan = block_outline(shape, design.number("block.front_height"), design.number("block.butt_height"))
        chord = chord_at(plan, middle)
    elif knife.construction == "hidden":
        return None
    else:
        chord = chord_at(shape.finished, middle)
    return chord[0] if chord else None
