"""What the cover note says where a hand cuts: the line to keep to, what the hand runs along, where it begins."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from blankwright.cutting.delivery import Delivery
from blankwright.cutting.note import NoteRow
from blankwright.cutting.order import PartFigures
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife
from blankwright.knife.torch import Guide

LINE = "The dashed line is the size of the part: cut outside the line, never on it."
START = "Begin at the butt or on the spine; never at the tip, the heel corner or the edge."
ASK = "Ask before the first cut, not after it."


def hand_rows(part: Delivery, figure: PartFigures) -> list[NoteRow]:
    """Return what a hand needs to know of a part, in the order of its work.

    Args:
        part: The part, cut by hand.
        figure: Its figures.
    """
    knife = part.knife
    return [
        *_way_rows(knife),
        NoteRow("Line", LINE),
        *_guide_rows(knife.guide),
        NoteRow("Start", START),
        *_holes(knife),
        *_wander_rows(part, figure),
        NoteRow("Edges", f"{'Leave them as cut' if knife.start.wooden else 'Knock burr and dross off'}: every edge is "
                "worked to the line later."),
    ]  # fmt: skip


def _way_rows(knife: Knife) -> list[NoteRow]:
    """Say how it is cut, and what the hand does by the table of its way."""
    way = knife.process
    if way is None:
        return []
    title = f"{way.title[:1].upper()}{way.title[1:]}."
    return [NoteRow("By hand", title), *(NoteRow("", rule.text) for rule in way.by_hand)]


def _guide_rows(guide: Guide | None) -> list[NoteRow]:
    if guide is None:
        return []
    half = guide.kerf.value / 2
    sum_of = f"half the kerf ({half:g} mm) and the nozzle's radius ({guide.nozzle.value:g} mm)"
    words = f"{guide.distance_mm:.2f} mm outside the line: {sum_of}. It stands on drawing and template."
    hollow = () if guide.follows else (NoteRow("", "Leave the steel in hollows that the nozzle does not reach."),)
    paper = "Scribe or soapstone both lines on the bare steel. No paper under the arc or flame: it burns."
    return [
        NoteRow("Guide", words),
        NoteRow("", f"The nozzle: {guide.nozzle.source} ({guide.nozzle.status})."),
        NoteRow("", paper),
        *hollow,
    ]


def _holes(knife: Knife) -> list[NoteRow]:
    """Return one row for each kind of hole: how many and how each is made."""
    if not knife.holes:
        return [NoteRow("Holes", "None.")]
    rows: list[NoteRow] = []

    def kind(h: MadeHole) -> tuple[str, str]:
        return (h.name, h.words)

    for (name, words), group in groupby(sorted(knife.holes, key=kind), key=kind):
        many = list(group)
        now = "prick the centre with an awl" if knife.start.wooden else "centre-punch"
        later = f" later; {now} now" if many[0].made.made_by == "drill" else ""
        rows.append(NoteRow("Holes" if not rows else "", f"{len(many)} x {name}: {words}{later}."))
    return rows


def _wander_rows(part: Delivery, figure: PartFigures) -> Sequence[NoteRow]:
    """Say how far a hand wanders: room is left for that in an outline with its allowance, none in a finished one."""
    off = figure.part_tolerance
    if off is None:
        return ()
    stuff = "Wood" if part.knife.start.wooden else "Steel"
    sure = f"{stuff} outside the line is ground away, inside it the part is lost."
    where = f"a size is off by {off.plus_minus_mm:g} mm either way ({off.source.rpartition(': ')[2]}, {off.status})."
    if part.outline is part.knife.finished:
        half = f"{off.plus_minus_mm / 2:g} mm"
        words = f"No room is left for a hand that wanders, so far that {where} Stay {half} outside the line or more."
    else:
        words = f"Room is left for a hand that wanders so far that {where}"
    return (NoteRow("Wander", f"{words} {sure}"),)
