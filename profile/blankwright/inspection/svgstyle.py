"""How is an element of an SVG file drawn, and how long is a length in it?

SVG 1.1 and 2, CSS Values and Units (W3C).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from blankwright.base.units import MM_PER_INCH
from blankwright.inspection.svgpath import NUMBER
from blankwright.inspection.svgxml import Node

PX_MM = MM_PER_INCH / 96
"""A user unit where nothing else is said (CSS Values and Units: 96 to the inch)."""
UNITS_MM = {
    "": PX_MM, "px": PX_MM, "mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "pt": MM_PER_INCH / 72, "pc": MM_PER_INCH / 6,
    "q": 0.25,
}  # fmt: skip
REAL = frozenset({"mm", "cm", "in", "pt", "pc", "q"})
"""Units that say how large the drawing is; px does not: programs have used 72, 90 and 96 to the inch."""

PROPERTIES = frozenset(
    {"fill", "stroke", "stroke-dasharray", "stroke-width", "display", "visibility", "opacity", "clip-path", "mask",
     "transform"}
)  # fmt: skip
_INHERITED = ("fill", "stroke", "stroke-dasharray", "stroke-width", "visibility")
_NAMES = {
    "black": "#000000", "white": "#ffffff", "red": "#ff0000", "lime": "#00ff00", "blue": "#0000ff", "green": "#008000",
    "yellow": "#ffff00", "cyan": "#00ffff", "aqua": "#00ffff", "magenta": "#ff00ff", "fuchsia": "#ff00ff",
    "gray": "#808080", "grey": "#808080", "silver": "#c0c0c0", "maroon": "#800000", "navy": "#000080",
    "orange": "#ffa500", "purple": "#800080", "olive": "#808000", "teal": "#008080",
}  # fmt: skip

Rule = tuple[str, dict[str, str]]
"""A simple selector (tag, .class, #id or tag.class), and what it sets."""


def rules_of(css: Iterable[str]) -> list[Rule]:
    """Read style sheets: rules with simple selectors; others say nothing here, and nothing is imported."""
    out: list[Rule] = []
    for text in css:
        plain = re.sub(r"/\*.*?\*/|@import[^;]*;|<!--|-->", "", text, flags=re.DOTALL)
        for selectors, body in re.findall(r"([^{}]+)\{([^{}]*)\}", plain):
            declared = declared_in(body)
            if declared:
                out += [(one.strip(), declared) for one in selectors.split(",") if re.fullmatch(_SIMPLE, one.strip())]
    return out


_SIMPLE = re.compile(r"\*|[\w-]*(?:[.#][\w-]+)?")


def declared_in(body: str) -> dict[str, str]:
    """Return the declarations that are looked at, of a style attribute or a rule's body."""
    pairs = (part.partition(":") for part in body.split(";"))
    found = {name.strip().lower(): value.replace("!important", "").strip() for name, _, value in pairs}
    return {name: value for name, value in found.items() if name in PROPERTIES and value}


def style_of(node: Node, above: Mapping[str, str], rules: Sequence[Rule]) -> dict[str, str]:
    """Return how an element is drawn: what it inherits, its attributes, rules, its style attribute."""
    out = {name: above[name] for name in _INHERITED if name in above}
    own = {name: value.strip() for name, value in node.attributes.items() if name in PROPERTIES}
    classes = set(node.attributes.get("class", "").split())
    for rank in range(3):
        for selector, declared in rules:
            if _rank(selector) == rank and _fits(selector, node, classes):
                own |= declared
    own |= declared_in(node.attributes.get("style", ""))
    return out | {name: value for name, value in own.items() if value != "inherit"}


def _rank(selector: str) -> int:
    return 2 if "#" in selector else 1 if "." in selector else 0


def _fits(selector: str, node: Node, classes: set[str]) -> bool:
    tag, sign, name = re.split(r"([.#])", selector, maxsplit=1) if re.search(r"[.#]", selector) else (selector, "", "")
    named = not sign or (name in classes if sign == "." else name == node.attributes.get("id"))
    return tag in {"", "*", node.tag} and named


def colour_of(paint: str) -> str:
    """Return a paint as #rrggbb, "" for none, or as it is written when it is neither."""
    text = paint.strip().lower()
    if text in {"none", "transparent", ""}:
        return ""
    if re.fullmatch(r"#[0-9a-f]{3}", text):
        return "#" + "".join(2 * c for c in text[1:])
    parts = re.fullmatch(r"rgb\(\s*(\d{1,3})\s*,\s*(\d{1,3})\s*,\s*(\d{1,3})\s*\)", text)
    if parts:
        return "#" + "".join(f"{min(255, int(v)):02x}" for v in parts.groups())
    return _NAMES.get(text, text[:20])


def length_of(text: str | None, whole: float, default: float = 0.0) -> float:
    """Return a length in user units.

    Args:
        text: The attribute.
        whole: What a percentage is of [user units].
        default: What stands when there is none, or none that can be read.
    """
    match = None if text is None else NUMBER.match(text.strip())
    if match is None or text is None:
        return default
    number, unit = float(match[0]), text.strip()[match.end() :].strip().lower()
    if unit == "%":
        return number / 100 * whole
    return number * UNITS_MM.get(unit, PX_MM) / PX_MM


def size_mm(text: str | None) -> tuple[float, bool] | None:
    """Return a length of the root in mm, and whether its unit is a real one; None for none, or a percentage."""
    match = None if text is None else NUMBER.match(text.strip())
    if match is None or text is None:
        return None
    unit = text.strip()[match.end() :].strip().lower()
    number = float(match[0])
    return (number * UNITS_MM[unit], unit in REAL) if unit in UNITS_MM and 0 < number < 1e6 else None
