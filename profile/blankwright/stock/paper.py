"""The sheet to lay on a piece: the blank at true size, the piece's real edges, zones and distances, over pages."""

from __future__ import annotations

import math

from blankwright.base.said import mm
from blankwright.design.tang import chord_at
from blankwright.ink.marks import CENTRE, CUT, FINISHED, OTHER, LineType
from blankwright.ink.pdf import pdf_bytes
from blankwright.knife.cautions import template_caution
from blankwright.stock.grain import lies_words
from blankwright.stock.laid import AROUND_MM, Distance, Laid
from blankwright.stock.ofmaterial import piece_is_of
from blankwright.stock.piece import Zone
from blankwright.stock.place import Placed
from blankwright.stock.report import piece_words
from blankwright.stock.scarce import side_by_side
from blankwright.stock.shown import shown
from blankwright.template.pages import Head, template_pages
from blankwright.template.scene import SOLID, Avoid, Drawn, DrawnHole, Label, Scene, Stroke
from blankwright.template.scenes import Wishes, best_plan

_EDGE: LineType = FINISHED
_AVOID: LineType = OTHER
_SAVE: LineType = CENTRE
_SHORT_MM = 7.0
"""Over less than this no arrow is drawn, the figure stands alone."""

_NEAR_MM = 8.0
"""A distance this near to another one's place would be told twice."""

_FAR = 1000.0


def placing_pdf(placed: Placed, wishes: Wishes) -> bytes:
    """Return the placing as a PDF to lay on the piece.

    Args:
        placed: The placing.
        wishes: On what is printed.

    Raises:
        RequestError: The paper is too small, or the blank needs too many sheets.
    """
    knife = placed.wanted.knife
    head = Head(
        title=f"{knife.design.title}, placing",
        code=knife.code,
        facts=(f"{piece_words(placed.piece).text()}; {piece_is_of(knife, placed.piece)}",),
        caution=template_caution(knife.start, drilled=bool(knife.holes)),
    )
    ways = [placing_scene(placed, around) for around in AROUND_MM]
    planned = [(scene, best_plan(scene, wishes)) for scene in ways]
    pages = template_pages([min(planned, key=lambda one: len(one[1].tiles))], head)
    return pdf_bytes(
        pages, title=f"{knife.design.name}, placing", subject=f"design {knife.code}", stretch=wishes.stretch
    )


def placing_scene(placed: Placed, around_mm: float) -> Scene:
    """Return what the sheet shows, in the coordinates of the blank as it lies on the piece.

    Args:
        placed: The placing.
        around_mm: How much of the piece around the blank is drawn [mm].
    """
    laid = Laid(placed, around_mm)
    knife = placed.wanted.knife
    drawn = [Drawn(chain, _EDGE) for chain in laid.seen(laid.edge)]
    labels = [*_anchor_labels(laid), *_edge_label(laid)]
    for zone in placed.piece.zones:
        outline = laid.from_piece(zone.outline)
        chains = laid.seen(outline)
        drawn += [Drawn(chain, _AVOID if zone.kind == "avoid" else _SAVE) for chain in chains]
        labels += _zone_label(laid, zone) if chains else []
    lines, more = _distance_lines(laid)
    side = "turned over: its left face lies up" if placed.pose.flipped else "as drawn: its right face lies up"
    lies, limit = lies_words(placed), min(placed.verdict.distances, key=lambda one: one.spare)
    scarcest = f"{limit.name or 'the edge'}: {side_by_side(limit.least_mm, limit.need).text()}"
    grain = "" if lies is None else f"; {lies.text()}"
    slot = f"the slot is {placed.wanted.kerf_mm:g} mm wide"
    facts = (
        f"The knife lies {side}. Lay the thick line on the real edge of the steel and scribe the dashed cut line.",
        f"Scarcest from the cut line to {scarcest}; {slot}{grain}.",
    )
    front = laid.point(knife.shape.front_x_mm, 0.0)[0]
    return Scene(
        name="placing", title=f"on {placed.piece.name}", solid=(laid.finished,), dashed=(laid.cut,), lines=tuple(lines),
        holes=tuple(_holes(laid)), labels=(*more, *labels), texts=(), facts=facts, avoid=_harm(laid, front),
        drawn=tuple(drawn), legend=(
            ("edge of the steel", _EDGE), ("cut here", CUT), ("finished line", SOLID),
            *([("keep clear", _AVOID)] if placed.piece.avoided else []),
            *([("to save", _SAVE)] if placed.piece.kept else []),
        ), corners=_corners(laid),
    )  # fmt: skip


