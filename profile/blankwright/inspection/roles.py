"""What is each layer, or each colour of a layer, for? Cut, mark or neither; asked for, or by its name."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.inspection.drawing import Drawing, Item

Role = Literal["cut", "mark", "aside", "hidden"]

_MARKS = re.compile(
    r"(?:^|[^A-Z])(ETCH(ED|ES|ING)?|ENGRAV(E|ED|ES|ING|INGS)|SCOR(E|ED|ES|ING)|SCRIB(E|ED|ES|ING)|MARK(ED|S|ING|INGS)?|"
    r"BEND(S|ING)?(LINES?)?|FOLD(S|ING)?(LINES?)?|CREAS(E|ES|ING)|STAMP(S|ING)?|LABELS?)(?:$|[^A-Z])"
)
_ASIDE = re.compile(
    r"(?:^|[^A-Z])(FINISHED|GRIND|NOTES?|TEXTS?|DIMS?|DIMENSIONS?|DEFPOINTS|CONSTR(UCTION)?|CENT(ER|RE)(LINES?)?|"
    r"AX[EI]S|HIDDEN|HELP|HELPERS?|REF(ERENCE)?S?|GUIDES?|SKETCH(ES)?|BORDER|FRAME|TITLE(BLOCK)?|LAYOUT|ANNOTATIONS?|"
    r"TANGENTS?)(?:$|[^A-Z])"
)
"""Names by which layers that are not to be cut are usually called (common practice)."""

NAMED, UNNAMED = "by its name", "its name says nothing else"

WORDS: dict[str, str] = {
    "cut": "to be cut",
    "mark": "a mark, not cut",
    "aside": "not to be cut",
    "hidden": "switched off, not to be cut",
}
"""Role -> what it means, as the report says it."""


@dataclass(frozen=True)
class Choice:
    """What somebody says of layers and colours.

    Args:
        cut_layers: Layers that are to be cut; with these or cut_colours, nothing else is.
        mark_layers: Layers that are marks.
        cut_colours: Colours that are to be cut, as `colour_named` gives them.
        mark_colours: Colours that are marks.
    """

    cut_layers: tuple[str, ...] = ()
    mark_layers: tuple[str, ...] = ()
    cut_colours: tuple[str, ...] = ()
    mark_colours: tuple[str, ...] = ()

    @property
    def cuts(self) -> bool:
        """Whether it says what is to be cut."""
        return bool(self.cut_layers or self.cut_colours)


@dataclass(frozen=True)
class Use:
    """What the lines of a layer, or those of one colour on it, were taken for.

    Args:
        layer: Its name.
        colour: The colour: an index, or #rrggbb; "" where the file tells none.
        role: What it was taken for.
        why: "as asked", "by its name" and the like.
        items: The line work.
    """

    layer: str
    colour: str
    role: Role
    why: str
    items: tuple[Item, ...]


def colour_named(text: str, option: str) -> str:
    """Read a colour: an index from 1 to 255 (DXF reference, group code 62), or #rrggbb.

    Raises:
        RequestError: It is neither.
    """
    plain = text.strip().lower()
    if plain.isdecimal() and plain.isascii() and 1 <= int(plain[:4]) <= 255:
        return str(int(plain))
    if re.fullmatch(r"#[0-9a-f]{6}", plain):
        return plain
    raise RequestError(f"{option}: '{text[:20]}' is no colour. Write an index from 1 to 255, or #ff0000 for red.")


def by_name(layer: str) -> Role:
    """Return what a layer's name says of it; "cut" for a name that says nothing."""
    name = layer.upper()
    return "mark" if _MARKS.search(name) else "aside" if _ASIDE.search(name) else "cut"


def uses_of(drawing: Drawing, items: Iterable[Item], choice: Choice) -> list[Use]:
    """Say of line work what it is for; layers in the order of their names.

    Args:
        drawing: The drawing, for the colours of its layers.
        items: Line work that is not on paper.
        choice: What somebody says of it.

    Raises:
        RequestError: A layer or colour that was named is not in the file.
    """
    groups: dict[tuple[str, str], list[Item]] = {}
    for item in items:
        groups.setdefault((item.layer.upper(), drawing.colour_of(item)), []).append(item)
    _check(choice, groups)
    shown = {key: [i for i in found if not drawing.hides(i)] for key, found in groups.items()}
    if not any(found and by_name(layer) == "cut" for (layer, _), found in shown.items()) and not choice.cuts:
        shown = groups  # nothing else to look at: then what is hidden is looked at
    only_cut = any(found for (layer, _), found in shown.items() if layer == "CUT")
    plain = any(found and by_name(layer) == "cut" for (layer, _), found in shown.items())
    out = []
    for (layer, colour), found in sorted(groups.items()):
        seen = shown[layer, colour]
        role, why = _role(layer, colour, choice, only_cut=only_cut, plain=plain)
        ids = set(map(id, seen))
        for items_of, what, reason in ((seen, role, why), ([i for i in found if id(i) not in ids], "hidden", "")):
            if items_of:
                out.append(Use(items_of[0].layer, colour, what, reason, tuple(items_of)))
    return out


def _check(choice: Choice, groups: Iterable[tuple[str, str]]) -> None:
    layers, colours = {layer for layer, _ in groups}, {colour for _, colour in groups if colour}
    for names, there, what, option in (
        (choice.cut_layers, layers, "layer", "--cut-layer"),
        (choice.mark_layers, layers, "layer", "--mark-layer"),
        (choice.cut_colours, colours, "colour", "--cut-colour"),
        (choice.mark_colours, colours, "colour", "--mark-colour"),
    ):
        known = {name.upper() for name in there}
        for name in names:
            if name.upper() not in known:
                raise unknown(what, name, sorted(there)[:20], option)


def _role(layer: str, colour: str, choice: Choice, *, only_cut: bool, plain: bool) -> tuple[Role, str]:
    if layer in {n.upper() for n in choice.mark_layers} or colour in choice.mark_colours:
        return "mark", "as asked"
    if layer in {n.upper() for n in choice.cut_layers} or colour in choice.cut_colours:
        return "cut", "as asked"
    if choice.cuts:
        return "aside", "something else was named to be cut"
    named = by_name(layer)
    if only_cut and layer != "CUT" and named == "cut":
        return "aside", "layer CUT is there"
    if only_cut and layer == "CUT":
        return "cut", NAMED
    if named == "cut":
        return "cut", UNNAMED
    return (named, NAMED) if plain else ("cut", "nothing else is there")
