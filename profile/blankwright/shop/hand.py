"""Does a handle suit a hand: its length against the palm, the room for knuckles over the board.

A hand is the maker's own measures, or a percentile of a survey by name, such as "women 50". The survey does not
hold the depth of a finger, so the room for knuckles needs a measure of one's own; the usual guess is
offered as a guess.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.said import STATUSES
from blankwright.shop.bands import Band, read_band

__all__ = [
    "GRIP_OVER_BREADTH_MM",
    "KNUCKLE_GAP_MM",
    "OWN",
    "Hand",
    "HandFit",
    "finger_room_guess",
    "handle_length",
    "knuckles",
    "own_hand",
    "percentile_hand",
    "percentile_mm",
    "percentile_names",
]  # fmt: skip

GRIP_OVER_BREADTH_MM = 20.0
"""A grip is longer than the palm is broad by this (our proposal; one page starts at 110 mm, another at 127) [mm]."""

KNUCKLE_GAP_MM = 3.0
"""What stays free between a finger and the board (our proposal) [mm]."""

OWN = "measured"
"""Standing of a maker's own measure; it stands beside STATUSES."""

_TABLE = Path(__file__).parent / "data" / "hands.toml"
_SEXES = ("women", "men")
_MEASURES = ("breadth", "length", "palm", "circumference")
_BREADTH_MM, _LENGTH_MM = (50.0, 130.0), (120.0, 260.0)  # nobody's hand is outside; an inch would be


@dataclass(frozen=True)
class Hand:
    """A hand.

    Args:
        name: Such as "women 50" or "your own".
        breadth_mm: Across the palm, without the thumb [mm].
        length_mm: Wrist crease to the tip of the middle finger [mm].
        finger_depth_mm: Thickness of a finger from board to handle in the grip, or None where it is not known [mm].
        source: Where it comes from.
        status: One of STATUSES, or OWN.
    """

    name: str
    breadth_mm: float
    length_mm: float
    finger_depth_mm: float | None
    source: str
    status: str

    def __post_init__(self) -> None:
        for what, value, (least, most) in (
            ("breadth", self.breadth_mm, _BREADTH_MM),
            ("length", self.length_mm, _LENGTH_MM),
        ):
            if not least <= value <= most:
                raise RequestError(f"hand {what}: must be {least:g} to {most:g} mm, got {value:g}.")
        if self.finger_depth_mm is not None and not 8 <= self.finger_depth_mm <= 40:
            raise RequestError(f"finger depth: must be 8 to 40 mm, got {self.finger_depth_mm:g}.")
        if not self.name or not self.source or self.status not in (*STATUSES, OWN):
            raise RequestError("a hand needs a name, a source and a known status.")

    @property
    def grip_least_mm(self) -> float:
        """Shortest handle that the whole palm holds [mm]."""
        return self.breadth_mm + GRIP_OVER_BREADTH_MM


@dataclass(frozen=True)
class HandFit:
    """How something suits a hand.

    Args:
        good: True when there is room enough; None when it cannot be told.
        spare_mm: What is left over, negative when short [mm]; None when it cannot be told.
        words: In a sentence, with the standing of what it rests on.
    """

    good: bool | None
    spare_mm: float | None
    words: str

    def __post_init__(self) -> None:
        told = self.good is not None and self.spare_mm is not None and self.good == (self.spare_mm >= 0)
        if not (told or (self.good is None and self.spare_mm is None)) or not self.words:
            raise RequestError("a fit needs words, and good and spare that agree.")


@cache
def _data() -> dict[str, Any]:
    return read_toml(_TABLE)


def percentile_names() -> tuple[str, ...]:
    """Return the names of all percentile hands."""
    return tuple(f"{sex} {percent}" for sex in _SEXES for percent in _data()["survey"]["percentiles"])


def percentile_hand(name: str) -> Hand:
    """Return a hand of the survey by name.

    Args:
        name: "women" or "men" and a percentile of the table, such as "women 50".

    Raises:
        RequestError: No such hand in the table; nothing is put between its columns.

    >>> percentile_hand("women 50").breadth_mm
    78.0
    """
    words = " ".join(str(name).lower().split())
    if words not in percentile_names():
        raise unknown("hand", words, percentile_names())
    sex, percent = words.split()
    place = _data()["survey"]["percentiles"].index(int(percent))
    row = {measure: float(_data()[sex][measure][place]) for measure in _MEASURES}
    survey = _data()["survey"]
    return Hand(words, row["breadth"], row["length"], None, survey["source"], survey["status"])


