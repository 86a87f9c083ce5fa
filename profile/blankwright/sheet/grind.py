"""Grinding: the bevels before hardening, and what is left for after it."""

from __future__ import annotations

from collections.abc import Callable

from blankwright.base.said import Line, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.blank import grind_cautions, wood_dust
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.quantities import (
    ASKED,
    GROUND,
    PLACES,
    PRACTICE,
    STATIONS,
    WEIGHED,
    computed,
    deg,
    grams,
    lines,
    mm,
    said,
)
from blankwright.solid.stations import BenchStation

_SET = computed("bevel against the faces of the untapered stock, with the edge left thick")
_SCRIBED = computed("half of stock less edge left, or the whole on a single bevel")
_FLAT = "The flat face is flat: no light under a straightedge."
_SIDES = ("right", "left")
_CARD = {"platen or jig angle": "platen", "scribe from the face": "scribe", "bevel": "bevel",
         "slope of the face": "slope"}  # fmt: skip
"""Labels on the bench card."""

Pair = Callable[[BenchStation], tuple[float, float]]


def before_hardening(knife: Knife) -> Stage:
    """Return grinding before hardening: platen angles, scribe lines, the edge left thick."""
    before, weights = knife.ground.before, knife.weights
    rows = [Row("Grind", (_kind(knife),), ASKED)]
    if before is not None:
        rows.append(Row("Leave at the edge", (mm(before.behind_edge_mm, 2),), ASKED, "until after hardening",
                        card="edge"))  # fmt: skip
    if weights.before_hardening is not None:
        off = knife.finished_blank.mass_g - weights.before_hardening.mass_g
        rows.append(Row("Steel to take off", (grams(off),), WEIGHED))
    table = [
        *_heights(knife),
        *_pairs(knife, "platen or jig angle", lambda s: s.platen_deg or (0, 0), _SET, angle=True),
    ]
    if all(s.scribe_mm for s in knife.stations):
        table += _pairs(knife, "scribe from the face", lambda s: s.scribe_mm or (0, 0), _SCRIBED)
    return Stage(
        "grind",
        "Grind, before hardening",
        tuple(rows),
        (Table("Along the blade", tuple(s.place for s in knife.stations), tuple(table), PLACES, STATIONS),),
        steps=lines(
            "Scribe the two lines along the edge; never grind past them now."
            if not knife.single else "Scribe one line along the edge; the other face stays flat.",
            "Set the grind line, then work down to the scribed line in long even passes, turning sides often."
            if not knife.single else f"Grind {_one_face(knife)}, down to the scribed line.",
            *_taper_words(knife),
        ),
        checks=(
            *((said("The edge is {} thick everywhere: measure at heel, middle and near the tip.", ASKED,
                    mm(before.behind_edge_mm, 2)),) if before is not None else ()),
            *lines("Both sides alike: no twist when you sight along the edge." if not knife.single
                   else _FLAT,
                   "Every hole is drilled and every scratch across the blade is out: both start cracks in the quench."
                   if knife.holes and not knife.start.bought else
                   "Every scratch across the blade is out: it starts cracks in the quench."),
        ),
        cautions=grind_cautions(knife, "guards"),
    )  # fmt: skip


