"""What is in an SVG drawing? Every shape that it shows, in mm and with y up, and what stands in the way of cutting it.

SVG 1.1 and 2 (W3C). Nothing here raises for a broken file: what can be read is read, and every fault is named with its
line.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import field, replace

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.errors import GeometryError, ProofError
from blankwright.base.frozen import dataclass
from blankwright.inspection.budget import COPY, ENTITY, Budget, TooMuchWorkError
from blankwright.inspection.drawing import Drawing, Item, circle_chain, mapped, printable
from blankwright.inspection.svgpath import MAX_NUMBER, NUMBER, Stretch, stretches_of, transform_of
from blankwright.inspection.svgstyle import (
    PX_MM,
    REAL,
    Rule,
    colour_of,
    length_of,
    rules_of,
    size_mm,
    style_of,
)
from blankwright.inspection.svgxml import Node, tree_of

MAX_FAULTS = 20
MAX_USES = 8
NO_LAYER = "0"
_GROUPS = {"svg", "g", "a", "switch", "symbol"}
_OTHERS = {"text": "TEXT", "image": "IMAGE", "foreignObject": "FOREIGNOBJECT"}
"""What is drawn and is no shape, and what it is told as; elements that SVG does not know are not drawn."""


@dataclass(frozen=True)
class _Place:
    """Where an element stands: its map to mm, what style it inherits, its layer, the size of the view [user units]."""

    matrix: Array
    shift: Array
    style: Mapping[str, str]
    layer: str
    view: tuple[float, float]
    hidden: bool = False
    uses: tuple[str, ...] = ()

    def moved(self, matrix: Array, shift: Array) -> _Place:
        return replace(self, matrix=self.matrix @ matrix, shift=self.matrix @ shift + self.shift)


@dataclass
class _Reading:
    name: str
    budget: Budget
    rules: list[Rule] = field(default_factory=list)
    named: dict[str, Node] = field(default_factory=dict)
    items: list[Item] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    remarks: Counter[str] = field(default_factory=Counter)
    first: dict[str, int] = field(default_factory=dict)

    def fault(self, text: str) -> None:
        if len(self.faults) < MAX_FAULTS:
            self.faults.append(text)

    def remark(self, what: str, line: int) -> None:
        self.remarks[what] += 1
        self.first.setdefault(what, line)


def read_svg(data: bytes, name: str) -> Drawing:
    """Read an SVG file of any origin.

    Args:
        data: The bytes of the file.
        name: File name for messages.

    Returns:
        What could be read, with the faults of the file; never raises for what the bytes hold.
    """
    out = _Reading(printable(name), Budget())
    words, doubt = "px", ""
    try:
        root = tree_of(data, out.budget)
        place, words, doubt = root_place(root)
        nodes = list(root.all())
        out.rules = rules_of(n.text for n in nodes if n.tag == "style")
        out.named = {n.attributes["id"]: n for n in reversed(nodes) if "id" in n.attributes}
        for node in nodes:
            if node.tag == "style" and "@import" in node.text:
                out.remark("style sheets of other files are not read", node.line)
        _draw(root, place, out, root=True)
    except ProofError as error:
        out.fault(str(error))
    except TooMuchWorkError as error:
        out.fault(f"{str(error)[:1].upper()}{str(error)[1:]}: the rest was not read. Send the outline alone.")
    return Drawing(
        name=out.name,
        form="SVG",
        release="SVG",
        insunits=4,
        name_unit_mm=None,
        measurement=None,
        extents=None,
        extents_unset=False,
        layers=tuple({i.layer.upper() for i in out.items}),
        colours={},
        hidden=(),
        items=tuple(out.items),
        faults=tuple(out.faults),
        idle_blocks=(),
        budget=out.budget,
        unit_words=words,
        unit_doubt=doubt,
        remarks=tuple(
            f"{n} {'shape' if n == 1 else 'shapes'}, first in line {out.first[what]}: {what}"
            for what, n in out.remarks.items()
        ),
    )


def root_place(root: Node) -> tuple[_Place, str, str]:
    """Return the map of the drawing to mm, the unit in words, and why it is unsure, or ""."""
    view = _box(root)
    sizes = [size_mm(root.attributes.get(side)) for side in ("width", "height")]
    real = [size for size in sizes if size is not None and size[1]]
    units = [u for u in (_unit(root.attributes.get(side)) for side in ("width", "height")) if u in REAL]
    scale = np.array([PX_MM, PX_MM])
    wide, high = (None if s is None else s[0] for s in sizes)
    if view is not None and (wide is not None or high is not None):
        x = None if wide is None else wide / view[2]
        y = None if high is None else high / view[3]
        x, y = x or y or PX_MM, y or x or PX_MM
        fit = root.attributes.get("preserveAspectRatio", "")
        least = max(x, y) if "slice" in fit else min(x, y)
        scale = np.array([x, y]) if "none" in fit else np.array([least, least])
    low = (0.0, 0.0) if view is None else (view[0], view[1])
    tall = view[3] if view is not None else (high or 0.0) / PX_MM
    matrix = np.diag(scale * np.array([1.0, -1.0]))
    shift = np.array([-low[0] * scale[0], (low[1] + tall) * scale[1]])
    size = (view[2], view[3]) if view is not None else ((wide or 0.0) / PX_MM, (high or 0.0) / PX_MM)
    doubt = ""
    if not real:
        said = "no width and height" if wide is None and high is None else "a size in pixels only"
        doubt = (
            f"The file gives {said}; taken as 96 to the inch, as the standard says, but some programs mean 72 or 90."
        )
    words = units[0] if units else "px, 96 to the inch"
    return _Place(matrix, shift, {}, NO_LAYER, size), words, doubt


def _unit(text: str | None) -> str:
    match = None if text is None else NUMBER.match(text.strip())
    return "" if match is None or text is None else text.strip()[match.end() :].strip().lower()


def _box(node: Node) -> tuple[float, float, float, float] | None:
    numbers = [float(m[0]) for m in NUMBER.finditer(node.attributes.get("viewBox", ""))]
    if len(numbers) != 4 or not 0 < numbers[2] < 1e9 or not 0 < numbers[3] < 1e9:
        return None
    return (numbers[0], numbers[1], numbers[2], numbers[3])


def _draw(node: Node, place: _Place, out: _Reading, *, root: bool = False) -> None:
    """Add what an element and those in it draw."""
    if node.tag not in _DRAWN or (node.tag == "symbol" and not place.uses):
        return
    out.budget.spend(3 * ENTITY, "shapes")
    try:
        here = _placed(node, place, out, root=root)
    except GeometryError as error:
        if isinstance(error, TooMuchWorkError):
            raise
        out.fault(f"Line {node.line}: {node.tag} {error}.")
        return
    if here is None:
        return
    if node.tag in _GROUPS:
        inner = _viewed(node, here) if node.tag in {"svg", "symbol"} and not root else here
        for child in node.children:
            _draw(child, inner, out)
            if node.tag == "switch" and child.tag in _DRAWN:
                break
    elif node.tag == "use":
        _use(node, here, out)
    else:
        out.items += _items(node, here, out)


def _placed(node: Node, place: _Place, out: _Reading, *, root: bool) -> _Place | None:
    style = style_of(node, place.style, out.rules)
    if style.get("display") == "none":
        style["visibility"] = "none"
    matrix, shift = (
        transform_of(style["transform"]) if style.get("transform", "none") != "none" and not root else (None, None)
    )
    here = place if matrix is None or shift is None else place.moved(matrix, shift)
    hidden = place.hidden or style.get("display") == "none" or style.get("opacity") in {"0", "0.0", "0%"}
    for name, word in (("clip-path", "clipped"), ("mask", "masked")):
        if style.get(name, "none") != "none":
            out.remark(f"what is {word} is shown in part and cut whole; cut it to shape in the drawing", node.line)
    layer = _layer(node, place)
    return replace(here, style=style, hidden=hidden, layer=layer)


def _layer(node: Node, place: _Place) -> str:
    """Return the layer: one that is marked as such, or a group's name; a number at its end says that nobody gave it."""
    if node.tag != "g":
        return place.layer
    label = node.attributes.get(":label", "") or node.attributes.get("id", "")
    if label and (
        node.attributes.get(":groupmode") == "layer" or (place.layer == NO_LAYER and not re.search(r"\d$", label))
    ):
        return printable(label)
    return place.layer


