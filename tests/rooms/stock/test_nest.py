"""Layouts: legal by two judges of other libraries, on random jobs; a published bar; what is left is told."""

from __future__ import annotations

import numpy as np
import pytest

import blankwright as bw
from blankwright.base.errors import RequestError
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.blank import Blank, Job
from blankwright.stock.cutorder import cut_order
from blankwright.stock.layout import Laid, Layout, Sheet, proven
from blankwright.stock.nest import nested
from blankwright.stock.piece import Piece, Zone, box, polygon, round_zone
from rooms.every import every
from rooms.often import often, repeated, seldom
from rooms.stock.jobs import faults_by_clipper, faults_by_geos, random_job, random_outline

SOURCE = (
    "GEOS (shapely) and Clipper2 (pyclipr), from the package index, judge what our own distances prove. The bar: two "
    "chef's knives of 12 1/2 in overall and 1 7/8 in at the heel from 24 x 2 in, a maker's published example; its "
    "outlines are not published, so that the family's are taken, finished line, 1 mm apart, the bar's edges used."
)


@repeated
@every(range(seldom(300, 40, 2)))
def test_random_jobs_are_legal(seed: int) -> None:
    job = random_job(seed)
    found = nested(job, 1.0, seed=seed, workers=1, library=None if seed % 2 else False)
    assert faults_by_geos(found.layout) == []
    assert faults_by_clipper(found.layout) == []
    placed = sum(len(sheet.laid) for sheet in found.layout.sheets)
    assert placed + sum(found.layout.left.values()) == job.parts


def test_something_is_laid_out_on_most_random_jobs() -> None:
    jobs = [random_job(seed) for seed in range(4)]
    found = [nested(job, 0.3, library=False).layout for job in jobs]
    placed = sum(len(sheet.laid) for layout in found for sheet in layout.sheets)
    assert placed > 0.6 * sum(job.parts for job in jobs)


@repeated
@every(range(often(12, 2)))
def test_the_proof_sees_what_the_judges_see(seed: int) -> None:
    """Blanks thrown on a piece: whatever GEOS finds wrong our proof finds, and it finds nothing more."""
    rng = np.random.default_rng([seed, 61])
    job = Job(
        "thrown",
        (
            Piece(
                "p", "sheet", box(200.0, 120.0), ((0.0, 3.0),), (Zone("avoid", round_zone(100, 60, 20), 2.0, "hole"),)
            ),
        ),
        tuple(Blank(f"b{k}", random_outline(rng), 1, 1.0, 0.5) for k in range(2)),
        3.0,
    )
    told = []
    for _ in range(25):
        laid = tuple(
            Laid(k, Pose(rng.uniform(20, 180), rng.uniform(20, 100), rng.uniform(-180, 180), bool(rng.integers(2))))
            for k in range(2)
        )
        layout = Layout(job, (Sheet(0, 1, laid),))
        ours, theirs = proven(layout, layout.sheets[0]).faults, faults_by_geos(layout)
        near = "within a hundredth" if bool(ours) != bool(theirs) and not _clear(layout) else ""
        told.append((bool(ours) == bool(theirs)) or near)
    assert all(told)


def _clear(layout: Layout) -> bool:
    """Whether no distance lies in the hundredth that the judges leave."""
    room = proven(layout, layout.sheets[0])
    apart = [(room.gap_mm, 3.0), (room.edge_mm, 0.5), (room.zone_mm, 2.0)]
    return all(mm is None or not need - 0.011 <= mm <= need for mm, need in apart)


def test_two_chefs_on_a_published_bar() -> None:
    """Neither end to end nor both alike; with one turned round, tip to butt beside each other, both come out of it.

    What the source calls turned over is a half turn in the plane: the handles pass each other, edge up and edge down.
    """
    knife = finish(bw.request("chef", overall_length_mm=317.5, heel_height_mm=47.6))
    bar = Piece("bar", "bar", box(609.6, 50.8), ((0.0, 3.0),))

    def left(flip: bool | None, turn: object) -> dict[int, int]:
        blank = Blank("chef", knife.finished, 2, 3.0, 0.0, flip, turn, knife=knife)  # type: ignore[arg-type]
        found = nested(Job("bar", (bar,), (blank,), 1.0, 0.0), 0.5, library=False).layout
        assert not faults_by_geos(found)
        return found.left

    assert 2 * knife.finished.size_mm[0] > 609.6
    assert left(None, "any") == {}
    assert left(False, (0.0,)) == {0: 1}
    assert left(True, (0.0,)) == {0: 1}


