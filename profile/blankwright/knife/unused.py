"""Which settings do nothing for a knife: what its construction, its material or its start leaves no use for."""

from __future__ import annotations

from blankwright.knife.knife import Knife

_OF_PINS = ("diameter", "spacing", "positions", "material", "fit")


def unused(knife: Knife) -> frozenset[str]:
    """Return the keys of settings that nobody asked for and that do nothing for this knife.

    Args:
        knife: The knife.
    """
    design, start = knife.design, knife.start
    gone = {
        "scales": knife.construction != "full",
        "block": knife.construction != "hidden",
        "cutting": start.bought,
        "allowance": start.bought,
    }
    keys = [key for key in design.settings if gone.get(key.split(".")[0])]
    if design.pins is None:
        keys += [f"pins.{key}" for key in _OF_PINS]
    if not start.heated:
        keys += ["cutting.heel_notch", "grind.edge_before_hardening"]
    return frozenset(key for key in keys if key in design.settings and not design.asked(key))