def _viewed(node: Node, place: _Place) -> _Place:
    """Return the place inside of an svg or symbol that has a view of its own."""
    a = node.attributes
    x, y = length_of(a.get("x"), place.view[0]), length_of(a.get("y"), place.view[1])
    wide = length_of(a.get("width"), place.view[0], place.view[0])
    high = length_of(a.get("height"), place.view[1], place.view[1])
    box = _box(node)
    if box is None:
        return replace(place.moved(np.eye(2), np.array([x, y])), view=(wide, high))
    sx, sy = (wide / box[2] or 1.0), (high / box[3] or 1.0)
    fit = a.get("preserveAspectRatio", "xMidYMid")
    if "none" not in fit:
        sx = sy = max(sx, sy) if "slice" in fit else min(sx, sy)
    spare = np.array([wide - box[2] * sx, high - box[3] * sy])
    share = np.array([_share(fit, "x"), _share(fit, "Y")])
    shift = np.array([x - box[0] * sx, y - box[1] * sy]) + spare * share
    return replace(place.moved(np.diag([sx, sy]), shift), view=(box[2], box[3]))


def _share(fit: str, axis: str) -> float:
    return 0.0 if f"{axis}Min" in fit else 1.0 if f"{axis}Max" in fit else 0.5


def _use(node: Node, place: _Place, out: _Reading) -> None:
    out.budget.spend(COPY, "copies")
    link = (node.attributes.get("href") or node.attributes.get(":href") or "").strip()
    if not link.startswith("#"):
        out.fault(f"Line {node.line}: use names another file ('{printable(link)}'); nothing else is read.")
        return
    target = out.named.get(link[1:])
    if target is None:
        out.fault(f"Line {node.line}: use names '{printable(link)}', which is not in the file.")
        return
    if link in place.uses or len(place.uses) >= MAX_USES:
        out.fault(f"Line {node.line}: use of '{printable(link)}' stands in itself, or copies are nested too deep.")
        return
    out.remark("it is a copy of another one (use), which some cutters drop; make it a shape of its own", node.line)
    shift = [length_of(node.attributes.get(axis), place.view[k]) for k, axis in enumerate("xy")]
    here = replace(place.moved(np.eye(2), np.array(shift)), uses=(*place.uses, link))
    if target.tag == "symbol":
        sizes = {side: node.attributes[side] for side in ("width", "height") if side in node.attributes}
        target = Node("symbol", target.attributes | sizes, target.line, target.children)
    _draw(target, here, out)


