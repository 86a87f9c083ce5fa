"""Which settings a design file has beside its dimensions, and how one is read: kind, range, unit, meaning."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

from blankwright.base.doors import a_number
from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.plain import MOST_WHOLE
from blankwright.base.units import angle_deg, apart, hardness_hrc, length_mm, mass_g, share_percent
from blankwright.design.partkeys import MORE
from blankwright.design.parts import REGIONS
from blankwright.design.settings import Value


@dataclass(frozen=True)
class Setting:
    """One key of the design file that is not a dimension of the outline.

    Args:
        key: Dotted name.
        kind: "length", "lengths", "angle", "mass", "share", "hardness", "count", "name", "choice" or "height" (a length
            or "full").
        least: Smallest value [mm, degrees, g, %, HRC or count].
        greatest: Largest value [mm, degrees, g, %, HRC or count].
        choices: Allowed words of a choice.
        meaning: What it is, for the commented design file.
        items: Least and greatest number of lengths.
        kinds: Kinds of material that a name may be of.
    """

    key: str
    kind: str
    least: float = 0.0
    greatest: float = 0.0
    choices: tuple[str, ...] = ()
    meaning: str = ""
    items: tuple[int, int] = (1, 4)
    kinds: tuple[str, ...] = ()


TAPERS = ("none", "straight", "early", "late")
"""Named tapers of the spine; their shapes stand in `solid/taper.py`."""

NOTCH_STAGES = ("before hardening", "after hardening")
"""When the heel notch is finished to the line: a hollow corner is slow work in hard steel (common practice)."""

STARTS = ("bar", "found", "forged", "blank", "hardened-blank")
"""What the work can start from: bar or sheet, found steel, forged, a bought blank, soft or hardened."""

PIECES = ("file", "rasp", "leaf-spring", "saw-blade")
"""What found steel may have been; the trade's table has what each loses."""

EDGES = ("sharp", "blunt")
"""How a blade ends: an edge bevel that is sharpened, or an edge rounded over its thickness, as a spreader's."""

HANDLES = ("wood", "laminate", "bone")
"""What scales and blocks are of."""

