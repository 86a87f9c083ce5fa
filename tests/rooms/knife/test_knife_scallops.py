"""Round tools in scallops, held against the distance of every place of a scallop from the tool's axis in space."""

from __future__ import annotations

import math

import numpy as np
import pytest

import blankwright as bw
from blankwright.knife.scallops import SQUARE_DEG, Scallops
from rooms.every import cases


def distances(pitch: float, depth: float, angle_deg: float, radius: float) -> np.ndarray:
    """Return how far places along a scallop lie from the surface of a cylinder that touches its bottom [mm]."""
    r = pitch**2 / (8 * depth) + depth / 2  # circular segment, any handbook of mechanics
    x = np.linspace(-pitch / 2, pitch / 2, 201)
    points = np.column_stack([x, depth - r + np.sqrt(r**2 - x**2), np.zeros_like(x)])
    along = np.array([0.0, math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])
    inward = np.cross(along, [1.0, 0, 0])  # from the axis to the bottom, square to the tool
    inward *= np.sign(inward[1])
    off = points - (np.array([0.0, depth, 0.0]) - radius * inward)
    return np.linalg.norm(off - np.outer(off @ along, along), axis=1) - radius


@cases(("pitch", "depth"), [(8.0, 1.2), (5.0, 0.5), (14.0, 2.4), (9.0, 1.5)])
@cases("angle", [12.0, 16.0, 25.0, SQUARE_DEG])
def test_the_tool_meets_points_and_bottom_and_a_thicker_one_the_points_alone(
    pitch: float, depth: float, angle: float
) -> None:
    radius = Scallops(1, pitch, depth).tool_mm(angle) / 2
    off = distances(pitch, depth, angle, radius)
    assert off[[0, 100, 200]] == pytest.approx(0.0, abs=1e-9)
    assert abs(off).max() < depth / 80  # between them it is a round seen aslant, so all but the same line
    # inside the cylinder is where the tool takes steel: a thicker one has not reached the bottom when it meets points
    thicker, thinner = (distances(pitch, depth, angle, radius * share) for share in (1.3, 0.7))
    assert thicker[0] < -1e-3
    assert thinner[0] > 1e-3
    assert thinner.min() > -1e-9


def test_a_scallop_is_counted_once() -> None:
    knife = bw.solve("bread", settings={"blade.scallop_pitch": "10 mm"})
    found = knife.core.scallops
    assert found is not None
    reach = knife.core.shape.values_mm["blade_length"] - 2 * 5.0
    assert found.count == pytest.approx(reach / 10, abs=1.01)
    assert bw.solve("chef").core.scallops is None


def test_the_grind_line_runs_over_scallops_as_it_does_without_them() -> None:
    """No belt follows scallops: on the flat of the edge the line is straight."""
    knife = bw.solve("bread", settings={"grind.height": "15 mm"}).core
    ((line,), flat) = (knife.face.grind, knife.shape.values_mm["flat_length"])
    points = line.flattened(0.001)
    assert points[points[:, 0] < flat, 1] == pytest.approx(15.0, abs=1e-6)
    assert points[:, 0].max() > flat