def _items(node: Node, place: _Place, out: _Reading) -> Iterator[Item]:
    """Yield what one shape draws."""
    item = Item(
        kind=node.tag, layer=place.layer, line=node.line, colour=colour_of(place.style.get("stroke", "none")),
        invisible=place.hidden or place.style.get("visibility") in {"hidden", "collapse", "none"},
        in_block=place.uses[-1][1:] if place.uses else "",
    )  # fmt: skip
    shape = _SHAPES.get(node.tag)
    if shape is None:
        at = place.matrix @ np.array([length_of(node.attributes.get(a), 0.0) for a in "xy"]) + place.shift
        yield replace(item, kind=_OTHERS[node.tag], at=(float(at[0]), float(at[1])))
        return
    filled = bool(colour_of(place.style.get("fill", "black"))) and node.tag != "line"
    lined = bool(item.colour)
    item = replace(item, filled=filled and not lined, invisible=item.invisible or not (filled or lined))
    if lined and not item.invisible and place.style.get("stroke-dasharray", "none") not in {"none", "0", ""}:
        out.remark("its line is dashed; a cutter cuts it as a whole line", node.line)
    stretches, why = shape(node, place)
    if why:
        out.fault(f"Line {node.line}: {node.tag} {why}.")
    before = len(out.items)
    for s in stretches:
        out.budget.spend(0 if s.chain is None else len(s.chain), "vertices")
        if not _in_reach(s):
            out.fault(f"Line {node.line}: {node.tag} has a place further away than {MAX_NUMBER:g}; it is left out.")
            continue
        made = replace(item, chain=s.chain, curve=s.curve, closed=s.closed, at=s.start, loop=s.loop and before + s.loop)
        yield mapped(made, place.matrix, place.shift)


