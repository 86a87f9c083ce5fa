"""Which parts there are beside the blade, by the word that asks for them, and those that a knife has."""

from __future__ import annotations

from collections.abc import Iterable

from blankwright.base.errors import RequestError, unknown
from blankwright.cutting.parts.board import template
from blankwright.cutting.parts.guide import filing_guide
from blankwright.cutting.parts.part import CutPart, Maker
from blankwright.cutting.parts.scales import liners, scales
from blankwright.cutting.parts.sheath import sheath
from blankwright.cutting.parts.spacer import spacers
from blankwright.knife.knife import Knife

PARTS: dict[str, Maker] = {
    "scales": scales,
    "liners": liners,
    "spacers": spacers,
    "template": template,
    "filing-guide": filing_guide,
    "sheath": sheath,
}
"""Words of --part, and who makes each."""


def asked_parts(knife: Knife, words: Iterable[str]) -> tuple[CutPart, ...]:
    """Return the parts that were asked for by their words, each once.

    Args:
        knife: The knife.
        words: Words of PARTS.

    Raises:
        RequestError: A word is unknown, or the knife has no such part; the message says why.
    """
    out: list[CutPart] = []
    for word in dict.fromkeys(words):
        if word not in PARTS:
            raise unknown("part", word, PARTS, "--part")
        out += PARTS[word](knife)
    return tuple(out)


def all_parts(knife: Knife) -> tuple[tuple[CutPart, ...], tuple[str, ...]]:
    """Return every part that a knife has, and for each that it has not, why.

    Args:
        knife: The knife.
    """
    out: list[CutPart] = []
    without: list[str] = []
    for word, make in PARTS.items():
        try:
            out += make(knife)
        except RequestError as error:
            without.append(f"{word}: {str(error).removeprefix(f'--part {word}: ')}")
    return tuple(out), tuple(without)
