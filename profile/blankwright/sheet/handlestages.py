"""The handle: what to saw, how to bore, when to glue, how to shape."""

from __future__ import annotations

import numpy as np

from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity
from blankwright.knife.handle import ROUND_MM
from blankwright.knife.knife import Knife
from blankwright.sheet.blank import wood_dust
from blankwright.sheet.drillbits import scale_bits
from blankwright.sheet.handfit import hand_rows
from blankwright.sheet.model import Row, Stage
from blankwright.sheet.quantities import (
    ASKED,
    GROUND,
    OUTLINE,
    PRACTICE,
    computed,
    lines,
    mm,
    practice,
    said,
    standing,
)
from blankwright.sheet.tablelines import band_row, cautions_of, to_do, to_know
from blankwright.shop.finishes import glue
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.shop.records import Material
from blankwright.shop.tables import fit
from blankwright.solid.handlebodies import Swell

THICKER_MM = 1.0
"""Saw scales and blocks this much thicker, for flattening the inner face."""
GLUE = "slow-epoxy"
"""The usual glue for scales, blocks and hidden tangs."""
GLUED_PROUD_MM, PEENED_PROUD = 2.0, 0.5
"""A glued pin stands out by this on each side, a peened one by this share of its diameter."""

_SAWN = practice("3 mm round the outline, 1 mm on the thickness")
_PIN = computed("handle and tang at the pin, and what stands out on both sides: 2 mm glued, half the diameter peened")
_THROUGH = computed("handle and tang at the bolt")


@dataclass(frozen=True)
class Sawn:
    """A piece of handle material to saw.

    Args:
        name: What it is.
        count: How many.
        size_mm: Length, height and thickness [mm].
        material: What it is of.
        density_kg_m3: Its density [kg/m3].
        rod_material: What the pins are of; None without.
    """

    name: str
    count: int
    size_mm: tuple[float, float, float]
    material: Material
    density_kg_m3: float
    rod_material: Material | None


def sawn(knife: Knife) -> Sawn | None:
    """Return what to saw for the handle: two scales or one block; None when nothing is, or it is not described."""
    handle = knife.handle
    if handle is None or not handle.apart or knife.weights.handle is None:
        return None
    swell = handle.swell
    thick = swell.thickness_mm + swell.more_mm + THICKER_MM
    more = 0.0 if handle.kind == "scales" else 2 * ROUND_MM
    size = (*handle.rough.size_mm, thick + more)
    name = "scale" if handle.kind == "scales" else "handle block"
    return Sawn(name, handle.pieces, size, handle.material, handle.density_kg_m3, handle.rod_material)


def design_fit(knife: Knife) -> str:
    """Return how the pins are held: glued, peened or bolted; empty without pins."""
    return knife.design.pins.fit if knife.design.pins else ""


def pin_lengths_mm(knife: Knife) -> tuple[float, ...]:
    """Return what to cut of each pin [mm]: through handle and tang, and proud on both sides."""
    handle, pins = knife.handle, knife.design.pins
    if handle is None or pins is None:
        return ()
    swell, diameter = handle.swell, pins.diameter_mm
    proud = {"peened": PEENED_PROUD * diameter, "bolted": 0.0}.get(design_fit(knife), GLUED_PROUD_MM)
    lengths = []
    for made in knife.pins:
        through = swell.at(made.hole.x_mm)
        if knife.construction == "full":
            through = 2 * through + knife.stock_mm
        lengths.append(through + 2 * proud)
    return tuple(lengths)


