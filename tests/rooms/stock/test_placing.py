"""A knife on a piece: sides, zones, thickness, grain, what would do, and the words and files of the command."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from blankwright.base.errors import RequestError
from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.judge import judged
from blankwright.stock.missing import offers
from blankwright.stock.nearest import nearest
from blankwright.stock.piece import Piece, Zone, box, round_zone
from blankwright.stock.place import Placed, Wish, place, place_on, placed_if_fits
from blankwright.stock.search import Effort
from blankwright.stock.stockfile import read_stock
from blankwright.stock.stocktext import stock_text
from blankwright.stock.through import pose_through_like
from blankwright.stock.variants import changed
from blankwright.stock.wanted import Wanted
from rooms.every import cases, every
from rooms.often import EVERY_CASE, repeated, share
from truth.placed_by_hand import clear_by_clipper, mapped, room_by_geos

DESIGNS = templates_dir() / "designs"
EXAMPLES = (("leaf_spring_chef", "leaf_spring"), ("mill_file_paring", "mill_file"))

QUICK = Effort(turn_step_deg=4.0, places=60, starts=60, rounds=60, finals=4)
"""A smaller search, where what is asked is not how much it finds."""


def wanted(design: str, **settings: object) -> Wanted:
    changes = {key.replace("__", "."): value for key, value in settings.items()}
    return Wanted(finish(read_design(str(DESIGNS / f"{design}.toml"), changes)))


def plate(long: float = 420, wide: float = 64, thick: float = 6, zones: tuple[Zone, ...] = (), **more: Any) -> Piece:
    return Piece("plate", "found", box(long, wide), ((0.0, thick),), zones, **more)


@pytest.mark.parametrize(("design", "stock"), EXAMPLES)
def test_the_galleys_found_pieces_hold_their_knives(design: str, stock: str) -> None:
    one = place(wanted(design), read_stock(stock), Wish())[0]
    assert one.fits
    pose, piece = one.pose, one.piece
    laid = mapped(one.wanted.cut.flattened(0.002), pose.x_mm, pose.y_mm, pose.turn_deg, flipped=pose.flipped)
    edge, zones = piece.outline.flattened(0.002), [z.outline.flattened(0.002) for z in piece.avoided]
    assert room_by_geos(laid, edge, zones) == pytest.approx(one.verdict.margin_mm, abs=0.005)
    assert clear_by_clipper(laid, edge, one.wanted.room_mm(piece))
    part = shapely.Polygon(laid)
    for zone, limit in ((z, one.wanted.room_mm(piece, z)) for z in piece.avoided):
        assert part.distance(shapely.Polygon(zone.outline.flattened(0.002))) >= limit - 0.005


def test_the_same_request_gets_the_same_placing() -> None:
    first, again = (place_on(wanted("mill_file_paring"), plate(230, 30, 5), Wish(), QUICK).pose for _ in range(2))
    assert first == again


def test_the_smallest_piece_that_holds_it_comes_first() -> None:
    small, large = plate(), replace(plate(600, 200), name="large")
    found = place(wanted("leaf_spring_chef"), [large, plate(300, 64), small], Wish(), QUICK)
    assert [one.piece for one in found[:2]] == [small, large]
    assert not found[2].fits
    assert found[2].short_mm > 20


FACES = (
    ("0 %", "front", {True}), ("100 %", "alike", {False, True}), ("100 %", "unsaid", {False}),
    ("100 %", "front", {False}), ("0 %", "unsaid", {False}),
)  # fmt: skip


@repeated
@every(share(FACES, 2))
def test_a_single_bevel_is_turned_over_only_where_the_faces_say_so(right: str, faces: Any, flips: set[bool]) -> None:
    knife = wanted("mill_file_paring", grind__bevel="single", grind__right_share=right)
    seen = set()
    for turned in (False, True):
        pose = Pose(120.0, 12.0, 0.0, turned)
        edge = pose.outline(knife.cut)
        tight = Piece("tight", "found", _grown(edge, 1.3), ((0.0, 5.0),), faces=faces)
        one = place_on(knife, tight, Wish(), QUICK)
        seen |= {one.pose.flipped} if one.fits else set()
    assert seen == flips


def _grown(outline: Outline, by_mm: float) -> Outline:
    return parallel(outline, by_mm).outline


def test_a_texture_to_keep_decides_the_side_of_a_single_bevel() -> None:
    knife = wanted("mill_file_paring", grind__bevel="single", grind__right_share="100 %")
    marks = {}
    for face in ("front", "back"):
        zone = Zone("keep", box(250, 28), part="knife", share=0.1, face=face)
        marks[face] = place_on(knife, plate(250, 28, 5, (zone,)), Wish(), QUICK)
    assert (marks["front"].pose.flipped, marks["back"].pose.flipped) == (False, True)
    both = tuple(Zone("keep", box(250, 28), share=0.1, face=face) for face in ("front", "back"))
    none = place_on(knife, plate(250, 28, 5, both), Wish(), QUICK)
    assert not none.verdict.fits or none.why_sides


@repeated
def test_a_stamp_is_saved_on_the_part_that_was_asked_for() -> None:
    knife = wanted("leaf_spring_chef", grind__height="20 mm")
    stamp = round_zone(60, 40, 12)
    for part in share(("handle", "blade", "flat", "spine"), 2):
        zone = Zone("keep", stamp, name="stamp", part=part, share=1.0 if part in ("handle", "blade") else 0.5)
        one = place_on(knife, plate(460, 80, 6, (zone,)), Wish(), QUICK)
        assert one.fits, part
        where = knife.part(part)
        area = shapely.Polygon(one.pose.back(stamp.flattened(0.01)))
        assert area.intersection(where).area / area.area >= zone.share - 0.001, part


def test_a_tapering_piece_is_thick_enough_everywhere() -> None:
    knife = wanted("mill_file_paring", material__thickness="3 mm")
    piece = Piece("wedge", "found", box(400, 60), ((0.0, 4.0), (400.0, 2.0)))
    one = place_on(knife, piece, Wish(), QUICK)
    assert one.fits
    points = knife.cut.sampled(0.3)[0]
    there = 4.0 - one.pose.points(points)[:, 0] / 200
    assert (there >= knife.thickness_mm(points[:, 0]) - 1e-6).all()
    thin = place_on(knife, plate(400, 60, 2.9), Wish(), QUICK)
    assert not thin.fits
    assert thin.short_mm == pytest.approx(0.1)
    assert [one.settings for one in offers(thin, Wish())] == [{"material.thickness": "2.9 mm"}]


def test_the_angle_to_the_grain() -> None:
    knife = wanted("mill_file_paring")
    steep = Piece("sheet", "sheet", box(300, 300), ((0.0, 5.0),), grain_deg=70.0)
    one = place_on(knife, steep, Wish(grain_deg=10.0), QUICK)
    assert one.fits
    assert abs((one.pose.turn_deg - 70.0 + 90) % 180 - 90) <= 10.0
    with pytest.raises(RequestError, match="how the grain of 'plate' runs"):
        place_on(knife, plate(), Wish(grain_deg=10.0), QUICK)
    board = Piece("board", "sheet", box(60, 400), ((0.0, 8.0),), grain_deg=0.0)
    assert not place_on(wanted("galley_spreader"), board, Wish(), QUICK).fits, "wood lies along the grain"


@cache
def around_a_lanyard_hole() -> tuple[Wanted, Piece]:
    """Return a knife with a lanyard hole of 6 mm, and a piece just around it that has a hole of 5 mm there."""
    knife = wanted("galley_chef", tang__lanyard_diameter="6 mm")
    made = next(h for h in knife.knife.holes if h.hole.purpose == "lanyard")
    pose = Pose(160.0, 12.0, 1.5, flipped=False)
    x, y = pose.points(np.array([[made.hole.x_mm, made.hole.y_mm]]))[0].tolist()
    outline = _grown(pose.outline(knife.cut), knife.kerf_mm + 0.4)
    zone = Zone("avoid", round_zone(x, y, 5.0), 2.0, "rivet hole")
    return knife, Piece("tight", "found", outline, ((0.0, 3.0),), (zone,))


def test_a_hole_of_the_piece_becomes_the_knifes_own() -> None:
    knife, piece = around_a_lanyard_hole()
    one = place_on(knife, piece, Wish(), QUICK)
    assert one.fits
    assert [limit.kind for limit in one.verdict.limits].count("hole") == 1
    assert not place_on(wanted("galley_chef"), piece, Wish(), QUICK).fits
    x, y, _ = piece.zones[0].circle
    moved = replace(piece, zones=(replace(piece.zones[0], outline=round_zone(x + 30, y, 5.0)),))
    assert not place_on(knife, moved, Wish(), QUICK).fits


def test_a_knife_that_differs_little_is_followed_about_the_hole_it_shares() -> None:
    """What would do was not followed on where a hole of the piece is the knife's own: the hole was in its way."""
    knife, piece = around_a_lanyard_hole()
    shorter = wanted("galley_chef", tang__lanyard_diameter="6 mm", blade__length="209 mm")
    pose = pose_through_like(Search(plate_of(piece, shorter), shorter), knife, Pose(160.0, 12.0, 1.5, flipped=False))
    assert pose is not None
    assert judged(shorter, piece, pose.rounded()).fits


