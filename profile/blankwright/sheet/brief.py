"""Cautions in few words, for the bench card: each stands for one that the sheet has at the same stage in full.

Only what the sheet says at a stage can come on the card there: the words below are looked for in its cautions, and what
they stand for is never said without them. The weightiest comes first.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from blankwright.base.said import Line
from blankwright.sheet.model import Sheet

MOST = 3
"""So many cautions stand at a stage of the card."""

BRIEF: tuple[tuple[str, str], ...] = (
    # what can kill or blind
    ("Bare metal only", "bare metal only: no plating, zinc or paint"),
    ("jet injects", "never reach into the tank"),
    ("interlocks working", "closed machine only: the beam blinds"),
    ("Filter shade", "filter shade on before the arc or flame"),
    ("Draw off the fume", "draw off the fume"),
    ("Never cut plated", "nothing plated or galvanised"),
    ("packet glows", "the packet glows: clear floor, long tongs"),
    ("class B extinguisher", "lid and class B extinguisher; no water on oil"),
    ("carbon-monoxide", "open air or fan, CO alarm"),
    ("Dry ice", "cold burns, drives out air: door open, no tight vessel"),
    ("steam spurts", "face shield: steam and brine spurt"),
    ("breaking coupon", "goggles, out of the line of a breaking coupon"),
    ("Hot steel looks like cold", "hot steel looks cold: mark it"),
    ("fire watch", "fire watch for half an hour"),
    ("keep watch", "fire watch for half an hour"),
    ("looks cold and burns", "hot blades look cold: gloves and tongs"),
    ("propeller", "clamp it down; no gloves at the spindle"),
    ("running blade", "glasses; no gloves at a running blade"),
    ("no gloves at a belt", "face shield, ears, mask; no gloves at belts"),
    ("hands behind the saw", "clamp the board; hands behind the saw"),
    ("burrs filed off", "glasses; clamp the work; file burrs off"),
    ("Face shield, leather gloves", "face shield, leather gloves, dry floor"),
    ("Dark glass", "dark glass at a forge"),
    # what harms lungs and skin
    ("sensitise skin", "nitrile gloves: resin harms the skin for life"),
    ("class P100", "P100 mask, sand wet, wipe up"),
    ("Dust of stainless", "stainless dust: draw it off or grind wet"),
    ("Rags with drying oil", "oily rags light by themselves: soak them"),
    ("Respirator and extraction", "respirator, dust drawn off"),
    ("Keep dust low", "respirator, dust drawn off"),
    ("Bone, antler and horn", "P100 mask, dust drawn off or wiped up wet"),
    ("hot horn warps", "cool to the lips: heat cracks bone, warps horn"),
    ("irritate skin and lungs", "some woods irritate: read the safety sheet"),
    # what spoils blade or hand
    ("brittle as glass", "brittle as glass until tempered"),
    ("Springs and files hold old cracks", "old cracks: look with a sharp light"),
    ("grade is unknown", "grade unknown: no chart is meant for it"),
    ("foil cut like razors", "foil cuts like a razor: gloves"),
    ("hardened blade cool", "cool enough to hold, always"),
    ("must stay cool", "cool enough to hold, always"),
    ("belt's grab", "edge away from the belt's grab"),
    ("Edges come sharp", "edges are sharp: gloves and a file"),
    ("Without a coupon", "no knife without a coupon that passed"),
    ("Wipe off all oil", "wipe the oil off; no food in this oven"),
    ("Clamp the blade flat", "blade flat on a board, edge away from you"),
    ("tape or sheath", "tape or sheath the blade"),
    ("edge away from fingers", "stone fixed, edge away from fingers"),
    ("strokes run off the edge", "clamp it; strokes run off the edge"),
)
"""Words of a caution, and what the card says for it."""


OFTEN = 3
"""What so many stages say is said once for all of them, over the stages."""


def sentence(short: Sequence[str]) -> str:
    """Return cautions in few words as one sentence.

    >>> sentence(("draw off the fume", "nothing plated"))
    'Draw off the fume; nothing plated.'
    """
    words = "; ".join(short)
    return f"{words[:1].upper()}{words[1:]}."


def briefs(cautions: Sequence[Line]) -> tuple[str, ...]:
    """Return the cautions of a stage that are known in few words, the weightiest first.

    Args:
        cautions: What a stage of the sheet says.
    """
    said = " ".join(line.words for line in cautions)
    return tuple(dict.fromkeys(short for words, short in BRIEF if words in said))


def told_once(sheet: Sheet) -> Sheet:
    """Return a sheet as paper has it: each caution whole where it comes first, afterwards in few words.

    Args:
        sheet: The sheet; by the numbers of its stages is told where the whole is.
    """
    first: dict[Line, int] = {}
    found = []
    for number, stage in enumerate(sheet.stages):
        again: dict[int, list[Line]] = {}
        own = []
        for line in stage.cautions:
            if line in first and briefs([line]):
                again.setdefault(first[line], []).append(line)
            else:
                own.append(line)
                first.setdefault(line, number)
        own += [Line(f"As at stage {n}: {'; '.join(briefs(each))}.") for n, each in again.items()]
        found.append(replace(stage, cautions=tuple(own)))
    return replace(sheet, stages=tuple(found))


def shared(stages: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    """Return what is said at so many stages that it is said once, the weightiest first.

    Args:
        stages: The brief cautions of each stage.
    """
    count = Counter(one for stage in stages for one in stage)
    return tuple(dict.fromkeys(short for _, short in BRIEF if count[short] >= OFTEN))
