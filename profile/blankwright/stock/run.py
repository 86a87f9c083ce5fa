"""One request: a knife, pieces of stock, and what was asked beside."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from blankwright.base.errors import RequestError
from blankwright.base.said import Line
from blankwright.knife.knife import Knife
from blankwright.stock.forgedbar import ForgedTold, forged_from
from blankwright.stock.missing import offers
from blankwright.stock.ofmaterial import material_lines, piece_is_of, pieces_for
from blankwright.stock.piece import Piece
from blankwright.stock.place import Wish, place
from blankwright.stock.report import Told
from blankwright.stock.variants import largest
from blankwright.stock.wanted import Wanted


def placed_on(knife: Knife, pieces: Sequence[Piece], wish: Wish, largest_key: str | None = None) -> Told | ForgedTold:
    """Place a knife, or the largest of it, on one of some pieces; of one that is forged tell whether a piece is enough.

    Args:
        knife: The knife.
        pieces: The pieces.
        wish: What is asked beside.
        largest_key: A length of the outline that shall be as large as fits; None to leave the knife as it is.

    Raises:
        RequestError: The knife is not cut from stock, the key names no length, or an angle to a grain is asked for that
            nobody told, or all pieces are of another material.
    """
    if knife.start.bought:
        raise RequestError(
            f"[start] from: the work starts {knife.start.words}; its outline is cut already, so nothing is placed."
        )
    pieces = pieces_for(knife, pieces)
    if knife.forging is not None:
        if largest_key is not None:
            raise RequestError("--largest: is for a knife that is cut from its piece; this one is forged.")
        return forged_from(knife, knife.forging, pieces)
    wanted = Wanted(knife)
    if largest_key is not None:
        found = largest(wanted, pieces, wish, largest_key)
        placed = found.placed or place(wanted, pieces, wish)[0]
        return Told(placed, (), wish, largest=found)
    first, *rest = place(wanted, pieces, wish)
    made = () if first.fits else tuple(offers(first, wish))
    return Told(first, tuple(rest), wish, made)


def told_lines(told: Told | ForgedTold, pieces: Sequence[Piece]) -> list[Line]:
    """Return an answer in sentences, what is to be said of the material behind it.

    Args:
        told: What was found.
        pieces: All pieces that were asked for.
    """
    return [*told.lines(), *material_lines(*_chosen(told), pieces)]


def told_data(told: Told | ForgedTold, pieces: Sequence[Piece]) -> dict[str, Any]:
    """Return an answer as data, with the material of design and piece.

    Args:
        told: What was found.
        pieces: All pieces that were asked for.
    """
    knife, piece = _chosen(told)
    said = [line.text() for line in material_lines(knife, piece, pieces)]
    own = None if piece.material is None else piece.material.name
    words = piece_is_of(knife, piece)
    return told.data | {"material": {"design": knife.material.name, "piece": own, "words": words, "said": said}}


def _chosen(told: Told | ForgedTold) -> tuple[Knife, Piece]:
    """Return the knife and the piece that an answer is about."""
    if isinstance(told, ForgedTold):
        return told.knife, told.piece
    return told.placed.wanted.knife, told.placed.piece
