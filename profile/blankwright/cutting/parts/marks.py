"""What is marked on a part: its name, side and code where there is room, corners of the scales, a sheath's seam."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from blankwright.base.said import exact_mm, said
from blankwright.cutting.etch import EDGE_MM, corner_marks
from blankwright.cutting.flat import Room
from blankwright.cutting.parts.part import CutPart
from blankwright.geometry.chain import Chain
from blankwright.ink.strokes import letters
from blankwright.knife.knife import Knife
from blankwright.shop.services import Service

HEIGHTS_MM = (5.0, 3.5, 2.5, 1.8)
"""Heights of a text, the largest that has room: heights of ISO 3098, from memory."""
TEXT_EDGE_MM = 2.0
BEHIND_MM = 2.0
"""Corner marks of a slab stand this far behind the handle's front, clear of its cut end."""
_CLEAR_MM = 2.5


def why_not_marked(part: CutPart, service: Service | None) -> str | None:
    """Return why a part cannot be marked, a sentence without the part's name, or None when it can.

    Args:
        part: The part.
        service: Who cuts it, or None.
    """
    if not part.stock.etched:
        return f"{part.stock.title} is not marked by a laser (the table sheets)."
    if service is not None and service.marking != "etch":
        return f"{service.title} is not said to mark parts (marking under [file] of its file)."
    return None


def with_marks(knife: Knife, part: CutPart) -> CutPart:
    """Return a part with its marks.

    Args:
        knife: The knife.
        part: The part; a sheath brings its seam along.
    """
    chains, lines = list(part.marks), list(part.lines)
    if part.of in ("scales", "liners"):
        corners = corner_marks(knife, EDGE_MM, BEHIND_MM)
        if corners:
            sign = -1.0 if part.name.endswith("left") else 1.0
            chains += [Chain(c.vertices * np.array([sign, 1.0, sign])) for c in corners]
            words = "Two corners are marked {} behind the handle's front: true the front to that, and lay it to the "
            lines.append(said(f"{words}corners on the blank.", exact_mm(BEHIND_MM)))
    text = _words(knife, part)
    placed = _text(part, text, chains) if text else None
    if placed is not None:
        chains += placed[0]
        lines.append(said("Marked with {}, {} high.", f'"{text}"', exact_mm(placed[1])))
    elif text:
        lines.append(said("There is no room for its name and code; write them on."))
    return replace(part, marks=tuple(chain.on_grid() for chain in chains), lines=tuple(lines))


def _words(knife: Knife, part: CutPart) -> str:
    side = part.name.rsplit("-", 1)[-1]
    if side in ("right", "left"):
        return f"{side[0].upper()} {knife.code}"
    return {"template": f"{_drawable(knife.design.name)} {knife.code}".strip(), "filing-guide": knife.code}.get(
        part.of, ""
    )


def _drawable(name: str) -> str:
    """Return what of a name can be drawn in single lines."""
    kept = ""
    for character in name[:40]:
        if character.isspace():
            kept += " "
        elif character.isprintable() and _has_letter(character):
            kept += character
    return " ".join(kept.split())


def _has_letter(character: str) -> bool:
    from blankwright.base.errors import RequestError  # noqa: PLC0415 - asked only for names

    try:
        letters(character, 1.0)
    except RequestError:
        return False
    return True


def _text(part: CutPart, text: str, others: Sequence[Chain]) -> tuple[list[Chain], float] | None:
    """Return a text where it has room, off the holes and what is marked already, and its height; None without room."""
    x0, _, x1, _ = part.outline.bounds_mm
    for height in HEIGHTS_MM:
        drawn = letters(text, height)
        for turn in (0.0, 90.0):
            turned = drawn.about(0.0, 0.0, turn)
            holes = np.array([*part.holes, *_dots(others)]).reshape(-1, 3)
            room = Room(part.outline, x0, x1, TEXT_EDGE_MM, holes, _CLEAR_MM, None)
            middle = room.place(*turned.size_mm)
            if middle is None:
                continue
            placed = drawn.about(*middle, turn)
            if room.fault(placed) is None:
                return list(placed.chains), height
    return None


def _dots(chains: Sequence[Chain]) -> list[tuple[float, float, float]]:
    """Return points along lines as holes of no size, so that a text keeps off them."""
    out = []
    for chain in chains:
        points = chain.flattened(0.01)
        for a, b in pairwise(points):
            count = max(1, int(np.hypot(*(b - a)) / _CLEAR_MM))
            out += [(float(x), float(y), 0.0) for x, y in a + np.linspace(0, 1, count + 1)[:, None] * (b - a)]
    return out
