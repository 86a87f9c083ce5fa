"""The usual cautions for a stock, a start and a way of cutting; they defer to local rules and licensed practice."""

from __future__ import annotations

import re

from blankwright.knife.start import Start
from blankwright.shop.records import Process

GENERAL_CAUTION = "Local rules, the makers' data sheets and licensed practice come first."
STEEL_CAUTION = "Wear eye, ear and lung protection."
DRILL_CAUTION = "Drill before hardening; hardened steel cannot be drilled."
WOOD_CAUTION = "Wear eye and lung protection: wood dust harms the lungs."
DUST_CAUTION = "Wood dust harms the lungs: draw it off."
FOUND_CAUTION = "Found steel: never heat or cut plated or galvanised stock; harden and break a test piece first."
PLATED_CAUTION = "Found steel: never heat or cut plated or galvanised stock."
ASK_CAUTION = "The grade is unknown: ask the seller."
COOL_CAUTION = "Keep a hardened blank cool enough to hold: a coloured edge is soft."
EDGE_CAUTION = "Edges come sharp: gloves first."
_PROTECTED = "Eyes, ears and lungs"
_PLATED_AGAIN = re.compile(r"; never cut plated or galvanised stock(?=\.)| Never cut plated or galvanised stock\.")
SPLINTER_CAUTION = "Its edges can splinter: mind your hands."


def cautions(start: Start, process: Process | None, *, drilled: bool, chromium: bool) -> str:
    """Return the usual cautions.

    Args:
        start: How the work starts.
        process: How the blank is cut; None for one that is bought.
        drilled: Whether it has holes.
        chromium: Whether its steel is rich in chromium, or nobody knows.
    """
    cutting = [process.caution_for(chromium=chromium)] if process is not None else [EDGE_CAUTION]
    if start.wooden:
        own = [DUST_CAUTION if "lungs" in cutting[0] else WOOD_CAUTION]
        return " ".join([*own, *([] if process is None else cutting), GENERAL_CAUTION])
    own = [] if _PROTECTED in cutting[0] else [STEEL_CAUTION]
    if not start.known:  # what found steel is told once is not told again of its cut
        cutting = [_PLATED_AGAIN.sub("", each) for each in cutting]
    if drilled and not start.bought and start.heated:
        own.append(DRILL_CAUTION)
    if start.hard:
        own.append(COOL_CAUTION)
    if not start.known:
        own.append(FOUND_CAUTION if start.heated else PLATED_CAUTION if not start.bought else ASK_CAUTION)
    return " ".join([*own, *cutting, GENERAL_CAUTION])


def template_caution(start: Start, *, drilled: bool) -> str:
    """Return the short cautions that stand on every page of a template.

    Args:
        start: How the work starts.
        drilled: Whether the steel has holes.
    """
    if start.wooden:
        return f"Eyes and lungs: protect them; wood dust harms the lungs. {GENERAL_CAUTION}"
    own = ["Eyes, ears and lungs: protect them."]
    if drilled and not start.bought and start.heated:
        own.append("Drill before hardening.")
    if start.hard:
        own.append("Keep hardened steel cool.")
    return " ".join([*own, GENERAL_CAUTION])
