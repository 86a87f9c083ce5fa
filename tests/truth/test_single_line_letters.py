"""Single-line letters against a drawing standard's proportions, and against what makes a letter that letter."""

from __future__ import annotations

import itertools
import unicodedata

import numpy as np
import pytest
import shapely

from blankwright.base.errors import RequestError
from blankwright.ink.strokes import letters
from rooms.every import every

SOURCE = (
    "ISO 3098 lettering type B, from memory: capitals 10/10 of the height, small letters 7/10, tails 3/10, line 1/10, "
    "2/10 clear between letters, 6/10 between words. Closed counters of the Latin letters: common knowledge."
)
TOLERANCE = 0.01
REASON = "letters are drawn on a grid of tenths; arcs written with five digits"

CAPITALS, SMALL, DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ", "abcdefghijklmnopqrstuvwxyz", "0123456789"
COUNTERS = {**dict.fromkeys("ADOPQR0469abdegopq", 1), **dict.fromkeys("B8", 2)}
"""Closed counters; every other letter and digit has none."""
TALL, LOW = set("bdfhkl"), set("gjpqy")
LATIN = "ÀÁÂÃÄÅÆÇÈÉÊËÌÍÎÏÑÒÓÔÕÖØÙÚÛÜÝàáâãäåæçèéêëìíîïñòóôõöøùúûüýÿßŒœŠšŽžŁłĄąĘęŐőŰűČčĆćŃńŚśĞğİĐđ"


def drawn(text: str) -> list[np.ndarray]:
    """Return the strokes of a text ten high, as points close together."""
    return [chain.flattened(0.005) for chain in letters(text, 10.0).chains]


def inked(text: str, wide: float = 1.0) -> shapely.Geometry:
    """Return what a round tool of a width marks."""
    return shapely.union_all([shapely.LineString(points).buffer(wide / 2) for points in drawn(text)])


def holes(shape: shapely.Geometry) -> list[shapely.Polygon]:
    parts = [shape] if shape.geom_type == "Polygon" else list(shape.geoms)
    return [shapely.Polygon(ring) for part in parts for ring in part.interiors]


@every(CAPITALS + DIGITS)
def test_capitals_and_digits_are_as_high_as_asked(letter: str) -> None:
    y = np.concatenate(drawn(letter))[:, 1]
    assert y.max() == pytest.approx(10, abs=TOLERANCE)
    assert y.min() == pytest.approx(0 if letter != "Q" else -0.8, abs=TOLERANCE)


@every(SMALL)
def test_small_letters_stand_on_the_line_and_reach_seven_tenths(letter: str) -> None:
    y = np.concatenate(drawn(letter))[:, 1]
    top = 10 if letter in TALL | set("ij") else 9.4 if letter == "t" else 7
    assert y.max() == pytest.approx(top, abs=TOLERANCE)
    assert y.min() == pytest.approx(-3 if letter in LOW else 0, abs=TOLERANCE)


@every(CAPITALS + SMALL + DIGITS)
def test_counters_stay_open_with_the_standard_s_line(letter: str) -> None:
    """At 2 mm a line of a tenth is 0.2 mm: an opening below a square line's width would fill."""
    open_ones = [hole for hole in holes(inked(letter)) if hole.area > 1.0]
    assert len(open_ones) == COUNTERS.get(letter, 0)


def at_the_left(letter: str) -> shapely.Geometry:
    shape = inked(letter)
    return shapely.affinity.translate(shape, -shape.bounds[0], 0)


def border_points(shape: shapely.Geometry, parts: int) -> np.ndarray:
    """Return points on the border of a shape, every side of it in equal parts."""
    rings = [shapely.get_coordinates(ring) for ring in getattr(shape.boundary, "geoms", [shape.boundary])]
    shares = np.arange(parts)[:, None, None] / parts
    return shapely.points(np.vstack([(ring[:-1] + shares * np.diff(ring, axis=0)).reshape(-1, 2) for ring in rings]))


