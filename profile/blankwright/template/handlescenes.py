"""What is traced on the wood of a handle: the scales as a mirrored pair, or the block on a hidden tang."""

from __future__ import annotations

from blankwright.design.block import REGION
from blankwright.design.tang import chord_at
from blankwright.geometry.clip import behind
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.template.scene import DrawnHole, Label, Scene, Stroke

SCALE_OVERSIZE_MM = 3.0
"""Common practice: scales are sawn a few millimetres larger and shaped on the tang."""
HOLE_CLEAR_MM = 3.5
"""Words keep off a hole's centre lines."""


def scale_outlines(knife: Knife) -> tuple[Outline, Outline]:
    """Return one scale as seen from its outer face, finished and oversize, the tip to the right.

    The front of both is the handle front: it is finished before glue-up and gets no oversize.
    """
    front = knife.shape.front_x_mm
    finished = behind(knife.finished, front, "front")
    rough = behind(parallel(knife.finished, SCALE_OVERSIZE_MM).outline, front, "front")
    return finished, rough


def _grain(knife: Knife) -> str:
    """Return what the arrow says: wood has a grain, a laminate has not."""
    wood = knife.handle is not None and knife.handle.material.kind == "wood"
    return "; grain along the arrow" if wood else "; the arrow runs along the handle"


def _bore_words(knife: Knife) -> str:
    """Say how the scales are bored: a tang hole that is wider than the scale's marks its centre and guides no bit."""
    wish = knife.design.pins
    if wish is None:
        return "No pins: no hole is bored."
    if knife.guided:
        return "Bore through the tang's holes, one scale at a time."
    wide, bore = (of(wish.diameter_mm, wish.fit)[0] for of in (finished_hole_mm, scale_hole_mm))
    if knife.shape.there is not None:
        return f"Mark centres through the tang's holes, then bore {bore:g} mm, one scale at a time."
    return f"Mark centres through the tang's {wide:g} mm holes, then bore {bore:g} mm, one scale at a time."


def _behind_front(knife: Knife) -> list[MadeHole]:
    """Return the holes that lie under the scales: a blank may have others."""
    return [h for h in knife.holes if h.hole.x_mm < knife.shape.front_x_mm]


def scales_scene(knife: Knife) -> Scene:
    """Return the scales as a mirrored pair, finished and oversize, to trace on the wood."""
    finished, rough = scale_outlines(knife)
    front = knife.shape.front_x_mm
    _, low, _, high = rough.bounds_mm
    middle = (front + rough.bounds_mm[0]) / 2
    drop = (high - low) + 22.0
    solid: list[Outline] = []
    dashed: list[Outline] = []
    lines, holes, labels, texts = [], [], [], []
    for side in ("right", "left"):
        left = side == "left"

        def put(x: float, y: float, left: bool = left) -> tuple[float, float]:
            return (2 * middle - x, y - drop) if left else (x, y)

        for group, outline in ((solid, finished), (dashed, rough)):
            flipped = outline.mirrored().placed(180.0, 2 * middle, 0.0) if left else outline
            group.append(flipped.placed(0.0, 0.0, -drop if left else 0.0))
        for h in _behind_front(knife):
            kind = "crossed" if h.hole.purpose == "lightening" else "pin"
            holes.append(DrawnHole(*put(h.hole.x_mm, h.hole.y_mm), h.hole.diameter_mm, kind))
        chord = chord_at(finished, front - 1.0) or (low, high)
        labels.append(Label("finish this face before glue-up", put(front, (chord[0] + chord[1]) / 2), 0.0))
        grain = high + 6.0
        lines.append(Stroke(put(middle - 22, grain), put(middle + 22, grain), "arrow"))
        texts.append((f"{side} scale, outer face up{_grain(knife)}", (middle, put(0, grain)[1] + 2.0)))
        labels += [
            Label("no hole in the scale here", put(h.hole.x_mm, h.hole.y_mm), h.hole.diameter_mm / 2 + HOLE_CLEAR_MM)
            for h in _behind_front(knife)
            if h.hole.purpose == "lightening"
        ][:1]
    design = knife.design
    made_of = knife.handle.material.title if knife.handle else design.scales.material
    return Scene(
        name="scales", title="scales", solid=tuple(solid), dashed=tuple(dashed), lines=tuple(lines), holes=tuple(holes),
        labels=tuple(labels), texts=tuple(texts),
        facts=(
            f"Two scales, {made_of}, {design.scales.thickness_mm:g} mm thick; dashed: "
            f"{SCALE_OVERSIZE_MM:g} mm oversize. {_bore_words(knife)}",
        ),
        avoid=(),
    )  # fmt: skip


def block_outlines(knife: Knife) -> tuple[Outline, Outline] | None:
    """Return the block on a hidden tang seen from the side, finished and oversize; None when it is not described.

    The front of both is the handle front: it is finished before glue-up and gets no oversize.
    """
    finished = knife.block
    if finished is None:
        return None
    rough = behind(parallel(finished, SCALE_OVERSIZE_MM).outline, knife.shape.front_x_mm, REGION)
    return finished, rough


def block_scene(knife: Knife) -> Scene | None:
    """Return the block on a hidden tang, to trace on the wood: outline, slot, grain; None when it is not described."""
    outlines, handle = block_outlines(knife), knife.handle
    if outlines is None or handle is None:
        return None
    finished, rough = outlines
    front, swell = knife.shape.front_x_mm, handle.swell
    middle = (front + rough.bounds_mm[0]) / 2
    slot = behind(knife.finished, front - _BEHIND_FRONT_MM, "cut")
    grain = rough.bounds_mm[3] + 6.0
    arrow = Stroke((middle - 22, grain), (middle + 22, grain), "arrow")
    holes = tuple(DrawnHole(h.hole.x_mm, h.hole.y_mm, h.hole.diameter_mm, "pin") for h in knife.holes)
    chord = chord_at(finished, front - 1.0) or (0.0, 0.0)
    tang_end = knife.shape.tang_end_x_mm
    slot_at = chord_at(knife.finished, tang_end + 1.0) or (0.0, 0.0)
    across = f"{swell.thickness_mm:g} mm" + (f", {swell.more_mm:g} mm more in the middle" if swell.more_mm else "")
    depth, thick = front - tang_end, knife.stock_mm
    return Scene(
        name="handle-block", title="handle block", solid=(finished,), dashed=(rough, slot), lines=(arrow,), holes=holes,
        labels=(
            Label("finish this face before glue-up", (front, (chord[0] + chord[1]) / 2), 0.0),
            Label(f"slot: {depth:.1f} mm deep, for {thick:g} mm steel", (tang_end, sum(slot_at) / 2), 0.0),
        ),
        texts=((f"seen from the right{_grain(knife)}", (middle, grain + 2.0)),),
        facts=(
            f"One block, {handle.material.title}, {across} across; dashed: the tang's slot, and "
            f"{SCALE_OVERSIZE_MM:g} mm oversize. Fit the slot to the tang before shaping.",
        ),
        avoid=(),
    )  # fmt: skip


_BEHIND_FRONT_MM = 0.02
"""The slot is read this far behind the handle's front, where the shoulders stand upright."""
