"""What stands in a cutting file besides the cuts? Layers, layouts, blocks, text, hatching, solids, points, pictures."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from blankwright.base.finding import Finding, Level, finding
from blankwright.base.said import exact_mm, said
from blankwright.inspection.drawing import ENDLESS, FILLED, SOLIDS, WRITING, Drawing, Item
from blankwright.inspection.lines import Lines
from blankwright.inspection.roles import Use, by_name
from blankwright.proof.findings import OLD_RELEASE, or_ok, spot

DRILL_LAYER = "DRILL"
FLAT_MM = 1e-6
"""Heights above the sheet below this are none."""
SHAPES = {"path", "rect", "circle", "ellipse", "line", "polyline", "polygon"}
BARRED = frozenset('"*/:;<=>?\\`')
"""Signs that no layer's name may have; a * at its begin marks layers of the format's own."""
_ENCODED = re.compile(r"\\[UM]\+")
"""Begins a sign that the file's encoding does not know."""
PLAIN = {"LINE", "ARC", "CIRCLE", "LWPOLYLINE", "POLYLINE", "POINT", "INSERT", "SPLINE", "ELLIPSE"}


def file_findings(drawing: Drawing) -> list[Finding]:
    """Return what is wrong with the file itself."""
    out = [finding("FILE", _sentence(text)) for text in (*drawing.faults, *drawing.refused)]
    known = f", release {drawing.release}" if drawing.form == "DXF" and drawing.release else ""
    kind = "SVG" if drawing.form == "SVG" else "ASCII DXF"
    return or_ok(out, "FILE", f"A whole {kind} file{known}, {len(drawing.items)} entities.")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")


def content_findings(drawing: Drawing, lines: Lines) -> list[Finding]:
    """Return everything that is said of what stands beside the cuts."""
    dxf_only = [*_layouts(lines), *_blocks(drawing, lines), *_three_d(drawing, lines)] if drawing.form == "DXF" else []
    return [
        *_layers(drawing, lines),
        *dxf_only,
        *_filled(drawing, lines),
        *_by_kind(drawing, lines, "TEXT", WRITING, "text or dimension"),
        *_by_kind(drawing, lines, "HATCH", FILLED, "hatching or filled area"),
        *_points(drawing, lines),
        *_others(drawing, lines),
    ]


def _model(drawing: Drawing) -> list[Item]:
    return [i for i in drawing.items if not i.on_paper]


def _level(item: Item, lines: Lines) -> Level:
    """An error on a layer that is to be cut: the cutter takes it for a cut. Elsewhere something to look at."""
    marked = any(use.role == "mark" and use.layer.upper() == item.layer.upper() for use in lines.uses)
    plain = by_name(item.layer) == "cut" and not marked
    return "error" if item.layer.upper() in lines.layers or plain else "warning"


def _of(item: Item) -> str:
    block = f" in block '{item.in_block}'" if item.in_block else ""
    return f"{item.kind} on layer '{item.layer}' (line {item.line}){block}"


def _layers(drawing: Drawing, lines: Lines) -> list[Finding]:
    out: list[Finding] = []
    used = {i.layer.upper(): i for i in reversed(drawing.items) if not i.on_paper}
    for name, item in sorted(used.items()):
        if name not in drawing.layers and name != "0":
            text = f"Layer '{item.layer}' is used but not declared; some readers drop what is on it. Declare it."
            out.append(finding("LAYERS", text, lines.place(item), "warning"))
        if drawing.form == "DXF" and BARRED.intersection(_ENCODED.sub("", name.removeprefix("*"))):
            text = f"The name of layer '{item.layer}' has one of the signs {' '.join(sorted(BARRED))}, which names of "
            text += "layers must not have: some readers refuse the file. Give it a plain name."
            out.append(finding("LAYERS", text, lines.place(item), "warning"))
    for name, items in _grouped(lines.hidden):
        level: Level = "error" if by_name(name) == "cut" else "warning"
        text = f"{_many(len(items), 'line')} on layer '{items[0].layer}' {'is' if len(items) == 1 else 'are'} switched "
        text += "off or frozen: nobody sees it, but some readers cut it. Delete or show what is there."
        out.append(finding("LAYERS", text, lines.place(items[0]), level))
    out += [_aside(use, lines) for use in lines.uses if use.role in {"mark", "aside"} and use.why != "as asked"]
    names = ", ".join(f"'{n}'" for n in lines.layers)
    return or_ok(out, "LAYERS", f"To be cut: layer {names}." if names else "No layer holds lines to be cut.")


