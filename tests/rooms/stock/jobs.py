"""Random jobs, and two judges of a layout that share nothing with ours: GEOS (shapely) and Clipper2 (pyclipr)."""

from __future__ import annotations

import numpy as np
import shapely

from blankwright.geometry.outline import Outline
from blankwright.stock.blank import Blank, Job
from blankwright.stock.layout import Layout
from blankwright.stock.piece import Piece, Zone, box, polygon, round_zone

FLAT_MM = 2e-4
KEPT_MM = 0.01
"""A gap may be this much smaller than asked."""

CLIPPER_UNITS_PER_MM = 100_000


def random_outline(rng) -> Outline:
    """Return a star-shaped outline of lines and arcs, by chance long and thin."""
    while True:
        n = int(rng.integers(3, 9))
        angles = np.sort(rng.uniform(0, 2 * np.pi, n))
        if np.diff([*angles, angles[0] + 2 * np.pi]).max() > 2.6:
            continue
        radius = rng.uniform(0.35, 1.0, n) * rng.uniform(15, 60)
        points = np.column_stack([np.cos(angles) * radius * rng.choice([1.0, 2.5]), np.sin(angles) * radius])
        bulges = rng.uniform(-0.25, 0.25, n) * (rng.random(n) < 0.6)
        outline = Outline(np.column_stack([points, bulges]))
        if outline.to_shapely(0.01).is_valid and outline.area_mm2 > 100:
            return outline


def random_piece(rng, number: int) -> Piece:
    long, wide = rng.uniform(150, 420), rng.uniform(90, 260)
    kind = str(rng.choice(["bar", "sheet", "found"]))
    if kind == "found":
        taper = rng.uniform(0.6, 1.0)
        outline = polygon([(0.0, 0.0), (long, wide * (1 - taper) / 2), (long, wide * (1 + taper) / 2), (0.0, wide)])
    else:
        outline = box(long, wide)
    zones = []
    for _ in range(int(rng.integers(0, 3))):
        x, y = rng.uniform(0.1, 0.9) * long, rng.uniform(0.2, 0.8) * wide
        d = float(rng.uniform(4, 30))
        shape = round_zone(x, y, d) if rng.random() < 0.5 else box(d, d / 2).moved(x, y)
        zones.append(Zone("avoid", shape, float(rng.uniform(0, 4)), f"zone {len(zones) + 1}"))
    thick = ((0.0, 4.0), (long, float(rng.uniform(2.0, 4.0)))) if kind == "found" else ((0.0, 4.0),)
    grain = float(rng.uniform(-90, 90)) if rng.random() < 0.3 else 0.0
    margin = float(rng.choice([0.0, 2.5]))
    return Piece(f"piece {number}", kind, outline, thick, tuple(zones), margin, grain, int(rng.integers(1, 3)))


def random_job(seed: int) -> Job:
    """Return a job of a few random blanks on one or two random pieces."""
    rng = np.random.default_rng([seed, 16])
    blanks = []
    for k in range(int(rng.integers(1, 4))):
        turns = [("any", 0.0), ("grain", 12.0), ((0.0, 180.0), 0.0), ((0.0, 90.0, 180.0, 270.0), 0.0)]
        turn = turns[int(rng.integers(4))]
        flip = None if rng.random() < 0.6 else False
        count, kerf = int(rng.integers(1, 6)), float(rng.choice([0.0, 1.0]))
        thick = float(rng.uniform(1.0, 3.0))
        blanks.append(Blank(f"blank {k + 1}", random_outline(rng), count, thick, kerf, flip, turn[0], turn[1]))
    pieces = tuple(random_piece(rng, k + 1) for k in range(int(rng.integers(1, 3))))
    return Job(f"random {seed}", pieces, tuple(blanks), float(rng.uniform(1.0, 6.0)))


def faults_by_geos(layout: Layout) -> list[str]:
    """Say what GEOS finds wrong, on polygons as near to the arcs as FLAT_MM."""
    job, out = layout.job, []
    for sheet in layout.sheets:
        piece = job.pieces[sheet.piece]
        steel = shapely.Polygon(piece.outline.flattened(FLAT_MM))
        areas = [shapely.Polygon(layout.outline(one).flattened(FLAT_MM)) for one in sheet.laid]
        for i, (one, area) in enumerate(zip(sheet.laid, areas, strict=True)):
            blank = job.blanks[one.blank]
            edge = job.edge_mm(blank, piece)
            if not steel.buffer(KEPT_MM).covers(area):
                out.append(f"{i} lies beside the steel")
            if steel.exterior.distance(area) < edge - KEPT_MM:
                out.append(f"{i} is {steel.exterior.distance(area)} from the edge")
            for zone in piece.avoided:
                away = shapely.Polygon(zone.outline.flattened(FLAT_MM)).distance(area)
                if away < job.zone_mm(blank, piece, zone) - KEPT_MM:
                    out.append(f"{i} is {away} from {zone.name}")
            apart = [areas[j].distance(area) for j in range(i)]
            out += [f"{j} and {i} are {mm} apart" for j, mm in enumerate(apart) if mm < job.gap_mm - KEPT_MM]
    return out


def faults_by_clipper(layout: Layout) -> list[str]:
    """Say what Clipper2 finds wrong: each blank grown by nearly half a gap must not meet another, nor a zone."""
    job, out = layout.job, []
    half = (job.gap_mm - KEPT_MM) / 2
    for sheet in layout.sheets:
        piece = job.pieces[sheet.piece]
        paths = [layout.outline(one).flattened(FLAT_MM) for one in sheet.laid]
        grown = [_grown(path, half) for path in paths]
        for i, one in enumerate(sheet.laid):
            blank = job.blanks[one.blank]
            out += [f"{j} and {i} meet" for j in range(i) if _meet(grown[j], grown[i])]
            for zone in piece.avoided:
                need = job.zone_mm(blank, piece, zone) - KEPT_MM
                if _meet(_grown(zone.outline.flattened(FLAT_MM), max(need, 0.0)), [paths[i]]):
                    out.append(f"{i} reaches {zone.name}")
            need = job.edge_mm(blank, piece) - KEPT_MM
            if _beyond(_grown(paths[i], max(need, 0.0)), piece.outline.flattened(FLAT_MM)):
                out.append(f"{i} reaches the edge")
    return out


def _grown(path, by_mm):
    import pyclipr

    offset = pyclipr.ClipperOffset()
    offset.scaleFactor = CLIPPER_UNITS_PER_MM
    offset.arcTolerance = 20
    offset.addPath(path, pyclipr.JoinType.Round, pyclipr.EndType.Polygon)
    return [p for p in offset.execute(by_mm) if len(p) > 2] if by_mm > 0 else [path]


def _clipped(subject, clip, kind) -> float:
    import pyclipr

    clipper = pyclipr.Clipper()
    clipper.scaleFactor = CLIPPER_UNITS_PER_MM
    clipper.addPaths(subject, pyclipr.PathType.Subject)
    clipper.addPaths(clip, pyclipr.PathType.Clip)
    return sum(abs(shapely.Polygon(p).area) for p in clipper.execute(kind) if len(p) > 2)


def _meet(one, other) -> bool:
    import pyclipr

    return _clipped(one, other, pyclipr.ClipType.Intersection) > 1e-3


def _beyond(one, steel) -> bool:
    import pyclipr

    return _clipped(one, [steel], pyclipr.ClipType.Difference) > 1e-3
