"""Whether a blank may come out of a piece: both are of one material, as the design and the stock file say it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.base.said import Line, said
from blankwright.knife.knife import Knife
from blankwright.shop.own import is_own
from blankwright.shop.records import UNKNOWN, Material
from blankwright.stock.piece import Piece

_STEELS = ("steel", "stainless")


def is_same(one: Material, other: Material) -> bool:
    """Whether two materials are the same row, or the same file of one's own."""
    if is_own(one.name) and is_own(other.name):
        return Path(one.name).resolve() == Path(other.name).resolve()
    return one.name == other.name


def written(material: Material) -> str:
    """Return what a material is called in a file: its row's name, or the name of its own file."""
    return Path(material.name).name if is_own(material.name) else material.name


def named(material: Material) -> str:
    """Return what a material is called in a sentence."""
    return material.title if material.name == UNKNOWN else written(material)


def check_stock(file: str, pieces: Sequence[Piece], kinds: Sequence[tuple[Material, list[str]]]) -> None:
    """Refuse stock of which nobody can say whether a blank may come out of it, and blanks without stock.

    Args:
        file: What the stock file is called.
        pieces: Its pieces.
        kinds: What the blanks are of, with the names of the blanks of each.

    Raises:
        RequestError: There is such stock, or such a blank; says what to write.
    """
    unsaid = next((piece for piece in pieces if piece.material is None), None)
    if len(kinds) > 1 and unsaid is not None:
        each = "; ".join(f"{named(one)} ({', '.join(names)})" for one, names in kinds)
        raise RequestError(
            f"{file} [[piece]] {unsaid.name} material: is not said, and the job has blanks of several: {each}. "
            f'Write there which it is, such as material = "{written(kinds[0][0])}", or make a job of each.'
        )
    for one, names in kinds:
        if any(piece.material is None or is_same(one, piece.material) for piece in pieces):
            continue
        there = "; ".join(f"{p.name} is of {named(p.material)}" for p in pieces if p.material is not None)
        raise RequestError(
            f"{file} material: no piece is of {named(one)}, to cut {', '.join(names)} from; {there}. Give the job "
            f"stock of {named(one)}, take the blanks out, or write what is true: grade under [material] of the "
            f'design, or material = "{written(one)}" under [[piece]].'
        )


def pieces_for(knife: Knife, pieces: Sequence[Piece]) -> tuple[Piece, ...]:
    """Return the pieces that a knife can come out of.

    A piece of which the stock file says nothing is taken as the knife's material; steel of unknown grade may be any.

    Raises:
        RequestError: All are of another material; says what to write.
    """
    found = tuple(one for one in pieces if one.material is None or _may_be(one.material, knife.material))
    if found:
        return found
    there = "; ".join(f"{one.name} is of {named(one.material)}" for one in pieces if one.material is not None)
    wants, grade = named(knife.material), written(knife.material)
    raise RequestError(
        f"{knife.design.name} is of {wants}, and no piece of the stock file is: {there}. Take other "
        f'stock, or write what is true: grade under [material] of the design, or material = "{grade}" under [[piece]].'
    )


def _may_be(piece: Material, wanted: Material) -> bool:
    """Whether a knife may be placed on a piece: whether it fits is worth knowing of steel whose grade nobody knows.

    All that is handed out then says that the grade is not known (piece_is_of): it may be shaped, not heat treated.
    """
    return is_same(piece, wanted) or (piece.name == UNKNOWN and wanted.kind in _STEELS)


def piece_is_of(knife: Knife, piece: Piece) -> str:
    """Return what a piece is of that a knife is placed on, short enough for paper and picture."""
    wants = named(knife.material)
    if piece.material is None:
        return f"material not said, taken as {wants}"
    if is_same(piece.material, knife.material):
        return f"{wants}, as the stock file says"
    return f"steel of unknown grade: what is told of {wants} may not hold"


def material_lines(knife: Knife, piece: Piece, pieces: Sequence[Piece]) -> list[Line]:
    """Return what is to be said of the material of a piece that a knife is placed on.

    Args:
        knife: The knife.
        piece: The piece.
        pieces: All pieces that were asked for.
    """
    wants, lines = named(knife.material), list[Line]()
    if piece.material is None:
        lines.append(said(f"The stock file does not say the material of {piece.name}; taken as {wants}."))
    elif not is_same(piece.material, knife.material):
        words = f"{piece.name} is steel of unknown grade; what is told of {wants} may not hold for it. "
        lines.append(said(f'{words}Harden a test piece first, and write grade = "{UNKNOWN}" under [material].'))
    fit = pieces_for(knife, pieces)
    other = [f"{one.name} ({named(one.material)})" for one in pieces if one not in fit and one.material is not None]
    return lines + ([said(f"Left out, of another material: {', '.join(other)}.")] if other else [])
