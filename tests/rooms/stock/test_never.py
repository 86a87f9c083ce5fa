"""A knife that fits nowhere, told without looking: never of one that fits, and of most that are far from it."""

from __future__ import annotations

import numpy as np
import pytest

import blankwright as bw
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.never import never_fits, out_of_reach
from blankwright.stock.piece import Piece, Zone, box
from blankwright.stock.place import Wish, place_on, placed_if_fits
from blankwright.stock.wanted import Wanted
from rooms.every import every

LEVEL = ((0.0, 5.0),)


@every(range(12))
def test_a_piece_cut_around_a_knife_is_never_refused_and_one_that_is_narrower_is(seed: int) -> None:
    rng = np.random.default_rng([seed, 4])
    wanted = Wanted(finish(bw.request(("chef", "utility", "paring")[seed % 3])))
    pose = Pose(0.0, 0.0, float(rng.uniform(-180, 180)), bool(rng.integers(2)))
    whole = Piece("piece", "found", pose.outline(wanted.cut), LEVEL, own_kerf_mm=0.0)
    assert not never_fits(wanted, whole), "it lies exactly in it"
    rimmed = Piece("piece", "found", pose.outline(wanted.cut), LEVEL, margin_mm=3.0, own_kerf_mm=0.0)
    assert never_fits(wanted, rimmed), "6 mm are missing across"


@pytest.mark.parametrize(("at_mm", "share", "lost"), [(150.0, 1.0, False), (196.0, 1.0, True), (196.0, 0.3, False)])
def test_a_zone_to_keep_beyond_the_piece_s_rim_is_out_of_reach(at_mm: float, share: float, lost: bool) -> None:
    """Of 8 mm along the piece 4 lie beyond its end at 200 mm, and one more in the rim."""
    zone = Zone("keep", box(8.0, 8.0).moved(at_mm, 20.0), share=share)
    piece = Piece("piece", "found", box(200.0, 60.0), LEVEL, (zone,))
    assert out_of_reach(piece, zone, 1.0) is lost


def test_where_a_knife_fits_the_answer_is_that_of_the_whole_search() -> None:
    wanted = Wanted(finish(bw.request("paring")))
    long, wide = wanted.cut.size_mm
    for more_mm, fits in ((6.0, True), (-1.0, False)):
        piece = Piece("piece", "found", box(long + more_mm, wide + more_mm), LEVEL)
        whole, soon = place_on(wanted, piece, Wish()), placed_if_fits(wanted, piece, Wish())
        assert whole.fits is fits is (soon is not None)
        assert soon is None or soon.pose == whole.pose