def _aside(use: Use, lines: Lines) -> Finding:
    """Say what a layer that nobody spoke of was taken for."""
    names = ", ".join(lines.layers) or "nothing"
    text = f"{_many(len(use.items), 'line')} on layer '{use.layer}' taken as "
    if use.role == "mark":
        text += f"marks, {use.why} (cut: {names}). Tell the shop so; what is to be cut instead, name with --cut-layer."
    else:
        text += f"not to be cut (cut: {names}); a cutter may cut what is there. Leave it out."
    return finding("LAYERS", text, lines.place(use.items[0]), "warning")


def _grouped(items: Iterable[Item]) -> list[tuple[str, list[Item]]]:
    groups: dict[str, list[Item]] = {}
    for item in items:
        groups.setdefault(item.layer.upper(), []).append(item)
    return sorted(groups.items())


def _many(count: int, noun: str) -> str:
    """Write how many there are: "1 line", "2 lines", "3 entities"."""
    plural = f"{noun[:-1]}ies" if noun.endswith("y") else f"{noun}s"
    return f"{count} {noun if count == 1 else plural}"


def _layouts(lines: Lines) -> list[Finding]:
    if not lines.paper:
        return [finding("LAYOUT", "Nothing stands on a paper layout.", level="ok")]
    drawn = sum(i.line_work for i in lines.paper)
    lost = bool(drawn) and not lines.strands
    many = len(lines.paper)
    text = f"{_many(many, 'entity')} {'stands' if many == 1 else 'stand'} on a paper layout ({_tally(lines.paper)}): "
    text += "cutters look at model space only. " + ("Move the outline to model space." if lost else "Leave it out.")
    return [finding("LAYOUT", text, None, "error" if lost else "warning")]


def _tally(items: Iterable[Item]) -> str:
    return ", ".join(f"{n} {kind}" for kind, n in sorted(Counter(i.kind for i in items).items()))


def _blocks(drawing: Drawing, lines: Lines) -> list[Finding]:
    out: list[Finding] = []
    of_block: dict[str, list[Item]] = {}
    for item in drawing.items:
        of_block.setdefault(item.in_block.upper(), []).append(item)
    for item in _model(drawing):
        if item.insert is None or item.in_block:
            continue
        inner = of_block.get(item.insert.name.upper(), [])
        level: Level = "error" if any(i.line_work for i in inner) else "warning"
        name = item.insert.name[:40]
        text = (
            f"Block '{name}' is placed here (line {item.line}, {_tally(inner) or 'empty'}): some cutters drop blocks. "
        )
        out.append(finding("BLOCK", f"{text}Explode it.", lines.place(item), level))
        if len(out) > 200:
            break
    if drawing.idle_blocks:
        names = ", ".join(f"'{n}'" for n in drawing.idle_blocks[:5])
        text = f"Blocks that nothing places hold lines ({names}): leave them out, or a cutter may add them."
        out.append(finding("BLOCK", text, level="warning"))
    return or_ok(out, "BLOCK", "No blocks.")


def _three_d(drawing: Drawing, lines: Lines) -> list[Finding]:
    out: list[Finding] = []
    raised: list[Item] = []
    for item in _model(drawing):
        low, high = item.heights
        if item.kind in SOLIDS:
            body = f"{_of(item)} is a body or face in space. Export the flat outline instead."
        elif item.tilted:
            body = f"{_of(item)} lies in a tilted plane: readers flatten it in different ways. Draw it flat."
        elif high - low > FLAT_MM:
            body = f"{_of(item)} rises from z {low:g} to {high:g}: seen from above it is shorter. Flatten it."
        elif item.below and item.line_work and item.kind not in {"LINE", "POINT"}:
            body = f"{_of(item)} is drawn from below (extrusion 0, 0, -1): some readers cut it mirrored."
        else:
            if abs(low) > FLAT_MM and item.line_work:
                raised.append(item)
            continue
        out.append(finding("THREE-D", body, lines.place(item)))
    levels = sorted({round(i.heights[0] * lines.unit_mm, 6) for i in raised})
    if raised:
        whole = len(raised) == sum(i.line_work for i in _model(drawing)) and len(levels) == 1
        lie = f"{_many(len(raised), 'entity')} {'lies' if len(raised) == 1 else 'lie'} at z "
        text = said(lie + ", ".join("{}" for _ in levels[:5]), *map(exact_mm, levels[:5])).then(" instead of 0")
        text = text.then(
            ": harmless to most cutters, but set it to 0." if whole else ", not all in one plane. Set z to 0."
        )
        out.append(finding("THREE-D", text, lines.place(raised[0]), "warning" if whole else "error"))
    return or_ok(out, "THREE-D", "Everything lies flat in one plane.")


