"""What the work begins with where no bar of the finished thickness is bought: found steel, or a bar that is forged."""

from __future__ import annotations

from blankwright.base.said import Line, exact_mm
from blankwright.knife.forging import Forging
from blankwright.knife.knife import Knife
from blankwright.knife.rough import FoundStock
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import ASKED, computed, grams, lines, mm, published, said, standing
from blankwright.sheet.tablelines import band_row, cautions_of, to_do, to_know
from blankwright.shop.hardening import hardening

_FIRE = published("29 CFR 1910.252(a), fire prevention when cutting and welding")
_BAR = computed(
    "volume of the forging with scale, divided by the bar's section, one cut through the bar, what tongs hold"
)
_SHOULDER = computed("the tang's share of the forging's volume, divided by the bar's section")
_FORGED = computed("cut outline and thickness with the skin that is ground off every side")


def found_rows(found: FoundStock | None) -> tuple[Row, ...]:
    """Return how thick a found piece must be, and what is left of it."""
    if found is None:
        return ()
    at_least = computed("thickness of the knife and the loss of both faces")
    rows = [
        Row("It was", (found.piece.title,), ASKED),
        Row("Comes off each face", (mm(found.loss.value, 2),), standing(found.loss), card="off each face"),
        Row("As found it must be, at least", (mm(found.least_mm, 2),), at_least, card="as found, at least"),
    ]
    if found.found_mm is not None and found.left_mm is not None:
        rows.append(Row("As found it is", (mm(found.found_mm, 2),), ASKED))
        rows.append(Row("Then are left", (mm(found.left_mm, 2),), computed("as found less the loss of both faces")))
    return tuple(rows)


def found_steps(found: FoundStock | None) -> tuple[Line, ...]:
    """Return what is done to a found piece before anything is traced on it."""
    return () if found is None else to_do(found.piece.rules)


def found_facts(found: FoundStock | None) -> tuple[Line, ...]:
    """Return what to know of a found piece."""
    return () if found is None else to_know(found.piece.rules)


def bar(knife: Knife, forging: Forging) -> Stage:
    """Return what to look at before a bar is forged: its weight, not its outline.

    Args:
        knife: The knife.
        forging: What is forged of it.
    """
    loss = forging.loss
    rows = tuple(
        Row(
            f"{b.width_mm:g} x {b.thickness_mm:g}",
            (
                mm(b.cut_off_mm, 0),
                mm(b.least_mm, 0, upto=b.most_mm),
                mm(b.tang_mm, 0),
                f"{forging.length_mm / (b.length_mm - b.handling_mm):.1f} times",
            ),
            ASKED,  # unmarked: the first of them stands with its source above, and a mark behind 6 is a power
        )
        for b in forging.bars
    )
    first = tuple(
        Row(
            "Bar, wide, thick and cut off", (mm(b.width_mm), mm(b.thickness_mm), mm(b.cut_off_mm, 0)), _BAR, card=BESIDE
        )
        for b in forging.bars[:1]
    )
    tables = (
        Table("A bar of one of these, mm", ("cut off", "as fire and hand are", "shoulder mark", "drawn out"), rows),
    )
    return Stage(
        "stock",
        "The bar to forge",
        (
            Row("Material", (knife.material.title,), ASKED, "a mill's trade name" if knife.material.trade_name else ""),
            Row(
                "Steel to begin with",
                (grams(forging.mass_g),),
                _FORGED,
                "scale and skin included",
                card=BESIDE if not first else "",
            ),
            *first,
            *_scale_rows(forging),
            Row("Ground off every side", (mm(loss.skin_mm.value, 2),), standing(loss.skin_mm)),
            Row("Lost in the cut through the bar", (mm(loss.kerf_mm.value, 2),), standing(loss.kerf_mm)),
        ),
        tables if rows else (),
        facts=lines(
            "What the tongs hold is in the length; write handling 0 where the tang is forged on the end of a long bar.",
            "The shoulder mark is measured from the end that becomes the tang; ahead of it lies the blade.",
        ),
        steps=lines(
            "Mark the grade on the bar and on every piece that leaves it.",
            "Keep the maker's data sheet with this sheet: its figures go before any here.",
            "Cut the bar to its length, weigh it, and break the corners: a sharp one folds into a cold shut.",
        ),
        checks=(_enough(forging), *lines("No seam, crack or lap runs along it.")),
        cautions=lines(
            "Bare metal only: if it is plated, galvanised or painted, ask what with before any heat comes near it."
        ),
    )