@repeated
@pytest.mark.skipif(not EVERY_CASE, reason="all that would do is tried before the hole: with EVERY_CASE=1")
def test_a_hole_is_told_to_do_as_lanyard_hole_and_does() -> None:
    _, piece = around_a_lanyard_hole()
    refused = place_on(wanted("galley_chef"), piece, Wish())
    assert not refused.fits
    told = [one.settings for one in offers(refused, Wish())]
    assert {"tang.lanyard_diameter": "6 mm"} in told
    for settings in told:
        assert place_on(wanted("galley_chef", **settings), piece, Wish()).fits, settings


REFUSED = (
    ("mill_file_paring", "mill_file", {"material.thickness": "5.4 mm"}),
    ("mill_file_paring", "mill_file", {"blade.heel_height": "25 mm"}),
    ("leaf_spring_chef", "leaf_spring", {"blade.heel_height": "57 mm"}),
    ("leaf_spring_chef", "leaf_spring", {"blade.length": "290 mm"}),
    ("galley_utility", "mill_file", {}),
)


@repeated
def test_every_suggestion_followed_fits(command: Callable[..., Any], tmp_path: Path) -> None:
    for design, stock, settings in share(REFUSED, 1):
        sets = [word for key, value in settings.items() for word in ("--set", f"{key}={value}")]
        line = ("place", DESIGNS / f"{design}.toml", stock, *sets, "--json", "--out", tmp_path)
        refused = command(*line)
        assert refused.code == 1, refused.err
        told = json.loads(refused.out)
        assert told["fits"] is False
        assert told["short_mm"] > 0
        assert told["would_do"], design
        for one in told["would_do"]:
            more = [word for key, value in one["set"].items() for word in ("--set", f"{key}={value}")]
            followed = command(*line, *more)
            assert followed.code == 0, (one, followed.err)
            assert json.loads(followed.out)["fits"] is True, one


