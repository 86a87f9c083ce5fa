"""Area, centroid and second moments against a mesh library: the outline extruded and measured as a solid."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh

from blankwright.geometry.offset import parallel
from rooms.every import cases
from rooms.geometry.test_figures import chef, drawn, slot, star

SOURCE = "trimesh (volume, centre of mass and inertia of a triangulated solid), from the package index."
TOLERANCE_MM = 1e-4
REASON = "A polygon inside the arcs by at most 1e-4 mm: area within that times the perimeter, moments alike."

HEIGHT = 3.0


def solid(outline):
    return trimesh.creation.extrude_polygon(shapely.Polygon(outline.flattened(TOLERANCE_MM)), HEIGHT, engine="earcut")


FIGURES = {
    "slot": slot,
    "chef": lambda: chef().finished,
    "chef blank": lambda: parallel(chef().finished, 1.5).outline,
    **{f"star {seed}": (lambda o=outline: o) for seed, outline in drawn(star, 5000, 12)},
}


@cases("name", FIGURES)
def test_the_extruded_outline(name):
    outline = FIGURES[name]()
    m, mesh = outline.moments, solid(outline)
    assert mesh.is_watertight
    slack = TOLERANCE_MM * outline.perimeter_mm
    reach = max(outline.size_mm)
    assert m.area_mm2 == pytest.approx(mesh.volume / HEIGHT, abs=slack)
    assert mesh.center_mass[:2] == pytest.approx(np.array(m.centroid_mm), abs=2 * slack * reach / m.area_mm2)
    # inertia of a prism about its centre: I_xx = h ixx + A h^3 / 12, I_xy = -h ixy
    inertia = mesh.moment_inertia / HEIGHT
    plate = m.area_mm2 * HEIGHT**2 / 12
    # a strip e wide along the boundary, at most half the size away
    allowed = slack * reach**2 / 4
    assert inertia[0, 0] == pytest.approx(m.ixx_mm4 + plate, abs=allowed)
    assert inertia[1, 1] == pytest.approx(m.iyy_mm4 + plate, abs=allowed)
    assert inertia[0, 1] == pytest.approx(-m.ixy_mm4, abs=allowed)


def test_the_mesh_is_smaller_only_where_arcs_bow_out():
    # a slot's flattened arcs lie inside it: the library must find less, by two thirds of the sagitta at most
    mesh = solid(slot())
    lost = slot().area_mm2 - mesh.volume / HEIGHT
    assert 0 < lost <= TOLERANCE_MM * 2 / 3 * 2 * np.pi * 20 * 1.01
