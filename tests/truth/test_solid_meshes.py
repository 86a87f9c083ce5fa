"""Ground blades of random knives against a mesh library: both faces built point by point, then measured."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
import trimesh

from blankwright.design.family import load_family
from blankwright.errors import DesignError
from blankwright.geometry.outline import Outline
from blankwright.script import solve
from blankwright.solid.blade import Taper, ground_blade
from blankwright.solid.handle import Swell, scales
from blankwright.solid.section import Bevels

SOURCE = "trimesh (volume and centre of mass of a closed triangulated solid), from the package index."
TOLERANCE = 1e-3
TOLERANCE_MM = 0.1
REASON = "240 sections of 40 points: a mesh inside the curved faces, short by less than one part in a thousand."

FAMILIES = ("chef", "utility", "paring", "spreader")
SEEDS = range(60)


@dataclass(frozen=True)
class Case:
    """A random knife with a random grind."""

    outline: Outline
    taper: Taper
    bevels: Bevels


def case(seed: int) -> Case:
    """Return the knife of a seed; its dimensions are drawn anew until they go together."""
    rng = np.random.default_rng(seed)
    name = FAMILIES[seed % 4]
    family = load_family(name)
    while True:
        drawn = {f"{d.name}_mm": float(rng.uniform(d.least_mm, d.greatest_mm)) for d in family.offered("full")}
        try:
            outline = solve(name, construction="full", **drawn).finished
        except DesignError:
            continue
        break
    end, heel = outline.bounds_mm[2], drawn["heel_height_mm"]
    spine = float(rng.uniform(1.5, 4.0))
    thin = [spine, float(rng.uniform(0.6, 0.95)) * spine, float(rng.uniform(0.3, 0.55)) * spine]
    taper = Taper((0.0, float(rng.uniform(0.3, 0.8)) * end, end), tuple(thin))
    kind = ("flat", "hollow", "convex")[int(rng.integers(3))]
    height = float(rng.uniform(0.3, 0.9)) * heel if rng.random() < 0.6 else None
    wheel = None
    if kind == "hollow":
        height = float(rng.uniform(0.2, 0.3)) * heel
        # a wheel that leaves steel: three times the largest sagitta that the thinnest spine would stand
        wheel = max(150.0, 3 * height**2 / thin[-1])
    bevels = Bevels(kind, height, float(rng.uniform(0.1, 0.5)), float(rng.uniform(10, 25)), wheel)
    return Case(outline, taper, bevels)


def mesh_of(one: Case, stations: int, across: int) -> trimesh.Trimesh:
    """Return the blade ahead of the heel as a closed mesh, from sections of its own."""
    chain = one.outline.flattened(1e-5)
    end = chain[:, 0].max()
    x = end * np.sin(np.linspace(0, np.pi / 2, stations + 1)[:-1])  # closer together toward the tip
    low, high = crossings(chain, x)
    rows = [ring(one, float(a), float(b), float(t), across) for a, b, t in zip(low, high, one.taper.at(x), strict=True)]
    points = np.array([np.column_stack([np.full(len(r), s), r]) for s, r in zip(x, rows, strict=True)])
    return closed(points, chain[np.argmax(chain[:, 0])])


def crossings(chain: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the least and greatest y of a closed polygon on upright lines."""
    a, b = chain, np.roll(chain, -1, axis=0)
    met = (np.minimum(a[:, 0], b[:, 0]) <= x[:, None]) & (x[:, None] <= np.maximum(a[:, 0], b[:, 0]))
    met &= a[:, 0] != b[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        y = a[:, 1] + (b[:, 1] - a[:, 1]) * (x[:, None] - a[:, 0]) / (b[:, 0] - a[:, 0])
    return np.where(met, y, np.inf).min(axis=1), np.where(met, y, -np.inf).max(axis=1)


def ring(one: Case, low: float, high: float, spine: float, across: int) -> np.ndarray:
    """Return (2 n - 1, 2) y and z round one section: up one face, down the other, the edge once."""
    height, bevels = high - low, one.bevels
    slope = math.tan(math.radians(bevels.edge_angle_deg))
    foot = min(bevels.behind_edge_mm / 2 / slope, height)
    top = height if bevels.height_mm is None else min(max(bevels.height_mm, foot), height)
    share = np.linspace(0, 1, across)
    p, q = np.array([foot, min(foot * slope, spine / 2)]), np.array([top, spine / 2])
    if top <= foot:
        face = np.linspace([0.0, 0.0], p, across)
    else:
        face = p + share[:, None] * (q - p)
        if bevels.kind == "convex":
            face[:, 1] = q[1] - (q[1] - p[1]) * (1 - share) ** 2
        if bevels.kind == "hollow":
            assert bevels.wheel_mm is not None
            half = np.hypot(*(q - p)) / 2
            off = math.sqrt(bevels.wheel_mm**2 / 4 - half**2)
            normal = np.array([-(q - p)[1], (q - p)[0]]) / (2 * half)
            centre = (p + q) / 2 + off * normal
            turn = math.asin(half / (bevels.wheel_mm / 2)) * (2 * share - 1)
            along = (q - p) / (2 * half)
            face = centre + bevels.wheel_mm / 2 * (np.sin(turn)[:, None] * along - np.cos(turn)[:, None] * normal)
    assert (face[:, 1] >= 0).all(), "the two hollows meet: not a blade"
    face = np.vstack([[0.0, 0.0], face, [height, face[-1, 1]]])
    other = face[:0:-1] * [1, -1]
    return np.vstack([face, other]) + np.array([low, 0.0])


def closed(points: np.ndarray, tip: np.ndarray) -> trimesh.Trimesh:
    """Close sections to a solid: quads between them, a fan at the heel, a cone at the tip."""
    n, m = points.shape[:2]
    vertices = np.vstack([points.reshape(-1, 3), [tip[0], tip[1], 0.0], points[0].mean(axis=0)])
    i = np.arange(m)
    j = (i + 1) % m
    faces = [np.column_stack([np.full(m, n * m + 1), j, i]), np.column_stack([np.full(m, n * m), *(
        (n - 1) * m + k for k in (i, j))])]  # fmt: skip
    for k in range(n - 1):
        a, b = k * m, (k + 1) * m
        faces += [np.column_stack([a + i, a + j, b + j]), np.column_stack([a + i, b + j, b + i])]
    mesh = trimesh.Trimesh(vertices, np.vstack(faces), process=False)
    if mesh.volume < 0:
        mesh.invert()
    return mesh


@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_blade(seed: int) -> None:
    one = case(seed)
    mesh = mesh_of(one, 240, 40)
    assert mesh.is_watertight
    solid = ground_blade(one.outline, one.taper, one.bevels)
    print(seed, one.bevels, solid.volume_mm3 / mesh.volume - 1)
    assert solid.volume_mm3 == pytest.approx(mesh.volume, rel=TOLERANCE)
    assert solid.centre_mm == pytest.approx(mesh.center_mass, abs=TOLERANCE_MM)


@pytest.mark.parametrize("seed", [0, 5, 10, 15])
def test_a_finer_mesh_comes_nearer(seed: int) -> None:
    one = case(seed)
    exact = ground_blade(one.outline, one.taper, one.bevels).volume_mm3
    misses = [abs(mesh_of(one, n, m).volume / exact - 1) for n, m in ((30, 6), (120, 24), (480, 96))]
    print(seed, misses)
    # four times finer in both directions: a second-order mesh misses sixteen times less
    assert misses[1] < misses[0] / 10
    assert misses[2] < misses[1] / 10
    assert misses[2] < 4e-5


@pytest.mark.parametrize(("section", "power"), [("slab", math.inf), ("rounded", 4.0), ("oval", 2.0)])
def test_scales_as_solids(section: str, power: float) -> None:
    """A handle that swells, each section a superellipse as high as the outline there, scaled about its middle."""
    outline = Outline(np.array([[-120.0, 0, 0], [-40, 6, 0.0], [0, 2, 0], [0, 24, 0], [-50, 21, 0], [-120, 27, 0.3]]))
    chain = outline.flattened(0.0005)
    start = chain[:, 0].min()
    x = -(np.linspace(0, 1, 400) ** 0.5) * -start
    x = np.sort(start - (start - 0.0) * (1 - np.cos(np.linspace(1e-3, np.pi / 2, 400))))
    low, high = crossings(chain, x)
    angle = np.linspace(-np.pi / 2, np.pi / 2, 161)
    y, z = np.sin(angle), np.cos(angle)
    if math.isinf(power):
        y, z = np.array([-1.0, -1.0, 1.0, 1.0]), np.array([0.0, 1.0, 1.0, 0.0])
    else:
        y, z = np.sign(y) * np.abs(y) ** (2 / power), np.abs(z) ** (2 / power)
    thick = 8.0
    middle, half = (low + high) / 2, (high - low) / 2
    points = np.stack(
        [np.broadcast_to(x[:, None], (len(x), len(y))), middle[:, None] + half[:, None] * y,
         np.broadcast_to(thick * z, (len(x), len(z)))], axis=2)  # fmt: skip
    points = points[::-1]
    mesh = closed(points, np.array([start, chain[np.argmin(chain[:, 0]), 1]]))
    assert mesh.is_watertight
    one = scales(outline, [], section=section, swell=Swell(thick, 0.0, 0.0, -120.0), density_kg_m3=1000.0)
    assert one.mass_g == pytest.approx(2 * mesh.volume * 1e-3, rel=TOLERANCE)
    assert one.centre_mm[:2] == pytest.approx(mesh.center_mass[:2], abs=TOLERANCE_MM)
    assert one.centre_mm[2] == 0.0
