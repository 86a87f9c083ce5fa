"""The usual cautions for a stock and a way of cutting; they defer to local rules and licensed practice."""

from __future__ import annotations

from blankwright.knife.knife import Workpiece
from blankwright.shop.tables import process

GENERAL_CAUTION = "Local rules, the makers' data sheets and licensed practice come first."
STEEL_CAUTION = "Wear eye, ear and lung protection."
DRILL_CAUTION = "Drill before hardening: afterwards no drill bites."
WOOD_CAUTION = "Wear eye and lung protection: wood dust harms the lungs."
FOUND_CAUTION = "Found steel: never heat or cut plated or galvanised stock; harden and break a test piece first."


def cautions(work: Workpiece) -> str:
    """Return the usual cautions for this stock and this way of cutting."""
    cutting = process(work.allowance.process).caution
    if work.material.kind == "wood":
        own = [] if "lungs" in cutting else [WOOD_CAUTION]
    else:
        own = [STEEL_CAUTION]
        if work.holes:
            own.append(DRILL_CAUTION)
        if work.material.name == "unknown":
            own.append(FOUND_CAUTION)
    return " ".join([*own, cutting, GENERAL_CAUTION])
