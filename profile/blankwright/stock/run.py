"""One request: a knife, pieces of stock, and what was asked beside."""

from __future__ import annotations

from collections.abc import Sequence

from blankwright.base.errors import RequestError
from blankwright.knife.knife import Knife
from blankwright.stock.forgedbar import ForgedTold, forged_from
from blankwright.stock.missing import offers
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
            nobody told.
    """
    if knife.start.bought:
        raise RequestError(
            f"[start] from: the work starts {knife.start.words}; its outline is cut already, so nothing is placed."
        )
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
