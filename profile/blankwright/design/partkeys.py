"""Keys of the design file for the maker's own mark and for what is cut beside the blade, as rows of `SETTINGS`.

Where a design says nothing of a part, shop/data/parts.toml does, with source and status.
"""

from __future__ import annotations

from typing import Any


def _length(key: str, least: float, greatest: float, meaning: str) -> dict[str, Any]:
    return {"key": f"parts.{key}", "kind": "length", "least": least, "greatest": greatest, "meaning": meaning}


def _name(key: str, meaning: str, *kinds: str) -> dict[str, Any]:
    return {"key": f"parts.{key}", "kind": "name", "meaning": meaning, "kinds": kinds}


MARK: tuple[dict[str, Any], ...] = (
    {"key": "mark.text", "kind": "name", "meaning": "maker's own mark in single-line letters"},
    {"key": "mark.file", "kind": "name", "meaning": "or a drawing of it (.svg), beside the design file"},
    {"key": "mark.height", "kind": "length", "least": 1, "greatest": 40,
     "meaning": "height of a capital, or of the drawing"},
    {"key": "mark.at", "kind": "lengths", "least": -400, "greatest": 600, "items": (2, 2),
     "meaning": "its middle, x and y from the heel"},
    {"key": "mark.reads", "kind": "choice", "choices": ("along", "across"),
     "meaning": "whether it reads along the knife, or across it"},
    {"key": "mark.lines", "kind": "choice", "choices": ("etched", "left out"),
     "meaning": "grind line and plunge line among the marks"},
)  # fmt: skip
"""The table [mark]."""

PARTS: tuple[dict[str, Any], ...] = (
    _length("scale_oversize", 0.3, 10, "outside the finished line of scales and liners"),
    _length("scale_front", 0, 5, "ahead of the handle's front, trued before glue-up"),
    _name("liner_material", "material of the liners", "laminate", "metal"),
    _length("liner_thickness", 0.2, 5, "thickness of one liner"),
    _name("spacer_material", "material of the spacer", "metal", "laminate", "wood", "stainless"),
    _length("spacer_thickness", 0.5, 20, "thickness of the spacer, along the knife"),
    _length("spacer_oversize", 0.3, 10, "outside the block's section"),
    _length("slot_gap", 0.02, 1, "room on each side of the tang in the spacer's slot"),
    _length("slot_corner", 0.1, 2, "radius in the corners of the slot"),
    _name("template_material", "hardboard, plywood or acrylic"),
    _length("template_thickness", 0.5, 12, "thickness of the template"),
    _length("finger_hole", 10, 40, "holes to hold the template by"),
    _length("finger_least", 8, 40, "a smaller finger hole is left out"),
    _length("finger_wall", 2, 20, "board left round a finger hole"),
    _name("guide_material", "steel of the filing guide", "steel", "stainless"),
    _length("guide_thickness", 2, 15, "thickness of one plate of the filing guide"),
    _length("guide_width", 12, 60, "width of a plate, back from its working edge"),
    _length("pilot_hole", 2, 10, "pilot holes of the plates"),
    _length("pilot_clear", 0.5, 10, "room between the blank and a pilot hole"),
    _length("pilot_edge", 3, 25, "from a pilot hole's centre to the plate's edge"),
    _name("sheath_material", "leather, or thermoplastic"),
    _length("sheath_thickness", 0.8, 6, "thickness of one side"),
    _length("sheath_room", 0.5, 10, "between the blade and the welt"),
    _length("sheath_seam", 2, 25, "from the blade to the stitches"),
    _length("sheath_edge", 2, 15, "from the stitches to the outside"),
    _length("sheath_mouth", 0, 6, "how far the side reaches behind the heel"),
    _length("drain_hole", 2, 8, "hole beyond the tip that lets water out"),
    _length("cut_deviation", 0.02, 2, "what a cut in these materials may be off"),
)
"""The table [parts]; a row of shop/data/parts.toml has the same key."""

EXAMPLES: dict[str, str] = {
    "scale_oversize": "1.5 mm",
    "scale_front": "0.5 mm",
    "liner_material": "vulcanised-fibre",
    "liner_thickness": "0.8 mm",
    "spacer_material": "brass",
    "spacer_thickness": "3 mm",
    "spacer_oversize": "1 mm",
    "slot_gap": "0.1 mm",
    "slot_corner": "0.5 mm",
    "template_material": "hardboard",
    "template_thickness": "3 mm",
    "finger_hole": "20 mm",
    "finger_least": "12 mm",
    "finger_wall": "6 mm",
    "guide_material": "O1",
    "guide_thickness": "6 mm",
    "guide_width": "25 mm",
    "pilot_hole": "4.2 mm",
    "pilot_clear": "2 mm",
    "pilot_edge": "9 mm",
    "sheath_material": "leather",
    "sheath_thickness": "3 mm",
    "sheath_room": "2 mm",
    "sheath_seam": "8 mm",
    "sheath_edge": "4 mm",
    "sheath_mouth": "3 mm",
    "drain_hole": "3 mm",
    "cut_deviation": "0.25 mm",
}
"""What stands in the comment of a key of [parts]: the value that its row in parts.toml has."""

MORE = (*MARK, *PARTS)
"""All of them."""
