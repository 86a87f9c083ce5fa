"""What is nested: outlines with how often, how they may lie, and how thick the steel must be."""

from __future__ import annotations

from dataclasses import field
from functools import cached_property
from typing import Literal, get_args

from blankwright.base.errors import RequestError, told
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife
from blankwright.shop.records import Material
from blankwright.stock.ofmaterial import check_stock, is_same
from blankwright.stock.piece import Piece, Zone
from blankwright.stock.place import Wish, sides
from blankwright.stock.wanted import Wanted

TurnWord = Literal["any", "grain"]
TURNS: tuple[TurnWord, ...] = get_args(TurnWord)
Turn = TurnWord | tuple[float, ...]
"""Any turn, along the grain, or some turns [degrees]."""

Held = Literal["left", "right", "below", "above"]
HELD: tuple[Held, ...] = get_args(Held)

MOST_BLANKS, MOST_PARTS = 100, 1000
"""So many rows has a job, and so many blanks together."""


@dataclass(frozen=True, eq=False)
class Blank:
    """One kind of blank in a job.

    Args:
        name: What it is called.
        outline: What is laid out, in the coordinates of its design [mm].
        quantity: How many are wanted.
        thickness_mm: How thick the steel must be [mm].
        kerf_mm: Width of the slot that its process leaves [mm].
        flip: Whether it may be turned over: None as blade and piece allow, False never.
        turn: How it may be turned.
        within_deg: How far from the grain it may lie where it is to lie along it [degrees].
        knife: The knife that it becomes; None for a plain outline.

    Raises:
        RequestError: A field cannot be.
    """

    name: str
    outline: Outline
    quantity: int
    thickness_mm: float
    kerf_mm: float
    flip: bool | None = None
    turn: Turn = "any"
    within_deg: float = 0.0
    knife: Knife | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.quantity <= MOST_PARTS:
            raise RequestError(f"quantity: {told(self.quantity)} is out of range. Allowed: 1 to {MOST_PARTS}.")
        if self.turn not in TURNS and not (isinstance(self.turn, tuple) and self.turn):
            raise RequestError(f"turn: {told(self.turn)} is unknown. Allowed: any, grain, or a list of angles.")
        if not 0 <= self.within_deg <= 90:
            raise RequestError(f"within: {self.within_deg:g} degrees is out of range. Allowed: 0 to 90 degrees.")
        if self.outline.area_mm2 <= 0:
            raise RequestError(f"{self.name}: its outline encloses nothing.")

    @cached_property
    def area_mm2(self) -> float:
        """Area of one [mm2]."""
        return self.outline.area_mm2

    @property
    def material(self) -> Material | None:
        """What it is of; None of a plain outline."""
        return None if self.knife is None else self.knife.material

    def of_piece(self, piece: Piece) -> bool:
        """Whether a piece is of its material, as far as both are said."""
        return self.material is None or piece.material is None or is_same(self.material, piece.material)

    def flips(self, piece: Piece) -> tuple[bool, ...]:
        """Return which sides may lie up on a piece: False as drawn, True turned over; none where it cannot lie."""
        if not self.of_piece(piece):
            return ()
        if self.knife is not None:
            return sides(Wanted(self.knife), piece, Wish(flip=False if self.flip is False else None))[0]
        return (False,) if self.flip is False else (False, True)

    def turns_deg(self, piece: Piece) -> tuple[tuple[float, float], ...] | None:
        """Return middle and half width of the turns that are allowed on a piece [degrees]; None for any.

        Raises:
            RequestError: It is to lie along the grain, and the stock file does not say how that runs.
        """
        if isinstance(self.turn, tuple):
            return tuple((angle, 0.0) for angle in self.turn)
        if self.turn == "any":
            return None
        if piece.grain_deg is None:
            raise RequestError(
                f'{self.name} turn: "grain" needs the direction of rolling of {piece.name}, such as grain = "along" in '
                "the stock file."
            )
        return (piece.grain_deg, self.within_deg), (piece.grain_deg + 180.0, self.within_deg)


