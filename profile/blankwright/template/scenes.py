"""What a trace template shows: the blade, the scales as a mirrored pair, the other face, a card dummy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.units import apart, length_mm
from blankwright.design.tang import chord_at
from blankwright.geometry.chain import Chain, around
from blankwright.geometry.clip import behind
from blankwright.geometry.outline import Outline
from blankwright.ink.marks import CUT, GUIDE, LineType
from blankwright.ink.papers import Paper, common_area_mm, paper
from blankwright.knife.cautions import template_caution
from blankwright.knife.face import FaceLines
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife
from blankwright.knife.words import knife_words, part_words
from blankwright.template.handlescenes import GRAIN, HOLE_CLEAR_MM, block_scene, scales_scene
from blankwright.template.scene import SOLID, Avoid, Drawn, DrawnHole, Label, Scene, Stroke
from blankwright.template.tiling import Plan, plan

RULER_ABOVE_MM = 7.5
FLAT_MM = 0.005
"""Arcs printed as straight pieces follow their arcs within this."""
MARGIN = "6 mm"
"""What a printer may leave white on every side when nothing is said (common practice: 3 to 6 mm)."""
_FAR = 1000.0


@dataclass(frozen=True)
class Wishes:
    """What a template shall hold and on what it is printed.

    Args:
        paper: The paper.
        margin_mm: What the printer cannot print on, on every side [mm].
        both_faces: Whether the mirror image for the other face of the stock is added.
        dummy: Whether a card dummy is added.
        stretch: Factors along x and y that correct the printer [unitless].
    """

    paper: Paper
    margin_mm: float
    both_faces: bool
    dummy: bool
    stretch: tuple[float, float]


def wishes(
    paper_name: str = "A4",
    *,
    margin: str = MARGIN,
    printer: str | None = None,
    both_faces: bool = False,
    dummy: bool = False,
) -> Wishes:
    """Return wishes from words.

    Args:
        paper_name: A4, A3, Letter, Legal, Tabloid, or WxH with a unit.
        margin: What the printer cannot print on, with its unit.
        printer: Name of a printer whose correction was kept, or None.
        both_faces: Add the mirror image for the other face.
        dummy: Add a card dummy.

    Raises:
        RequestError: Unknown paper or printer, or a margin outside 0 to 40 mm.
    """
    margin_mm = length_mm(margin, "--margin")
    if not 0 <= margin_mm <= 40:
        raise RequestError(f"--margin: {apart(margin_mm, 0, 40)} mm is out of range. Allowed: 0 mm to 40 mm.")
    stretch = (1.0, 1.0)
    if printer is not None:
        from blankwright.template.printers import recall  # noqa: PLC0415 - only who prints with a correction needs it

        stretch = recall(printer).stretch
    return Wishes(paper(paper_name), margin_mm, both_faces, dummy, stretch)


def template_pdf(knife: Knife, wishes: Wishes) -> bytes:
    """Return the template as PDF.

    Raises:
        RequestError: The paper is too small.
    """
    from blankwright.ink.pdf import pdf_bytes  # noqa: PLC0415 - needs the PDF library
    from blankwright.template.pages import Head, template_pages  # noqa: PLC0415

    design = knife.design
    head = Head(
        title=design.family.title
        if design.name == design.family.name
        else f"{design.name}, {design.family.title.lower()}",
        code=knife.code,
        facts=(),
        caution=template_caution(knife.start, drilled=bool(knife.holes)),
    )
    parts = [
        (scene, best_plan(scene, wishes)) for scene in scenes(knife, both_faces=wishes.both_faces, dummy=wishes.dummy)
    ]
    pages = template_pages(parts, head)
    return pdf_bytes(
        pages, title=f"{design.name}, trace template", subject=f"design {knife.code}", stretch=wishes.stretch
    )


def best_plan(scene: Scene, wishes: Wishes) -> Plan:
    """Return the pages of a scene: the fewest; among those, inside the area common to A4 and Letter; then flat."""
    long, short = max(wishes.paper.width_mm, wishes.paper.height_mm), min(wishes.paper.width_mm, wishes.paper.height_mm)
    # a corrected page is drawn larger or smaller by the printer's error, so its area shrinks by as much
    slack = 2 * wishes.margin_mm
    shrink = max(*wishes.stretch, 1.0)
    areas = [((long - slack) / shrink, (short - slack) / shrink)]
    if wishes.paper.name in ("A4", "Letter"):
        other = paper("Letter" if wishes.paper.name == "A4" else "A4")
        common = common_area_mm(wishes.paper, other, wishes.margin_mm)
        areas.insert(0, (max(common) / shrink, min(common) / shrink))
    points = scene.points()
    ways = [((long, short), used) for used in areas]
    if long != short:
        ways += [((short, long), (used[1], used[0])) for used in areas]
    plans: list[Plan] = []
    refusal: RequestError | None = None
    for page, used in ways:
        try:
            plans.append(plan(points, scene.avoid, page, used))
        except RequestError as error:
            refusal = refusal or error
    if not plans and refusal is not None:
        raise refusal
    return min(plans, key=lambda p: (len(p.tiles), p.width_mm < p.height_mm and len(p.tiles) > 1))


def scenes(knife: Knife, *, both_faces: bool, dummy: bool) -> list[Scene]:
    """Return what is to be printed, in order."""
    out = [_blade(knife)]
    if both_faces:
        out.append(_other_face(knife))
    if knife.construction == "full":
        out.append(scales_scene(knife))
    if knife.construction == "hidden" and (block := block_scene(knife)) is not None:
        out.append(block)
    if dummy:
        out += _dummy(knife)
    return out


def _blade(knife: Knife) -> Scene:
    shape, finished = knife.shape, knife.finished
    v = shape.values_mm
    face, block = knife.face, knife.block
    front, heel_top = shape.front_x_mm, v["heel_height"]
    lines = [
        Stroke((finished.bounds_mm[0], 0.0), (finished.bounds_mm[2], 0.0), "board"),
        Stroke((0.0, -5.0), (0.0, heel_top), "narrow"),
        *_as_lines(face.chains),
    ]
    labels = [
        Label("board line", (v["blade_length"] * 0.55, 0.0), 0.0),
        *_plunge_labels(face, heel_top, wooden=knife.start.wooden),
        Label("tip", (finished.bounds_mm[2], v["tip_height"]), 0.0),
    ]
    if knife.construction != "one-piece":
        low, high = chord_at(finished, front - 0.01) or (0.0, heel_top)
        lines.append(Stroke((front, low - 4), (front, high + 5), "centre"))
        labels.append(Label("handle front", (front, high + 4), 0.0))
    if block is not None:
        lines += _as_lines((around(block),))
        x = (block.bounds_mm[0] + knife.shape.tang_end_x_mm) / 2
        labels.append(Label("handle block", (x, (chord_at(block, x) or (0.0, 0.0))[1]), 0.0))
    mark = _balance_mark(knife, block)
    if mark is not None:
        lines.append(mark)
        labels.append(Label("balance", mark.a, 0.0))
    arrow, words = _grain(knife)
    lines += arrow
    ruler, numbers = _hand_ruler(knife)
    labels.append(
        Label("hand breadth from the handle front, mm", (front - 0.35 * v["handle_length"], ruler[0].a[1] + 3.5), 0.0)
    )
    return Scene(
        name="blade", title="blade", solid=(finished,), dashed=_cut_lines(knife), lines=(*lines, *ruler),
        holes=tuple(_hole(h) for h in knife.holes), labels=(*labels, *_hole_labels(knife.holes)),
        texts=(*numbers, *words),
        facts=(part_words(knife), knife_words(knife), *_torch_words(knife)),
        avoid=_avoid(knife), drawn=_torch_lines(knife), legend=_torch_legend(knife),
    )  # fmt: skip


def _torch_lines(knife: Knife) -> tuple[Drawn, ...]:
    """Return what a torch in the hand runs along, where one cuts."""
    return () if knife.guide is None else (Drawn(around(knife.guide.outline), GUIDE),)


def _torch_words(knife: Knife) -> tuple[str, ...]:
    """Say what the torch runs along, and that no paper stays under it."""
    if knife.guide is None:
        return ()
    away = f"{knife.guide.distance_mm:.2f} mm outside the cut"
    return (f"Scribe or soapstone cut line and guide on the steel, take the paper off: it burns. Guide {away}.",)


def _torch_legend(knife: Knife) -> tuple[tuple[str, LineType | None], ...]:
    if knife.guide is None:
        return ()
    return (("finished line", SOLID), ("cut line", CUT), ("guide: the nozzle runs inside it", GUIDE))


def _cut_lines(knife: Knife) -> tuple[Outline, ...]:
    """Return the line to cut to; none on a blank that is cut already."""
    return () if knife.start.bought else (knife.cut,)


def _balance_mark(knife: Knife, block: Outline | None) -> Stroke | None:
    """Return a short line on the underside where the finished knife balances, or None when that is not known."""
    balance = knife.weights.balance_mm
    if balance is None:
        return None
    chord = (chord_at(block, balance) if block is not None else None) or chord_at(knife.finished, balance)
    if chord is None:
        return None
    return Stroke((balance, chord[0] - 4.0), (balance, chord[0] + 4.0), "narrow")


def _grain(knife: Knife) -> tuple[list[Stroke], tuple[tuple[str, tuple[float, float]], ...]]:
    """Return an arrow along a wooden blade, where its grain runs, and its words; nothing on steel."""
    if not knife.start.wooden:
        return [], ()
    long = knife.shape.values_mm["blade_length"]
    x0, x1 = 0.3 * long, 0.7 * long
    low, high = chord_at(knife.finished, (x0 + x1) / 2) or (0.0, 0.0)
    y = low + 0.4 * (high - low)
    return [Stroke((x0, y), (x1, y), "arrow")], ((GRAIN, ((x0 + x1) / 2, y + 2.0)),)


def _as_lines(chains: Sequence[Chain]) -> list[Stroke]:
    """Return chains as short straight pieces."""
    points = [chain.flattened(FLAT_MM).tolist() for chain in chains]
    return [Stroke((a[0], a[1]), (b[0], b[1]), "narrow") for row in points for a, b in pairwise(row)]


def _plunge_labels(face: FaceLines, heel_top: float, *, wooden: bool) -> list[Label]:
    """Name the heel and the line where the grind begins, together where they are one line; wood has no plunge."""
    if face.plunge is None:
        return [Label("heel" if wooden else "heel, plunge line", (0.0, heel_top * 0.55), 0.0)]
    points = face.plunge.flattened(0.1)
    x, y = points[int(np.argmin(np.abs(points[:, 1] - 0.6 * points[-1, 1])))]
    other = " (other face)" if face.behind else ""
    return [Label("heel", (0.0, heel_top * 0.8), 0.0), Label(f"plunge line{other}", (float(x), float(y)), 0.0)]


def _hand_ruler(knife: Knife) -> tuple[list[Stroke], tuple[tuple[str, tuple[float, float]], ...]]:
    """Return a ruler over the handle, from its front backward: lay the hand along it."""
    shape = knife.shape
    front, length = shape.front_x_mm, shape.values_mm["handle_length"]
    tops = [
        chord[1]
        for x in np.linspace(front - 1, shape.tang_end_x_mm + 5, 12)
        if (chord := chord_at(knife.cut, float(x)))
    ]
    block = knife.block
    tops += [block.bounds_mm[3]] if block is not None else []
    beyond = knife.guide.distance_mm if knife.guide else 0.0
    y = max(tops, default=shape.values_mm["heel_height"]) + beyond + RULER_ABOVE_MM
    lines = [Stroke((front - length, y), (front, y), "narrow")]
    numbers = []
    for i in range(int(length / 10) + 1):
        x = front - 10.0 * i
        lines.append(Stroke((x, y), (x, y - (3.0 if i % 2 == 0 else 1.8)), "narrow"))
        if i % 2 == 0:
            numbers.append((f"{10 * i}", (x, y + 1.2)))
    return lines, tuple(numbers)


def _hole(made: MadeHole) -> DrawnHole:
    return DrawnHole(made.hole.x_mm, made.hole.y_mm, made.hole.diameter_mm, "pin")


def _hole_labels(holes: Sequence[MadeHole]) -> list[Label]:
    return [
        Label(f"{h.name}: {h.words}", (h.hole.x_mm, h.hole.y_mm), h.hole.diameter_mm / 2 + HOLE_CLEAR_MM) for h in holes
    ]


def _avoid(knife: Knife) -> tuple[Avoid, ...]:
    """Say where a join between sheets would do harm: never at a hole, the tip or the belly; best across the handle."""
    shape, v = knife.shape, knife.shape.values_mm
    x0, _, x1, _ = knife.cut.bounds_mm
    flat = v.get("flat_length", 0.0)
    holes = [
        Avoid(h.hole.x_mm - h.hole.diameter_mm / 2 - 4, h.hole.x_mm + h.hole.diameter_mm / 2 + 4, _FAR)
        for h in knife.holes
    ]
    return (
        *holes,
        Avoid(x1 - 0.12 * v["blade_length"], x1 + 10, _FAR),
        Avoid(flat, x1 - 0.12 * v["blade_length"], 0.5 * _FAR),
        Avoid(shape.front_x_mm - 2, 6.0, 60.0),
        Avoid(6.0, flat, 20.0),
        Avoid(x0 - 10, x0 + 25, 30.0),
    )


def _other_face(knife: Knife) -> Scene:
    """Return the mirror image of the blade, to trace the other face of the stock."""

    def flip(outline: Outline) -> Outline:
        return outline.mirrored().placed(180.0, 0.0, 0.0)

    holes = tuple(DrawnHole(-h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm, "pin") for h in knife.holes)
    labels = tuple(replace(label, at=(-label.at[0], label.at[1])) for label in _hole_labels(knife.holes))
    return Scene(
        name="other-face", title="other face, mirror image", solid=(flip(knife.finished),),
        dashed=tuple(flip(line) for line in _cut_lines(knife)),
        lines=(), holes=holes, labels=labels, texts=(),
        facts=(part_words(knife), "For the other face of the stock: the two faces must show the same line."),
        avoid=tuple(Avoid(-a.x1_mm, -a.x0_mm, a.cost) for a in _avoid(knife)),
    )  # fmt: skip


def _dummy(knife: Knife) -> list[Scene]:
    """Return a card dummy: the whole knife, and pieces that build up the handle to hold it."""
    stuff = "wood" if knife.start.wooden else "steel"
    whole = Scene(
        name="dummy", title="card dummy", solid=(knife.finished,), dashed=(), lines=(), holes=(), texts=(),
        labels=(Label("cut out along the line and hold it", (20.0, knife.shape.values_mm["heel_height"] / 2), 0.0),),
        facts=(f"Glue on card, cut out, and try it on a board before any {stuff} is touched.",), avoid=_avoid(knife),
    )  # fmt: skip
    if knife.construction != "full":
        return [whole]
    handle = behind(knife.finished, knife.shape.front_x_mm, "front")
    _, low, _, high = handle.bounds_mm
    step = high - low + 10.0
    sides = [handle.placed(0.0, 0.0, -step * i) for i in range(4)]
    each = knife.design.scales.thickness_mm
    where = handle.bounds_mm[0] / 2
    labels = [Label("handle side", (where, (low + high) / 2 - step * i), 0.0) for i in range(4)]
    facts = (f"Cut as many as build up {round(each, 1):g} mm on each side of the dummy's handle, and glue them on.",)
    pieces = Scene("dummy-handle", "card dummy, handle", tuple(sides), (), (), (), tuple(labels), (), facts, ())
    return [whole, pieces]


def template_svg(knife: Knife) -> str:
    """Return the template as SVG, to be cut from hardboard or acrylic: outline, holes and the name, true to size."""
    from blankwright.ink.marks import HOLE, Ring  # noqa: PLC0415
    from blankwright.template.board import board_svg  # noqa: PLC0415

    holes = tuple(Ring(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm, HOLE) for h in knife.holes)
    return board_svg(knife.finished, holes, f"{knife.design.name} {knife.code}", _name_place(knife))


def _name_place(knife: Knife) -> tuple[float, float]:
    """Return where the name stands: in the blade, a quarter of the way from heel to tip."""
    x = knife.shape.values_mm["blade_length"] * 0.12
    low, high = chord_at(knife.finished, x) or (0.0, 10.0)
    return x, low + 0.45 * (high - low)
