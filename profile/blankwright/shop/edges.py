"""Which edge angle suits a type of knife, and what one maker grinds.

The height of the spine above the stone at an angle stands in `solid/stations.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Annotated

from blankwright.base.errors import RequestError, named
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.readrows import In, TableRow, read_row
from blankwright.shop.bands import Band
from blankwright.shop.tables import DATA

TYPES = ("paring", "utility", "chef", "boning", "cleaver")
"""Types of knife with a range of their own."""

_LEAST_DEG, _MOST_DEG = 5.0, 45.0  # what a design can ask for
_Angles = Annotated[Mapping[str, Band], In(_LEAST_DEG, _MOST_DEG, "°")]


@dataclass(frozen=True)
class _Edges(TableRow):
    """The table: angles by type of knife, what sources print for kitchen knives at large, and hardness by type."""

    types: _Angles
    general: _Angles
    hardness: Annotated[Mapping[str, Band], In(40, 68, "HRC")]


@cache
def _edges() -> _Edges:
    return read_row(_Edges, Fields(read_toml(DATA / "edges.toml"), "edges.toml"))


@dataclass(frozen=True)
class EdgeAngle(TableRow):
    """What is usual for a type of knife, or what one source prints for kitchen knives at large.

    Args:
        name: The type, or "kitchen: " and a word for the source.
        angle: The angle, each side of a double bevel [°].
    """

    name: str
    angle: Band


@dataclass(frozen=True)
class UsualHardness(TableRow):
    """The hardness that is usual for a type of knife.

    Args:
        name: The type, or "kitchen" for any other and "blunt" for one that does not cut.
        hardness: The range [HRC].
    """

    name: str
    hardness: Band


def usual_hardnesses() -> tuple[UsualHardness, ...]:
    """Return every row of the table of hardness."""
    return tuple(UsualHardness(name, band) for name, band in _edges().hardness.items())


def edge_angles() -> tuple[EdgeAngle, ...]:
    """Return every row of the table."""
    table = _edges()
    general = {f"any knife, {name}": band for name, band in table.general.items()}
    return tuple(EdgeAngle(name, band) for name, band in {**table.types, **general}.items())


def edge_angle(knife_type: str) -> Band:
    """Return the usual edge angle of a type of knife, each side of a double bevel [°].

    Args:
        knife_type: One of TYPES; a family's name where the family is of that type.

    Raises:
        RequestError: No range for this type.

    >>> edge_angle("chef").words()
    '12 to 18°'
    """
    return named("type of knife", knife_type, _edges().types)


def usual_hardness(knife_type: str, *, blunt: bool) -> Band:
    """Return the hardness that is usual for a type of knife [HRC]; of a type without its own that of a kitchen knife.

    Args:
        knife_type: Type or family.
        blunt: Whether its edge is rounded, as a spreader's.

    >>> usual_hardness("chef", blunt=False).words()
    '58 to 62 HRC'
    """
    table = _edges().hardness
    return table["blunt"] if blunt else table.get(knife_type, table["kitchen"])


def edge_remark(knife_type: str, angle_deg: float) -> str:
    """Say how an angle lies to what is usual; no judgement for a type without a range.

    Args:
        knife_type: Type or family.
        angle_deg: Edge angle on each side [°].

    Raises:
        RequestError: No such angle.
    """
    if not _LEAST_DEG <= angle_deg <= _MOST_DEG:
        raise RequestError(f"edge angle: must be {_LEAST_DEG:g} to {_MOST_DEG:g}° each side, got {angle_deg:g}.")
    usual = _edges().general["kitchen"] if knife_type not in TYPES else edge_angle(knife_type)
    of = (
        {"chef": "a chef's knife"}.get(knife_type, f"a {knife_type} knife")
        if knife_type in TYPES
        else "a kitchen knife"
    )
    span = f"{usual.low:g} to {usual.high:g}° each side"
    if usual.holds(angle_deg):
        return f"{angle_deg:g}° each side is usual for {of}: {span}."
    way = "thinner, keener and more easily chipped" if angle_deg < usual.low else "stouter, and asks more force"
    return f"{angle_deg:g}° each side is {way} than usual for {of}: {span}."