def fit_handle(knife: Knife, hand: str | None) -> Stage:
    """Return sawing, boring, fitting and gluing of the handle.

    Args:
        knife: The knife.
        hand: The hand that will hold it, in words, or None.

    Raises:
        RequestError: No such hand.
    """
    piece, handle = sawn(knife), knife.handle
    rows: list[Row] = []
    if piece is None or handle is None:
        rows.append(Row("Handle", ("not described by this design",), ASKED, "give [block] its sizes for figures"))
    else:
        size = tuple(mm(v) for v in piece.size_mm)
        rows.append(Row(f"Saw {piece.count} {piece.name}{'s' if piece.count > 1 else ''}", size, _SAWN,
                        f"{piece.material.title}{_grain(knife, ', grain along the handle')}",
                        card=f"saw {piece.count} to"))  # fmt: skip
        rows += _finished(knife, handle.swell)
        rows += scale_bits(knife)
        if knife.pins:
            lengths = tuple(dict.fromkeys(round(v, 1) for v in pin_lengths_mm(knife)))
            metal = piece.rod_material.title if piece.rod_material else ""
            bolted = design_fit(knife) == "bolted"
            label = (
                "Through the handle at the bolts"
                if bolted
                else f"Cut {len(knife.pins)} {'pin' if len(knife.pins) == 1 else 'pins'} to"
            )
            shown = tuple(mm(v) for v in lengths)
            rows.append(
                Row(
                    label,
                    shown,
                    _THROUGH if bolted else _PIN,
                    metal,
                    sign=" and ",
                    card="through, at the bolts" if bolted else "pins cut to",
                )
            )
        rows += [band_row("In clamps", glue(GLUE).clamp, card="in clamps"),
                 band_row("Work at", glue(GLUE).work)]  # fmt: skip
    rows += hand_rows(knife, hand)
    steps = _scale_steps(knife) if knife.construction == "full" else _block_steps(knife)
    return Stage(
        "handle",
        "Handle: saw, bore, fit, glue",
        tuple(rows),
        facts=_facts(knife),
        steps=steps,
        checks=_checks(knife),
        cautions=_cautions(knife),
    )


def _finished(knife: Knife, swell: Swell) -> list[Row]:
    thick: Quantity = mm(swell.thickness_mm, 1, swell.thickness_mm + swell.more_mm if swell.more_mm else None)
    if knife.construction == "full":
        return [Row("Finished, one scale thick", (thick,), ASKED, card="one scale")]
    shape = knife.shape
    depth = shape.front_x_mm - shape.tang_end_x_mm
    return [
        Row("Finished, block across", (thick,), ASKED, card="block across"),
        Row("Slot for the tang, deep", (mm(depth),), OUTLINE, "and a little room for glue at its end",
            card="slot, deep"),
        Row("Tang, high at the shoulders", (mm(shape.values_mm["tang_front"]),), OUTLINE, card="tang, high"),
        Row("Tang, thick", (mm(_tang_mm(knife), 2),), GROUND, card="tang, thick"),
    ]  # fmt: skip


def _tang_mm(knife: Knife) -> float:
    return float(knife.ground.taper.at(np.array([knife.shape.front_x_mm]))[0])


def _scale_steps(knife: Knife) -> tuple[Line, ...]:
    return (
        *lines(
            f"Flatten the inner faces; mark left and right{_grain(knife, ', grain')} and front on both.",
        ),
        *_bored(knife),
        *lines(
            *(
                ("Counterbore each scale for the bolt's head, from its outer face.",)
                if design_fit(knife) == "bolted"
                else ()
            ),
            "Pin both scales together and shape and polish their front face now: it cannot be reached after glue-up.",
        ),
        *_glue(knife),
    )


def _bored(knife: Knife) -> tuple[Line, ...]:
    """Return how the scales are bored: through the tang's holes, or at their centres where those are wider."""
    after = [f"Bore the second scale the same way from its own side.{_crossed_out(knife)}"]
    wish = knife.design.pins
    if wish is None:
        return ()
    if knife.guided:
        return lines(
            "Clamp the first scale to the tang and bore it through the tang's holes; put a pin in after each hole.",
            *after,
        )
    tried = "Take the tang away, bore the scale at the marks, and try it on the tang with the pins in."
    if knife.start.bought:
        harm = "a bit that is tight in hard steel breaks, and a thin one wanders" if knife.start.hard else (
            "a bit that does not fill it wanders")  # fmt: skip
        return lines(
            "Clamp the first scale to the tang and mark each hole's centre with the point of a bit that fills the "
            f"tang's hole. Bore nothing through it: {harm}.",
            tried, *after,
        )  # fmt: skip
    (wide, fitted), (bore, _) = (of(wish.diameter_mm, wish.fit) for of in (finished_hole_mm, scale_hole_mm))
    return (
        said("Clamp the first scale to the tang and mark each hole's centre with the point of a bit that fills the "
             "tang's hole, {}. The tang's holes are wider than the scale's: they guide no bit of {}.",
             standing(fitted), mm(wide, 2), mm(bore, 2)),
        *lines(tried, *after),
    )  # fmt: skip


