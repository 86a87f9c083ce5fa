"""How much of what is saved of a piece is seen on the finished knife, and what hides it or takes it away."""

from __future__ import annotations

import numpy as np
import shapely

from blankwright.base.arrays import Place
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, Quantity, exact_mm, said
from blankwright.stock.piece import Zone
from blankwright.stock.place import Placed
from blankwright.stock.wanted import FINE_MM, grid_inside

_NONE, _THIN_MM = 0.005, 0.05
"""A share that would be shown as 0 %, and steel that a cleaned face loses."""

_COVER = {"full": "under the scales", "hidden": "inside the handle"}
"""Where a kept place behind the handle's front is out of sight, by construction; a one-piece handle covers nothing."""


@dataclass(frozen=True, eq=False)
class Shown:
    """What becomes of a zone to keep.

    Args:
        name: What it is called.
        zone: The zone.
        share: How much of it is seen on the finished knife [0 to 1].
        covered: How much comes under the handle.
        ground: How much is ground away with the bevel.
        drilled: How much is drilled away.
        beside: How much is not on the knife.
        off_mm: How much has to come off the faces where it is seen [mm].
        cover: Where it is out of sight.
        to_spine: Whether the blade is ground to its spine, so that no flat is left on it.
        middle: Its middle in the design's coordinates [mm].
        lost_at: Where what is not seen lies: "covered", "ground", "drilled" or "beside", and a place in the
            design's coordinates.
    """

    name: str
    zone: Zone
    share: float
    covered: float
    ground: float
    drilled: float
    beside: float
    off_mm: float
    cover: str
    to_spine: bool
    middle: Place
    lost_at: tuple[tuple[str, Place], ...] = ()

    @property
    def look(self) -> bool:
        """Whether less of it is seen than is to be kept, or the face that it is on may be ground."""
        return self.share < self.zone.share - _NONE or self.off_mm > _THIN_MM

    def labels(self) -> list[tuple[str, Place]]:
        """Return it in a few words for paper, each with its place in the design: the share that is seen, the rest."""
        x, y = self.middle
        out = [(f"{self.name}: save, {self.share * 100:.0f} % seen", (x, y))]
        out += [("leave this face as it is", (x, y))] if self.off_mm > _THIN_MM else []
        lost = {"covered": self.cover, "ground": "ground away", "drilled": "drilled away", "beside": "cut off"}
        return out + [(f"{getattr(self, key) * 100:.0f} % {lost[key]}", at) for key, at in self.lost_at]

    def line(self) -> Line:
        """Return it in a sentence."""
        line = said("{}: ", self.name)
        if self.share <= _NONE:
            line = line.then("nothing of it is seen on the finished knife")
        elif self.share >= 1 - _NONE:
            line = line.then("all of it is seen on the finished knife")
        else:
            line = line.then("{} of it is seen on the finished knife", Quantity(self.share * 100, "%", 0))
        sign = "; "
        for share, words in (
            (self.covered, f"comes {self.cover}"), (self.ground, "is ground away with the bevel"),
            (self.drilled, "is drilled away"), (self.beside, "is cut off"),
        ):  # fmt: skip
            if share > _NONE:
                line, sign = line.then(f"{sign}{{}} {words}", Quantity(share * 100, "%", 0)), ", "
        if self.off_mm > _THIN_MM:
            off = exact_mm(round(self.off_mm, 2))
            line = line.then("; up to {} has to come off the steel there: leave this face as it is", off)
        return line.then(".")

    def advice(self) -> Line:
        """Return it in a sentence, with what to do where it is something to look at."""
        if not self.look:
            return self.line()
        line = self.line()
        line = said("to look at: ").then(line.words, *line.values)
        if self.share < self.zone.share - _NONE and self.zone.part != "flat":
            if self.to_spine:
                line = line.then(" The blade is ground to its spine; grind.height leaves a flat above the bevel.")
            line = line.then(' on = "flat" in the stock file asks for a place where it is seen.')
        return line


def shown(placed: Placed) -> list[Shown]:
    """Return what becomes of each zone to keep where a knife lies."""
    return [_shown(placed, zone) for zone in placed.piece.kept]


def _shown(placed: Placed, zone: Zone) -> Shown:
    wanted, pose = placed.wanted, placed.pose
    knife = wanted.knife
    area = shapely.Polygon(pose.back(zone.outline.flattened(FINE_MM)))
    holes = [shapely.Point(m.hole.x_mm, m.hole.y_mm).buffer(m.hole.diameter_mm / 2, 32) for m in knife.holes]
    on, flat = area.intersection(wanted.finished_area), wanted.part("flat")
    whole = on.difference(shapely.union_all(holes))
    cover = _COVER.get(knife.construction, "")
    nothing: shapely.Geometry = shapely.Polygon()
    covered = whole.intersection(wanted.part("handle")) if cover else nothing
    bare = whole.difference(covered)
    up = (zone.face != "back") != pose.flipped  # whether it is on the right face
    share = knife.ground.bevels.right_share
    bevelled = share > 0 if up else share < 1
    ground = bare.intersection(wanted.part("blade")).difference(flat) if bevelled else nothing
    lost = {"covered": covered, "ground": ground, "drilled": on.difference(whole), "beside": area.difference(on)}
    shares = {key: float(part.area / area.area) for key, part in lost.items()}
    seen = bare.difference(ground)
    return Shown(
        placed.piece.words_of(zone), zone, float(seen.area / area.area), **shares, off_mm=_off_mm(placed, zone, seen),
        cover=cover, to_spine=bevelled and knife.ground.bevels.height_mm is None, middle=_place(area.centroid),
        lost_at=tuple((key, _place(part.representative_point())) for key, part in lost.items() if shares[key] > _NONE),
    )  # fmt: skip


def _place(point: shapely.Point) -> Place:
    return point.x, point.y


def _off_mm(placed: Placed, zone: Zone, seen: shapely.Geometry) -> float:
    """Return how much thicker the piece is than the finished knife where a zone is seen, at most [mm]."""
    places = grid_inside(zone.outline)
    back = placed.pose.back(places)
    on = shapely.contains_xy(seen, back[:, 0], back[:, 1])
    off = placed.piece.thickness_at(places[:, 0]) - placed.wanted.knife.ground.taper.at(back[:, 0])
    return float(np.max(off[on], initial=0.0))


def shown_data(one: Shown) -> dict[str, object]:
    """Return what becomes of a zone to keep as data: shares of its area [0 to 1], and lengths [mm]."""
    shares = {"seen": one.share, "under_handle": one.covered, "ground_away": one.ground}
    shares |= {"drilled_away": one.drilled, "cut_off": one.beside}
    told = {key: round(value, 4) for key, value in shares.items()}
    return {"name": one.name, "on": one.zone.part, **told, "off_faces_mm": round(one.off_mm, 3), "look": one.look}
