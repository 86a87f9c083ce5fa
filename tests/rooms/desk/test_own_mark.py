"""A maker's mark from an SVG file: curves as lines and arcs within the tolerance, text and pictures refused."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from blankwright.base.errors import RequestError
from blankwright.desk.ownmark import FOLLOW_MM, mark_from
from rooms.every import cases

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">'


def marked(folder: Path, inside: str, height_mm: float = 20.0) -> list[np.ndarray]:
    path = folder / "mark.svg"
    path.write_text(f"{HEAD}{inside}</svg>", encoding="utf-8")
    lines = [chain.flattened(0.0005) for chain in mark_from(path, height_mm).chains]
    corner = np.concatenate(lines).min(axis=0)  # where it lies in its file is nobody's business
    return [line - corner for line in lines]


def test_a_circle_is_a_circle(tmp_path: Path) -> None:
    (ring,) = marked(tmp_path, '<circle cx="40" cy="50" r="30"/>')
    area = shapely.Polygon(ring).area
    assert area == pytest.approx(math.pi * 10**2, rel=1e-4)
    assert ring[:, 1].max() - ring[:, 1].min() == pytest.approx(20.0, abs=1e-3)


def test_a_cubic_follows_its_own_formula_y_turned_up(tmp_path: Path) -> None:
    """The Bernstein form of a cubic, written out here; the drawing is 20 high, so one unit is 20 / its height."""
    p = np.array([[0, 0], [40, 80], [70, -60], [100, 30]], dtype=float)
    (line,) = marked(tmp_path, '<path d="M0 0 C40 80 70-60 100 30"/>')
    t = np.linspace(0, 1, 4001)[:, None]
    true = (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
    high = true[:, 1].max() - true[:, 1].min()
    mine = (true - [true[:, 0].min(), true[:, 1].min()]) * (20 / high) * [1, -1]
    mine[:, 1] -= mine[:, 1].min()
    line = line - [line[:, 0].min(), line[:, 1].min()]
    away = shapely.distance(shapely.LineString(line), shapely.points(mine))
    assert away.max() < FOLLOW_MM + 0.002


def test_relative_commands_reflected_handles_and_quadratics_draw_what_absolute_ones_do(tmp_path: Path) -> None:
    one = marked(tmp_path, '<path d="M10 10 C20 0 30 0 40 10 C50 20 60 20 70 10 Q80 0 90 40 Q100 80 60 60 L10 60 Z"/>')
    other = marked(tmp_path, '<path d="m10,10c10-10 20-10 30 0s20,10 30 0q10-10 20 30t-30 20h-50z"/>')
    assert shapely.hausdorff_distance(shapely.LineString(one[0]), shapely.LineString(other[0])) < 0.01


def test_an_arc_s_flags_may_stand_without_spaces(tmp_path: Path) -> None:
    one = marked(tmp_path, '<path d="M10 50 A20 20 0 0 1 50 50 A 20 20 0 1 1 10 50"/>')
    other = marked(tmp_path, '<path d="M10 50a20 20 0 0140 0a20 20 0 11-40 0"/>')
    assert shapely.Polygon(one[0]).area == pytest.approx(math.pi * 100, rel=1e-3)
    assert shapely.hausdorff_distance(shapely.LineString(one[0]), shapely.LineString(other[0])) < 1e-6


def test_an_elliptic_arc_too_small_for_its_ends_is_grown(tmp_path: Path) -> None:
    """SVG, appendix B.2.5: radii too small are scaled up until the arc just reaches."""
    (line,) = marked(tmp_path, '<path d="M0 50 A1 1 0 0 1 80 50 L0 50"/>', 40.0)
    assert shapely.Polygon(line).area == pytest.approx(math.pi * 40**2 / 2, rel=1e-3)


def test_transforms_of_groups_are_followed(tmp_path: Path) -> None:
    plain = marked(tmp_path, '<rect x="10" y="20" width="30" height="10"/>', 10.0)
    moved = '<g transform="translate(5 7) scale(2)"><g transform="rotate(90 25 25)"><rect x="20" y="10" '
    turned = marked(tmp_path, f'{moved}width="10" height="30"/></g></g>', 10.0)
    assert shapely.Polygon(plain[0]).equals_exact(shapely.Polygon(turned[0]), 1e-6) or shapely.Polygon(
        plain[0]
    ).symmetric_difference(shapely.Polygon(turned[0])).area == pytest.approx(0, abs=1e-6)


def test_open_strokes_stay_open(tmp_path: Path) -> None:
    lines = marked(tmp_path, '<polyline points="0,0 10,20 20,0"/><line x1="0" y1="5" x2="30" y2="25"/>')
    assert len(lines) == 2
    assert all(np.hypot(*(line[0] - line[-1])) > 1 for line in lines)


@cases(
    ("inside", "words"),
    [
        ("<text>MILL</text>", "text has no line"),
        ('<image href="x.png"/>', "IMAGE has no line to follow"),
        ("", "there is no line in it"),
        ('<line x1="0" y1="5" x2="30" y2="5"/>', "no height"),
        ('<path d="M0 0 L"/>', "path breaks off"),
        ('<path d="5 5 L1 1"/>', "where a command should stand"),
        ('<path d="L5 5"/>', "does not begin with a move"),
        ('<g transform="twist(3)"><circle r="4"/></g>', "transform that cannot be read"),
        ('<path d="M0 0 L1e300 1e308"/>', "mark"),
    ],
)
def test_what_is_no_line_is_refused_with_the_file_s_name(tmp_path: Path, inside: str, words: str) -> None:
    if "1e300" in inside:
        inside = '<g transform="scale(1e9)"><path d="M0 0 L1e300 1e308"/></g>'
    with pytest.raises(RequestError, match=r"mark\.svg") as told:
        marked(tmp_path, inside)
    assert words in str(told.value)


def test_files_that_are_no_drawing_are_refused(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="cannot be read"):
        mark_from(tmp_path / "none.svg", 5.0)
    bomb = tmp_path / "bomb.svg"
    lines = "".join(f'<!ENTITY a{i} "&a{i - 1};&a{i - 1};&a{i - 1};">' for i in range(1, 40))
    for text in (f'<!DOCTYPE svg [<!ENTITY a0 "x">{lines}]>{HEAD}&a39;</svg>', "<svg", "", "x" * 1_100_000):
        bomb.write_text(text, encoding="utf-8")
        with pytest.raises(RequestError, match=r"bomb\.svg"):
            mark_from(bomb, 5.0)
