"""Meshes of sections, prisms and handles, against closed forms and the faces they stand for."""

from __future__ import annotations

import math
from collections import Counter
from itertools import product

import numpy as np
import pytest

from blankwright.base.errors import GeometryError
from blankwright.desk.script import solve
from blankwright.geometry.outline import Outline
from blankwright.print3d.lofts import blade_mesh, handle_mesh, superellipse
from blankwright.print3d.mesh import Mesh, circle, loft, prism, welded
from blankwright.print3d.unions import behind_heel, bore, scale_solids, solid, tang_solid, tidy
from blankwright.solid.blade import Taper, face_mm, ground_blade
from blankwright.solid.handlebodies import SECTIONS, Swell, scales, section_share
from blankwright.solid.section import chains, faces
from rooms.every import cases
from rooms.often import repeated, share

SQUARE = np.array([[0.0, 0], [10, 0], [10, 10], [0, 10]])
BOX = Outline(np.array([[-100.0, 0, 0], [0.0, 0, 0], [0.0, 20, 0], [-100.0, 20, 0]]))
ROUND = Outline(np.array([[-100.0, 0, 0], [0.0, 0, 0], [0.0, 20, 0], [-100.0, 20, 1.0]]))
EVEN = Taper((-200.0, 50.0), (3.0, 3.0))

GRINDS = {
    "flat": {},
    "convex to a height": {"grind.kind": "convex", "grind.height": "7 mm", "grind.taper": "late"},
    "uneven convex": {"grind.bevel": "uneven", "grind.right_share": "70 %", "grind.kind": "convex"},
    "sharp plunge": {"grind.ricasso": "6 mm"},
    "half a plunge": {"grind.ricasso": "6 mm", "grind.plunge_radius": "0.5 mm"},
    "plunge between both faces": {
        "grind.ricasso": "6 mm", "grind.plunge_radius": "0.8 mm", "grind.bevel": "uneven", "grind.right_share": "70 %",
    },
    "round at the heel": {"grind.plunge_radius": "10 mm"},
    "single hollow": {
        "grind.kind": "hollow", "grind.wheel": "400 mm", "grind.height": "7 mm", "grind.bevel": "single",
        "grind.right_share": "100 %", "grind.ricasso": "6 mm", "grind.plunge_radius": "12 mm",
    },
    "edge bevel up to the grind line": {
        "grind.height": "3 mm", "grind.behind_edge": "1.5 mm", "grind.edge_angle": "15 deg",
    },
}  # fmt: skip


def is_closed(mesh: Mesh) -> bool:
    """Return whether every edge is run once each way."""
    pairs = Counter((int(f[i]), int(f[(i + 1) % 3])) for f in mesh.faces for i in range(3))
    return all(n == 1 and pairs[b, a] == 1 for (a, b), n in pairs.items())


def test_a_prism_with_a_hole() -> None:
    mesh = prism([SQUARE, circle(5, 5, 4, 48)[::-1]], -1.0, 2.0)
    assert is_closed(mesh)
    assert mesh.volume_mm3 == pytest.approx((100 - math.pi * 4) * 3, rel=1e-9)
    assert len(mesh.vertices) == 2 * (4 + 48)
    # one hole through: a torus, Euler's number 0
    assert len(mesh.vertices) - 3 * len(mesh.faces) / 2 + len(mesh.faces) == 0


def test_a_circle_keeps_its_area() -> None:
    x, y = circle(3, -2, 8, 96).T
    assert (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2 == pytest.approx(16 * math.pi, rel=1e-12)
    assert np.hypot(x - 3, y + 2).max() - 4 < 0.004


def test_a_loft_from_a_square_to_a_point_and_to_a_line() -> None:
    base = np.column_stack([np.zeros(4), SQUARE])
    for last, volume in (([[9.0, 5, 5]] * 4, 300.0), ([[9.0, 0, 5], [9.0, 10, 5], [9.0, 10, 5], [9.0, 0, 5]], 450.0)):
        for rings in (np.stack([base, last]), np.stack([base, last])[:, ::-1], np.stack([last, base])):
            mesh = loft(np.asarray(rings, dtype=float))
            assert is_closed(mesh)
            assert mesh.volume_mm3 == pytest.approx(volume)


def test_welding_drops_what_has_no_area() -> None:
    points = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 1, 1e-12], [7, 7, 7]])
    mesh = welded(points, np.array([[0, 1, 2], [1, 2, 3]]))
    assert mesh.faces.shape == (1, 3)
    assert len(mesh.vertices) == 3