def _crossed_out(knife: Knife) -> str:
    light = any(made.hole.purpose == "lightening" for made in knife.holes)
    return " Lightening holes are not bored: cross them out." if light else ""


def _block_steps(knife: Knife) -> tuple[Line, ...]:
    return (
        *lines(
            "Square the block, mark front, top and middle line on all faces.",
            "Bore a row of holes along the slot, join them with a file, and fit the tang by its marks until the "
            "shoulders close.",
            "Finish the front face now, flat to the shoulders: it cannot be reached after glue-up.",
            *((_pin_bore(knife),) if knife.pins else ()),
        ),
        *_glue(knife),
    )  # fmt: skip


def _pin_bore(knife: Knife) -> str:
    """Say how the pin's hole goes through the block: with the tang's, or where that one is wider without it."""
    if not knife.guided:
        why = "guides no bit for sure" if knife.start.bought else "is wider and guides no bit"
        return (
            "Mark the pin's centre on the block from the template and bore the block without the tang in it: the "
            f"tang's hole {why}."
        )
    return "Bore the pin's hole through block and tang while both are clamped dry."


def _facts(knife: Knife) -> tuple[Line, ...]:
    how = fit(knife.design.pins.fit) if knife.design.pins else None
    return (
        *((Line(how.note, (), PRACTICE),) if how is not None and how.note else ()),
        *lines("The glue's own label goes first: mixing, open time and clamp time are the label's, not ours."),
        *to_know(glue(GLUE).rules),
    )


def _glue(knife: Knife) -> tuple[Line, ...]:
    peened = design_fit(knife) == "peened"
    return (
        *lines(
            f"Put everything together dry, with {'pins and ' if knife.pins else ''}clamps, before any glue is mixed.",
            "Tape the blade and the front of the handle.",
        ),
        *to_do([rule for rule in glue(GLUE).rules if rule.name != _other_faces(knife)]),
        *lines(
            "Wipe the front edge and the blade clean before the glue sets.",
            "Leave it in its clamps for the time above.",
        ),
        *(lines("Head the pins with many light blows, from both sides in turn, on a small anvil.") if peened else ()),
    )  # fmt: skip


def _other_faces(knife: Knife) -> str:
    """Return the name of the rule that is for faces of another kind: a tang of wood is not degreased."""
    return "steel-faces" if knife.start.wooden else "wooden-faces"


def _checks(knife: Knife) -> tuple[Line, ...]:
    if knife.construction == "full":
        return lines(
            "Dry, no light shows between scale and tang, and both fronts stand at one line.",
            *(("Every pin goes through by hand.",) if knife.pins else ()),
        )
    return lines("Dry, the shoulders close all round and the block stands straight to the blade.")


def _cautions(knife: Knife) -> tuple[Line, ...]:
    kind = handle_kind(knife)
    return (
        *cautions_of("epoxy"),
        *(wood_dust() if kind == "wood" else cautions_of(f"{kind}-dust") if kind in ("laminate", "bone") else ()),
        Line("The blade is in the way of your hands now: tape or sheath it."),
    )


def handle_kind(knife: Knife) -> str:
    """Return what the handle is: wood, laminate or another kind of material; wood for a wooden piece."""
    handle = knife.handle
    return handle.material.kind if handle is not None and handle.apart else "wood"


def _grain(knife: Knife, words: str) -> str:
    """Return words on the grain for wood, which alone has one."""
    return words if handle_kind(knife) == "wood" else ""
