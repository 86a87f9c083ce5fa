"""What is traced on the wood of a handle: the scales as a mirrored pair, or the block on a hidden tang."""

from __future__ import annotations

from dataclasses import replace

from blankwright.design.tang import chord_at
from blankwright.geometry.clip import behind
from blankwright.geometry.outline import Outline
from blankwright.knife.handle import ROUND_MM, Handle
from blankwright.knife.knife import Knife
from blankwright.shop.holes import finished_hole_mm, scale_hole_mm
from blankwright.template.scene import DrawnHole, Label, Scene, Stroke

HOLE_CLEAR_MM = 3.5
"""Words keep off a hole's centre lines."""
GRAIN = "grain along the arrow"
_WORDS_MM = 5.0
"""The words over an arrow reach so high above it."""


def _grain(knife: Knife) -> str:
    """Return what the arrow says: wood has a grain, a laminate has not."""
    wood = knife.handle is not None and knife.handle.material.kind == "wood"
    return f"; {GRAIN}" if wood else "; the arrow runs along the handle"


def _bore_words(knife: Knife) -> str:
    """Say how the scales are bored: a tang hole that guides no bit marks the centre of the scale's."""
    wish = knife.design.pins
    if wish is None:
        return "No pins: no hole is bored."
    if knife.guided:
        return "Bore through the tang's holes, one scale at a time."
    wide, bore = (of(wish.diameter_mm, wish.fit)[0] for of in (finished_hole_mm, scale_hole_mm))
    size = "" if knife.start.bought else f"{round(wide, 2):g} mm "
    return f"Mark centres through the tang's {size}holes, then bore {round(bore, 2):g} mm, one scale at a time."


def _sawn_words(handle: Handle) -> str:
    """Say what the dashed line is."""
    long, high = handle.rough.size_mm
    return f"dashed: saw to this, {long:.1f} x {high:.1f} mm, {ROUND_MM:g} mm larger all round"


def _holes(knife: Knife, handle: Handle) -> list[DrawnHole]:
    """Return the holes of one scale as it is bored, and the tang's lightening holes behind it, crossed out."""
    light = [h.circle for h in knife.holes if h.hole.purpose == "lightening"]
    both = [(handle.bores, "pin"), (light, "crossed")]
    front = knife.shape.front_x_mm  # a blank may have holes ahead of it
    return [DrawnHole(*circle, kind) for circles, kind in both for circle in circles if circle[0] < front]


def scales_scene(knife: Knife) -> Scene:
    """Return the scales as a mirrored pair, finished and oversize, to trace on the wood."""
    handle = knife.handle
    assert handle is not None
    finished, rough, bored = handle.outline, handle.rough, _holes(knife, handle)
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
        holes += [replace(h, x_mm=x, y_mm=y) for h in bored for x, y in (put(h.x_mm, h.y_mm),)]
        chord = chord_at(finished, front - 1.0) or (low, high)
        labels.append(Label("finish this face before glue-up", put(front, (chord[0] + chord[1]) / 2), 0.0))
        grain = high + 6.0
        lines.append(Stroke(put(middle - 22, grain), put(middle + 22, grain), "arrow"))
        texts.append((f"{side} scale, outer face up{_grain(knife)}", (middle, put(0, grain)[1] + 2.0)))
        labels += [
            Label("no hole in the scale here", put(h.x_mm, h.y_mm), h.diameter_mm / 2 + HOLE_CLEAR_MM)
            for h in bored
            if h.kind == "crossed"
        ][:1]
    return Scene(
        name="scales", title="scales", solid=tuple(solid), dashed=tuple(dashed), lines=tuple(lines), holes=tuple(holes),
        labels=tuple(labels), texts=tuple(texts),
        facts=(
            f"Two scales, {handle.material.title}, {round(handle.swell.thickness_mm, 1):g} mm thick when finished; "
            f"{_sawn_words(handle)}.",
            _bore_words(knife),
        ),
        avoid=(), corners=((middle, high + 6.0 + _WORDS_MM),),
    )  # fmt: skip


def block_scene(knife: Knife) -> Scene | None:
    """Return the block on a hidden tang, to trace on the wood: outline, slot, grain; None when it is not described."""
    handle = knife.handle
    if handle is None:
        return None
    finished, rough = handle.outline, handle.rough
    front, swell = knife.shape.front_x_mm, handle.swell
    middle = (front + rough.bounds_mm[0]) / 2
    slot = behind(knife.finished, front - _BEHIND_FRONT_MM, "cut")
    grain = rough.bounds_mm[3] + 6.0
    arrow = Stroke((middle - 22, grain), (middle + 22, grain), "arrow")
    holes = tuple(_holes(knife, handle))
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
            f"One block, {handle.material.title}, {across} across; {_sawn_words(handle)}; and the tang's slot.",
            "Fit the slot to the tang before shaping.",
        ),
        avoid=(), corners=((middle, grain + _WORDS_MM),),
    )  # fmt: skip


_BEHIND_FRONT_MM = 0.02
"""The slot is read this far behind the handle's front, where the shoulders stand upright."""
