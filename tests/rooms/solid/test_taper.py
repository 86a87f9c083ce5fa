"""Thickness along the steel: named tapers, numbers, tangs, and what contradicts."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.base.errors import RequestError
from blankwright.desk.script import request
from blankwright.solid.blade import Taper
from blankwright.solid.taper import share_thinned, taper_of
from rooms.every import cases


def taper(construction: str = "full", front: float = -20.0, end: float = 200.0, **settings: str) -> Taper:
    keyed = {key.replace("__", "."): value for key, value in settings.items()}
    design = request("chef", construction=construction, settings=keyed)
    return taper_of(design, front_x_mm=front, end_x_mm=end, rear_x_mm=-130.0)


def at(one: Taper, *x: float) -> list[float]:
    return [float(v) for v in one.at(np.array(x))]


def test_named_tapers_by_their_words() -> None:
    """Halfway: evenly, half of the thinning; late, a quarter; early, three quarters. All begin and end alike."""
    assert [share_thinned(name, 0.5) for name in ("none", "straight", "late", "early")] == [0.0, 0.5, 0.25, 0.75]
    for name in ("straight", "late", "early"):
        assert (share_thinned(name, 0.0), share_thinned(name, 1.0)) == (0.0, 1.0)
        one = taper(grind__taper=name, grind__tip_thickness="1 mm")
        assert at(one, 0, 200) == pytest.approx([3.0, 1.0])
        assert at(one, 100)[0] == pytest.approx(3 - 2 * share_thinned(name, 0.5))
    assert at(taper(grind__taper="none"), 0, 100, 200) == [3.0, 3.0, 3.0]


@pytest.mark.parametrize("name", ["late", "early"])
def test_sixteen_steps_are_near_their_curve(name: str) -> None:
    """A parabola's chord over a sixteenth misses by a quarter of (1/16)^2 of the thinning."""
    x = np.linspace(0, 200, 801)
    curve = np.array([3 - 2 * share_thinned(name, float(v) / 200) for v in x])
    off = np.abs(taper(grind__taper=name, grind__tip_thickness="1 mm").at(x) - curve).max()
    assert off == pytest.approx(2 / 4 / 256, rel=0.02)


def test_late_and_early_are_each_other_turned_round() -> None:
    late, early = (taper(grind__taper=n, grind__tip_thickness="1 mm") for n in ("late", "early"))
    x = np.linspace(0, 200, 41)
    assert late.at(x) + early.at(200 - x) == pytest.approx(np.full(41, 4.0), abs=1e-12)


def test_numbers_stand_where_they_are_measured() -> None:
    one = taper(grind__spine_heel="2.8 mm", grind__spine_middle="2.2 mm", grind__spine_near_tip="1.8 mm",
                grind__tip_thickness="0.8 mm")  # fmt: skip
    assert at(one, -20, 0, 100, 150, 200) == pytest.approx([3.0, 2.8, 2.2, 1.8, 0.8])
    assert at(one, -60, -10) == pytest.approx([3.0, 2.9])  # flat tang; straight from the handle's front to the heel


def test_a_tang_tapers_behind_the_handles_front() -> None:
    one = taper(tang__butt_thickness="1.2 mm")
    assert at(one, -130, -20, 0) == pytest.approx([1.2, 3.0, 3.0], abs=1e-3)
    assert at(one, -75)[0] == pytest.approx(2.1, abs=1e-3)
    both = taper(tang__butt_thickness="1.2 mm", grind__spine_heel="2.5 mm")
    assert at(both, -130, -20, 0) == pytest.approx([1.2, 3.0, 2.5], abs=1e-3)
    board = taper("one-piece", tang__butt_thickness="1.2 mm")
    assert at(board, -130)[0] == at(board, 0)[0]


def test_a_tip_is_never_thicker_than_its_heel() -> None:
    assert at(taper(grind__spine_heel="1.5 mm", grind__tip_thickness="2 mm"), 0, 200) == [1.5, 1.5]


@cases(("settings", "words"), [
    ({"grind__taper": "late", "grind__spine_middle": "2 mm"}, "either a named taper or spine_middle, not both"),
    ({"grind__taper": "early", "grind__spine_middle": "2 mm", "grind__spine_near_tip": "2 mm"},
     "spine_middle and spine_near_tip"),
    ({"grind__taper": "none", "grind__tip_thickness": "1 mm"}, "'none' and a tip_thickness contradict"),
    ({"grind__spine_heel": "3.5 mm"}, r"spine_heel: 3.5 mm is more than the stock's 3 mm"),
    ({"grind__spine_middle": "3.5 mm"}, r"spine_middle: 3.5 mm is more"),
    ({"grind__spine_near_tip": "3.5 mm"}, r"spine_near_tip: 3.5 mm is more"),
    ({"tang__butt_thickness": "3.5 mm"}, r"\[tang\] butt_thickness: 3.5 mm is more"),
])  # fmt: skip
def test_what_contradicts_is_named(settings: dict[str, str], words: str) -> None:
    with pytest.raises(RequestError, match=words):
        taper(**settings)


@cases("end", [100.2, 40.0, 50.3])
def test_two_numbers_at_one_place_are_refused(end: float) -> None:
    """50 mm before the tip may be the middle, the heel, or behind it."""
    with pytest.raises(RequestError, match="give only one of them"):
        taper(end=end, grind__spine_middle="2 mm", grind__spine_near_tip="1.5 mm")