def _in_reach(stretch: Stretch) -> bool:
    """Say whether all places of a stretch are numbers that can be reckoned with."""
    places = [np.asarray(stretch.start)] + ([] if stretch.chain is None else [stretch.chain[:, :2]])
    return all(bool((np.abs(p) <= MAX_NUMBER).all()) for p in places)


Made = tuple[list[Stretch], str]


def _path(node: Node, _: _Place) -> Made:
    return stretches_of(node.attributes.get("d", ""))


def _lengths(node: Node, place: _Place, names: str) -> list[float]:
    wholes = {"x": place.view[0], "y": place.view[1], "r": math.hypot(*place.view) / math.sqrt(2)}
    of = {
        "width": "x",
        "height": "y",
        "rx": "x",
        "ry": "y",
        "cx": "x",
        "cy": "y",
        "x1": "x",
        "x2": "x",
        "y1": "y",
        "y2": "y",
    }
    return [length_of(node.attributes.get(n), wholes[of.get(n, n)], math.nan) for n in names.split()]


def _line(node: Node, place: _Place) -> Made:
    x, y, u, v = (0.0 if math.isnan(n) else n for n in _lengths(node, place, "x1 y1 x2 y2"))
    return [Stretch(np.array([[x, y, 0.0], [u, v, 0.0]]), None, False)], ""


def _rows(node: Node, _: _Place) -> Made:
    text = node.attributes.get("points", "")
    numbers = [float(m[0]) for m in NUMBER.finditer(text)]
    rows = [(x, y, 0.0) for x, y in zip(numbers[::2], numbers[1::2], strict=False)]
    rows = [r for k, r in enumerate(rows) if k == 0 or r != rows[k - 1]]
    closed = len(rows) > 2 and (node.tag == "polygon" or rows[0] == rows[-1])
    if closed and rows[0] == rows[-1]:
        rows = rows[:-1]
    why = "has an odd number of coordinates" if len(numbers) % 2 else ""
    return ([Stretch(np.array(rows), None, closed)] if len(rows) > 1 else []), why


def _rect(node: Node, place: _Place) -> Made:
    x, y, wide, high, rx, ry = _lengths(node, place, "x y width height rx ry")
    x, y = (0.0 if math.isnan(n) else n for n in (x, y))
    if not (wide > 0 and high > 0):
        return [], ""
    rx, ry = (ry if math.isnan(rx) else rx), (rx if math.isnan(ry) else ry)
    rx, ry = (min(max(0.0 if math.isnan(r) else r, 0.0), side / 2) for r, side in ((rx, wide), (ry, high)))
    if not (rx and ry):
        return stretches_of(f"M{x} {y}h{wide}v{high}h{-wide}z")
    arc = f"a{rx} {ry} 0 0 1 "
    level, upright = wide - 2 * rx, high - 2 * ry
    right = f"M{x + rx} {y}h{level}{arc}{rx} {ry}v{upright}{arc}{-rx} {ry}"
    return stretches_of(f"{right}h{-level}{arc}{-rx} {-ry}v{-upright}{arc}{rx} {-ry}z")


def _circle(node: Node, place: _Place) -> Made:
    x, y, r = (0.0 if math.isnan(n) else n for n in _lengths(node, place, "cx cy r"))
    return ([Stretch(circle_chain(x, y, r), None, True)] if r > 0 else []), ""


def _ellipse(node: Node, place: _Place) -> Made:
    x, y, rx, ry = _lengths(node, place, "cx cy rx ry")
    x, y = (0.0 if math.isnan(n) else n for n in (x, y))
    rx, ry = (ry if math.isnan(rx) else rx), (rx if math.isnan(ry) else ry)
    if not (rx > 0 and ry > 0):
        return [], ""
    half = f"a{rx} {ry} 0 0 1 "
    return stretches_of(f"M{x + rx} {y}{half}{-2 * rx} 0{half}{2 * rx} 0z")


_SHAPES: dict[str, Callable[[Node, _Place], Made]] = {
    "path": _path, "line": _line, "polyline": _rows, "polygon": _rows, "rect": _rect, "circle": _circle,
    "ellipse": _ellipse,
}  # fmt: skip

_DRAWN = _GROUPS | {"use"} | set(_SHAPES) | set(_OTHERS)
