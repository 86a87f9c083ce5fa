"""Whether the handle fits the hand that will hold it: length against hand breadth, room for the knuckles."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.said import Standing
from blankwright.base.units import length_mm
from blankwright.knife.handle import for_the_board, knuckle_room_mm
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row
from blankwright.sheet.quantities import OUTLINE, mm
from blankwright.sheet.tablelines import band_row
from blankwright.shop.hand import finger_room, grip_over_breadth, percentile_hand

_LEAST, _MOST = 50.0, 130.0
_FOR_THE_HAND = "less than knuckles need: a knife for the hand"


def hand_breadth(words: str) -> tuple[float, str, Standing]:
    """Return a hand's breadth [mm], what to call it and where it comes from.

    Args:
        words: "men 50", "women 5", or a breadth such as "88 mm".

    Raises:
        RequestError: No such hand.
    """
    if words.split()[:1] in (["men"], ["women"]):
        hand = percentile_hand(words)
        return hand.breadth_mm, hand.name, Standing(hand.source, hand.status)
    if not words.strip()[:1].isdigit():
        raise RequestError(f"--hand: '{words}' is unknown. Write men 50, women 95, or a breadth such as 88 mm.")
    breadth = length_mm(words, "--hand")
    if not _LEAST <= breadth <= _MOST:
        raise RequestError(f"--hand: {breadth:g} mm is out of range. Allowed: {_LEAST:g} to {_MOST:g} mm, measured "
                           "across the palm without the thumb.")  # fmt: skip
    return breadth, "your hand", Standing("your own measure, given with --hand", "measured")


def hand_rows(knife: Knife, words: str | None) -> tuple[Row, ...]:
    """Return the check of the handle against a hand; without one, against what it serves.

    Args:
        knife: The knife.
        words: As for hand_breadth, or None.

    Raises:
        RequestError: No such hand.
    """
    length = knife.shape.front_x_mm - knife.shape.butt_x_mm
    grip = grip_over_breadth()
    rows = [Row("Handle serves a hand up to", (mm(length - grip.low, 0),), Standing(grip.source, grip.status),
                "broad: the handle's length less some room at both ends")]  # fmt: skip
    if words is not None:
        breadth, name, where = hand_breadth(words)
        fits = length - grip.low >= breadth
        says = "fits" if fits else "the handle is short for it: ask for a longer one, or hold a dummy first"
        rows.append(Row(f"Breadth of {name}" if name == "your hand" else f"Breadth of a hand ({name})",
                        (mm(breadth, 0),), where, says))  # fmt: skip
    room = knuckle_room_mm(knife.shape, knife.handle)
    if room is not None:
        says = "measure your own: fist on a dummy, ruler on the table" if for_the_board(room) else _FOR_THE_HAND
        rows += [
            Row("Room for the knuckles, halfway", (mm(room, 0),), OUTLINE, f"above the board; {says}"),
            band_row("Knuckles need (rule of thumb)", finger_room(), "for work on a board"),
        ]
    return tuple(rows)