SETTINGS: tuple[Setting, ...] = (
    Setting("pins.count", "count", 0, 4, meaning="pins through tang and scales"),
    Setting("pins.diameter", "length", 1, 12, meaning="diameter of the pin rod"),
    Setting("pins.material", "name", meaning="material of the pins", kinds=("metal", "laminate")),
    Setting("pins.fit", "choice", choices=("glued", "peened", "bolted"), meaning="how the pins are held"),
    Setting("pins.positions", "lengths", -250, 0, meaning="x of each pin, by hand, negative behind the heel"),
    Setting("pins.spacing", "length", 5, 150, meaning="distance between neighbouring pins"),
    Setting("tang.lanyard_diameter", "length", 2, 12, meaning="hole for a cord near the butt"),
    Setting("tang.lightening_count", "count", 0, 6, meaning="holes between the pins that take weight away"),
    Setting("tang.lightening_diameter", "length", 3, 18, meaning="diameter of those holes"),
    Setting("tang.butt_thickness", "length", 0.8, 25, meaning="thickness at the tang's end, tapering from the front"),
    Setting("material.grade", "name", meaning="steel or wood of the blank", kinds=("steel", "stainless", "wood")),
    Setting("material.thickness", "length", 0.5, 25, meaning="thickness of the stock"),
    Setting("material.hardened", "choice", choices=("yes", "no"), meaning="no leaves a steel blade soft, as bought"),
    Setting("material.hardness", "hardness", 40, 68, meaning="hardness wished for; picks the temper, promises nothing"),
    Setting("grind.kind", "choice", choices=("flat", "hollow", "convex"), meaning="shape of the primary bevel"),
    Setting("grind.bevel", "choice", choices=("double", "single", "uneven"), meaning="alike on both faces, or not"),
    Setting("grind.right_share", "share", 0, 100, meaning="thickness right of the edge: 0 or 100 % for single"),
    Setting("grind.height", "height", 2, 120, meaning="height of the primary bevel, or full"),
    Setting("grind.wheel", "length", 20, 1000, meaning="diameter of the wheel of a hollow grind"),
    Setting("grind.behind_edge", "length", 0.03, 3, meaning="thickness where primary and edge bevel meet"),
    Setting("grind.edge", "choice", choices=EDGES, meaning="sharpened, or rounded so that it cannot cut"),
    Setting("grind.edge_angle", "angle", 5, 45, meaning="angle of the edge bevel on each side"),
    Setting("grind.edge_angle_left", "angle", 5, 45, meaning="angle of the left edge bevel, where it differs"),
    Setting("grind.edge_before_hardening", "length", 0.1, 4, meaning="edge left this thick until after hardening"),
    Setting("grind.taper", "choice", choices=TAPERS, meaning="how the spine thins from heel to tip"),
    Setting("grind.spine_heel", "length", 0.5, 25, meaning="thickness of the spine over the heel, if below the stock"),
    Setting("grind.spine_middle", "length", 0.3, 25, meaning="thickness of the spine halfway, instead of the taper's"),
    Setting("grind.spine_near_tip", "length", 0.2, 25, meaning="the same 50 mm before the tip"),
    Setting("grind.tip_thickness", "length", 0.2, 10, meaning="thickness of the spine near the tip"),
    Setting("grind.ricasso", "length", 0, 60, meaning="unground steel ahead of the heel, up to the plunge line"),
    Setting("grind.plunge_radius", "length", 0, 60, meaning="radius of the step at the plunge line"),
    Setting("scales.material", "name", meaning="material of the scales", kinds=HANDLES),
    Setting("scales.thickness", "length", 2, 25, meaning="thickness of one scale"),
    Setting("scales.section", "choice", choices=("slab", "rounded", "oval"), meaning="a scale's shape across"),
    Setting("scales.swell", "length", 0, 8, meaning="what a scale has more in its middle, a palm swell"),
    Setting("scales.weighed", "mass", 1, 5000, meaning="weight of your own piece, for its density"),
    Setting("scales.weighed_size", "lengths", 3, 500, meaning="its length, height, thickness", items=(3, 3)),
    Setting("block.material", "name", meaning="material of the block on a hidden tang", kinds=HANDLES),
    Setting("block.width", "length", 8, 50, meaning="the block across, finished"),
    Setting("block.front_height", "length", 10, 60, meaning="height of the block at its front"),
    Setting("block.butt_height", "length", 10, 60, meaning="height of the block at its butt"),
    Setting("block.section", "choice", choices=("slab", "rounded", "oval", "octagon"), meaning="its shape across"),
    Setting("block.swell", "length", 0, 16, meaning="what the block has more across in its middle"),
    Setting("block.weighed", "mass", 1, 5000, meaning="weight of your own piece, for its density"),
    Setting("block.weighed_size", "lengths", 3, 500, meaning="its length, height, thickness", items=(3, 3)),
    Setting("start.from", "choice", choices=STARTS, meaning="what the work starts from"),
    Setting("start.ground", "choice", choices=("no", "yes"), meaning="yes where a hardened blank has its bevels"),
    Setting("start.piece", "choice", choices=PIECES, meaning="what found steel was"),
    Setting("start.thickness", "length", 0.5, 60, meaning="thickness of the found piece, teeth and all"),
    Setting("start.loss", "length", 0, 10, meaning="what goes from each of its faces, instead of the table's"),
    Setting("start.bar", "lengths", 3, 200, meaning="width and thickness of the bar to forge", items=(2, 2)),
    Setting("start.heats", "count", 1, 40, meaning="how often it is heated until it is forged"),
    Setting("start.forged_bevels", "share", 0, 100, meaning="how much of bevels and tapers is forged, not ground"),
    Setting("start.handling", "length", 0, 400, meaning="what the tongs hold of the bar, cut off afterwards"),
    Setting("cutting.process", "name", meaning="how the blank is cut"),
    Setting("cutting.heel_notch", "choice", choices=NOTCH_STAGES, meaning="when the heel notch is finished"),
    Setting("cutting.nozzle_radius", "length", 2, 40, meaning="half the width of your torch's nozzle or shield"),
    *(Setting(**row) for row in MORE),
    *(
        Setting(f"allowance.{r}", "length", 0, 25, meaning=f"oversize of the {r}, instead of the process's")
        for r in REGIONS
    ),
)  # fmt: skip

SETTING_UNITS = {"angle": "deg", "mass": "g", "share": "%", "hardness": "HRC"}
"""Unit of a setting by its kind; lengths, heights and lists of lengths are in mm."""

_ENDS = {"_mm": "mm", "_deg": "deg", "_g": "g", "_percent": "%", "_hrc": "HRC"}
"""Units that a script may put behind a key."""

_BARE = ("count", "name", "choice")
"""Kinds of settings that have no unit."""

BY_KEY = {s.key: s for s in SETTINGS}
"""Settings by their key."""


