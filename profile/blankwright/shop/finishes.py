"""What goes on wood that touches food and how a blade is kept; how long a glue is clamped, by its label first."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.shop.bands import Band, Rule, read_band, read_rules

__all__ = ["LABEL_FIRST", "Advice", "Glue", "advice", "advice_names", "blade_care", "glue", "glues"]

LABEL_FIRST = "The label on the glue decides; these times are general."
"""What stands beside every glue."""

_DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class Advice:
    """Advice on a finish or on care.

    Args:
        name: Name in the table.
        title: The name in words.
        rules: The advice, each with source and status.
    """

    name: str
    title: str
    rules: tuple[Rule, ...]

    def __post_init__(self) -> None:
        if not self.title.strip() or not self.rules:
            raise RequestError(f"advice '{self.name}': needs a title and rules.")


@dataclass(frozen=True)
class Glue:
    """A kind of glue, in general.

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
    clamp: Band
    full: Band
    work: Band
    rules: tuple[Rule, ...]

    def __post_init__(self) -> None:
        if not (self.title.strip() and self.use.strip() and self.rules):
            raise RequestError(f"glue '{self.name}': needs a title, a use and rules.")
        if self.clamp.low > self.full.high or self.clamp.unit != "h" or self.full.unit != "h":
            raise RequestError(f"glue '{self.name}': clamp and full are in h, and full is no shorter than clamp.")

    @property
    def words(self) -> str:
        """Times in a sentence that defers to the label."""
        return (
            f"{self.title}: in clamps {self.clamp.words()}, full strength after {self.full.words()}, at "
            f"{self.work.words()} ({self.clamp.status}). {LABEL_FIRST}"
        )


@cache
def _advice() -> dict[str, Advice]:
    tables = read_toml(_DATA / "finishes.toml")
    found = {}
    for name in tables:
        row = Fields(tables, "finishes.toml").sub(name)
        row.only(("title", "rules"))
        found[name] = Advice(name, row.text("title"), read_rules(row, "rules"))
    return found


def advice_names() -> tuple[str, ...]:
    """Return the names of all advice on finishes and care."""
    return tuple(_advice())


def advice(name: str) -> Advice:
    """Return advice by name.

    Raises:
        RequestError: No such advice.

    >>> advice("food-oil").rules[0].status
    'published'
    """
    found = _advice().get(name)
    if found is None:
        raise unknown("advice", name, _advice())
    return found


def blade_care(material_kind: str) -> tuple[Advice, ...]:
    """Return how a blade is kept.

    Args:
        material_kind: "steel", "stainless" or "wood".

    Raises:
        RequestError: Blades are not made of it.
    """
    chosen = {
        "steel": ("care-carbon", "care-edge"),
        "stainless": ("care-stainless", "care-edge"),
        "wood": ("food-oil",),
    }
    if material_kind not in chosen:
        raise unknown("kind of blade", material_kind, chosen)
    return tuple(advice(name) for name in chosen[material_kind])


@cache
def _glues() -> dict[str, Glue]:
    tables = read_toml(_DATA / "glues.toml")
    found = {}
    for name in tables:
        row = Fields(tables, "glues.toml").sub(name)
        row.only(("title", "use", "clamp", "full", "work", "rules"))
        clamp, full = (read_band(row.sub(key), "h", 0.1, 200) for key in ("clamp", "full"))
        work = read_band(row.sub("work"), "C", 0, 60)
        found[name] = Glue(name, row.text("title"), row.text("use"), clamp, full, work, read_rules(row, "rules"))
    return found


def glues() -> tuple[Glue, ...]:
    """Return every kind of glue, in the order of the table."""
    return tuple(_glues().values())


def glue(name: str) -> Glue:
    """Return a kind of glue by name.

    Raises:
        RequestError: No such glue.
    """
    found = _glues().get(name)
    if found is None:
        raise unknown("glue", name, _glues())
    return found
