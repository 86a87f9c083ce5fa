"""The largest knife that fits, against scans that share nothing with the search: of bars by boxes, of found by GEOS."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.knife.knife import finish
from blankwright.stock.piece import Piece, Zone, box, round_zone
from blankwright.stock.place import Wish
from blankwright.stock.variants import largest
from blankwright.stock.wanted import Wanted
from rooms.often import often

SOURCE = "a rectangle holds what its box holds at some turn; GEOS (shapely) for a bar with a hole"
REASON = "half a millimetre, the bar of the issue; a scan steps the value by 0.25 mm and the turn by 0.02 degrees"
TOLERANCE_MM = 0.5
STEP_MM = 0.25
CHORD_MM = 0.005

BARS = (
    ("leaf_spring_chef", "blade.length", 380.0, 64.0),
    ("leaf_spring_chef", "blade.heel_height", 420.0, 58.0),
    ("mill_file_paring", "blade.length", 205.0, 29.0),
    ("galley_utility", "handle.length", 282.0, 38.0),
    ("galley_chef", "blade.heel_height", 400.0, 56.0),
    ("galley_chef", "blade.length", 350.0, 62.0),
)


def knife(design: str, **settings: object) -> Wanted:
    return Wanted(finish(read_design(str(templates_dir() / "designs" / f"{design}.toml"), settings)))


def in_a_box(points: NDArray[np.float64], long: float, wide: float) -> bool:
    """Whether points go into a rectangle at some turn: it holds what is no longer and no higher than itself."""
    turn = np.radians(np.arange(-25.0, 25.0, 0.02))
    c, s = np.cos(turn)[:, None], np.sin(turn)[:, None]
    hull = np.array(shapely.MultiPoint(points).convex_hull.exterior.coords)
    x, y = hull[:, 0] * c - hull[:, 1] * s, hull[:, 0] * s + hull[:, 1] * c
    return bool(((np.ptp(x, axis=1) <= long) & (np.ptp(y, axis=1) <= wide)).any())


@pytest.mark.repeated
def test_the_largest_on_a_bar_is_that_of_a_scan() -> None:
    for design, key, long, wide in BARS[: often(len(BARS), 1)]:
        first = knife(design)
        found = largest(first, [Piece("bar", "bar", box(long, wide), ((0.0, 6.0),))], Wish(), key)
        assert found.value_mm is not None
        room = first.kerf_mm
        table, name = key.split(".")
        dimension = next(d for d in first.knife.design.family.offered("full") if d.key == f"{table}.{name}")
        best = dimension.least_mm
        for value in np.arange(found.value_mm - 4.0, min(found.value_mm + 4.0, dimension.greatest_mm), STEP_MM):
            one = knife(design, **{key: f"{value} mm"})
            if in_a_box(one.cut.flattened(CHORD_MM), long - 2 * room, wide - 2 * room):
                best = value
        assert found.value_mm == pytest.approx(best, abs=TOLERANCE_MM), (design, key)


@pytest.mark.repeated
def test_the_largest_beside_a_hole_is_that_of_a_scan() -> None:
    """A bar with a hole in the way: every 0.4 by 0.2 mm and every 0.2 degrees, by GEOS."""
    if often(1, 0) == 0:
        pytest.skip("a quarter of an hour: with EVERY_CASE=1")
    piece = Piece(
        "bar", "found", box(250, 34), ((0.0, 6.0),), (Zone("avoid", round_zone(205, 20, 8), 3.0, "hole"),)
    )  # fmt: skip
    first = knife("mill_file_paring")
    found = largest(first, [piece], Wish(), "blade.length")
    assert found.value_mm is not None
    fitting = [v for v in np.arange(found.value_mm - 1.0, found.value_mm + 3.01, 0.5) if scanned(v, piece)]
    assert found.value_mm == pytest.approx(max(fitting), abs=TOLERANCE_MM)


def scanned(value_mm: float, piece: Piece) -> bool:
    """Whether a placing is found by going through all of them."""
    one = knife("mill_file_paring", **{"blade.length": f"{value_mm} mm"})
    steel = shapely.Polygon(piece.outline.flattened(CHORD_MM)).buffer(-one.room_mm(piece))
    for zone in piece.avoided:
        steel = steel.difference(shapely.Polygon(zone.outline.flattened(CHORD_MM)).buffer(one.room_mm(piece, zone)))
    shapely.prepare(steel)
    outline = one.cut.flattened(0.02)
    for flipped in (False, True):
        for base in (0.0, 180.0):
            for turn in np.radians(base + np.arange(-6.0, 6.01, 0.2)):
                points = outline * [-1, 1] if flipped else outline
                c, s = np.cos(turn), np.sin(turn)
                turned = points @ np.array([[c, s], [-s, c]])
                low, high = turned.min(axis=0), turned.max(axis=0)
                x = np.arange(-low[0], 250 - high[0], 0.4)
                y = np.arange(-low[1], 34 - high[1], 0.2)
                for dx in x:
                    for dy in y:
                        laid = turned + np.array([dx, dy])
                        some = laid[::12]
                        if shapely.contains_xy(steel, some[:, 0], some[:, 1]).all() and steel.contains(
                            shapely.Polygon(laid)
                        ):
                            return True
    return False
