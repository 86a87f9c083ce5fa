"""What is saved of a piece and seen in the end, and every place where a placing is scarce: told of placings by hand."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest

import blankwright as bw
from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.judge import judged
from blankwright.stock.missing import offers
from blankwright.stock.paper import placing_scene
from blankwright.stock.picture import placing_svg
from blankwright.stock.piece import Piece, Zone, box, polygon
from blankwright.stock.place import Placed, Wish, place_on, placed_if_fits
from blankwright.stock.report import Told
from blankwright.stock.run import placed_on
from blankwright.stock.shown import Shown, shown
from blankwright.stock.wanted import Wanted
from rooms.every import every


@cache
def chef(bevel: str = "double", right: str = "50 %") -> Wanted:
    grind = {"grind.height": "20 mm", "grind.bevel": bevel, "grind.right_share": right, "grind.taper": "none"}
    return Wanted(finish(bw.request("chef", settings=grind)))


def by_hand(wanted: Wanted, piece: Piece, pose: Pose) -> Placed:
    return Placed(wanted, piece, pose, judged(wanted, piece, pose))


def kept(
    zone: tuple[float, float, float, float], *, flipped: bool = False, thick: float = 3.0, **more: object
) -> Shown:
    """Return what becomes of a box given in the design's coordinates."""
    pose = Pose(260.0 if flipped else 150.0, 10.0, 0.0, flipped)
    x0, y0, x1, y1 = zone
    corners = pose.points(np.array([[x0, y0], [x1, y1]]))
    (a, b), (c, d) = corners.min(axis=0), corners.max(axis=0)
    wanted = chef("single", "100 %") if more.pop("single", False) else chef()
    made = Zone("keep", box(c - a, d - b).moved(float(a), float(b)), name="stamp", share=0.5, **more)  # type: ignore[arg-type]
    return shown(by_hand(wanted, Piece("plate", "found", box(420, 70), ((0.0, thick),), (made,)), pose))[0]


@every(
    [
        ((-60, 32, -50, 40), {}, (0.0, 1.0, 0.0, 0.0), "100 % comes under the scales"),
        ((50, 5, 80, 15), {}, (0.0, 0.0, 1.0, 0.0), "100 % is ground away with the bevel"),
        ((50, 30, 80, 40), {}, (1.0, 0.0, 0.0, 0.0), "all of it is seen"),
        ((50, 10, 80, 30), {}, (0.5, 0.0, 0.5, 0.0), "50 % of it is seen"),
        ((50, -10, 80, 10), {}, (0.0, 0.0, 0.5, 0.5), "50 % is ground away with the bevel, 50 % is cut off"),
        ((50, 5, 80, 15), {"single": True, "face": "front"}, (0.0, 0.0, 1.0, 0.0), "ground away"),
        ((50, 5, 80, 15), {"single": True, "face": "back"}, (1.0, 0.0, 0.0, 0.0), "all of it is seen"),
        (
            (50, 5, 80, 15),
            {"single": True, "face": "front", "flipped": True},
            (1.0, 0.0, 0.0, 0.0),
            "all of it is seen",
        ),
        ((50, 30, 80, 40), {"thick": 4.0}, (1.0, 0.0, 0.0, 0.0), "up to 1 mm has to come off the steel there"),
    ]
)
def test_what_becomes_of_a_place_that_is_saved(zone: tuple, more: dict, shares: tuple, words: str) -> None:
    """A stamp that came under the scales or was ground away was told to be saved whole."""
    one = kept(zone, **more)
    assert (one.share, one.covered, one.ground, one.beside) == pytest.approx(shares, abs=0.02)
    assert words in one.line().text()
    assert one.look is (one.share < 0.49 or "thick" in more)
    assert one.advice().text().startswith("to look at: ") is one.look


def test_all_places_that_lack_are_told() -> None:
    """Of a piece too short at both ends only the end was told that lacked a hundredth more."""
    wanted = chef()
    long = wanted.cut.size_mm[0]
    x0 = wanted.cut.bounds_mm[0]
    short = by_hand(wanted, Piece("bar", "bar", box(long - 10, 90), ((0.0, 3.0),)), Pose(-x0 - 4.0, 20.0, 0.0, False))
    words = next(line.text() for line in Told(short, (), Wish()).lines() if line.text().startswith("edge"))
    assert "6.00 mm beyond, 1.00 mm needed, 7.00 mm short, at the tip; also 5.00 mm short at the butt." in words
    limits = Told(short, (), Wish()).data["limits"]
    assert [one["also"][0]["spare_mm"] for one in limits if one["kind"] == "edge"] == [-5.0]


def test_where_and_how_long_a_piece_is_too_thin_is_told() -> None:
    """The steel is 3 mm at the left end and 0.02 mm a millimetre thinner: what is short grows to the tip."""
    wanted = chef()
    x0, _, x1, _ = wanted.cut.bounds_mm
    piece = Piece("wedge", "found", box(420, 70), ((0.0, 4.0), (420.0, 2.0)))
    placed = by_hand(wanted, piece, Pose(10.0 - x0, 12.0, 0.0, False))
    there = 4.0 - (x1 - x0 + 10.0) * 2.0 / 420.0
    words = next(line.text() for line in Told(placed, (), Wish()).lines() if line.text().startswith("thickness"))
    assert words.startswith(f"thickness: {there:.2f} mm there, 3.00 mm needed, {3 - there:.2f} mm short at the tip;")
    long, whole = (float(mm) for mm in re.findall(r"too thin along (\d+) mm of its (\d+) mm", words)[0])
    assert (long, whole) == pytest.approx((x1 - x0 + 10.0 - 210.0, x1 - x0), abs=1.0), (
        "3 mm are 210 mm from its left end"
    )