def test_an_open_mesh_is_no_solid() -> None:
    mesh = prism([SQUARE], 0.0, 1.0)
    with pytest.raises(GeometryError, match="close"):
        solid(Mesh(mesh.vertices, mesh.faces[1:]))


@repeated
@cases(("grind", "name"), share(product(GRINDS, ["chef", "utility", "paring", "spreader"]), 14))
def test_a_blade_is_closed_and_as_large_as_its_closed_form(grind: str, name: str) -> None:
    knife = solve(name, settings=GRINDS[grind])
    ground = knife.core.ground
    mesh = blade_mesh(knife.finished, ground.taper, ground.bevels, ground.plunge)
    assert is_closed(mesh)
    exact = ground_blade(knife.finished, ground.taper, ground.bevels, ground.plunge)
    print(mesh.volume_mm3 / exact.volume_mm3 - 1, len(mesh.faces))
    assert mesh.volume_mm3 == pytest.approx(exact.volume_mm3, rel=5e-4)
    assert len(mesh.faces) < 25_000


@cases("grind", ["flat", "uneven convex", "single hollow", "convex to a height"])
def test_the_middles_of_triangles_lie_on_the_faces(grind: str) -> None:
    """Middles of all triangles ahead of the plunge line, held against the faces in closed form."""
    knife = solve("chef", settings=GRINDS[grind])
    g = knife.core.ground
    mesh = blade_mesh(knife.finished, g.taper, g.bevels, g.plunge)
    x, y, z = mesh.vertices[mesh.faces].mean(axis=1).T
    kept = (x > 1) & (x < 200)
    x, y, z = x[kept], y[kept], z[kept]
    ring = knife.finished.flattened(1e-4)
    places, place = np.unique(x, return_inverse=True)  # many triangles have their middles above one another
    low, high = np.array([_chord(ring, float(one)) for one in places]).T[:, place]
    spine = g.taper.at(x)
    out = g.plunge.out_mm(x, face_mm(g.plunge, g.taper, g.bevels)) if g.plunge else np.zeros_like(x)
    right, left = faces(np.clip(y - low, 0, high - low), high - low, spine, g.bevels, out)
    inside = (y - low > 0.01) & (high - y > 0.01)  # neither the spine nor the bottom
    off = np.minimum(np.abs(z - right), np.abs(z - left))[inside]
    print(off.max())
    assert off.max() < 0.02


def _chord(points: np.ndarray, x: float) -> tuple[float, float]:
    a, b = points, np.roll(points, -1, axis=0)
    met = (np.minimum(a[:, 0], b[:, 0]) <= x) & (x < np.maximum(a[:, 0], b[:, 0]))
    y = a[met, 1] + (b[met, 1] - a[met, 1]) * (x - a[met, 0]) / (b[met, 0] - a[met, 0])
    return float(y.min()), float(y.max())


def test_the_edge_is_one_line_of_points() -> None:
    knife = solve("chef")
    g = knife.core.ground
    mesh = blade_mesh(knife.finished, g.taper, g.bevels, g.plunge)
    flat = mesh.vertices[(mesh.vertices[:, 1] == 0.0) & (mesh.vertices[:, 0] < 52)]
    assert len(flat) > 10
    assert (flat[:, 2] == 0).all()
    assert len(np.unique(flat[:, 0])) == len(flat)
    tip = mesh.vertices[mesh.vertices[:, 0] == mesh.vertices[:, 0].max()]
    assert len(tip) == 1


def test_chains_end_where_the_section_ends() -> None:
    knife = solve("chef", settings=GRINDS["uneven convex"])
    bevels = knife.core.ground.bevels
    height, spine = np.array([40.0, 10.0, 0.4, 0.0]), np.array([3.0, 2.0, 1.5, 1.2])
    for (u, z), part in zip(chains(height, spine, bevels, np.zeros(4), 6), bevels.shares, strict=True):
        assert (np.diff(u, axis=1) >= 0).all()
        assert (u[:, -1] == height).all()
        assert z[:2, -1] == pytest.approx(part * spine[:2])
        assert (z[:, 0] == 0).all()
        assert (z[3] == 0).all()  # no height left: a point


