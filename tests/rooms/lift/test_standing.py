"""How low a thing can stand on a flat board, and which of its lengths a maker has measured."""

from __future__ import annotations

import numpy as np
import pytest

from bench.lifted_scans import as_measured
from blankwright.base.errors import RequestError
from blankwright.lift.scale import Candidate, measured, pixel_sizes
from blankwright.lift.standing import hull_of, lowest, lying, own_lengths

SOURCE = (
    "The altitude on the longest side of a triangle of 3, 4 and 5 is 12/5 (Euclid VI.8); a box is as low as it is thin."
)
TRIANGLE = np.array([[0.0, 0], [40, 0], [0, 30]])


def turned(points: np.ndarray, deg: float) -> np.ndarray:
    a = np.radians(deg)
    return points @ np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])


@pytest.mark.parametrize("deg", [0.0, 33.0, 91.0])
def test_figures_with_a_known_height(deg: float) -> None:
    triangle = lowest(hull_of(turned(TRIANGLE, deg)))
    assert (triangle.high_mm, triangle.long_mm) == pytest.approx((24, 50))
    box = lowest(hull_of(turned(np.array([[0.0, 0], [130, 0], [130, 30], [0, 30]]), deg)))
    assert (box.high_mm, box.long_mm) == pytest.approx((30, 130))


def test_no_way_to_hold_it_is_lower() -> None:
    """Turned by hand in small steps it is nowhere lower, and as low once; a lesser stretch of the hull is no choice."""
    dice = np.random.default_rng(5)
    for _ in range(40):
        points = dice.normal(0, 1, (30, 2)) * (60, 12)
        long, high = as_measured(points)
        stands = lowest(hull_of(points))
        assert stands.high_mm == pytest.approx(high, abs=1e-5)
        assert stands.high_mm <= lying(hull_of(points), np.array([1.0, 0.0])).high_mm
        assert stands.long_mm == pytest.approx(long, rel=0.01)


def test_a_place_that_is_off_moves_the_height_by_no_more() -> None:
    """A board line that leans by a thousandth more moves the height across it by far more than that."""
    hull = hull_of(np.array([[-120.0, 1], [0, 0], [30, 0], [80, 12], [-40, 25], [-120, 20]]))
    dice = np.random.default_rng(7)
    for _ in range(50):
        off = dice.uniform(-0.01, 0.01, hull.shape)
        assert abs(lowest(hull + off).high_mm - lowest(hull).high_mm) <= 2 * 0.01 * np.sqrt(2)
    lean = lying(hull, np.array([1.0, 0.001])).high_mm - lying(hull, np.array([1.0, 0.0])).high_mm
    assert abs(lean) > 2 * 0.01 * np.sqrt(2)


def knife() -> list[Candidate]:
    """Return a knife whose handle hangs below its board line, at 0.1 mm a pixel."""
    hull = hull_of(np.array([[-1000.0, -40], [0, 0], [300, 0], [900, 150], [0, 230], [-1000, 180]]))
    return own_lengths(hull, np.array([1.0, 0.0]))


@pytest.mark.parametrize(
    ("high", "taken", "pixel"),
    [
        ("lowest", "stands lowest on a flat board", 0.1),
        ("lowest stretched", "stands lowest on a flat board", 0.1012),
        ("lowest shrunk", "stands lowest on a flat board", 0.098),
        ("drawn", "across its board line", 0.1),
    ],
)
def test_the_height_as_it_stands_is_taken_unless_only_the_drawn_one_fits(high: str, taken: str, pixel: float) -> None:
    x, stands, _, drawn = knife()
    assert (x.axis, stands.axis, drawn.axis) == ("x", "y", "y")
    assert drawn.length(0.1, 0.1) > 1.03 * stands.length(0.1, 0.1)
    value = (drawn if high == "drawn" else stands).length(0.1, pixel)
    lengths = [m for m in (measured("x", f"{x.length(0.1, 0.1):.5f}mm"), measured("y", f"{value:.5f}mm")) if m]
    (_, size), words, _ = pixel_sizes((254.0, 254.0), None, lengths, knife())
    assert taken in words["y"]
    assert ("stands lowest" in words["x"]) == ("stands lowest" in words["y"])  # both are measured in one way
    assert size == pytest.approx(pixel, rel=1e-4)


def test_a_height_that_fits_neither_is_refused_and_both_are_told() -> None:
    wrong = measured("y", "31mm")
    assert wrong is not None
    with pytest.raises(RequestError, match=r"stands lowest on a flat board 2.* across its board line 27"):
        pixel_sizes((254.0, 254.0), None, [wrong], knife())


@pytest.mark.parametrize("dpi", [(254.0, 254.0), None])
def test_lengths_that_were_swapped_are_told_as_such(dpi: tuple[float, float] | None) -> None:
    x, y, *_ = knife()
    lengths = [
        m for m in (measured("x", f"{y.length(0.1, 0.1):.2f}mm"), measured("y", f"{x.length(0.1, 0.1):.2f}mm")) if m
    ]
    told = r"the other way round: --measured-x 19\d.\d* mm and --measured-y 2\d\.\d* mm"
    with pytest.raises(RequestError, match=told):
        pixel_sizes(dpi, None, lengths, knife())
