"""What may be turned in aiming: a dimension or setting, where it stands, and how far it may go."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.said import Value, exact_mm
from blankwright.base.units import length_mm, show_mm
from blankwright.design.keys import BY_KEY, Setting, read_value
from blankwright.knife.knife import Knife

ALIASES = {"spine_thickness": "material.thickness"}
"""Words of the trade for keys of the design file."""

STILL_OPEN = ("grind", "scales", "block")
"""Tables of the design file that a bought blank leaves open."""

DIGITS = 4
"""Decimals of the values written: a tenth of a micrometre is worth less than 0.01 g."""


@dataclass(frozen=True)
class Knob:
    """Something that aiming may change.

    Args:
        key: Its key in the design file.
        start: Where it stands [mm, degrees, % or count].
        least: The smallest value allowed.
        greatest: The largest value allowed.
        unit: Its unit, empty for a count.
        dimension: Its name when it is a dimension of the outline, else None.
    """

    key: str
    start: float
    least: float
    greatest: float
    unit: str
    dimension: str | None

    def show(self, value: float) -> str:
        """Write a value with its unit."""
        return f"{round(value, DIGITS):g} {self.unit}".strip()

    def told(self, value: float) -> Value:
        """Return a value for a sentence: a length follows the reader's units."""
        return exact_mm(round(value, DIGITS)) if self.unit == "mm" else self.show(value)


def knob_of(knife: Knife, words: str) -> Knob:
    """Return the knob that some words name: a key or a script name, with "=5mm..9mm" behind it for a range.

    Raises:
        RequestError: Nothing of that name can be changed, it has no value to start from, or the range is not one.
    """
    name, _, span = words.partition("=")
    name = ALIASES.get(name.strip(), name.strip())
    knob = _dimension_knob(knife, name) or _setting_knob(knife, name)
    still = STILL_OPEN[1:] if knife.start.ground else STILL_OPEN
    if knife.start.bought and knob.key.split(".")[0] not in still:
        stands = "outline, holes, bevels and stock" if knife.start.ground else "outline, holes and stock"
        raise RequestError(
            f"--let {name}: the blank is bought, so its {stands} stand. What may change: a key of "
            f"{' or '.join(f'[{table}]' for table in still)}."
        )
    if span:
        knob = _within(knob, span, knife)
    if not knob.least < knob.greatest:
        raise RequestError(
            f"--let {name}: its range {knob.show(knob.least)} to {knob.show(knob.greatest)} leaves no room."
        )
    return knob


def _dimension_knob(knife: Knife, name: str) -> Knob | None:
    for d in knife.design.family.offered(knife.construction):
        if name in (d.key, d.name):
            return Knob(d.key, round(knife.shape.values_mm[d.name], 9), d.least_mm, d.greatest_mm, "mm", d.name)
    return None


_UNITS = {"length": "mm", "height": "mm", "angle": "deg", "share": "%", "count": ""}


def _setting_knob(knife: Knife, name: str) -> Knob:
    design = knife.design
    by_name = {key.replace(".", "_"): key for key in BY_KEY}
    key = by_name.get(name, name)
    setting = BY_KEY.get(key)
    if setting is None or setting.kind not in _UNITS:
        keys = [k for k, s in BY_KEY.items() if s.kind in _UNITS and not k.startswith("allowance.")]
        dimensions = [d.key for d in design.family.offered(design.construction)]
        what = "key" if setting is None else "key of a length, angle, share or count"
        raise unknown(what, name, [*dimensions, *keys], "--let")
    start = _start(knife, key)
    if start is None:
        raise RequestError(f"--let {key}: it has no value to start from. Give it one with --set {key}=...")
    least, greatest = _range(knife, setting)
    return Knob(key, start, min(least, start), max(greatest, start), _UNITS[setting.kind], None)


def _start(knife: Knife, key: str) -> float | None:
    """Return where a setting stands; what is not written has the value that its absence means."""
    value = knife.design.settings.get(key)
    if isinstance(value, (int, float)):
        return float(value)
    taper, length = knife.ground.taper, knife.finished.bounds_mm[2]
    places = {"grind.spine_heel": 0.0, "grind.spine_middle": length / 2, "grind.spine_near_tip": length - 50.0}
    if key in places:
        return float(taper.at(np.array([places[key]]))[0])
    if key == "grind.height":
        return knife.shape.values_mm["heel_height"]
    if key == "tang.butt_thickness":
        return knife.stock_mm
    nothing = ("scales.swell", "block.swell", "grind.ricasso", "grind.plunge_radius", "tang.lightening_count")
    return 0.0 if key in nothing else None


def _range(knife: Knife, setting: Setting) -> tuple[float, float]:
    """Return a setting's range: the family's where it gives one, and never thicker than the stock."""
    family = knife.design.family
    default = family.defaults[knife.construction].get(setting.key)
    ends = [setting.least, setting.greatest]
    for i, text in enumerate((default.least, default.greatest) if default else ()):
        if text is not None:
            read = read_value(setting, text, f"{family.name} {setting.key}")
            ends[i] = float(read) if isinstance(read, (int, float)) else ends[i]
    if setting.key.startswith("grind.spine_") or setting.key == "tang.butt_thickness":
        ends[1] = min(ends[1], knife.stock_mm)
    if setting.key == "grind.height":
        ends[1] = min(ends[1], knife.shape.values_mm["heel_height"])
    return ends[0], ends[1]


def _within(knob: Knob, span: str, knife: Knife) -> Knob:
    """Narrow a knob to a range given in words, such as "5mm..9mm"."""
    ends = span.split("..")
    if len(ends) != 2:
        raise RequestError(f"--let {knob.key}: '{span}' is not a range. Write it like {knob.key}=5mm..9mm.")
    place = f"--let {knob.key}"
    if knob.dimension is not None:
        values = [length_mm(e, place) for e in ends]
    else:
        values = [float(read_value(BY_KEY[knob.key], e.strip(), place)) for e in ends]  # type: ignore[arg-type]
    if not values[0] < values[1]:
        raise RequestError(f"--let {knob.key}: '{span}' is not a range from small to large.")
    for value in values:
        if knob.dimension is not None and not knob.least <= value <= knob.greatest:
            raise RequestError(
                f"{place}: {show_mm(value)} is outside the family's {show_mm(knob.least)} to {show_mm(knob.greatest)}."
            )
    return replace(knob, least=values[0], greatest=values[1])
