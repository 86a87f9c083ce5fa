"""Placings that are known to be there are found, none is claimed that is not, and each keeps its room by two judges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest

from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.geometry.offset import parallel
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.piece import Piece
from blankwright.stock.place import Placed, Wish, place_on
from blankwright.stock.wanted import Wanted
from rooms.often import seldom
from truth.placed_by_hand import clear_by_clipper, mapped, room_by_geos

SOURCE = "GEOS 3.13 (shapely) and Clipper 2 (pyclipr): distances and containment of polygons"
REASON = "chords of 0.002 mm: both judges see an outline at most so much smaller or larger"
CHORD_MM = 0.002
TOLERANCE_MM = 2 * CHORD_MM
KNIVES = ("galley_chef", "galley_utility", "galley_paring", "leaf_spring_chef", "mill_file_paring")
FOUND_OF_100 = 95


@dataclass(frozen=True)
class Case:
    """A piece that is cut exactly around a placing, larger or smaller by so much."""

    number: int
    room_mm: float


@cache
def wanted(name: str) -> Wanted:
    return Wanted(finish(read_design(str(templates_dir() / "designs" / f"{name}.toml"))))


def placed(case: Case) -> Placed:
    rng = np.random.default_rng(case.number)
    knife = wanted(KNIVES[int(rng.integers(len(KNIVES)))])
    pose = Pose(*rng.uniform(-300, 300, 2).tolist(), float(rng.uniform(0, 360)), flipped=bool(rng.integers(2)))
    around = parallel(knife.cut, knife.kerf_mm + case.room_mm).outline
    piece = Piece("cut around it", "found", pose.outline(around), ((0.0, 6.0),))
    return place_on(knife, piece, Wish())


def legal(one: Placed) -> str:
    """Return what the two judges have against a placing; nothing where it is as it should be."""
    pose, need = one.pose, one.wanted.room_mm(one.piece)
    laid = mapped(one.wanted.cut.flattened(CHORD_MM), pose.x_mm, pose.y_mm, pose.turn_deg, flipped=pose.flipped)
    edge = one.piece.outline.flattened(CHORD_MM)
    room = room_by_geos(laid, edge, [])
    if room < need - TOLERANCE_MM:
        return f"GEOS measures {room:.4f} mm where {need:g} are needed"
    if abs(room - one.verdict.margin_mm) > TOLERANCE_MM:
        return f"GEOS measures {room:.4f} mm, told was {one.verdict.margin_mm:.4f}"
    return "" if clear_by_clipper(laid, edge, need) else "Clipper finds it beyond the edge"


@pytest.mark.repeated
def test_known_fits_are_found_and_lie_as_they_should() -> None:
    rooms = (1.0, 0.5, 0.2)
    cases = [Case(k, rooms[k % 3]) for k in range(seldom(200, 40, 6))]
    results = [placed(case) for case in cases]
    wrong = [(case, legal(one)) for case, one in zip(cases, results, strict=True) if one.fits and legal(one)]
    assert not wrong, wrong
    missed = [case for case, one in zip(cases, results, strict=True) if not one.fits]
    assert len(missed) <= len(cases) * (100 - FOUND_OF_100) / 100, missed


@pytest.mark.repeated
def test_pieces_that_are_too_small_are_never_claimed() -> None:
    for k in range(seldom(100, 20, 3)):
        one = placed(Case(1000 + k, -0.2))
        assert not one.fits, k
        assert one.short_mm > 0, k