def test_mirrored_copies_fit_where_others_do_not() -> None:
    """Two right triangles make a rectangle only where one is turned over and neither is turned."""
    triangle = polygon([(0.0, 0.0), (100.0, 0.0), (0.0, 60.0)])
    steel = polygon([(0.0, 0.0), (206.0, 0.0), (103.0, 62.0)])
    steel_piece = Piece("gable", "found", steel, ((0.0, 3.0),))
    for flip, left in ((None, {}), (False, {0: 1})):
        blank = Blank("t", triangle, 2, 1.0, 0.0, flip, (0.0,))
        assert nested(Job("t", (steel_piece,), (blank,), 0.5, 0.0), 0.6, library=False).layout.left == left


def test_thin_steel_and_zones_are_kept_clear_of() -> None:
    blank = Blank("plate", box(100.0, 40.0), 3, 3.0, 0.0, False, (0.0,))
    steel = Piece("spring", "found", box(330.0, 50.0), ((0.0, 4.0), (165.0, 4.0), (330.0, 2.0)))
    found = nested(Job("t", (steel,), (blank,), 2.0, 1.0), 0.3, library=False).layout
    assert [round(found.outline(one).bounds_mm[2], 1) for one in found.sheets[0].laid] == pytest.approx(
        [101, 203], abs=0.1
    )
    assert found.left == {0: 1}
    crossed = Piece("sheet", "sheet", box(330.0, 50.0), ((0.0, 4.0),), (Zone("avoid", round_zone(165, 25, 8), 3.0),))
    found = nested(Job("t", (crossed,), (blank,), 2.0, 1.0), 0.3, library=False).layout
    assert len(found.sheets[0].laid) == 2


@every(
    [
        Piece("two ends alike", "found", box(330.0, 60.0), ((0.0, 3.0), (330.0, 3.0))),
        Piece("just wide enough", "bar", box(330.0, 42.02), ((0.0, 3.0),)),
        Piece("a little narrower behind", "found", polygon([(0, 0), (330, 0), (330, 42.02), (0, 42.1)]), ((0.0, 3.0),)),
        Piece("upright", "bar", box(42.02, 330.0), ((0.0, 3.0),)),
    ]
)
def test_what_just_goes_on_is_laid_on(piece: Piece) -> None:
    """Three plates of 100 x 40 x 3 mm, a rim of 1 mm: 306 mm of length and 42 mm of width are enough."""
    blank = Blank("plate", box(100.0, 40.0), 3, 3.0, 0.0, False)
    job = Job("t", (piece,), (blank,), 2.0, 1.0)
    found = nested(job, 0.6, library=False).layout
    assert found.left == {}
    assert faults_by_geos(found) == []


def test_a_knife_goes_on_the_bar_that_it_is_placed_on() -> None:
    """A blank 0.02 mm lower than the room of its bar: `place` proved that it fits, the layouts needed 1 mm more."""
    knife = finish(bw.request("chef"))
    high = knife.cut.size_mm[1]
    bar = Piece("bar", "bar", box(609.6, high + 2.02), ((0.0, 3.0),))
    blank = Blank("chef", knife.cut, 1, 3.0, 1.0, None, (0.0, 180.0), knife=knife)
    found = nested(Job("t", (bar,), (blank,), 2.5), 0.5, library=False).layout
    assert found.left == {}
    assert faults_by_geos(found) == []


def test_the_outer_end_is_cut_first_and_what_is_inside_before_it() -> None:
    plates = [box(40, 40).moved(x, 0) for x in (0, 100, 50)] + [box(10, 10).moved(10, 10)]
    assert cut_order(plates, "left") == [1, 2, 3, 0]
    assert cut_order(plates, "right") == [3, 0, 2, 1]
    long_one, short_one = box(250, 20).moved(60, 0), box(170, 20).moved(139.8, 30)  # they end 0.2 mm apart
    assert cut_order([long_one, short_one], "left") == [1, 0], "what is left stays stiff"


@every(
    [
        ({"gap_mm": 0.5}, "less than the slot, 1 mm"),
        ({"gap_mm": 500.0}, "gap: 500 mm is out of range"),
        ({"held": "top"}, "Allowed: left, right, below, above"),
        ({"blanks": ()}, "needs stock and parts"),
    ]
)
def test_a_job_that_cannot_be_is_refused(change: dict[str, object], words: str) -> None:
    piece = Piece("p", "sheet", box(200.0, 120.0), ((0.0, 3.0),))
    whole = {"name": "j", "pieces": (piece,), "blanks": (Blank("b", box(50, 20), 1, 1.0, 1.0),), "gap_mm": 2.0}
    with pytest.raises(RequestError, match=words):
        Job(**(whole | change))  # type: ignore[arg-type]


def test_a_zone_to_keep_is_for_placing() -> None:
    piece = Piece("p", "sheet", box(200.0, 120.0), ((0.0, 3.0),), (Zone("keep", box(20, 20).moved(5, 5)),))
    with pytest.raises(RequestError, match="blankwright place"):
        Job("j", (piece,), (Blank("b", box(50, 20), 1, 1.0, 1.0),), 2.0)