def test_zones_of_one_name_are_told_apart() -> None:
    """The share of one stamp was told to be on the part that the other one was asked for."""
    stamps = tuple(
        Zone("keep", box(10, 10).moved(x, 40), name="stamp", part=part, share=share)
        for x, part, share in ((60.0, "handle", 0.5), (200.0, "blade", 0.9))
    )
    placed = by_hand(
        chef(), Piece("plate", "found", box(420, 70), ((0.0, 3.0),), stamps), Pose(150.0, 10.0, 0.0, False)
    )
    lines = [line.text() for line in Told(placed, (), Wish()).lines()]
    assert "stamp (zone 1): 100 % of it on the handle, 50 % wanted." in lines
    assert "stamp (zone 2): 100 % of it on the blade, 90 % wanted." in lines
    assert "stamp (zone 2)" in placing_svg(placed)
    assert [one["under_handle"] for one in Told(placed, (), Wish()).data["kept"]] == [1.0, 0.0]


def test_forging_leaves_nothing_of_a_stamp_and_a_bar_that_is_too_thin_has_its_offer() -> None:
    knife = finish(bw.request("chef", settings={"start.from": "forged", "material.grade": "1095"}))
    stamp = Zone("keep", box(10, 10).moved(60, 20), name="stamp")
    told = placed_on(knife, [Piece("bar", "bar", box(400, 60), ((0.0, 3.2),), (stamp,))], Wish())
    assert "to look at: stamp: forging leaves nothing of it." in [line.text() for line in told.lines()]
    (change,) = told.would_do
    thinner = finish(knife.design.replace(dict(change)))
    assert placed_on(thinner, [told.piece], Wish()).fits


def test_the_sheet_names_each_part_of_a_saved_place_where_it_lies() -> None:
    half = Zone("keep", box(30, 20).moved(200, 20), name="stamp", share=0.5)  # the lower half of it is in the bevel
    placed = by_hand(
        chef(), Piece("plate", "found", box(420, 70), ((0.0, 4.0),), (half,)), Pose(150.0, 10.0, 0.0, False)
    )
    labels = {label.text: label.at for label in placing_scene(placed, 20.0).labels}
    assert {"stamp: save, 50 % seen", "leave this face as it is", "50 % ground away"} <= set(labels)
    x, y = labels["50 % ground away"]
    assert 50 < x < 80
    assert 10 < y < 20
    words = re.findall(r">([^<>]*)</text>", placing_svg(placed))
    assert "up to 1 mm has to come off the steel there: leave this face as it is." in " ".join(words)


def test_a_blade_that_may_lie_on_neither_side_is_told_that_and_no_distance() -> None:
    """It was told to be 133 mm short at the butt, where it had never been placed."""
    zones = tuple(Zone("keep", box(90, 30).moved(9, 9), share=0.1, face=face) for face in ("front", "back"))
    none = place_on(chef("single", "100 %"), Piece("plate", "found", box(420, 70), ((0.0, 3.0),), zones), Wish())
    told = Told(none, (), Wish())
    assert not none.fits
    (line,) = [line.text() for line in told.lines()]
    assert line.endswith("cannot show two faces of the piece. Take one face out of the stock file, or grind both.")
    assert (told.data["fits"], told.data["short_mm"], told.data["limits"]) == (False, 0.0, [])
    assert "does not fit, no side of it may lie up" in placing_svg(none)


def test_a_stamp_that_just_comes_onto_the_flat_is_placed_and_a_lower_bevel_is_offered_where_it_does_not() -> None:
    """What the search makes of a share in places is off by a hundredth: 80 % was refused where 100 % fits."""
    stamp = Zone("keep", box(20, 10).moved(120.0, 30.0), share=0.8, name="stamp", part="flat")
    spring = Piece("spring", "found", box(420, 64), ((0.0, 6.0),), (stamp,), margin_mm=2.0)
    shipped = str(templates_dir() / "designs" / "leaf_spring_chef.toml")
    assert place_on(Wanted(finish(read_design(shipped, {"grind.height": "25 mm"}))), spring, Wish()).fits
    to_the_spine = place_on(Wanted(finish(read_design(shipped))), spring, Wish())
    assert not to_the_spine.fits
    assert "grind.height" in [key for offer in offers(to_the_spine, Wish()) for key in offer.settings]


def test_what_is_far_from_fitting_is_refused_without_a_place() -> None:
    """A zone to keep that is much longer than the knife: no place is near, and none is asked for once more."""
    long = Zone("keep", polygon([(0.0, 8.3), (78.5, 9.0), (400.0, 21.9)]), name="texture")
    bar = Piece("bar", "bar", box(433.75, 71.16), ((0.0, 5.27),), (long,))
    utility = Wanted(finish(bw.request("utility")))
    assert placed_if_fits(utility, bar, Wish()) is None
