"""Random knives with every feature, and their solids as meshes built by the judge's own hand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import manifold3d
import numpy as np
import trimesh

from blankwright.base.errors import BlankwrightError
from blankwright.design.family import load_family
from blankwright.desk.script import Knife, solve
from blankwright.geometry.outline import Outline
from blankwright.solid.section import Bevels
from truth.ground_by_hand import halves, step_out

FAMILIES = ("chef", "utility", "paring", "spreader")
KINDS, BEVELS = ("flat", "hollow", "convex"), ("double", "single", "uneven")
POWERS = {"slab": math.inf, "rounded": 4.0, "oval": 2.0}


@dataclass(frozen=True)
class Case:
    """A knife with what was drawn for it; thickness along x as places and values, by hand."""

    knife: Knife
    asked: dict[str, float | str]
    bevels: Bevels
    before: Bevels
    places: np.ndarray
    thick: np.ndarray

    @property
    def outline(self) -> Outline:
        """The finished outline."""
        return self.knife.finished

    def number(self, key: str, default: float = 0.0) -> float:
        """Return a number that was drawn."""
        return float(self.asked.get(key, default))

    def spine(self, x: np.ndarray) -> np.ndarray:
        """Return the thickness of the steel along x."""
        return np.interp(x, self.places, self.thick)


def words(asked: dict[str, float | str]) -> dict[str, object]:
    """Return drawn numbers as a design file would write them."""
    units = {"edge_angle": " deg", "edge_angle_left": " deg", "right_share": " %", "count": ""}
    return {
        key: value if isinstance(value, str) else f"{value:.9g}{units.get(key.split('.')[1], ' mm')}"
        for key, value in asked.items()
    }


def drawn(seed: int, kind: str | None = None, construction: str | None = None) -> Case:
    """Return the knife of a seed; what does not go together is drawn anew."""
    rng = np.random.default_rng(seed)
    for _ in range(400):
        try:
            across = (kind or KINDS[seed // 3 % 3], BEVELS[seed % 3])
            return _one(rng, FAMILIES[seed % 4], across, construction or ("full", "hidden")[seed // 4 % 2])
        except BlankwrightError:
            continue
    raise AssertionError(f"no knife for seed {seed}")


def _one(rng: np.random.Generator, name: str, across: tuple[str, str], construction: str) -> Case:
    family = load_family(name)
    sizes = {f"{d.name}_mm": float(rng.uniform(d.least_mm, d.greatest_mm)) for d in family.offered(construction)}

    def number(low: float, high: float) -> float:
        return round(float(rng.uniform(low, high)), 4)

    stock = number(1.8, 4.0)
    asked: dict[str, float | str] = {"material.thickness": stock, "pins.count": str(int(rng.integers(3)))}
    asked["pins.diameter"] = number(2, 4)
    # the grind across
    kind, bevel = across
    asked |= {"grind.kind": kind, "grind.bevel": bevel, "grind.behind_edge": number(0.1, 0.5)}
    asked |= {"grind.edge_angle": number(10, 25), "grind.edge_before_hardening": number(0.2, 1.0)}
    share = 50.0
    if bevel != "double":
        share = float(rng.choice([0.0, 100.0])) if bevel == "single" else number(20, 80)
        asked["grind.right_share"] = share
    if rng.random() < 0.4:
        asked["grind.edge_angle_left"] = number(10, 25)
    heel = sizes["heel_height_mm"]
    if rng.random() < 0.6 or kind == "hollow":
        asked["grind.height"] = number(0.3, 0.9 if kind != "hollow" else 0.5) * heel
    if kind == "hollow":
        asked["grind.wheel"] = number(250, 1000)
    # the grind along
    if rng.random() < 0.6:
        asked["grind.plunge_radius"] = number(0.3, 30)
    if rng.random() < 0.6:
        asked["grind.ricasso"] = number(1, 20)
    heel_thick = number(0.7, 1.0) * stock if rng.random() < 0.5 else stock
    tip = number(0.3, 0.9) * heel_thick
    asked["grind.tip_thickness"] = tip
    if heel_thick != stock:
        asked["grind.spine_heel"] = heel_thick
    taper = ("straight", "early", "late", "none", "numbers")[int(rng.integers(5))]
    if taper == "numbers":
        asked["grind.spine_middle"] = number(0.5, 1.0) * heel_thick
        if rng.random() < 0.5:
            asked["grind.spine_near_tip"] = number(0.4, 0.6) * heel_thick
    else:
        asked["grind.taper"] = taper
        if taper == "none":
            tip = heel_thick
            del asked["grind.tip_thickness"]
    if rng.random() < 0.5:
        asked["tang.butt_thickness"] = number(0.4, 1.0) * stock
    # the handle
    section = ("slab", "rounded", "oval")[int(rng.integers(3))]
    if construction == "full":
        asked |= {"scales.thickness": number(4, 10), "scales.section": section}
        if rng.random() < 0.5:
            asked["scales.swell"] = number(0.5, 4)
        if rng.random() < 0.3:
            asked |= {"tang.lightening_count": "2", "tang.lightening_diameter": number(3, 5)}
    else:
        asked |= {"block.width": number(18, 30), "block.section": section}
        asked |= {"block.front_height": number(30, 45), "block.butt_height": number(30, 45)}
        if rng.random() < 0.5:
            asked["block.swell"] = number(0.5, 6)
    knife = solve(name, construction=construction, settings=words(asked), **sizes)
    assert knife.core.shape.front_x_mm < 0
    assert knife.core.ground  # settings that do not go together are refused here
    left = asked.get("grind.edge_angle_left")
    bevels = Bevels(
        kind, asked.get("grind.height"), float(asked["grind.behind_edge"]), float(asked["grind.edge_angle"]),
        asked.get("grind.wheel"), share / 100, None if left is None else float(left),
    )  # type: ignore[arg-type] # fmt: skip
    before = Bevels(kind, bevels.height_mm, max(float(asked["grind.edge_before_hardening"]), bevels.behind_edge_mm),
                    90.0, bevels.wheel_mm, share / 100)  # fmt: skip
    places, thick = _thickness(knife, asked, stock, heel_thick, tip, taper)
    one = Case(knife, asked, bevels, before, places, thick)
    if not _steel_left(one):
        raise BlankwrightError("the hollow grind cuts through")
    return one


def _thickness(
    knife: Knife, asked: dict[str, float | str], stock: float, heel: float, tip: float, taper: str
) -> tuple[np.ndarray, np.ndarray]:
    """Return places along x and the thickness there: a named taper as its own smooth curve."""
    rear, _, end, _ = knife.finished.bounds_mm
    front = knife.core.shape.front_x_mm
    way = np.linspace(0, 1, 400)
    ahead = {0.0: heel, end: tip}
    if taper in ("early", "late"):
        done = way**2 if taper == "late" else 2 * way - way**2
        ahead = dict(zip(end * way, heel + (tip - heel) * done, strict=True))
    if "grind.spine_middle" in asked:
        ahead[end / 2] = float(asked["grind.spine_middle"])
    if "grind.spine_near_tip" in asked:
        ahead[end - 50] = float(asked["grind.spine_near_tip"])
    butt = float(asked.get("tang.butt_thickness", stock))
    all_of = {rear: butt, front: stock} | ahead
    x = np.array(sorted(all_of))
    return x, np.array([all_of[v] for v in x])


def _steel_left(one: Case) -> bool:
    """Whether no side of a hollow passes the plane of the edge, before hardening and after."""
    if one.bevels.kind != "hollow":
        return True
    x, low, high, _ = sections(one, 60)
    share = np.linspace(0, 1, 60)
    for bevels in (one.bevels, one.before):
        for side in halves((high - low)[:, None], one.spine(x)[:, None], bevels):
            if side.face.max() > 0 and side.primary(share)[1].min() < -1e-9:
                return False
    return True


def crossings(chain: np.ndarray, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the least and greatest y of a closed polygon on upright lines."""
    a, b = chain, np.roll(chain, -1, axis=0)
    met = (np.minimum(a[:, 0], b[:, 0]) <= x[:, None]) & (x[:, None] <= np.maximum(a[:, 0], b[:, 0]))
    met &= a[:, 0] != b[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        y = a[:, 1] + (b[:, 1] - a[:, 1]) * (x[:, None] - a[:, 0]) / (b[:, 0] - a[:, 0])
    return np.where(met, y, np.inf).min(axis=1), np.where(met, y, -np.inf).max(axis=1)


def sections(one: Case, stations: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return x, lower and upper y, and how much further out ground steel lies, at stations heel to tip.

    They stand closer together toward the tip and along the step of a plunge line, and twice on the line itself.
    """
    chain = one.outline.flattened(1e-5)
    end = float(chain[:, 0].max())
    at, radius = one.number("grind.ricasso"), one.number("grind.plunge_radius")
    deepest = float(one.spine(np.array([at]))[0]) * max(one.bevels.right_share, 1 - one.bevels.right_share)
    _, full = step_out(np.array([at]), at, radius, deepest)
    x = full + (end - full) * np.sin(np.linspace(0, np.pi / 2, stations + 1)[:-1])
    if full > at:
        x = np.concatenate([full - (full - at) * np.cos(np.linspace(0, np.pi / 2, max(stations // 4, 4)))[:-1], x])
    out = step_out(x, at, radius, deepest)[0]
    if at > 0:
        x = np.concatenate([np.linspace(0, at, max(stations // 12, 2)), x])
        out = np.concatenate([np.full(len(x) - len(out), 1e3), out])
    low, high = crossings(chain, x)
    return x, low, high, out


def blade_mesh(one: Case, bevels: Bevels, stations: int, across: int) -> trimesh.Trimesh:
    """Return the blade ahead of the heel as a closed mesh."""
    return closed(*blade_sections(one, bevels, stations, across))


def blade_sections(one: Case, bevels: Bevels, stations: int, across: int) -> tuple[np.ndarray, np.ndarray]:
    """Return points round the blade at stations heel to tip, and the tip."""
    x, low, high, out = sections(one, stations)
    height, spine = (high - low)[:, None], one.spine(x)[:, None]
    rows = []
    plane = spine * (0.5 - bevels.right_share)
    edge = np.linspace(0, 1, max(across // 4, 3))
    for side, sign in zip(halves(height, spine, bevels), (1.0, -1.0), strict=True):
        up, far = side.primary(np.linspace(0, 1, across))
        u = np.concatenate([side.foot * edge, up, height], axis=1)
        z = np.concatenate([side.behind * edge, far, side.face], axis=1)
        z = np.where((u >= side.top) | (side.face <= 0), side.face, np.minimum(z + out[:, None], side.face))
        rows.append((u, plane + sign * z))
    (ur, zr), (ul, zl) = rows
    u, z = np.concatenate([ur, ul[:, ::-1]], axis=1), np.concatenate([zr, zl[:, ::-1]], axis=1)
    points = np.stack([np.broadcast_to(x[:, None], u.shape), low[:, None] + u, z], axis=2)
    chain = one.outline.flattened(1e-5)
    tip = chain[np.argmax(chain[:, 0])]
    middle = float(one.spine(np.array([tip[0]]))[0]) * (0.5 - bevels.right_share)
    return points, np.array([*tip, middle])


def volume(points: np.ndarray, tip: np.ndarray) -> float:
    """Return what `closed` encloses, summed straight over the sections: of millions of triangles no mesh is built."""
    beside = np.roll(points, -1, axis=1)
    a, b, c, d = points[:-1], beside[:-1], beside[1:], points[1:]
    quads = np.einsum("ijk,ijk->", a, np.cross(b - d, c))  # a(b x c) + a(c x d)
    fans = tip @ np.cross(points[-1], beside[-1]).sum(axis=0)
    fans -= points[0].mean(axis=0) @ np.cross(points[0], beside[0]).sum(axis=0)
    return abs(float(quads + fans)) / 6


def closed(points: np.ndarray, tip: np.ndarray | None = None) -> trimesh.Trimesh:
    """Close sections to a solid: quads between them, fans at both ends, the last a cone where there is a tip."""
    n, m = points.shape[:2]
    last = points[-1].mean(axis=0) if tip is None else tip
    vertices = np.vstack([points.reshape(-1, 3), last, points[0].mean(axis=0)])
    i = np.arange(m)
    j = (i + 1) % m
    k = np.arange(n - 1)[:, None] * m
    a, b, c, d = k + i, k + j, k + m + j, k + m + i
    fans = [(np.full(m, n * m + 1), j, i), (np.full(m, n * m), (n - 1) * m + i, (n - 1) * m + j)]
    faces = [np.stack(corners, axis=-1).reshape(-1, 3) for corners in (*fans, (a, b, c), (a, c, d))]
    corners = np.vstack(faces)
    p, q, r = np.moveaxis(vertices[corners], 1, 0)
    outward = (p * np.cross(q, r)).sum() > 0
    return trimesh.Trimesh(vertices, corners if outward else corners[:, ::-1], process=False)


def solid(mesh: trimesh.Trimesh) -> manifold3d.Manifold:
    """Return a mesh as a solid of the library that cuts them."""
    return manifold3d.Manifold(manifold3d.Mesh64(mesh.vertices.astype(np.float64), mesh.faces.astype(np.uint64)))


def measured(body: manifold3d.Manifold) -> tuple[float, np.ndarray]:
    """Return volume and centre of a cut solid, measured by the mesh library."""
    raw = body.to_mesh64()
    mesh = trimesh.Trimesh(np.asarray(raw.vert_properties)[:, :3], np.asarray(raw.tri_verts), process=False)
    return mesh.volume, mesh.center_mass


def rod(x: float, y: float, diameter: float, length: float) -> manifold3d.Manifold:
    """Return a round rod across the knife; its polygon has the circle's area."""
    n = 96
    radius = diameter / 2 / math.sqrt(math.sin(2 * math.pi / n) / (2 * math.pi / n))
    return manifold3d.Manifold.cylinder(length, radius, radius, n, True).translate((x, y, 0.0))


def tang_solid(one: Case, from_x: float) -> manifold3d.Manifold:
    """Return the steel behind an upright line: the plan drawn out, cut by the thickness along x; holes bored."""
    chain = one.outline.flattened(1e-4)
    plan = manifold3d.CrossSection([chain])
    low_x, low_y, _, high_y = one.outline.bounds_mm
    box = manifold3d.CrossSection.square((from_x - low_x + 10, high_y - low_y + 20)).translate((low_x - 10, low_y - 10))
    plate = (plan ^ box).extrude(60).translate((0, 0, -30))
    x = np.array([low_x - 5, low_x, *one.places[(one.places > low_x) & (one.places < from_x)], from_x, from_x + 5])
    t = one.spine(np.minimum(x, from_x))
    side = np.concatenate([np.column_stack([x, -t / 2]), np.column_stack([x, t / 2])[::-1]])
    # drawn out along z, then turned so that its second direction is across the knife
    prism = manifold3d.CrossSection([side]).extrude(400).rotate((90, 0, 0)).translate((0, 300, 0))
    return plate ^ prism


def bored(one: Case, body: manifold3d.Manifold) -> manifold3d.Manifold:
    """Return a body less the knife's holes."""
    for h in one.knife.holes:
        body = body - rod(h.x_mm, h.y_mm, h.diameter_mm, 100.0)
    return body


def handle_mesh(plan: np.ndarray, section: str, thick: float, more: float, front: float, rear: float, n: int,
                across: int) -> trimesh.Trimesh:  # fmt: skip
    """Return a handle as high as its plan, each section a superellipse (half of it: z from 0), swelling by a parabola.

    Args are the plan's polygon, section, half thickness and its swell, front and rear, stations, points across.
    """
    low_x, high_x = plan[:, 0].min(), plan[:, 0].max()
    x = (low_x + high_x) / 2 + (high_x - low_x) / 2 * np.cos(np.linspace(math.pi - 1e-3, 1e-3, n))
    x[[0, -1]] = low_x + 1e-9, high_x - 1e-9
    low, high = crossings(plan, x)
    power = POWERS[section]
    angle = np.linspace(-math.pi / 2, math.pi / 2, across)
    y, z = np.sin(angle), np.cos(angle)
    if math.isinf(power):
        y, z = np.array([-1.0, -1.0, 1.0, 1.0]), np.array([0.0, 1.0, 1.0, 0.0])
    else:
        z[[0, -1]] = 0.0
        y, z = np.sign(y) * np.abs(y) ** (2 / power), np.abs(z) ** (2 / power)
    middle, half = (front + rear) / 2, (front - rear) / 2
    t = thick + more * (1 - ((x - middle) / half) ** 2)
    across_y = (low + high)[:, None] / 2 + (high - low)[:, None] / 2 * y
    return closed(np.stack([np.broadcast_to(x[:, None], across_y.shape), across_y, t[:, None] * z], axis=2))