NEAREST = (
    ("mill_file_paring", {"blade__heel_height": "25 mm"}, {"blade.heel_height": (14.0, 25.0)}),
    ("leaf_spring_chef", {"blade__length": "290 mm"}, {"blade.length": (140.0, 290.0)}),
    ("galley_utility", {}, {"blade.length": (100.0, 150.0), "blade.heel_height": (20.0, 30.0)}),
)


@repeated
@every(share(NEAREST, 1))
def test_what_would_do_is_the_nearest_that_does(design: str, settings: Any, spans: Any) -> None:
    """Where no blade is as low as the family allows nothing was told; and others were told further off than need be."""
    piece = read_stock("leaf_spring" if design == "leaf_spring_chef" else "mill_file")[0]
    knife = wanted(design, **settings)
    found = nearest(place_on(knife, piece, Wish(), QUICK), Wish(), spans, anywhere=True)
    assert found is not None
    told = {key: float(value.removesuffix(" mm")) for key, value in found[1].settings.items()}
    assert list(told) == list(spans)
    beyond = changed(knife.knife.design, {key: mm + 0.2 for key, mm in told.items()})
    assert placed_if_fits(beyond, piece, Wish()) is None


def test_the_commands_report(command: Callable[..., Any], tmp_path: Path) -> None:
    line = ("place", DESIGNS / "mill_file_paring.toml", "mill_file", "--out", tmp_path)
    ran = command(*line, "--json")
    assert (ran.code, ran.err) == (0, "")
    told = json.loads(ran.out)
    assert {"fits", "piece", "x_mm", "y_mm", "turn_deg", "flipped", "margin_mm", "short_mm", "would_do"} <= set(told)
    assert (told["fits"], told["piece"], told["short_mm"], told["would_do"]) == (True, "Mill file", 0.0, [])
    knife = wanted("mill_file_paring")
    pose = Pose(told["x_mm"], told["y_mm"], told["turn_deg"], told["flipped"])
    assert judged(knife, read_stock("mill_file")[0], pose).margin_mm == pytest.approx(told["margin_mm"], abs=1e-4)
    names = sorted(path.name for path in (tmp_path / "mill-file-paring").iterdir() if not path.name.startswith("."))
    assert names == sorted(told["files"])
    said = command(*line, "--units", "in")
    assert "Fits on Mill file" in said.out
    assert " mm" not in said.out.replace("_mm", "")