def to_finish(knife: Knife) -> Stage:
    """Return grinding to the finished bevel: cool in hardened steel, freely in soft."""
    weights, bevels, start = knife.weights, knife.ground.bevels, knife.start
    first = start.heated
    thick = ("Thickness of the edge", "edge") if bevels.blunt else ("Thickness behind the edge", "behind the edge")
    rows = [
        Row("Grind", (_kind(knife),), ASKED),
        Row(thick[0], (mm(bevels.behind_edge_mm, 2),), ASKED, card=thick[1]),
    ]
    if weights.ground_blade is not None:
        body = weights.before_hardening if first and weights.before_hardening else knife.finished_blank
        note = "the edge included" if first or start.soft else "from a flat blank; less if yours is ground already"
        rows.append(Row("Steel to take off", (grams(body.mass_g - weights.ground_blade.mass_g),), WEIGHED, note))
    table = [*_heights(knife, spine=True), *_pairs(knife, "bevel", lambda s: s.bevel_deg, GROUND, angle=True)]
    return Stage(
        "thin",
        "Grind to the finished bevel" if start.soft else "Grind to the finished bevel, cool",
        tuple(rows),
        (Table("Along the blade", tuple(s.place for s in knife.stations), tuple(table), PLACES, STATIONS),),
        facts=_left_soft(knife),
        steps=lines(
            _passes(knife),
            *((f"Grind {_one_face(knife)}.",) if knife.single else ()),
            "Bring the bevel down evenly to the thickness of the edge; it is rounded last." if bevels.blunt else
            "Bring the bevel down evenly to the thickness behind the edge; leave the edge itself for the "
            f"{'stone' if knife.scallops is None else 'round rod'}.",
            *(("Grind the heel notch to the line, light and wet: a hollow in hard steel heats at once.",)
              if first and knife.design.cutting.notch_after_hardening else ()),
            *(_taper_words(knife) if not first else ()),
        ),
        checks=(
            said(f"{'The edge' if bevels.blunt else 'Behind the edge it'} is {{}} at heel, middle and near the tip.",
                 ASKED, mm(bevels.behind_edge_mm, 2)),
            *lines(*((_FLAT,) if knife.single else
                     ("Both sides alike: no twist when you sight along the edge.",) if start.soft else ()),
                   *(() if start.soft else ("No colour anywhere near the edge.",))),
        ),
        cautions=grind_cautions(knife, "guards", "grab", *(() if start.soft else ("cool",))),
    )  # fmt: skip


def _passes(knife: Knife) -> str:
    """Return how the belt is used: hardened steel is kept cool, and a face that stays flat is not turned to it."""
    if not knife.start.soft:
        return "Fresh belt, light passes, and into the water after each one."
    return f"Fresh belt, long even passes{'' if knife.single else ', turning sides often'}."


def as_ground(knife: Knife) -> Stage:
    """Return the look at bevels that are there: what they measure goes into the design."""
    weights, bevels = knife.weights, knife.ground.bevels
    rows = [
        Row("Grind", (_kind(knife),), ASKED),
        Row("Thickness behind the edge", (mm(bevels.behind_edge_mm, 2),), ASKED, card="behind the edge"),
    ]
    if weights.ground_blade is not None:
        rows.append(Row("Weight as bought", (grams(weights.ground_blade.mass_g),), WEIGHED, "if the figures are right"))
    table = [*_heights(knife, spine=True), *_pairs(knife, "bevel", lambda s: s.bevel_deg, GROUND, angle=True)]
    return Stage(
        "thin",
        "Measure the bevels",
        tuple(rows),
        (Table("Along the blade", tuple(s.place for s in knife.stations), tuple(table), PLACES, STATIONS),),
        steps=lines(
            "Measure the spine at the three places and the thickness behind the edge, and weigh the blade.",
            "Where they are not the figures here, write yours into the design, spine_heel, spine_middle, "
            "spine_near_tip and behind_edge of [grind]; weight and balance follow.",
            "Leave the bevels as they are: only the edge is still to be made.",
        ),
        checks=lines("The design says what was measured."),
        cautions=lines("Measure with the edge away from the hand; a thin edge cuts before it is sharpened."),
    )  # fmt: skip


_SOFT = (
    "This blade stays soft: it bends where a hard one chips, takes dents, and holds no keen edge. For spreading that "
    "is all it needs."
)
_SOFT_SHARP = (
    "This blade stays soft, by wish: its edge rolls and dents after little work and is made anew often. It bends where "
    "a hard one chips."
)
_SOFT_STAINLESS = "Stainless steel that is not hardened rusts sooner: much of its chromium is bound in carbides."


def _left_soft(knife: Knife) -> tuple[Line, ...]:
    """Say what it means that a blade stays soft."""
    if not knife.start.soft:
        return ()
    words = [_SOFT if knife.ground.bevels.blunt else _SOFT_SHARP]
    words += [_SOFT_STAINLESS] if knife.material.kind == "stainless" else []
    return tuple(Line(text, (), PRACTICE) for text in words)


