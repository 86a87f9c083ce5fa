"""What a piece must hold: the cut outline of a knife, the cutter's room beside it, and how thick it must be where."""

from __future__ import annotations

from functools import cached_property
from typing import Literal

import numpy as np
import shapely
from shapely.affinity import translate

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Knife
from blankwright.solid.ground import Ground
from blankwright.stock.piece import Part, Piece, Zone

SPINE_BAND_MM = 8.0
"""A place on the spine lies within this below it: what is seen of a blade from above and behind."""

FINE_MM = 0.004

Side = Literal["right", "left"]


@dataclass(frozen=True, eq=False)
class Wanted:
    """A knife that is to come out of a piece.

    Args:
        knife: The knife.
    """

    knife: Knife

    @property
    def cut(self) -> Outline:
        """The outline that is cut, allowance in."""
        return self.knife.cut

    @cached_property
    def finished_area(self) -> shapely.Polygon:
        """The finished knife as a polygon."""
        return self.knife.finished.to_shapely(FINE_MM)

    @cached_property
    def kerf_mm(self) -> float:
        """Width of the slot that its process leaves [mm]; 0 where nothing is cut."""
        way = self.knife.process
        return 0.0 if way is None else way.kerf_mm.value

    @property
    def bevelled(self) -> Side | None:
        """The face that is ground, of a blade that is ground on one face only; None for any other."""
        if not self.knife.single:
            return None
        return "right" if self.knife.ground.bevels.right_share > 0 else "left"

    def room_mm(self, piece: Piece, zone: Zone | None = None) -> float:
        """Return how far the cut outline stays from the edge of a piece, or from a zone on it [mm].

        The slot lies in the steel; it may run in a margin, which is only kept out of the knife: the larger of the two.
        """
        kerf = self.kerf_mm if piece.kerf_mm is None else piece.kerf_mm
        return max(kerf, piece.margin_mm if zone is None else zone.margin_mm)

    def thickness_mm(self, x_mm: Array) -> Array:
        """Return how thick the piece must be under places of the design, with what found steel loses [mm]."""
        found = self.knife.found
        lost: float = 0.0 if found is None else 2 * found.loss.value
        needed: Array = self.knife.ground.taper.at(x_mm) + lost
        return needed

    def part(self, part: Part) -> shapely.Geometry:
        """Return a part of the finished knife, seen on the face that is ground first."""
        return part_of(self.knife, self.finished_area, part)


def part_of(knife: Knife, whole: shapely.Polygon, part: Part) -> shapely.Geometry:
    """Return a part of the finished knife as an area.

    Args:
        knife: The knife.
        whole: Its finished outline.
        part: Which part.
    """
    if part == "knife":
        return whole
    front = knife.shape.front_x_mm
    x0, y0, x1, y1 = whole.bounds
    blade = whole.intersection(shapely.box(front, y0 - 1, x1 + 1, y1 + 1))
    if part == "handle":
        return whole.intersection(shapely.box(x0 - 1, y0 - 1, front, y1 + 1))
    if part == "spine":
        return blade.difference(translate(blade, 0.0, -SPINE_BAND_MM))
    return blade if part == "blade" else _unground(blade, knife.ground)


def _unground(blade: shapely.Geometry, ground: Ground) -> shapely.Geometry:
    """Return what of a blade's face lies above the grind line or behind the plunge line."""
    x0, y0, _, y1 = blade.bounds
    height = ground.bevels.height_mm
    flat = shapely.Polygon() if height is None else blade.intersection(translate(blade, 0.0, height))
    behind = 0.0 if ground.plunge is None else ground.plunge.at_mm
    return flat.union(blade.intersection(shapely.box(x0 - 1, y0 - 1, behind, y1 + 1)))


def grid_inside(outline: Outline, most: int = 150) -> Array:
    """Return places spread evenly over an outline's area, at most about so many [mm]."""
    area = outline.to_shapely(FINE_MM)
    x0, y0, x1, y1 = area.bounds
    step = max(float(np.sqrt(area.area / most)), 1e-3)
    x = np.arange(x0 + step / 2, x1, step)
    y = np.arange(y0 + step / 2, y1, step)
    places = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    found: Array = places[shapely.contains_xy(area, places[:, 0], places[:, 1])]
    return found if len(found) else np.array([area.representative_point().coords[0]])
