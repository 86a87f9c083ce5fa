"""A design's settings as typed groups, one for each table of the design file that is no dimension.

A field is named like its key with its unit behind it. A field without a default must be given by the design or its
family; None means that nothing was asked, and another field or the stock decides.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cache
from typing import TypeVar

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass

Value = float | int | str | tuple[float, ...]

_UNITS = ("_mm", "_deg", "_g", "_percent", "_hrc")
FULL = "full"
"""A grind height that reaches the spine."""


@dataclass(frozen=True)
class Stock:
    """`[material]`: grade and thickness of what the blank is made of, and how hard it is to become."""

    grade: str
    thickness_mm: float
    hardened: str = "yes"
    hardness_hrc: float | None = None

    @property
    def soft(self) -> bool:
        """Whether a blade of steel is to be left as soft as it was bought."""
        return self.hardened == "no"


@dataclass(frozen=True)
class Pins:
    """`[pins]`: the rods through tang and handle, and where they stand when placed by hand."""

    count: int
    diameter_mm: float
    material: str
    fit: str
    positions_mm: tuple[float, ...] = ()
    spacing_mm: float | None = None


@dataclass(frozen=True)
class Tang:
    """`[tang]`: other holes in it, and its taper."""

    lanyard_diameter_mm: float | None = None
    lightening_count: int = 0
    lightening_diameter_mm: float | None = None
    butt_thickness_mm: float | None = None


@dataclass(frozen=True)
class GrindWish:
    """`[grind]`: what was asked of the grind; `solid/ground.py` makes the ground blade of it."""

    kind: str
    behind_edge_mm: float
    edge: str = "sharp"
    edge_angle_deg: float | None = None
    bevel: str = "double"
    right_share_percent: float | None = None
    height_mm: float | str = FULL
    wheel_mm: float | None = None
    edge_angle_left_deg: float | None = None
    edge_before_hardening_mm: float | None = None
    taper: str = "straight"
    spine_heel_mm: float | None = None
    spine_middle_mm: float | None = None
    spine_near_tip_mm: float | None = None
    tip_thickness_mm: float | None = None
    ricasso_mm: float = 0.0
    plunge_radius_mm: float = 0.0


@dataclass(frozen=True)
class Scales:
    """`[scales]`: the pair on a full tang."""

    material: str
    thickness_mm: float
    section: str
    swell_mm: float = 0.0
    weighed_g: float | None = None
    weighed_size_mm: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Block:
    """`[block]`: the piece on a hidden tang."""

    material: str
    width_mm: float
    front_height_mm: float
    butt_height_mm: float
    section: str
    swell_mm: float = 0.0
    weighed_g: float | None = None
    weighed_size_mm: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Cutting:
    """`[cutting]`: how the blank is cut, when its notch is finished, and how broad the torch is that cuts it."""

    process: str
    heel_notch: str = "before hardening"
    nozzle_radius_mm: float | None = None

    @property
    def notch_after_hardening(self) -> bool:
        """Whether the notch keeps its allowance until after hardening."""
        return self.heel_notch == "after hardening"


Group = TypeVar("Group", Stock, Pins, Tang, GrindWish, Scales, Block, Cutting)


@cache
def key_of(field: str) -> str:
    """Return the key of a field in the design file.

    >>> key_of("edge_angle_left_deg"), key_of("count")
    ('edge_angle_left', 'count')
    """
    return next((field.removesuffix(unit) for unit in _UNITS if field.endswith(unit)), field)


def group_of(kind: type[Group], table: str, settings: Mapping[str, Value]) -> Group:
    """Return a group of settings.

    Args:
        kind: Which group.
        table: Its table in the design file.
        settings: Values by dotted key, of the right kind and in range.

    Raises:
        RequestError: One that is needed is given neither by the design nor by the family.
    """
    given: dict[str, Value] = {}
    for field in dataclasses.fields(kind):
        key = key_of(field.name)
        value = settings.get(f"{table}.{key}")
        if value is not None:
            given[field.name] = value if isinstance(value, (str, tuple)) or field.type == "int" else float(value)
        elif field.default is dataclasses.MISSING:
            raise RequestError(f"[{table}] {key} is missing: neither the design nor the family gives it.")
    return kind(**given)  # type: ignore[arg-type] # each value was read by its setting's kind