@dataclass(frozen=True, eq=False)
class Job:
    """What is to be laid out on what.

    Args:
        name: What the job is called.
        pieces: The stock, in the order in which it is used.
        blanks: What is wanted.
        gap_mm: Least distance of two blanks [mm].
        rim_mm: Least distance to the edge of the stock [mm]; None for the width of the slot or the stock's own margin.
        held: The side at which the stock is held while it is cut.
        gap_words: How the gap is made up, in words.
        stock: What the stock file is called.

    Raises:
        RequestError: A field cannot be, blanks would share a slot, or a blank has no stock of its material.
    """

    name: str
    pieces: tuple[Piece, ...]
    blanks: tuple[Blank, ...]
    gap_mm: float
    rim_mm: float | None = None
    held: Held = "left"
    gap_words: str = field(default="", compare=False)
    stock: str = field(default="the stock file", compare=False)

    def __post_init__(self) -> None:
        if not self.pieces or not self.blanks:
            raise RequestError(f"{self.name}: a job needs stock and parts.")
        if self.held not in HELD:
            raise RequestError(f"held: {told(self.held)} is unknown. Allowed: {', '.join(HELD)}.")
        if len(self.blanks) > MOST_BLANKS:
            raise RequestError(f"{self.name}: {len(self.blanks)} parts; at most {MOST_BLANKS} go in a job.")
        if self.parts > MOST_PARTS:
            raise RequestError(f"{self.name}: {self.parts} blanks are wanted; at most {MOST_PARTS} go in a job.")
        for key, value in (("gap", self.gap_mm), ("rim", self.rim_mm or 0.0)):
            if not 0 <= value <= 200:
                raise RequestError(f"{key}: {value:g} mm is out of range. Allowed: 0 to 200 mm.")
        for piece in self.pieces:
            if piece.kept:
                raise RequestError(
                    f"{piece.name}: it has a zone to keep ({piece.kept[0].words}), which one knife is placed on. Use "
                    "`blankwright place` for this piece, or take the zone out."
                )
        for blank in self.blanks:
            kerf = max([blank.kerf_mm, *(p.kerf_mm for p in self.pieces if p.kerf_mm is not None)])
            if self.gap_mm < kerf - 1e-9:
                raise RequestError(
                    f"gap: {self.gap_mm:g} mm is less than the slot, {kerf:g} mm wide for {blank.name}: two blanks "
                    f"would be cut into. Allowed: {kerf:g} to 200 mm."
                )
        check_stock(self.stock, self.pieces, self.materials)

    @cached_property
    def materials(self) -> list[tuple[Material, list[str]]]:
        """What the blanks are of, each material once, with the names of its blanks."""
        out: list[tuple[Material, list[str]]] = []
        for blank in self.blanks:
            if blank.material is None:
                continue
            names = next((names for one, names in out if is_same(one, blank.material)), None)
            if names is None:
                out.append((blank.material, names := []))
            if blank.name not in names:
                names.append(blank.name)
        return out

    def material_of(self, piece: Piece) -> Material | None:
        """Return what a piece is of: as it says, else as the blanks are; None where nobody says."""
        return piece.material or next((one for one, _ in self.materials), None)

    @property
    def parts(self) -> int:
        """How many blanks are wanted."""
        return sum(blank.quantity for blank in self.blanks)

    def edge_mm(self, blank: Blank, piece: Piece) -> float:
        """Return how far a blank stays from the edge of a piece [mm]; the slot may run in a margin."""
        kerf = blank.kerf_mm if piece.kerf_mm is None else piece.kerf_mm
        return max(kerf if self.rim_mm is None else self.rim_mm, piece.margin_mm)

    def zone_mm(self, blank: Blank, piece: Piece, zone: Zone) -> float:
        """Return how far a blank stays from a zone to avoid [mm]."""
        return max(blank.kerf_mm if piece.kerf_mm is None else piece.kerf_mm, zone.margin_mm)