def percentile_mm(name: str, measure: str) -> float:
    """Return one measure of a hand of the survey [mm].

    Args:
        name: As for percentile_hand.
        measure: "breadth", "length", "palm" or "circumference".

    Raises:
        RequestError: No such hand or measure.
    """
    if measure not in _MEASURES:
        raise unknown("measure of a hand", measure, _MEASURES)
    found = percentile_hand(name).name.split()
    place = _data()["survey"]["percentiles"].index(int(found[1]))
    return float(_data()[found[0]][measure][place])


def own_hand(*, breadth_mm: float, length_mm: float, finger_depth_mm: float | None) -> Hand:
    """Return a hand from one's own measures.

    Args:
        breadth_mm: Across the palm, without the thumb [mm].
        length_mm: Wrist crease to the tip of the middle finger [mm].
        finger_depth_mm: Finger in the grip, measured; None when it was not [mm].

    Raises:
        RequestError: A measure that no hand has.
    """
    return Hand("your own", breadth_mm, length_mm, finger_depth_mm, "your own measures", OWN)


def _guess(name: str) -> Band:
    row = Fields(_data(), _TABLE.name).sub("guess").sub(name)
    return read_band(row, "mm", 5, 300)


def finger_room_guess() -> Band:
    """Return the usual guess of the room under a handle, where no finger was measured [mm]."""
    return _guess("finger_room")


def handle_length(hand: Hand, length_mm: float) -> HandFit:
    """Say whether a handle is long enough for a hand.

    Args:
        hand: The hand.
        length_mm: Length of the handle [mm].

    Raises:
        RequestError: No such handle.
    """
    if not 20 <= length_mm <= 400:
        raise RequestError(f"handle: must be 20 to 400 mm long, got {length_mm:g}.")
    spare_mm = length_mm - hand.grip_least_mm
    least = _guess("least_handle")
    words = (
        f"Handle {length_mm:.0f} mm; a palm {hand.breadth_mm:.0f} mm broad ({hand.name}) wants "
        f"{hand.grip_least_mm:.0f} mm (breadth + {GRIP_OVER_BREADTH_MM:g}, our proposal)"
    )
    words += f": {spare_mm:.0f} mm to spare." if spare_mm >= 0 else f": {-spare_mm:.0f} mm short."
    if length_mm < least.low:
        words += f" Hand tools are advised to have {least.printed} ({least.status})."
    return HandFit(spare_mm >= 0, spare_mm, words)


def knuckles(hand: Hand, clearance_mm: float) -> HandFit:
    """Say whether knuckles clear the board under a handle.

    Args:
        hand: The hand; without a measured finger only the usual guess is set beside the clearance.
        clearance_mm: Height of the handle's underside above the board at the grip, the edge on the board [mm].

    Raises:
        RequestError: No such clearance.
    """
    if not -100 <= clearance_mm <= 200:
        raise RequestError(f"clearance: must be -100 to 200 mm, got {clearance_mm:g}.")
    if hand.finger_depth_mm is None:
        guess = finger_room_guess()
        words = (
            f"{clearance_mm:.0f} mm under the handle; {guess.words()} is a starting guess ({guess.status}). "
            "The survey holds no depth of fingers: measure your own with the fist on a dummy."
        )
        return HandFit(None, None, words)
    need_mm = hand.finger_depth_mm + KNUCKLE_GAP_MM
    spare_mm = clearance_mm - need_mm
    state = f"{spare_mm:.0f} mm to spare" if spare_mm >= 0 else f"{-spare_mm:.0f} mm short: knuckles meet the board"
    words = f"{clearance_mm:.0f} mm under the handle, a finger of {hand.finger_depth_mm:.0f} mm ({hand.name}) "
    return HandFit(spare_mm >= 0, spare_mm, f"{words}and {KNUCKLE_GAP_MM:g} mm of gap: {state}.")
