"""Trimming: loops are closed, doubled slices vanish, a lost loop is an error and not a smaller part."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.geometry import trim
from blankwright.geometry.ramps import lanes
from blankwright.geometry.trim import RawPieces
from rooms.geometry.test_figures import box


def raw(rows):
    """Return pieces from (x0, y0, x1, y1) rows of lines."""
    v = np.array(rows, dtype=float)
    return RawPieces(v[:, :2], v[:, 2:], np.zeros(len(v)), np.arange(len(v)))


def lane_far_away():
    return lanes(box(1, 1).moved(1e4, 1e4), np.full(4, 1.0))


def test_a_plain_ring_stays():
    ring = raw([(0, 0, 9, 0), (9, 0, 9, 5), (9, 5, 0, 5), (0, 5, 0, 0)])
    loops = trim.trimmed(ring, lane_far_away())
    assert len(loops) == 1
    assert loops[0].starts == pytest.approx(ring.starts)


def test_a_passage_of_no_width_vanishes():
    # a ring with a whisker run up and down at its top
    ring = raw([(0, 0, 9, 0), (9, 0, 9, 5), (9, 5, 4, 5), (4, 5, 4, 8), (4, 8, 4, 5), (4, 5, 0, 5), (0, 5, 0, 0)])
    loops = trim.trimmed(ring, lane_far_away())
    assert len(loops) == 1
    assert loops[0].starts[:, 1].max() == pytest.approx(5)


def test_pieces_that_cross_are_cut_and_their_ends_dropped():
    # the source is a box; its sides moved in by 1 mm overrun each other at the corners
    lane = lanes(box(20, 10), np.full(4, -1.0))
    q0, q1, _, _ = lane.moved_ends()
    loops = trim.trimmed(RawPieces(q0, q1, np.zeros(4), np.arange(4)), lane)
    assert len(loops) == 1
    assert sorted(map(tuple, loops[0].starts.round(9).tolist())) == [(1, 1), (1, 9), (19, 1), (19, 9)]


def test_a_chain_with_a_gap_is_an_error_that_names_the_place():
    open_chain = raw([(0, 0, 9, 0), (9, 0, 9, 5), (9, 5, 3, 5), (0, 4, 0, 0)])
    with pytest.raises(GeometryError, match=r"could not be stitched near \(0.00, 0.00\)"):
        trim.trimmed(open_chain, lane_far_away())


def test_a_short_left_over_is_dropped():
    ring = raw([(0, 0, 9, 0), (9, 0, 9, 5), (9, 5, 0, 5), (0, 5, 0, 0), (9, 5, 9.1, 5.1)])
    assert len(trim.trimmed(ring, lane_far_away())) == 1


def test_nothing_good_is_no_loop():
    lane = lanes(box(9, 5), np.full(4, 3.0))
    assert trim.trimmed(raw([(1, 1, 2, 1), (2, 1, 2, 2), (2, 2, 1, 1)]), lane) == []