@cases(
    ("words", "said"),
    [
        (("chef", "no.toml"), "there is no such stock file"),
        (("chef", "spring"), "unknown stock 'spring'. Did you mean 'leaf_spring'"),
        (("chef", "leaf_spring", "--piece", "x"), "unknown piece 'x'"),
        (("chef", "leaf_spring", "--largest", "blade.lenght"), "Did you mean 'blade.length'"),
        (("chef", "leaf_spring", "--grain", "15"), "has no unit"),
        (("chef", "leaf_spring", "--set", "start.from=blank"), "nothing is placed"),
    ],
)
def test_a_wrong_request_is_told(
    command: Callable[..., Any], tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    ran = command("place", *words, "--out", tmp_path / "o")
    assert (ran.code, ran.out) == (2, "")
    assert said in ran.err
    assert not (tmp_path / "o").exists()


def test_a_bar_that_is_enough_to_forge_from_and_one_that_is_not(command: Callable[..., Any], tmp_path: Path) -> None:
    forged = ("--set", "start.from=forged", "--set", "material.grade=1095", "--json", "--out", tmp_path)
    good = command("place", "chef", "leaf_spring", *forged)
    assert good.code == 0, good.err
    told = json.loads(good.out)["forging"]
    assert told["shoulder_mm"] < told["cut_off_mm"] <= told["sound_mm"] < 420 - 62, "clear of stamp and hole"
    bar = stock_text([Piece("short bar", "bar", box(205, 30), ((0.0, 8.0),))])
    (tmp_path / "bar.toml").write_text(bar, encoding="utf-8")
    poor = command("place", "chef", tmp_path / "bar.toml", *forged)
    assert poor.code == 1
    wish = json.loads(poor.out)
    assert wish["short_mm"] > 0
    assert wish["would_do"]
    for one in wish["would_do"]:
        more = [word for key, value in one["set"].items() for word in ("--set", f"{key}={value}")]
        assert command("place", "chef", tmp_path / "bar.toml", *forged, *more).code == 0, one


def test_nothing_is_claimed_where_nothing_lies() -> None:
    knife = wanted("mill_file_paring")
    one: Placed = place_on(knife, plate(40, 20, 5), Wish(), QUICK)
    assert not one.fits
    assert one.short_mm > 50
