"""What a blade's material decides, not its construction: thickness, edge, tip and way of cutting that nobody asked for.

A family draws its own figures for steel, and for the board of its one-piece knife. A wooden blade with scales is still
wood, and a one-piece knife of steel is still steel.
"""

from __future__ import annotations

from dataclasses import replace

from blankwright.base.errors import RequestError
from blankwright.design.request import EDGE_ANGLES, Design, family_settings
from blankwright.design.settings import Value
from blankwright.shop.records import UNKNOWN, Material
from blankwright.shop.rough import forging_loss
from blankwright.shop.tables import material
from blankwright.shop.woodblades import wood_blade

BOARD = "one-piece"
"""The construction for which a family gives figures of wood."""

_KEYS = ("material.thickness", "grind.behind_edge", "grind.tip_thickness", "grind.edge", "cutting.process")
_ONLY_STEEL = ("grind.edge_before_hardening",)
_HEAT = ("material.hardened", "material.hardness")


def of_kind(design: Design) -> Design:
    """Return a design with what its material decides, where neither its maker nor a board of the family says it.

    Args:
        design: The request; its materials are known.

    Raises:
        RequestError: Something about heat is asked of wood, of a hardened blank or of steel that stays soft.
    """
    named = material(design.stock.grade, "[material] grade")
    _check_heat(design, named)
    if named.kind == "wood":
        return _wooden(design)
    steel = _of_steel(design) if design.construction == BOARD else design
    if steel.start != "forged":
        return steel
    by_hand = (forging_loss().process, "common practice: no service cuts a forging like sheet")
    return with_given(steel, {"cutting.process": by_hand})


def _check_heat(design: Design, named: Material) -> None:
    """Refuse wishes about heat that contradict what the blade is or stays."""
    asked = [key for key in _HEAT if design.asked(key)]
    if not asked:
        return
    word = asked[0].split(".")[1]
    if named.kind == "wood":
        raise RequestError(f"[material] {word}: {named.title} is not hardened. Leave it out.")
    soft = design.stock.soft
    if soft and design.start == "hardened-blank":
        raise RequestError('[material] hardened: "no" contradicts a blank that is bought hardened. Leave one out.')
    if soft and design.stock.hardness_hrc is not None:
        raise RequestError('[material] hardness: a blade that is not hardened (hardened = "no") has none to wish for.')
    if soft and design.cutting.notch_after_hardening:
        raise RequestError('[cutting] heel_notch: "after hardening" needs a blade that is hardened.')
    if design.stock.hardness_hrc is not None and named.name == UNKNOWN:
        raise RequestError("[material] hardness: nobody knows what steel of unknown grade reaches. Leave it out.")


def _wooden(design: Design) -> Design:
    """Return a design with the figures of a wooden blade."""
    wood, board = wood_blade(), design.construction == BOARD
    values: dict[str, tuple[Value, str]] = {
        key: (figure.value, f"{figure.status}: {figure.source}")
        for key, figure in (
            ("material.thickness", wood.thickness_mm),
            ("grind.behind_edge", wood.edge_mm),
            ("grind.tip_thickness", wood.tip_mm),
        )
        if not (board and _at_least(design.settings.get(key), wood.edge_mm.value))
    }
    if not board:
        values["cutting.process"] = (wood.process, "common practice: how a board is cut")
    sharp = any(design.asked(key) for key in EDGE_ANGLES)
    values["grind.edge"] = ("sharp" if sharp else "blunt", "common practice: a wooden edge is rounded, not sharpened")
    changed = with_given(design, values)
    gone = [*_ONLY_STEEL, *(EDGE_ANGLES if changed.grind.edge == "blunt" else ())]
    return _without(changed, [key for key in gone if not changed.asked(key)])


def _at_least(value: Value | None, least_mm: float) -> bool:
    return isinstance(value, (int, float)) and value >= least_mm


def _of_steel(design: Design) -> Design:
    """Return a one-piece design with the figures that its family gives for steel, those of another construction."""
    other = next((name for name in design.family.curves if name != BOARD), None)
    if other is None:
        return design
    given = family_settings(design.family, other)
    return with_given(design, {key: given[key] for key in _KEYS if key in given})


def with_given(design: Design, values: dict[str, tuple[Value, str]]) -> Design:
    """Return a design with settings put in where nobody asked for them.

    Args:
        design: The request.
        values: Value and where it comes from, by key.
    """
    own = {key: value for key, value in values.items() if design.sources.get(key) is None or design.by_family(key)}
    return replace(
        design,
        settings=design.settings | {key: value for key, (value, _) in own.items()},
        sources=design.sources | {key: source for key, (_, source) in own.items()},
    )


def _without(design: Design, keys: list[str]) -> Design:
    """Return a design without some settings."""
    return replace(
        design,
        settings={key: value for key, value in design.settings.items() if key not in keys},
        sources={key: source for key, source in design.sources.items() if key not in keys},
    )
