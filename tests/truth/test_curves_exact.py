"""The kernel against curves whose area, length and parallel curves are known in closed form."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import quad

from blankwright.base.errors import GeometryError
from blankwright.geometry.arcfit import fit_arcs
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.geometry.spline import Spline
from rooms.every import cases
from rooms.geometry.test_figures import closed_by_arcs, ellipse, fitted, slot

SOURCE = (
    "Ellipse: area pi a b, perimeter 4 a E(e), radii b^2/a to a^2/b (any handbook). Slot: a "
    "rectangle and two half "
    "circles. Parallel curves: Steiner's formulas A + P d + pi d^2 and P + 2 pi d. The same figures "
    "stand in a table "
    "of reference curves kept outside the project, when it lies beside it."
)
TOLERANCE_MM = 1e-6
REASON = (
    "The ellipse is followed by arcs within 1e-6 mm, so its area may miss by 1e-6 mm times the "
    "perimeter; its length "
    "misses far less. The slot is made of arcs and lines and must be exact to rounding."
)
TABLE = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "curves" / "reference_curves.json"

A, B = 100.0, 20.0
ELLIPSE_AREA = math.pi * A * B
ELLIPSE_PERIMETER = 420.20089079378  # 4 a E(sqrt(1 - b^2/a^2)); checked below
SLOT_AREA = 160 * 40 + math.pi * 20**2
SLOT_PERIMETER = 2 * 160 + 2 * math.pi * 20
ELLIPSE_DISTANCES = (0.5, 1.5, 3.0, -0.5, -1.5, -3.0)
SLOT_DISTANCES = (0.5, 1.5, 3.0, -1.5, -19.0)


@pytest.fixture(scope="module")
def ellipse_outline():
    return closed_by_arcs(fitted(ellipse, 5, 160), TOLERANCE_MM)


def steiner(area, perimeter, d):
    return area + perimeter * d + math.pi * d * d, perimeter + 2 * math.pi * d


def test_the_ellipses_perimeter_is_the_elliptic_integral():
    from scipy.special import ellipe

    assert pytest.approx(4 * A * ellipe(1 - (B / A) ** 2), abs=1e-10) == ELLIPSE_PERIMETER


def test_the_ellipse_itself(ellipse_outline):
    assert ellipse_outline.area_mm2 == pytest.approx(ELLIPSE_AREA, abs=TOLERANCE_MM * ELLIPSE_PERIMETER)
    assert ellipse_outline.perimeter_mm == pytest.approx(ELLIPSE_PERIMETER, abs=TOLERANCE_MM)
    assert ellipse_outline.centroid_mm == pytest.approx((0, 0), abs=TOLERANCE_MM)
    assert 1 / ellipse_outline.curvatures.max() == pytest.approx(B * B / A, rel=0.01)
    assert 1 / ellipse_outline.curvatures.min() == pytest.approx(A * A / B, rel=0.01)


def test_the_ellipses_second_moments(ellipse_outline):
    m = ellipse_outline.moments
    # a boundary moved by e changes the integral of x^2 by at most e P a^2
    assert m.ixx_mm4 == pytest.approx(math.pi * A * B**3 / 4, abs=TOLERANCE_MM * ELLIPSE_PERIMETER * B * B)
    assert m.iyy_mm4 == pytest.approx(math.pi * A**3 * B / 4, abs=TOLERANCE_MM * ELLIPSE_PERIMETER * A * A)
    assert m.ixy_mm4 == pytest.approx(0, abs=TOLERANCE_MM * ELLIPSE_PERIMETER * A * B)


@pytest.mark.parametrize("d", ELLIPSE_DISTANCES)
def test_parallels_of_the_ellipse(ellipse_outline, d):
    area, length = steiner(ELLIPSE_AREA, ELLIPSE_PERIMETER, d)
    result = parallel(ellipse_outline, d)
    assert not result.others
    assert result.outline.area_mm2 == pytest.approx(area, abs=2 * TOLERANCE_MM * ELLIPSE_PERIMETER)
    assert result.outline.perimeter_mm == pytest.approx(length, abs=2 * TOLERANCE_MM)


def test_beyond_its_least_radius_the_ellipses_parallel_has_a_corner(ellipse_outline):
    d = -5.0  # the least radius is 4 mm: the parallel curve swallows its own ends
    result = parallel(ellipse_outline, d).outline
    area, length = steiner(ELLIPSE_AREA, ELLIPSE_PERIMETER, d)
    # the parallel curve's swallow tails run clockwise: Steiner's area counts them negative
    assert result.area_mm2 > area
    assert result.perimeter_mm < length
    ends = np.abs(result.corner_angles_deg) > 1
    assert ends.sum() == 2
    assert result.starts[ends][:, 1] == pytest.approx([0, 0], abs=1e-4)
    # from (a cos t, b sin t) a normal of length |d| ends on y = 0 where b^2 + (a^2 - b^2) sin^2 t =
    # d^2 a^2 / b^2
    sin2 = ((d * A / B) ** 2 - B * B) / (A * A - B * B)
    x = (A - B * B / A) * math.sqrt(1 - sin2)
    assert np.abs(result.starts[ends][:, 0]) == pytest.approx([x, x], abs=1e-4)


@cases("d", SLOT_DISTANCES)
def test_parallels_of_the_slot(d):
    area, length = steiner(SLOT_AREA, SLOT_PERIMETER, d)
    result = parallel(slot(), d).outline
    assert len(result) == 4
    assert result.area_mm2 == pytest.approx(area, abs=1e-9)
    assert result.perimeter_mm == pytest.approx(length, abs=1e-9)


def test_the_slot_itself():
    assert slot().area_mm2 == pytest.approx(SLOT_AREA, abs=1e-9)
    assert slot().perimeter_mm == pytest.approx(SLOT_PERIMETER, abs=1e-9)


@cases("d", [-20.0, -20.0001, -35.0])
def test_nothing_is_left_of_the_slot_beyond_half_its_width(d):
    with pytest.raises(GeometryError, match="nothing is left"):
        parallel(slot(), d)


def test_the_length_of_the_fitted_ellipse():
    s = fitted(ellipse, 5, 160)
    spans = (quad(lambda t: math.hypot(*s.at(np.array([t]), 1)[0]), k, k + 1, epsabs=1e-12)[0] for k in range(s.spans))
    assert sum(spans) == pytest.approx(ELLIPSE_PERIMETER, abs=1e-8)


def test_a_parabola_followed_by_arcs_has_the_handbooks_area():
    # semi-parabola under y = h (x/b)^2: area b h / 3, centroid 3 b / 4, 3 h / 10 (list of centroids)
    b, h = 60.0, 25.0
    chain = fit_arcs(Spline(np.array([[0, 0], [b / 2, 0], [b, h]]), 2), (0.0, 1.0), TOLERANCE_MM)
    curve = np.column_stack([chain.points, np.append(chain.bulges, 0.0)])
    v = np.vstack([curve, [[0.0, h, 0.0]]])  # the area above the curve, closed over (0, h)
    above = Outline(v).moments
    assert above.area_mm2 == pytest.approx(2 * b * h / 3, abs=1e-4)
    assert above.centroid_mm == pytest.approx((3 * b / 8, 3 * h / 5), abs=1e-6)


def _table():
    if not TABLE.exists():
        pytest.skip("the table of reference curves does not lie beside the project")
    return json.loads(TABLE.read_text(encoding="utf-8"))


@cases("d", ELLIPSE_DISTANCES)
def test_the_table_says_the_same_of_the_ellipse(ellipse_outline, d):
    row = _table()["ellipse_100x20"]["offset"][f"{d:g}"]
    result = parallel(ellipse_outline, d).outline
    assert result.area_mm2 == pytest.approx(row["area"], abs=2 * TOLERANCE_MM * ELLIPSE_PERIMETER)
    assert result.perimeter_mm == pytest.approx(row["length"], abs=2 * TOLERANCE_MM)


@cases("d", (0.5, 1.5, 3.0, -1.5))
def test_the_table_says_the_same_of_the_slot(d):
    row = _table()["stadium_L160_r20"]["offset"][f"{d:g}"]
    result = parallel(slot(), d).outline
    assert result.area_mm2 == pytest.approx(row["area"], abs=1e-9)
    assert result.perimeter_mm == pytest.approx(row["length"], abs=1e-9)