def _by_kind(drawing: Drawing, lines: Lines, code: str, kinds: set[str], word: str) -> list[Finding]:
    """Return one finding for each layer and kind."""
    out: list[Finding] = []
    found = [i for i in _model(drawing) if i.kind in kinds]
    for _, items in _grouped(found):
        first = items[0]
        level: Level = "error" if any(_level(i, lines) == "error" for i in items) else "warning"
        text = f"{word.capitalize()} on layer '{first.layer}' ({_tally(items)}, first in line {first.line}): "
        marked = any(use.role == "mark" and use.layer.upper() == first.layer.upper() for use in lines.uses)
        what = "no lines that can be marked. Draw it as lines" if marked else "not to be cut. Delete it"
        out.append(finding(code, f"{text}{what}, or say so in the order.", lines.place(first), level))
    return or_ok(out, code, f"No {word}.")


def _filled(drawing: Drawing, lines: Lines) -> list[Finding]:
    """Say which shapes are areas without a line: some shops cut their edge, some engrave what is in it."""
    found = [i for use in lines.uses if use.role == "cut" for i in use.items if i.filled]
    out = [finding("CONTENT", f"{text}.", level="warning") for text in drawing.remarks]
    if found:
        text = (
            f"{_many(len(found), 'contour')} filled and without a line (first in line {found[0].line}): taken as cut "
        )
        text += "along the edge; some shops engrave the area instead. Give what is to be cut a line and no fill."
        out.append(finding("HATCH", text, lines.place(found[0]), "warning"))
    return out


def _points(drawing: Drawing, lines: Lines) -> list[Finding]:
    found = [i for i in _model(drawing) if i.kind == "POINT" and not i.trouble]
    out = []
    for item in found:
        place = lines.place(item)
        if item.layer.upper() != DRILL_LAYER and place is not None:
            text = said(
                f"A stray point at {{}} on layer '{{}}': some cutters pierce there. Delete it, or put a drill "
                f"spot on layer {DRILL_LAYER}.", spot(place), item.layer,
            )  # fmt: skip
            out.append(finding("POINTS", text, place, "warning"))
    return or_ok(out, "POINTS", f"{len(found)} drill spots, no stray point." if found else "No stray point.")


def _others(drawing: Drawing, lines: Lines) -> list[Finding]:
    out: list[Finding] = []
    known = PLAIN | SHAPES | SOLIDS | WRITING | FILLED
    for kind, items in sorted(_by(i for i in _model(drawing) if i.kind not in known)):
        level: Level = "error" if any(_level(i, lines) == "error" for i in items) else "warning"
        them, where = "it" if len(items) == 1 else "them", f"({kind}, first in line {items[0].line})"
        if kind in ENDLESS:
            text = f"{_many(len(items), 'endless line')} {where}: nothing to be cut. Delete {them}."
        elif kind in {"IMAGE", "OLE2FRAME", "OLEFRAME", "UNDERLAY", "PDFUNDERLAY"}:
            text = f"{_many(len(items), 'picture')} {where}: cutters refuse {them}. Delete {them}."
        else:
            text = f"{_many(len(items), 'entity')} of a kind no cutter needs {where}. Delete {them}."
        out.append(finding("CONTENT", text, lines.place(items[0]), level))
    wide = [i for use in lines.uses if use.role == "cut" for i in use.items if i.wide * lines.unit_mm > FLAT_MM]
    if wide:
        told = said(
            f"{_many(len(wide), 'polyline')} drawn {{}} wide: some programs cut along both sides. Set the width to 0.",
            exact_mm(wide[0].wide * lines.unit_mm),
        )  # fmt: skip
        out.append(finding("CONTENT", told, lines.place(wide[0]), "warning"))
    if drawing.release == OLD_RELEASE:
        light = [i for i in drawing.items if i.kind == "LWPOLYLINE"]
        if light:
            text = f"{len(light)} LWPOLYLINE in a file of release R12, which does not know them: readers may drop them."
            out.append(finding("CONTENT", text, lines.place(light[0]), "warning"))
    return or_ok(out, "CONTENT", "Nothing else.")


def _by(items: Iterable[Item]) -> list[tuple[str, list[Item]]]:
    groups: dict[str, list[Item]] = {}
    for item in items:
        groups.setdefault(item.kind, []).append(item)
    return list(groups.items())


def spots(drawing: Drawing, lines: Lines) -> Sequence[tuple[float, float]]:
    """Return the drill spots [mm]."""
    found = (lines.place(i) for i in _model(drawing) if i.kind == "POINT" and i.layer.upper() == DRILL_LAYER)
    return [p for p in found if p is not None]
