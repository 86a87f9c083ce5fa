"""Short pieces joined to their neighbours: nothing short is left, area and place stay."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely.geometry import Polygon

from blankwright.geometry import weld
from blankwright.geometry.outline import Outline
from blankwright.geometry.weld import without_short_pieces
from rooms.every import cases

LEAST_MM = 0.012
R = 10.0


def circle_cut_at(*turns: float) -> Outline:
    """Return a circle of radius 10 mm with vertices at shares of a whole turn."""
    angle = 2 * math.pi * np.array(sorted(turns))
    sweep = np.diff(np.append(angle, angle[0] + 2 * math.pi))
    return Outline(np.column_stack([R * np.cos(angle), R * np.sin(angle), np.tan(sweep / 4)]))


def test_an_outline_without_short_pieces_is_returned_as_it_is() -> None:
    outline = circle_cut_at(0.0, 0.2, 0.5, 0.8)
    assert without_short_pieces(outline, LEAST_MM) is outline


def test_two_arcs_of_one_circle_become_one() -> None:
    welded = without_short_pieces(circle_cut_at(0.0, 0.2, 0.2001, 0.5, 0.8), LEAST_MM)
    assert len(welded) == 4
    assert welded.area_mm2 == pytest.approx(math.pi * R**2, rel=1e-12)
    assert np.hypot(*welded.sampled(0.1)[0].T) == pytest.approx(R, abs=1e-9)


def test_a_line_cut_near_its_end_becomes_one_line() -> None:
    v = np.array([[0.0, 0, 0], [40, 0, 0], [40.005, 0, 0], [50, 0, 0], [50, 20, 0], [0, 20, 0]])
    welded = without_short_pieces(Outline(v, tuple("abcdef")), LEAST_MM)
    assert welded.vertices.tolist() == [[0, 0, 0], [40, 0, 0], [50, 0, 0], [50, 20, 0], [0, 20, 0]]
    assert welded.regions == ("a", "c", "d", "e", "f")


@cases("seed", range(60))
def test_random_sawn_outlines_keep_their_area_and_place(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cuts = rng.uniform(0, 1, 9)
    near = cuts[:5] + rng.uniform(1e-5, 1.5e-4, 5)  # 0.0006 to 0.009 mm beside another vertex
    outline = circle_cut_at(*cuts, *near)
    v = outline.vertices.copy()
    v[:, 2] *= rng.uniform(0.6, 1.4, len(v))  # no longer one circle: every joint a small corner
    outline = Outline(v, tuple(str(i % 3) for i in range(len(v))))
    welded = without_short_pieces(outline, LEAST_MM)
    assert welded.lengths.min() >= LEAST_MM, f"seed {seed}"
    assert welded.area_mm2 == pytest.approx(outline.area_mm2, rel=1e-9), f"seed {seed}"
    assert set(welded.regions) <= set(outline.regions)
    apart = Polygon(outline.flattened(1e-4)).hausdorff_distance(Polygon(welded.flattened(1e-4)))
    assert apart <= LEAST_MM + 2e-4


def test_a_shallow_arc_keeps_its_area() -> None:
    v = np.array([[0.0, 0, 0], [50, 0, 0], [50, 20, 2e-4], [40, 20, 1e-4], [39.995, 20, 0], [0, 23, 0]])
    outline = Outline(v)
    welded = without_short_pieces(outline, LEAST_MM)
    assert len(welded) == 5
    assert welded.area_mm2 == pytest.approx(outline.area_mm2, abs=1e-7)


def test_a_tiny_figure_is_left_alone() -> None:
    tiny = Outline(np.array([[0.0, 0, 0], [0.005, 0, 0], [0, 0.005, 0]]))
    assert len(without_short_pieces(tiny, LEAST_MM)) == 3


def test_a_whole_outline_is_built_once_however_many_pieces_are_short(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once for each short piece is work by the square: a fine polyline took minutes."""
    built = []
    monkeypatch.setattr(weld, "Outline", lambda *parts: built.append(parts) or Outline(*parts))
    welded = without_short_pieces(circle_cut_at(0.3, 0.6, *np.linspace(0, 0.01, 100)), LEAST_MM)
    assert welded.area_mm2 == pytest.approx(math.pi * R**2, rel=1e-9)
    assert len(welded) < 60
    assert len(built) == 1
