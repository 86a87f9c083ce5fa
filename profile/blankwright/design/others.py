"""Which other families would take a size that one refuses."""

from __future__ import annotations

from collections.abc import Mapping

from blankwright.design.family import family_names, load_family
from blankwright.design.parts import Family


def taking(family: Family, construction: str, asked_mm: Mapping[str, float]) -> tuple[str, ...]:
    """Return the names of the shipped families that offer all that was asked of the blade, by the alphabet.

    Args:
        family: The family that refused.
        construction: full, hidden or one-piece.
        asked_mm: Asked dimensions by name [mm].
    """
    blade = {n: mm for n, mm in asked_mm.items() if _of_blade(family, construction, n)}
    return tuple(
        name for name in family_names()
        if name != family.name and blade and _offers(load_family(name), construction, blade)
    )  # fmt: skip


def _of_blade(family: Family, construction: str, name: str) -> bool:
    return any(d.name == name and d.key.startswith("blade.") for d in family.offered(construction))


def _offers(other: Family, construction: str, blade: Mapping[str, float]) -> bool:
    if construction not in other.curves:
        return False
    offered = {d.name: d for d in other.offered(construction)}
    return all(n in offered and offered[n].least_mm <= mm <= offered[n].greatest_mm for n, mm in blade.items())
