"""What goes on wood that touches food and how a blade is kept; how long a glue is clamped, by its label first."""

from __future__ import annotations

from functools import cache
from typing import Annotated

from blankwright.base.errors import named
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, need, read_rows
from blankwright.shop.bands import Advice, Band, Rule
from blankwright.shop.tables import DATA


@dataclass(frozen=True)
class Glue(TableRow):
    """A kind of glue, in general; the label on the glue decides.

    Args:
        name: Name in the table.
        title: The name in words.
        use: What it is for.
        clamp: Time in clamps before shaping [h].
        full: Time to full strength [h].
        work: Temperature to work at [C].
        rules: How to go about it.
    """

    name: str
    title: str
    use: str
    clamp: Annotated[Band, In(0.1, 200, "h")]
    full: Annotated[Band, In(0.1, 200, "h")]
    work: Annotated[Band, In(0, 60, "C")]
    rules: tuple[Rule, ...]

    def check(self) -> None:
        """Refuse a glue that is strong before it leaves the clamps, or without a word on how to use it."""
        need(bool(self.rules), f"glue '{self.name}': needs rules.")
        need(self.clamp.low <= self.full.high, f"glue '{self.name}': full is no shorter than clamp.")


@cache
def finishes() -> dict[str, Advice]:
    """Return all advice on finishes and care by name, in the order of the table."""
    return read_rows(DATA / "finishes.toml", Advice)


def advice(name: str) -> Advice:
    """Return advice by name.

    Raises:
        RequestError: No such advice.

    >>> advice("food-oil").rules[0].status
    'published'
    """
    return named("advice", name, finishes())


def blade_care(material_kind: str, *, blunt: bool = False) -> tuple[Advice, ...]:
    """Return how a blade is kept.

    Args:
        material_kind: "steel", "stainless" or "wood".
        blunt: Whether it has no edge to be kept.

    Raises:
        RequestError: Blades are not made of it.
    """
    chosen = {
        "steel": ("care-carbon", "care-edge"),
        "stainless": ("care-stainless", "care-edge"),
        "wood": ("food-oil",),
    }
    names = named("kind of blade", material_kind, chosen)
    return tuple(advice(name) for name in names if not (blunt and name == "care-edge"))


@cache
def glues() -> dict[str, Glue]:
    """Return every kind of glue by name, in the order of the table."""
    return read_rows(DATA / "glues.toml", Glue)


def glue(name: str) -> Glue:
    """Return a kind of glue by name.

    Raises:
        RequestError: No such glue.
    """
    return named("glue", name, glues())
