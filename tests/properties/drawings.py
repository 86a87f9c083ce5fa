"""Hostile drawings: cutting files that were damaged, drawings built of anything, and files made to take long."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from properties.damage import ENTITY_WAYS, STRUCTURE_WAYS, WAYS, joined, pairs_of, parts_of
from truth import spoiled as s


@dataclass(frozen=True)
class HostileDrawing:
    """A drawing that was damaged or built.

    Args:
        way: How it was made.
        data: The file.
    """

    way: str
    data: bytes


class DrawingMaker:
    """Hostile drawings by number: the same for the same seed, number and sources.

    Args:
        seed: Another seed gives other files.
        sources: Sound cutting files, ASCII DXF.
    """

    def __init__(self, seed: int, sources: Sequence[bytes]) -> None:
        self._seed = seed
        self._sources = [*sources, *map(str.encode, sound_ones())]

    def drawing(self, number: int) -> HostileDrawing:
        """Return a drawing."""
        dice = random.Random(f"{self._seed} {number}")
        data = dice.choice(self._sources)
        roll = dice.random()
        if roll < 0.2:
            for _ in range(dice.randint(1, 2)):
                data = dice.choice(WAYS)(data, dice) or b"0"
            return HostileDrawing("bytes and tags", data)
        if roll < 0.8:
            text = data.decode("utf-8")
            kind, ways = ("entities", (*ENTITY_WAYS, stranger)) if roll < 0.5 else ("structure", STRUCTURE_WAYS)
            for _ in range(dice.choice((1, 1, 1, 2, 3))):
                if text.count("\n") > 4:  # else nothing is left to be damaged
                    text = dice.choice(ways)(text, dice)
            return HostileDrawing(kind, text.encode("utf-8", errors="replace"))
        return HostileDrawing("built", built(dice).encode())


def stranger(text: str, dice: random.Random) -> str:
    """Put an entity in that somebody else made."""
    records, first, last = parts_of(text)
    made = entity(dice, s.marked if "AcDbEntity" in text else str)
    records.insert(dice.randrange(first, last + 1) if last > first else len(records), pairs_of(made))
    return "".join(joined(record) for record in records)


def _value(dice: random.Random) -> float:
    return dice.choice(
        (dice.uniform(-200, 200), dice.uniform(-5, 5), 0.0, dice.uniform(-1e6, 1e6) * (dice.random() < 0.1))
    )


def _rows(dice: random.Random, most: int = 40) -> list[s.Row]:
    return [
        (_value(dice), _value(dice), dice.choice((0.0, 0.0, dice.uniform(-2, 2))))
        for _ in range(dice.randrange(1, most))
    ]


def entity(dice: random.Random, finished: Callable[[str], str] = str) -> str:
    """Return any entity."""
    layer = dice.choice(("0", "0", "CUT", "DRILL", "no such"))
    x, y, wide = _value(dice), _value(dice), abs(_value(dice))
    points = [(_value(dice), _value(dice)) for _ in range(dice.randrange(1, 30))]
    ratio = dice.choice((dice.uniform(-1, 1), 0, 2, 1))
    made = [s.line(x, y, _value(dice), _value(dice), layer), s.circle(x, y, wide, layer), s.point(x, y, layer)]
    made += [s.arc(x, y, wide, dice.uniform(-400, 400), dice.uniform(0, 400), layer)]
    made += [s.light(_rows(dice), layer, closed=dice.random() < 0.7)]
    made += [s.heavy(_rows(dice), layer, flags=dice.choice((0, 1, 1, 4, 8, 16, 64, 128)))]
    made += [s.spline(points, layer, dice.choice((1, 2, 3, 3, 5)))]
    made += [s.ellipse(x, y, (_value(dice), _value(dice)), ratio, layer)]
    made += [s.insert(dice.choice("ABC"), x, y, sx=_value(dice), sy=1, turn=dice.uniform(0, 360))]
    made += [s.tags(0, kind, 8, layer, 10, x, 20, y, 40, 5, 1, "a text") for kind in ("TEXT", "MTEXT")]
    made += [s.tags(0, "HATCH", 8, layer, 2, "SOLID", 70, 1, 71, 0, 91, 1)]
    made += [s.tags(0, kind, 8, layer, 10, x, 20, y, 11, 5, 21, 5, 12, 0, 22, 9) for kind in ("3DFACE", "SOLID")]
    return finished(dice.choice(made))


def sound_ones() -> list[str]:
    """Return sound drawings of our own building, in the old and newer releases."""
    box = s.box_of(s.BLADE)
    inside = s.block("A", s.circle(0, 0, 5)) + s.block("B", s.insert("A", 3, 3) + s.line(0, 0, 5, 5))
    placed = s.insert("B", 10, 10, turn=30)
    outlines = "".join(s.pieces(s.BLADE, seed=1)), s.heavy(s.BLADE)
    plain = [s.sound(box=box, release=r, blocks=inside, outline=o) for r in ("AC1009", "AC1015") for o in outlines]
    return [*plain, s.sound(box=box), s.sound(placed, blocks=inside), s.sound(s.ellipse(0, 10, (8, 0), 0.5))]


def built(dice: random.Random) -> str:
    """Return a drawing of any entities, in any layers and blocks."""
    blocks = "".join(s.block(name, "".join(entity(dice) for _ in range(dice.randrange(4)))) for name in "AB")
    inside = [entity(dice) for _ in range(dice.randrange(0, dice.choice((3, 30, 300))))]
    if dice.random() < 0.5:
        rows = s.scaled(s.BLADE, dice.choice((1, 1, 1 / 25.4, 1000, 1e-3)))
        inside += [s.light(rows), s.holes()] if dice.random() < 0.5 else s.pieces(rows, seed=dice.randrange(99))
    return s.document(
        "".join(inside),
        blocks=blocks if dice.random() < 0.5 else "",
        box=dice.choice((None, (0, 0, 1, 1), (9, 9, 0, 0))),
        insunits=dice.choice((4, 4, 4, 1, 0, None, 6, 99)),
        measurement=dice.choice((1, 1, 0, None)),
        release=dice.choice(("AC1009", "AC1015", "AC1015", "AC1032", "AC1012", "AC9999")),
        layers=dice.choice((("0",), ("0", "CUT", "DRILL"), ("CUT",), ("0", "0"), ())),
        off=dice.choice(((), (), ("CUT",))),
        frozen=dice.choice(((), (), ("0",))),
        end=dice.random() < 0.95,
    )


LONG_WORK = (
    "a star of long lines",
    "all ends in one place",
    "loose ends",
    "one line many times",
    "circles in circles",
    "blocks in blocks",
    "a block ten thousand times",
    "many splines",
    "a spline of thousands of points",
    "a very fine polyline",
    "empty lines",
)


def long_work(kind: str, share: float = 1.0) -> bytes:
    """Return a file that is made to take long; a share of its full size where it has one."""

    def many(count: int) -> range:
        return range(round(count * share))

    if kind == "a star of long lines":
        return s.document("".join(s.line(float(k), 0.0, 3000.0 - k, 60.0) for k in many(3000))).encode()
    if kind == "all ends in one place":
        return s.document("".join(s.line(0.0, 0.0, float(k), 60.0) for k in many(10_000))).encode()
    if kind == "loose ends":
        return s.document("".join(s.line(2.0 * k, 0.0, 2.0 * k + 1, 0.0) for k in many(10_000))).encode()
    if kind == "one line many times":
        return s.document("".join(s.line(0.0, 0.0, 100.0, 0.0) for _ in many(10_000))).encode()
    if kind == "circles in circles":
        return s.document("".join(s.circle(0.0, 0.0, 0.1 * k + 1) for k in many(5000))).encode()
    if kind == "blocks in blocks":
        blocks = "".join(s.block(f"B{k}", s.insert(f"B{k + 1}") * 10 + s.circle(0, 0, 1)) for k in range(9))
        return s.document(s.insert("B0"), blocks=blocks).encode()
    if kind == "a block ten thousand times":
        rows = s.insert("B").replace("41\n1\n", "41\n1\n70\n100\n71\n100\n44\n1\n45\n1\n")
        return s.document(rows, blocks=s.block("B", s.light(s.BLADE))).encode()
    if kind == "many splines":
        rng = random.Random(1)
        points = [[(rng.uniform(0, 300), rng.uniform(0, 60)) for _ in range(20)] for _ in many(200)]
        return s.document("".join(s.spline(p) for p in points)).encode()
    if kind == "a spline of thousands of points":
        rng = random.Random(2)
        return s.document(s.spline([(rng.uniform(0, 300), rng.uniform(0, 60)) for _ in many(4000)])).encode()
    if kind == "a very fine polyline":
        return s.document(s.light(s.flattened(s.BLADE, 0.0005 / share))).encode()
    if kind == "empty lines":
        return b"  0\nLINE\n" * len(many(1_000_000))
    raise ValueError(kind)