def _enough(forging: Forging) -> Line:
    """Say what the piece that was cut off weighs at least: what the tongs hold of it is no steel of the knife."""
    if not forging.bars or not forging.bars[0].handling_mm:
        return Line("It weighs at least as much as the figure above.")
    bar = forging.bars[0]
    held_g = forging.mass_g * bar.handling_mm * bar.width_mm * bar.thickness_mm / bar.volume_mm3
    words = "It weighs at least as much as the steel to begin with and what the tongs hold: {}, of a bar of {} x {}."
    return said(words, _FORGED, grams(forging.mass_g + held_g), exact_mm(bar.width_mm), exact_mm(bar.thickness_mm))


def _scale_rows(forging: Forging) -> tuple[Row, ...]:
    """Return what burns off, and how much of the shape the hammer makes."""
    loss = forging.loss
    rows = [
        Row("Heated", (f"{forging.heats} times",), standing(loss.heats)),
        Row("Burns off every face at each heat", (mm(loss.layer_mm.value, 2),), standing(loss.layer_mm)),
    ]
    if forging.bars:
        percent = f"{forging.bars[0].scale_percent:.0f} %"
        rows.append(Row("Burns off as scale", (percent,), _FORGED, "of the weight, from the first of the bars"))
    if forging.share_percent:
        rows.append(Row("Of bevels and tapers forged", (f"{forging.share_percent:g} %",), ASKED))
    return tuple(rows)


def _forging_rows(forging: Forging | None) -> tuple[Row, ...]:
    """Return how large a forging must be before it is cut to the line."""
    if forging is None:
        return ()
    size = (mm(forging.length_mm, 0), mm(forging.height_mm, 0), mm(forging.thickness_mm))
    return (Row("Drawn out to, at least", size, _FORGED, "long, high and thick everywhere", card="forge to"),)


def _normalised(knife: Knife) -> tuple[Row, ...]:
    entry = hardening(knife.material.name) if knife.start.known else None
    return (
        ()
        if entry is None or entry.normalise is None
        else (band_row("Normalise at", entry.normalise, card="normalise"),)
    )


def forge(knife: Knife) -> Stage:
    """Return how forging goes before the rest: how large the forging must be, and how it is looked over."""
    return Stage(
        "forge",
        "Forge to shape",
        rows=(
            *_forging_rows(knife.forging),
            *_normalised(knife),
            Row("Both faces ground to", (mm(knife.stock_mm, 2),), ASKED),
        ),
        steps=lines(
            "Heat evenly and stop before the steel sparks; the steel maker's data sheet says how hot and how often.",
            "Forge tang and shoulders first, then the point, then draw out the blade.",
            "Leave it thicker and wider than the cut line everywhere: scale and the skin below it go.",
            "Normalise and anneal as the data sheet says, until a file bites again.",
            "Measure it cold, as below; then grind both faces flat and clean, down to the thickness of the knife.",
        ),
        checks=lines(
            "Cold, the printed template lies inside the forging all round, with room for the skin to be ground off.",
            "Before its faces are ground, a caliper finds it as thick as the figure above wherever the template lies.",
            "After, a straight edge rocks nowhere on them, and no pit or scale is left.",
            "No crack or cold shut shows after a file has cleaned the notch, the shoulders and the spine.",
        ),
        cautions=(
            Line("Hot steel looks like cold steel: mark every piece you lay down."),
            said("Keep what burns {} away, and keep watch for {} after the fire is out.", _FIRE,
                 "10.7 m (35 ft)", "half an hour"),
            *cautions_of("heat", "carbon-monoxide", "clothes", "dark-glass"),
        ),
    )  # fmt: skip