def _holes(laid: Laid) -> list[DrawnHole]:
    return [
        DrawnHole(*laid.point(h.hole.x_mm, h.hole.y_mm), h.hole.diameter_mm, "pin")
        for h in laid.placed.wanted.knife.holes
    ]


def _anchor_labels(laid: Laid) -> list[Label]:
    cut, knife = laid.placed.wanted.cut, laid.placed.wanted.knife
    x0, _, x1, _ = cut.bounds_mm
    tip_y = knife.shape.values_mm.get("tip_height", 0.0)
    front = knife.shape.front_x_mm
    low, high = chord_at(cut, (x0 + front) / 2) or (0.0, 10.0)
    return [
        Label("tip", laid.point(x1 - 1.0, tip_y), 0.0),
        Label("heel of the finished knife", laid.point(0.0, 0.0), 0.0),
        Label("handle", laid.point((x0 + front) / 2, (low + high) / 2), 0.0),
    ]


def _edge_label(laid: Laid) -> list[Label]:
    """Name the piece's edge where it comes nearest to the blank."""
    limit = next((one for one in laid.placed.verdict.limits if one.kind == "edge"), None)
    if limit is None or limit.least_mm > laid.around_mm:
        return []
    at = laid.point(*limit.design_mm)
    if any(math.dist(at, one.at) < _NEAR_MM for one in laid.distances()):
        return []
    return [Label(f"cut line {mm(limit.least_mm).shown()} to the edge", at, 0.0)]


def _zone_label(laid: Laid, zone: Zone) -> list[Label]:
    x0, y0, x1, y1 = laid.from_piece(zone.outline).bounds_mm
    w = laid.window
    at = (min(max((x0 + x1) / 2, w[0] + 1), w[2] - 1), min(max((y0 + y1) / 2, w[1] + 1), w[3] - 1))
    clear = 0.0 if zone.circle is None else zone.circle[2] / 2
    if zone.kind == "keep":
        kept = next(kept for kept in shown(laid.placed) if kept.zone is zone)
        return [
            Label(words, laid.point(*place), clear if place == kept.middle else 0.0) for words, place in kept.labels()
        ]
    what = "keep clear"
    return [Label(f"{laid.placed.piece.words_of(zone)}: {what}" if zone.name else what, at, clear)]


def _distance_lines(laid: Laid) -> tuple[list[Stroke], list[Label]]:
    lines: list[Stroke] = []
    labels: list[Label] = []
    for one in laid.distances():
        end = _within(laid, one)
        if one.mm >= _SHORT_MM:
            lines.append(Stroke(one.at, end, "arrow" if end == one.to else "narrow"))
        middle = ((one.at[0] + end[0]) / 2, (one.at[1] + end[1]) / 2)
        labels.append(Label(f"cut line {mm(one.mm, 1).shown()} to the edge", middle, 0.0))
    return lines, labels


def _within(laid: Laid, one: Distance) -> tuple[float, float]:
    """Return where a distance's line ends: at the edge, or where the drawing ends before it."""
    share = (laid.around_mm - 1.0) / max(one.mm, 1e-9)
    if share >= 1.0:
        return one.to
    return one.at[0] + (one.to[0] - one.at[0]) * share, one.at[1] + (one.to[1] - one.at[1]) * share


def _corners(laid: Laid) -> tuple[tuple[float, float], ...]:
    """Return places that must be on the page: those of the distances' ends."""
    return tuple(_within(laid, one) for one in laid.distances())


def _harm(laid: Laid, front_mm: float) -> tuple[Avoid, ...]:
    """Say where a join between sheets would do harm: at tip, heel and holes."""
    side = -1.0 if laid.pose.flipped else 1.0
    x0, _, x1, _ = laid.cut.bounds_mm
    tip = (x1 - 30.0, x1 + 10.0) if side > 0 else (x0 - 10.0, x0 + 30.0)
    heel = (-6.0, 6.0)
    out = [Avoid(*tip, _FAR), Avoid(*heel, 60.0), Avoid(front_mm - 4, front_mm + 4, 40.0)]
    for hole in _holes(laid):
        half = hole.diameter_mm / 2 + 4
        out.append(Avoid(hole.x_mm - half, hole.x_mm + half, _FAR))
    return tuple(out)
