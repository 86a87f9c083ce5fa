"""A family from a dozen points: fair between them, measured off them, written, judged and drawn."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import etree
from scipy.interpolate import BSpline
from shapely.geometry import Point, Polygon

import blankwright as bw
from blankwright.base.errors import RequestError
from blankwright.design.family import load_family
from blankwright.design.judge import judge
from blankwright.design.through import DEGREE, through
from blankwright.report.silhouettes import bend_words
from rooms.every import cases

EDGE = [(0, 0), (42, 0), (83.3, 0.76), (112.8, 3.55), (138.8, 8.47), (160, 14.5)]
SPINE = [(150, 20.4), (132, 27.7), (106, 34), (74, 37.6), (38, 38.6), (0, 38.5)]


def places(controls: list[tuple[float, float]], t: np.ndarray) -> np.ndarray:
    """Return places on the spline of control points, by another library's evaluation."""
    n = len(controls)
    inner = np.arange(n - DEGREE + 1)
    knots = np.concatenate([np.zeros(DEGREE), inner, np.full(DEGREE, inner[-1])])
    return np.asarray(BSpline(knots, np.array(controls), DEGREE)(t))


def test_the_curve_passes_through_its_points_and_starts_straight() -> None:
    found = through(EDGE, flat=True)
    assert np.abs(places(found.controls, np.array(found.at)) - np.array(EDGE)).max() < 2e-6
    flat = places(found.controls, np.linspace(0, found.at[1], 40))
    assert np.abs(flat[:, 1]).max() < 1e-12


def test_it_runs_into_what_follows() -> None:
    behind = [(-28.0, 37.6), (-54.0, 36.4), (-80.0, 35.0), (-104.0, 33.1)]
    found = through([EDGE[-1], *SPINE], behind=behind)
    on = places([*found.controls, *behind], np.array(found.at))
    assert np.abs(on - np.array([EDGE[-1], *SPINE])).max() < 2e-6


def test_of_all_curves_through_the_points_it_is_the_fairest() -> None:
    """Moved a little along anything that keeps the points, the third derivative jumps more."""
    found = through(EDGE)
    n = len(found.controls)
    t = np.array(found.at)
    basis = np.column_stack([places([(float(i == k), 0.0) for i in range(n)], t)[:, 0] for k in range(n)])
    _, _, rows = np.linalg.svd(basis)
    keeping = rows[len(t) :]

    def jumps(y: np.ndarray) -> float:
        inner = np.arange(n - DEGREE + 1)
        knots = np.concatenate([np.zeros(DEGREE), inner, np.full(DEGREE, inner[-1])])
        third = BSpline(knots, y, DEGREE).derivative(3)(np.arange(n - DEGREE) + 0.5)
        return float((np.diff(third) ** 2).sum() + 0.02 * (third**2).sum())

    y = np.array(found.controls)[:, 1]
    least = jumps(y)
    assert len(keeping) >= 2
    for way in keeping:
        assert min(jumps(y + 0.01 * way), jumps(y - 0.01 * way)) >= least


def test_points_measure_the_defaults() -> None:
    own = bw.family("galley", EDGE, SPINE, "beak")
    size = {d.name: d.default_mm for d in own.offered("full")}
    assert (size["blade_length"], size["heel_height"], size["tip_height"], size["flat_length"]) == (160, 38.5, 14.5, 42)
    knife = bw.solve(own)
    line = Polygon(knife.finished.flattened(0.001)).exterior
    for place in (*EDGE, *SPINE):
        assert line.distance(Point(place)) < 0.02, place
    assert own.patterns["full"] == "beak"


def test_a_family_of_points_is_as_good_as_ours(tmp_path: Path, command: Any) -> None:
    assert command("new-family", "galley", tmp_path / "galley.toml").code == 0
    assert command("new-family", "galley", tmp_path / "galley.toml").code == 2  # never written over
    family = load_family(str(tmp_path / "galley.toml"))
    assert judge(family) == ()
    assert len(re.findall(r"\[[\d., ]+\]", (tmp_path / "galley.toml").read_text(encoding="utf-8"))) == 12
    shape = bw.solve(family).design
    assert shape.family.name == "galley"
    picture = tmp_path / "galley.svg"
    ran = command("families", tmp_path / "galley.toml", "--picture", picture)
    assert ran.code == 0
    assert "holds" in ran.out
    words = " ".join(etree.parse(picture).getroot().itertext())
    assert "edge: bends in one sweep" in words
    assert "spine: bends in one sweep" in words
    assert words.count("blade.length 160.0 mm") == 1


def test_a_bump_is_told_in_a_makers_words() -> None:

    bent = [(x, y + (1.2 if x == 112.8 else 0)) for x, y in EDGE]
    told = bend_words(bw.family("bent", bent, SPINE))
    assert any("hollow" in line or "bump" in line for line in told), told


def test_all_silhouettes_are_drawn_to_one_scale(tmp_path: Path, command: Any) -> None:
    picture = tmp_path / "all.svg"
    assert command("families", "--picture", picture).code == 0
    root = etree.parse(picture).getroot()
    wide = float(root.get("width").removesuffix("mm"))
    assert wide == pytest.approx(float(root.get("viewBox").split()[2]), abs=0.01)  # true size
    assert len(root.findall("{*}path")) == len(bw.family_names()) + 1  # and the bar


BAD: dict[str, tuple[dict[str, Any], str]] = {
    "no heel": ({"edge": [(1, 0), *EDGE[1:]]}, "heel corner"),
    "backward": ({"edge": [*EDGE[:3], EDGE[1]]}, "go forward"),
    "not over the heel": ({"spine": SPINE[:-1]}, "over the heel"),
    "a stated default": ({"blade": {"length": {"default": "150 mm"}}}, "leave it out; the points measure 160 mm"),
    "an unknown hand": ({"handle_table": {"hand": "third"}}, "third"),
    "an unknown key": ({"colour": "blue"}, "colour"),
}


@cases("what", BAD)
def test_what_makes_no_blade_is_refused_with_its_place(what: str) -> None:
    more, word = BAD[what]
    table = {"edge": EDGE, "spine": SPINE} | more
    if "handle_table" in table:
        table["handle"] = table.pop("handle_table")
        with pytest.raises(RequestError, match=word):
            bw.family_from_table({"format": 2, "name": "bad", **{k: _lists(v) for k, v in table.items()}}, "bad")
        return
    edge, spine = table.pop("edge"), table.pop("spine")
    with pytest.raises(RequestError, match=word):
        bw.family("bad", edge, spine, **table)


def _lists(value: Any) -> Any:
    return [list(p) for p in value] if isinstance(value, list) else value