@cases("section", SECTIONS)
def test_a_section_has_its_exact_area(section: str) -> None:
    y, z = superellipse(section).T
    assert (np.diff(-y) * (z[1:] + z[:-1]) / 2).sum() == pytest.approx(2 * section_share(section), rel=1e-9)
    assert y[0] == 1
    assert y[-1] == -1
    n = SECTIONS[section]
    if not math.isinf(n):
        assert np.abs(np.abs(y) ** n + np.abs(z) ** n - 1).max() < 0.01


@cases("section", ["rounded", "oval", "slab"])
@cases("outline", [BOX, ROUND])
@cases("more", [0.0, 3.0])
def test_scales_are_as_large_as_their_closed_form(section: str, outline: Outline, more: float) -> None:
    swell = Swell(8.0, more, 0.0, -100.0)
    one, both = scale_solids(outline, section, swell, EVEN)
    exact = scales(outline, [], section=section, swell=swell, density_kg_m3=1000.0)
    print(2 * one.volume() / exact.mass_g / 1000 - 1)
    assert 2e-3 * one.volume() == pytest.approx(exact.mass_g, rel=5e-4)
    assert both.volume() - 2 * one.volume() == pytest.approx(3 * outline.area_mm2, rel=1e-3)
    low_z = np.asarray(tidy(one).vertices)[:, 2].min()
    assert low_z == pytest.approx(1.5, abs=1e-6)


def test_scales_lie_on_a_tapering_tang() -> None:
    under = Taper((-100.0, 0.0), (1.0, 3.0))
    for section in ("oval", "slab"):
        one, _ = scale_solids(BOX, section, Swell(8.0, 0.0, 0.0, -100.0), under)
        points = tidy(one).vertices
        assert (points[:, 2] - under.at(points[:, 0]) / 2).min() == pytest.approx(0, abs=1e-4)
        assert one.volume() == pytest.approx(BOX.area_mm2 * 8 * section_share(section), rel=1e-4)


def test_a_hooked_butt_is_cut_as_a_slab_and_refused_rounded() -> None:
    corners = [(0, 0), (0, 20), (-100, 20), (-100, -10), (-80, -10), (-90, 0)]
    hooked = Outline(np.array([[x, y, 0.0] for x, y in corners[::-1]])).reversed()
    if hooked.area_mm2 < 0:
        hooked = hooked.reversed()
    swell = Swell(8.0, 0.0, 0.0, -100.0)
    one, _ = scale_solids(hooked, "slab", swell, EVEN)
    assert one.volume() == pytest.approx(hooked.area_mm2 * 8)
    with pytest.raises(GeometryError, match="more than twice"):
        handle_mesh(hooked, "oval", swell, EVEN, one_side=True)


def test_what_lies_behind_the_heel() -> None:
    square = Outline(np.array([[-10.0, 0, 0], [10.0, 0, 0], [10.0, 10, 0], [-10.0, 10, 0]]))
    assert behind_heel(square, 0.0, 10.0).tolist() == [[0, 10], [-10, 10], [-10, 0], [0, 0]]
    comb = [(5, 0), (5, 20), (-9, 20), (-9, 12), (3, 12), (3, 8), (-9, 8), (-9, 0)]
    with pytest.raises(GeometryError, match="comes back"):
        behind_heel(Outline(np.array([[x, y, 0.0] for x, y in comb])), 0.0, 20.0)


def test_a_slot_is_open_at_the_front() -> None:
    tang = Outline(np.array([[-60.0, 5, 0], [0.0, 5, 0], [0.0, 0, 0], [40.0, 0, 0], [40.0, 20, 0], [0.0, 20, 0],
                             [0.0, 15, 0], [-60.0, 15, 0]]))  # fmt: skip
    slot = tang_solid(tang, EVEN, 0.0)
    assert slot.volume() == pytest.approx(61 * 10 * 3)
    assert slot.bounding_box()[3] == pytest.approx(1.0)


def test_a_tidy_mesh_is_settled() -> None:
    body = solid(prism([SQUARE], 0.0, 4.0)) - bore(5.0, 5.0, 3.0, 10.0)
    mesh = tidy(body)
    assert is_closed(mesh)
    assert (mesh.vertices == mesh.vertices.astype(np.float32)).all()
    assert (np.lexsort(mesh.vertices.T[::-1]) == np.arange(len(mesh.vertices))).all()
    assert (mesh.faces[:, 0] == mesh.faces.min(axis=1)).all()
    with pytest.raises(GeometryError, match="nothing is left"):
        tidy(body - solid(prism([SQUARE * 3 - 5], -1.0, 6.0)))