def thin_wood(knife: Knife) -> Stage:
    """Return shaping of a wooden blade."""
    weights, bevels = knife.weights, knife.ground.bevels
    rows = [Row("Shape", (_kind(knife),), ASKED),
            Row("Thickness at the edge", (mm(bevels.behind_edge_mm, 2),), ASKED, card="at the edge")]  # fmt: skip
    if weights.ground_blade is not None:
        off = knife.finished_blank.mass_g - weights.ground_blade.mass_g
        rows.append(Row("Wood to take off", (grams(off),), WEIGHED))
    table = [
        *_heights(knife, spine=True),
        *_pairs(knife, "slope of the face", lambda s: s.bevel_deg, GROUND, angle=True),
    ]
    return Stage(
        "thin",
        "Thin the blade",
        tuple(rows),
        (Table("Along the blade", tuple(s.place for s in knife.stations), tuple(table), PLACES, STATIONS),),
        steps=lines(*(("Plane both faces alike toward the tip first, until the spine has the figures of the table.",)
                      if _tapered(knife) else ()),
              "Mark the middle of the edge and of the spine all round with a pencil.",
              "Plane or rasp toward the edge, with the grain, both faces in turn.",
              "Stop a pencil line short and go on with sandpaper on a flat block."),
        checks=lines("Both faces meet on the pencil line; sight along the edge against the light.",
              "No torn grain: if there is, plane the other way."),
        cautions=wood_dust("limits", "extraction"),
    )  # fmt: skip


def _kind(knife: Knife) -> str:
    bevels = knife.ground.bevels
    height = "full height" if bevels.height_mm is None else "part height"
    side = {0.0: ", left face only", 1.0: ", right face only", 0.5: ", both faces alike"}
    return f"{bevels.kind}, {height}{side.get(bevels.right_share, ', uneven')}"


def _tapered(knife: Knife) -> bool:
    """Return whether the spine is thinner at one place than at another, by more than a caliper misses."""
    spines = [s.spine_mm for s in knife.stations]
    return max(spines) - min(spines) >= 0.05


def _taper_words(knife: Knife) -> tuple[str, ...]:
    if not _tapered(knife):
        return ()
    where = f"on the {_ground_side(knife)} face alone" if knife.single else "on both faces alike"
    return (f"Then thin the spine toward the tip to the figures of the table, {where}; the bevel follows.",)


def _ground_side(knife: Knife) -> str:
    """Return which face a single bevel is ground on, seen from the handle."""
    return "right" if knife.ground.bevels.right_share == 1.0 else "left"


def _one_face(knife: Knife) -> str:
    """Return which face alone is ground, in words."""
    return f"the {_ground_side(knife)} face only; the other stays flat"


def _heights(knife: Knife, *, spine: bool = False) -> list[Row]:
    places = knife.stations
    rows = [Row("edge to spine", tuple(mm(s.height_mm) for s in places), GROUND)]
    if any(s.grind_height_mm < s.height_mm - 0.05 for s in places):
        rows.append(Row("grind line above the edge", tuple(mm(s.grind_height_mm) for s in places), GROUND,
                        card="grind line"))  # fmt: skip
    label = "spine" if spine else "spine, when tapered"
    rows.append(Row(label, tuple(mm(s.spine_mm, 2) for s in places), GROUND))
    return rows


def _pairs(knife: Knife, label: str, of: Pair, standing: Standing, *, angle: bool = False) -> list[Row]:
    pairs = [of(s) for s in knife.stations]
    alike = all(abs(r - left) < 1e-6 for r, left in pairs)
    rows = []
    for side in range(1 if alike else 2):
        shown = tuple(deg(p[side], 2) if angle else mm(p[side], 2) for p in pairs)
        if max(p[side] for p in pairs) > 0:
            name = "" if alike else f", {_SIDES[side]}"
            rows.append(Row(f"{label}{name}", shown, standing, card=f"{_CARD[label]}{name}"))
    return rows