def alike(some: str, reach: float) -> list[str]:
    """Return the pairs of letters whose borders lie nowhere as far apart as a reach: their Hausdorff distance.

    Corners that lie farther apart tell most pairs from each other; only the others need points between the corners.
    """
    shapes = [at_the_left(letter) for letter in some]
    borders, reached = [shape.boundary for shape in shapes], np.nextafter(reach, 0)
    shapely.prepare(borders)
    corners, close = [border_points(s, 1) for s in shapes], [border_points(s, 20) for s in shapes]

    def near(a: int, b: int, points: list[np.ndarray]) -> bool:
        return all(shapely.dwithin(borders[j], points[i], reached).all() for i, j in ((a, b), (b, a)))

    pairs = itertools.combinations(range(len(some)), 2)
    return [f"{some[a]} {some[b]}" for a, b in pairs if near(a, b, corners) and near(a, b, close)]


def test_no_two_letters_are_taken_for_each_other() -> None:
    assert alike(CAPITALS + SMALL + DIGITS, 0.55) == [], "a gap of a line's width is half of that from both its ends"


def test_letters_are_alike_where_a_geometry_library_finds_them_as_near() -> None:
    """GEOS's own Hausdorff distance, at reaches that some pairs keep and others do not."""
    some = "IiO0DaoVY"
    apart = {
        f"{a} {b}": shapely.hausdorff_distance(at_the_left(a), at_the_left(b), densify=0.05)
        for a, b in itertools.combinations(some, 2)
    }
    for reach, count in ((0.9, 1), (1.02, 2), (1.1, 4), (1.3, 5), (1.6, 6)):
        assert alike(some, reach) == [pair for pair, mm in apart.items() if mm < reach]
        assert len(alike(some, reach)) == count


def test_letters_of_a_word_keep_apart_and_words_more() -> None:
    for pair in ("HH", "ll", "IN", "11", "MI", "ïï", "íî"):
        one, other = inked(pair[0]), inked(pair)
        rest = other.difference(one.buffer(1e-6))
        assert one.distance(rest) >= 1.99, pair  # 2/10 between letters whose sides are upright
    (x0, *_), (x1, *_) = inked("H").bounds, inked("H H").difference(inked("H").buffer(1e-6)).bounds
    right = inked("H").bounds[2]
    assert x1 - right == pytest.approx(6, abs=TOLERANCE)
    assert x0 == pytest.approx(-0.5, abs=TOLERANCE)


@every(LATIN)
def test_accents_and_umlauts_are_composed_of_letter_and_mark(letter: str) -> None:
    strokes = drawn(letter)
    assert strokes
    marks = unicodedata.normalize("NFD", letter)[1:]
    if marks:
        base = unicodedata.normalize("NFD", letter)[0]
        assert len(strokes) > len(drawn(base)) - (base in "ij")
        y = np.concatenate(strokes)[:, 1]
        plain = np.concatenate(drawn(base))[:, 1]
        assert y.max() > plain.max() or y.min() < plain.min() or base in "ij"
    assert inked(letter).bounds[1] >= -3.6
    assert inked(letter).bounds[3] <= 14.2


def test_marks_of_a_letter_keep_clear_of_it() -> None:
    for letter in "ÄÖÜäöüéÉÅåčŠñ":
        base = unicodedata.normalize("NFD", letter)[0]
        strokes, count = drawn(letter), len(drawn(base))
        body, over = strokes[:count], strokes[count:]
        apart = min(shapely.LineString(a).distance(shapely.LineString(b)) for a in body for b in over)
        assert apart >= 1.4, letter


def test_a_letter_that_is_not_drawn_is_refused_by_name() -> None:
    with pytest.raises(RequestError, match="'Ж' is not among the single-line letters"):
        letters("ABЖ", 2.0)
    with pytest.raises(RequestError, match="nothing to draw"):
        letters("  ", 2.0)


def test_every_stroke_is_of_lines_and_arcs_and_scales_with_the_height() -> None:
    for text in (CAPITALS, SMALL, DIGITS):
        small, large = letters(text, 2.0), letters(text, 5.0)
        assert small.size_mm[0] * 2.5 == pytest.approx(large.size_mm[0], rel=1e-3)
        assert all((np.abs(chain.bulges) < 2.1).all() for chain in small.chains)
