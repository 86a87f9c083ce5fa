"""Coupon, normalising and hardening: what is known of this steel, what is not, and what to mind."""

from __future__ import annotations

from blankwright.base.said import Line, Standing
from blankwright.knife.heat import Heat
from blankwright.knife.knife import Knife
from blankwright.sheet.model import Row, Stage
from blankwright.sheet.oven import oven_facts, oven_lines, oven_table
from blankwright.sheet.quantities import ASKED, lines, mm
from blankwright.sheet.tablelines import band_row, cautions_of, rule_line, rule_lines, spelled, to_do, to_know
from blankwright.shop.hardening import Hardening, found_steel

_NOTHING_KNOWN = (
    "Nothing is known here of hardening this steel: ask its maker for temperature, soak, quench and temper before any "
    "heat comes near it."
)
_LABEL = "The steel maker's data sheet for this melt goes before every figure here."
_TORCH = (
    "A torch or forge heats unevenly: thin edge and tip run hot first, coarsen and turn brittle. Heat the spine, keep "
    "the blade moving, and look at it in dim light."
)
_WRAPS = {"none": "nothing, bare", "coat": "a stop-off coat", "foil": "a packet of tool foil"}
_WRAP_STEPS = {
    "none": (),
    "coat": ("Brush a stop-off coat on the clean blade and let it dry as its label says.",),
    "foil": (
        "Fold it into stainless tool foil: seams doubled and pressed flat, little air inside, its outline left free.",
    ),
}
_SKIN = (
    "First take a touch of the skin off with a fine belt, wet: skin that lost its carbon is soft on a hard blade, and "
    "tells nothing."
)
_HARD = "A file skates along the whole edge. Where it bites, the blade was not hot there or not fast enough."
_STRAIGHT = (
    "Sight along it in the first minute: while it is warm it can still be pressed straight. Never bend it cold before "
    "tempering."
)


def coupon(knife: Knife) -> Stage:
    """Return the test coupon, which comes before the knife sees any heat."""
    return Stage(
        "coupon",
        "Test coupon, before the knife is cut",
        facts=to_know(found_steel().steps),
        steps=to_do(found_steel().steps),
        checks=lines("Two coupons in a row came out hard, whole and fine in the break."),
        cautions=lines(
            "Without a coupon that passed, this steel stays a pattern: do not make a knife of it.",
            "Stand out of the line of a breaking coupon; glass-hard steel flies.",
        ),
    )


def normalise(knife: Knife) -> Stage | None:
    """Return normalising of stock as bought, where its sources ask for it; a forging had it at the forge."""
    heat = knife.heat
    if heat is None or knife.start.bought or knife.start.name == "forged":
        return None
    why, at = heat.entry.normalise_first, heat.entry.normalise
    if why is None or at is None:
        return None
    return Stage(
        "normalise",
        "Normalise, before it is ground",
        (band_row("Normalise at", at, card="normalise at"),),
        facts=(rule_line(why), *lines("Its scale goes off with the grinding that follows.")),
        steps=lines(
            "Bring it to heat evenly, the whole blade and the tang's front, and hold it a few minutes.",
            "Hang it up and let it cool in still air until it is black, then to the hand; never on cold metal.",
        ),
        checks=lines("It is straight: press it straight while it is warm.", "A file bites again everywhere."),
        cautions=cautions_of("heat"),
    )


def harden(knife: Knife) -> Stage:
    """Return hardening. Holes, notch and deep scratches are done before."""
    heat, before = knife.heat, knife.ground.before
    rows = () if before is None else (Row("Edge left", (mm(before.behind_edge_mm, 2),), ASKED),)
    start = lines(_before_heat(knife))
    if heat is None:
        return _without_figures(knife, rows, start)
    medium, wrap = heat.medium, heat.entry.protect.by
    skin = () if wrap == "foil" else lines(_SKIN)
    label = lines(_LABEL) if knife.start.bought else ()  # where it is not, said with the bar
    return Stage(
        "harden",
        "Harden",
        (*rows, *_figures(heat)),
        (oven_table(knife, heat.entry),),
        facts=(*label, rule_line(heat.quench, "Quench: "), *oven_facts(), *rule_lines(heat.entry.notes)),
        ready=(rule_line(medium.ready),),
        steps=(
            *start,
            *lines("Harden a coupon of the same steel first, break it and look at the grain.", *_WRAP_STEPS[wrap]),
            *oven_lines(heat.entry),
            *lines("Heat evenly, edge and spine alike."),
            *rule_lines(medium.steps),
        ),
        checks=(*skin, *lines(_HARD), *rule_lines(medium.checks)),
        cautions=(
            *(() if heat.foil else lines(_TORCH)),
            *cautions_of("heat"),
            *(line for name in medium.cautions for line in cautions_of(name)),
        ),
        weighed=_weighed(heat.entry),
    )


def _without_figures(knife: Knife, rows: tuple[Row, ...], start: tuple[Line, ...]) -> Stage:
    """Return hardening of found steel, which does what its coupon was given, or of one that no table knows."""
    found = not knife.start.known
    told = (
        "Do what the coupon that passed was given, and nothing else: no chart is meant for this steel.",
        "Quench straight down, without waving.",
    )
    asked = ("Harden a coupon of the same steel first, break it and look at the grain.", "Heat evenly, edge and spine "
             "alike, and quench it as its maker says.")  # fmt: skip
    return Stage(
        "harden",
        "Harden",
        rows,
        facts=() if found else lines(_LABEL, _NOTHING_KNOWN),
        steps=(*start, *(lines(*told) if found else (*lines(asked[0]), *oven_lines(), *lines(asked[1])))),
        checks=lines(_SKIN, _HARD, _STRAIGHT),
        cautions=(*lines(_TORCH), *cautions_of("heat"), *cautions_of("quench-oil"), *cautions_of("quench")),
    )


def _before_heat(knife: Knife) -> str:
    """Say what is done before the steel is heated; what is there already, or comes later, is left out."""
    done = ["every hole drilled"] if knife.holes and not knife.start.bought else []
    done += [] if knife.design.cutting.notch_after_hardening else ["notch finished"]
    return f"Before anything: {', '.join([*done, 'scratches out', 'design code written down'])}."


def _figures(heat: Heat) -> tuple[Row, ...]:
    entry, protect = heat.entry, heat.entry.protect
    others = f"as below; or {' or '.join(heat.media[1:])}, which asks for other steps" if len(heat.media) > 1 else ""
    return (
        band_row("Harden at", entry.harden),
        Row("Against the air", (_WRAPS[protect.by],), Standing(protect.source, protect.status),
            card="" if protect.by == "none" else "wrap"),
        Row("Quench in", (heat.medium.title,), Standing(heat.quench.source, heat.quench.status), others,
            card="quench in"),
        band_row("Before any temper", entry.as_quenched, "as printed; not promised"),
    )  # fmt: skip


def _weighed(entry: Hardening) -> tuple[Line, ...]:
    """Return what other sources print, and what was taken and why."""
    others = tuple(
        Line(f"Others print {spelled(band.printed)} for hardening.", (), Standing(band.source, band.status))
        for band in entry.harden_others
    )
    return (*others, *rule_lines(entry.choices))
