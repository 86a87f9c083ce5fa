"""Scales and liners: the handle's plan behind its front, larger by what is routed or filed flush, right and left."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.said import Line, exact_mm, mm, said
from blankwright.cutting.parts.figures import Figures
from blankwright.cutting.parts.part import LIFT_MM, CutPart, mirrored_in_x
from blankwright.geometry.clip import behind
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.geometry.weld import without_short_pieces
from blankwright.knife.blank import SHORTEST_MM
from blankwright.knife.handle import Handle
from blankwright.knife.knife import Knife
from blankwright.shop.sheets import SheetStock, stock_of

SIDES = ("right", "left")


def scales(knife: Knife) -> tuple[CutPart, ...]:
    """Return the scales of a full tang, right and left, outer face up.

    Args:
        knife: The knife.

    Raises:
        RequestError: It has no scales.
    """
    handle = _scaled(knife, "scales")
    figures = Figures(knife.design)
    slab = knife.design.scales.thickness_mm + knife.design.scales.swell_mm
    return _pair(knife, handle, figures, "scale", handle.material.title, stock_of(handle.material), slab)


def liners(knife: Knife) -> tuple[CutPart, ...]:
    """Return the liners under the scales, right and left.

    Args:
        knife: The knife.

    Raises:
        RequestError: It has no scales, or a material is unknown.
    """
    handle = _scaled(knife, "liners")
    figures = Figures(knife.design)
    title, stock = figures.stock("liner_material")
    return _pair(knife, handle, figures, "liner", title, stock, figures.mm("liner_thickness"))


def _scaled(knife: Knife, word: str) -> Handle:
    if knife.handle is None or knife.handle.kind != "scales":
        raise RequestError(
            f"--part {word}: {knife.design.name} has no scales; its construction is {knife.construction}. A full tang "
            'has them ([handle] construction = "full").'
        )
    return knife.handle


def slab_outline(knife: Knife, oversize_mm: float, front_mm: float) -> Outline:
    """Return the right slab as it is cut: outside the finished line by an allowance, its front straight.

    Args:
        knife: The knife.
        oversize_mm: What is left outside the finished line [mm].
        front_mm: What is left ahead of the handle's front [mm].
    """
    around = parallel(knife.shape.smooth, oversize_mm + LIFT_MM).outline
    slab = behind(around, knife.shape.front_x_mm + front_mm, "front")
    return without_short_pieces(slab, SHORTEST_MM).on_grid()


def _pair(
    knife: Knife, handle: Handle, figures: Figures, name: str, title: str, stock: SheetStock, thick_mm: float
) -> tuple[CutPart, ...]:
    right = slab_outline(knife, figures.mm("scale_oversize"), figures.mm("scale_front"))
    lines = tuple(_lines(knife, handle, figures, name))
    out = []
    for side in SIDES:
        sign = 1.0 if side == "right" else -1.0
        out.append(
            CutPart(
                name=f"{name}-{side}", of=f"{name}s", title=f"{name}, {side}",
                outline=right if side == "right" else mirrored_in_x(right),
                holes=tuple((sign * x, y, d) for x, y, d in handle.bores), openings=(), marks=(),
                material=title, stock=stock, thickness_mm=thick_mm, pieces=1, figures=figures.used, lines=lines,
            )
        )  # fmt: skip
    return tuple(out)


def _opened(knife: Knife, name: str) -> str:
    """Say how the hole of a scale or liner is opened: through the tang's only where the scales are bored through it."""
    if knife.guided:
        return "drill through the tang's hole"
    why = "nothing is bored through a blank's holes" if knife.start.bought else "the tang's is wider and guides no bit"
    return f"take the {name} off and open its own hole with a round file; {why}"


def _lines(knife: Knife, handle: Handle, figures: Figures, name: str) -> list[Line]:
    """Say what a maker has to know of a pair."""
    face = "outer face up" if name == "scale" else "face to the scale up"
    wish = knife.design.scales
    out = [
        said(f"Right and left are seen from the handle, edge down; each file shows its piece with the {face}."),
        said(
            "Outside the finished line {} are left to rout or file flush, and {} ahead of the handle's front: true and "
            "polish both fronts together before glue-up.",
            exact_mm(figures.mm("scale_oversize")), exact_mm(figures.mm("scale_front")),
        ),
    ]  # fmt: skip
    if name == "scale" and handle.material.kind == "wood":
        out.append(said("Grain along the handle. Pair the two from one board, so that they move alike."))
    if name == "scale" and wish.swell_mm:
        words = "The slab is {} thick: the scale and its swell."
        out.append(said(words, exact_mm(wish.thickness_mm + wish.swell_mm)))
    pins = knife.design.pins
    if pins is not None and handle.rods:
        bore = next(d for x, y, d in handle.bores if (x, y) == (handle.rods[0].x_mm, handle.rods[0].y_mm))
        words = (
            "Pin holes have the bore of the pins, {} for {}: {} of play. This cut and the blank's may each be off by "
            f"{{}} or so: try the pins dry, and where one does not pass, {_opened(knife, name)}."
        )
        play, off = mm(bore - pins.diameter_mm, 2), exact_mm(figures.mm("cut_deviation"))
        out.append(said(words, exact_mm(round(bore, 2)), exact_mm(round(pins.diameter_mm, 2)), play, off))
    if any(h.hole.purpose == "lightening" for h in knife.holes):
        out.append(said("Lightening holes of the tang are not in it: do not drill through them."))
    return out
