"""What the file of a part must hold: from the finished knife and the part's own figures, never from what was drawn.

What is needed of the finished knife is measured here once more with GEOS, so that a slip of a part's own module shows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from blankwright.base.units import MM_PER_INCH
from blankwright.cutting.parts.figures import Figures
from blankwright.cutting.parts.part import CutPart
from blankwright.desk.proving import MARK_CLEAR_MM, MARK_INSIDE_MM, etch_layer_of, read_sent
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife
from blankwright.proof.etch import ExpectedMarks, apart, mark_findings
from blankwright.proof.holes import ExpectedHole
from blankwright.proof.part import ExpectedPart, Opening, PartProof, Side, prove_part

if TYPE_CHECKING:
    from blankwright.shop.services import Service

LEAST_WALL_MM = 1.0
"""Less between a hole and the outline of a part breaks out (common practice)."""
SHOULDER_MM = 2.5
"""The round in a shoulder's corner is not the tang's, this far behind the handle's front."""
_FLAT_MM, _STEP_MM, _FAR_MM = 0.0002, 0.25, 2000.0


def expected_of_part(knife: Knife, part: CutPart, service: Service | None) -> ExpectedPart:
    """Return what the file of a part must hold.

    Args:
        knife: The finished knife.
        part: The part; only its name, and the holes that are its own, are looked at.
        service: Who cuts it, or None.
    """
    plain = _EXPECTED[part.of](knife, part)
    if service is None:
        return plain
    return replace(plain, unit=service.unit, deviation_mm=service.deviation_mm or 0.0)


def prove_part_file(
    path: Path, knife: Knife, part: CutPart, service: Service | None, *, marked: bool = False
) -> PartProof:
    """Read the file of a part back and prove it, its marks by themselves.

    Args:
        path: The file.
        knife: The finished knife.
        part: The part.
        service: Who cuts it, or None.
        marked: Whether there are marks on it.

    Raises:
        ProofError: The file cannot be read as what it should be.
    """
    drawing, expected = read_sent(path, service), expected_of_part(knife, part, service)
    if not marked:
        return prove_part(drawing, expected)
    rest, marks = apart(drawing, etch_layer_of(service))
    proof = prove_part(rest, expected)
    if proof.outer is None:
        return proof
    unit_mm = MM_PER_INCH if service is not None and service.unit == "in" else 1.0
    wanted = ExpectedMarks(proof.outer, MARK_INSIDE_MM, MARK_CLEAR_MM)
    return replace(proof, findings=(*proof.findings, *mark_findings(marks, rest, wanted, unit_mm)))


def _plain(outline: Outline, **more: Any) -> ExpectedPart:
    given: dict[str, Any] = {
        "outside_mm": 0.0, "loss_mm": 0.0, "sides": (), "holes": (), "wall_mm": LEAST_WALL_MM, "openings": (),
        "off_mm": None, "unit": "mm", "deviation_mm": 0.0,
    }  # fmt: skip
    return ExpectedPart(outline=outline, **(given | more))


def _slab(knife: Knife, part: CutPart) -> ExpectedPart:
    """Scales and liners: outside the finished knife, behind the handle's front, pin holes at their bore."""
    figures, left = Figures(knife.design), part.name.endswith("left")
    sign = -1.0 if left else 1.0
    bores = knife.handle.bores if knife.handle else ()
    return _plain(
        _turned(knife.finished) if left else knife.finished,
        outside_mm=figures.mm("scale_oversize"),
        loss_mm=figures.mm("cut_deviation"),
        sides=(_x_side(sign, knife.shape.front_x_mm + figures.mm("scale_front")),),
        holes=tuple(ExpectedHole(sign * x, y, d, "cut") for x, y, d in bores),
    )


def _board(knife: Knife, part: CutPart) -> ExpectedPart:
    """The template: the finished outline itself with its finished holes; finger holes keep their wall."""
    own = {h.circle for h in knife.holes}
    holes = [*own, *(c for c in part.holes if c not in own)]
    return _plain(knife.finished, holes=tuple(ExpectedHole(*c, "cut") for c in holes))