def with_unit(key: str) -> str:
    """Return a key with its unit behind it, as with_units takes it and as a column of a table is headed.

    >>> with_unit("material.thickness"), with_unit("pins.count")
    ('material.thickness_mm', 'pins.count')
    """
    setting = BY_KEY[key]
    if setting.kind in _BARE:
        return key
    return key + next(end for end, unit in _ENDS.items() if unit == SETTING_UNITS.get(setting.kind, "mm"))


def with_units(settings: Mapping[str, object]) -> dict[str, object]:
    """Return settings as a design file has them: a number gets the unit of its key, a unit behind a key goes.

    Args:
        settings: Values by key; numbers may be those of numpy, decimal or fractions, lists may be arrays.

    Raises:
        RequestError: A unit that is not the key's, or a key given with and without its unit.
    """
    out: dict[str, object] = {}
    for key, given in settings.items():
        value = _own(given, key)
        plain = next((key.removesuffix(end) for end in _ENDS if key.endswith(end)), key)
        setting = BY_KEY.get(plain)
        unit = SETTING_UNITS.get(setting.kind, "mm") if setting else "mm"
        if plain != key and _ENDS[key[len(plain) :]] != unit:
            raise RequestError(f"{key}: {plain} is in {unit}.")
        if plain in out:
            raise RequestError(f"{key}: {plain} is given twice; leave one out.")
        words = plain in ("name", "family", "handle.construction", "handle.pattern")
        bare = words or (setting is not None and setting.kind in _BARE)
        if isinstance(value, list) and not bare:
            out[plain] = [f"{item!r} {unit}" if _is_number(item) else item for item in value]
        else:
            out[plain] = f"{value!r} {unit}" if _is_number(value) and not bare else value
    return out


def _own(value: object, key: str) -> object:
    """Return a number or an array of another library as Python's own; anything else as it is."""
    if isinstance(value, (Decimal, Fraction)):
        return a_number(value, key)
    if isinstance(value, (list, tuple)):
        return [_own(item, key) for item in value]
    return value.tolist() if hasattr(value, "tolist") else value


def _is_number(value: object) -> bool:
    """Whether a value is a number that can be written; a whole one longer than a file's goes on and is refused."""
    whole = isinstance(value, int) and not isinstance(value, bool) and abs(value) <= MOST_WHOLE
    return whole or isinstance(value, float)


def read_value(setting: Setting, value: object, where: str) -> Value:
    """Read one setting and check its range.

    Args:
        setting: The setting.
        value: Its value as in a design file.
        where: File, table and key for the message.

    Raises:
        RequestError: Not a value of this setting's kind, or out of its range.
    """
    if setting.kind == "name":
        if not isinstance(value, str) or not value.strip() or len(value) > (400 if value.endswith(".toml") else 60):
            raise RequestError(f"{where}: expected a name, got {told(value)}.")
        return value.strip()
    if setting.kind == "choice":
        if value not in setting.choices:
            raise unknown("value", str(value), setting.choices, where)
        return str(value)
    if setting.kind == "count":
        return _count(setting, value, where)
    if setting.kind == "lengths":
        items = value if isinstance(value, (list, tuple)) else str(value).split(",")
        fewest, most = setting.items
        if not fewest <= len(items) <= most:
            span = f"{fewest}" if fewest == most else f"{fewest} to {most}"
            raise RequestError(f"{where}: expected {span} lengths, got {len(items)}.")
        return tuple(_within(setting, length_mm(item, where), where) for item in items)
    if setting.kind == "height" and value == "full":
        return "full"
    others = {"angle": angle_deg, "mass": mass_g, "share": share_percent, "hardness": hardness_hrc}
    read = others.get(setting.kind, length_mm)
    return _within(setting, read(value, where), where)


def _count(setting: Setting, value: object, where: str) -> int:
    if isinstance(value, str) and re.fullmatch(r"\s*\d{1,3}\s*", value):
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not setting.least <= value <= setting.greatest:
        raise RequestError(
            f"{where}: expected a whole number {setting.least:g} to {setting.greatest:g}, got {told(value)}."
        )
    return value


def _within(setting: Setting, number: float, where: str) -> float:
    if not setting.least <= number <= setting.greatest:
        unit = SETTING_UNITS.get(setting.kind, "mm")
        raise RequestError(
            f"{where}: {apart(number, setting.least, setting.greatest)} {unit} is out of range. Allowed: "
            f"{setting.least:g} {unit} to {setting.greatest:g} {unit} ({setting.meaning})."
        )
    return number