def _spacer(knife: Knife, _part: CutPart) -> ExpectedPart:
    """The spacer: outside the block's section, with an opening that the tang goes through."""
    figures, wish, block = Figures(knife.design), knife.design.block, knife.block
    assert wish is not None and block is not None
    front, thick = knife.shape.front_x_mm, figures.mm("spacer_thickness")
    _, low, _, high = _between(_polygon(block), front - thick, front).bounds
    tang = _polygon(knife.finished)
    xs = np.arange(knife.shape.tang_end_x_mm + 0.01, front - SHOULDER_MM, _STEP_MM)
    heights = [_upright(tang, float(x)) for x in (*xs, front - SHOULDER_MM)]
    tall, near = max(b - a for a, b in heights), heights[-1]
    half = float(np.max(knife.ground.taper.at(np.array([*xs, front])))) / 2
    middle = (near[0] + near[1]) / 2
    gap = figures.mm("slot_gap")
    corner = min(figures.mm("slot_corner"), half + gap)
    return _plain(
        _rectangle(-wish.width_mm / 2, low, wish.width_mm / 2, high),
        outside_mm=figures.mm("spacer_oversize"),
        loss_mm=figures.mm("cut_deviation"),
        openings=(
            Opening(
                _corners(-half, middle - tall / 2, half, middle + tall / 2),
                gap - _MEASURED_MM,
                max(corner, gap * np.sqrt(2)) + _MEASURED_MM,
            ),
        ),
    )


_MEASURED_MM = 0.005
"""Where the tang is highest is known to this from uprights a step apart."""


def _guide(knife: Knife, part: CutPart) -> ExpectedPart:
    """A plate: its edge at the plunge line, its pilot holes beside the blank."""
    figures, plunge = Figures(knife.design), knife.ground.plunge
    assert plunge is not None
    wide, clear = figures.mm("guide_width"), figures.mm("pilot_clear")
    beyond = clear + figures.mm("pilot_hole") / 2 + figures.mm("pilot_edge")
    _, low, _, high = _between(_polygon(knife.cut), plunge.at_mm - wide, plunge.at_mm).bounds
    return _plain(
        knife.cut,
        outside_mm=None,
        sides=(
            _x_side(1.0, plunge.at_mm), _x_side(-1.0, wide - plunge.at_mm),
            Side(0.0, 1.0, high + beyond), Side(0.0, -1.0, beyond - low),
        ),
        holes=tuple(ExpectedHole(*c, "cut") for c in part.holes),
        off_mm=clear,
        wall_mm=figures.mm("pilot_edge") - figures.mm("pilot_hole") / 2 - _MEASURED_MM,
    )  # fmt: skip


def _sheath(knife: Knife, part: CutPart) -> ExpectedPart:
    """A side: outside the blade ahead of the heel, open at the mouth; its hole keeps off the blade."""
    figures, sign = Figures(knife.design), -1.0 if part.name.endswith("left") else 1.0
    blade = np.array(_between(_polygon(knife.finished), 0.0, _FAR_MM).exterior.coords)[:-1]
    line = Outline(np.column_stack([blade, np.zeros(len(blade))]))
    line = line if line.area_mm2 > 0 else line.reversed()
    return _plain(
        _turned(line) if sign < 0 else line,
        outside_mm=figures.mm("sheath_seam") + figures.mm("sheath_edge"),
        loss_mm=figures.mm("cut_deviation"),
        sides=(_x_side(-sign, figures.mm("sheath_mouth")),),
        holes=tuple(ExpectedHole(*c, "cut") for c in part.holes),
        off_mm=figures.mm("sheath_room") / 2 - _MEASURED_MM,
    )


def _x_side(sign: float, at_mm: float) -> Side:
    """Return a side to the right (1), or to the left (-1) at minus its place; a left piece has both turned round."""
    return Side(sign, 0.0, at_mm)


def _turned(outline: Outline) -> Outline:
    """Return an outline with x turned round."""
    return outline.mirrored().placed(180.0, 0.0, 0.0)


def _polygon(outline: Outline) -> Any:
    import shapely  # noqa: PLC0415 - heavy

    return shapely.Polygon(outline.flattened(_FLAT_MM))


def _between(polygon: Any, x0: float, x1: float) -> Any:
    """Return what of a polygon lies between two uprights."""
    import shapely  # noqa: PLC0415 - heavy

    part = polygon.intersection(shapely.box(x0, -_FAR_MM, x1, _FAR_MM))
    return part if part.geom_type == "Polygon" else max(part.geoms, key=lambda p: p.area)


def _upright(polygon: Any, x: float) -> tuple[float, float]:
    import shapely  # noqa: PLC0415 - heavy

    _, low, _, high = polygon.intersection(shapely.LineString([(x, -_FAR_MM), (x, _FAR_MM)])).bounds
    return float(low), float(high)


def _corners(x0: float, y0: float, x1: float, y1: float) -> Any:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def _rectangle(x0: float, y0: float, x1: float, y1: float) -> Outline:
    return Outline(np.column_stack([_corners(x0, y0, x1, y1), np.zeros(4)]))


_EXPECTED: dict[str, Callable[[Knife, CutPart], ExpectedPart]] = {
    "scales": _slab,
    "liners": _slab,
    "template": _board,
    "spacers": _spacer,
    "filing-guide": _guide,
    "sheath": _sheath,
}
"""Word of a part -> what its file must hold."""
