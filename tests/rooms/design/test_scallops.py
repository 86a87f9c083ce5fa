"""Scallops measured from the file that is cut: pitch, depth, inner radius, and the steel they take."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from shapely import contains_xy, prepare
from shapely.geometry import Polygon, box

import blankwright as bw
from blankwright.base.errors import DesignError
from blankwright.design.scallops import LEAD_MM, scalloped
from blankwright.design.solve import solve_shape
from blankwright.design.tang import chord_at
from blankwright.drawing.sections import sections_of
from blankwright.geometry.distance import points_to_pieces
from blankwright.print3d.printable import solids
from blankwright.solid.blade import face_mm
from blankwright.solid.hollows import hollows as scallops_take
from blankwright.solid.section import faces
from rooms.often import EVERY_CASE, repeated

PITCH_MM, DEPTH_MM = 9.0, 1.5
TWO = {"blade.scallop_pitch": "14 mm", "blade.scallop_depth": "2.4 mm"}


@pytest.fixture(scope="module", params=["bread", "curved-bread"])
def knife(request: pytest.FixtureRequest) -> bw.Knife:
    return bw.solve(
        request.param, settings={"blade.scallop_pitch": f"{PITCH_MM} mm", "blade.scallop_depth": f"{DEPTH_MM} mm"}
    )


@pytest.fixture(scope="module")
def hollows(knife: bw.Knife, tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[tuple[float, float, float]]]:
    """Return chord, depth and radius of every arc below the board's reach that turns inward, by layer of the DXF."""
    folder: Path = tmp_path_factory.mktemp("bread")
    knife.write(folder, extras=["finished"])
    (file,) = folder.rglob("*_cut_mm.dxf")
    found: dict[str, list[tuple[float, float, float]]] = {}
    for line in ezdxf.readfile(file).modelspace().query("LWPOLYLINE"):
        rows = [(x, y, b) for x, y, _, _, b in line.get_points()]
        for (x0, y0, b), (x1, y1, _) in zip(rows, [*rows[1:], rows[0]], strict=True):
            chord = math.hypot(x1 - x0, y1 - y0)
            if b < -0.05 and x0 > 1 and y0 < 14:
                found.setdefault(line.dxf.layer, []).append(
                    (chord, chord / 2 * abs(b), chord * (1 + b * b) / 4 / abs(b))
                )
    return found


def test_pitch_and_depth_are_those_asked(hollows: dict[str, list[tuple[float, float, float]]]) -> None:
    chords, depths, radii = np.array(hollows["FINISHED"]).T
    assert len(chords) >= 20
    assert chords == pytest.approx(PITCH_MM, abs=2e-4)
    assert depths == pytest.approx(DEPTH_MM, abs=2e-4)
    # circular segment, any handbook of mechanics
    assert radii == pytest.approx(PITCH_MM**2 / (8 * DEPTH_MM) + DEPTH_MM / 2, abs=2e-3)


def test_the_cut_keeps_its_allowance_and_a_radius_that_the_jet_turns(
    knife: bw.Knife, hollows: dict[str, list[tuple[float, float, float]]]
) -> None:
    finished = np.array(hollows["FINISHED"])[:, 2].mean()
    cut = np.array(hollows["CUT"])[:, 2]
    allowance = knife.report()["allowance"]["regions_mm"]["edge"]
    assert cut == pytest.approx(finished - allowance, abs=0.02)
    assert cut.min() > 0.6  # half of a kerf of 1.2 mm, the widest of the trade's water jets (common practice)


def test_the_points_stand_on_the_edge_as_it_is_drawn(knife: bw.Knife) -> None:
    """Along the curve too, from plain edge at the heel to plain edge at the tip; and nothing is added anywhere."""
    plain, cut = knife.core.edge_line, knife.finished
    deep = (cut.bulges < -DEPTH_MM / PITCH_MM) & (np.array(cut.regions) == "edge")
    places = np.vstack([cut.starts[deep], cut.ends[deep][-1:]])
    edge = np.array(plain.regions) == "edge"
    away = points_to_pieces(places, plain.starts[edge], plain.ends[edge], plain.bulges[edge]).min(axis=1)
    assert away.max() < 2e-6  # the grid of the file
    assert math.hypot(*places[0]) == pytest.approx(LEAD_MM, abs=2e-6)
    tip = cut.starts[int(np.argmax(cut.starts[:, 0]))]
    assert LEAD_MM <= math.hypot(*(places[-1] - tip)) <= LEAD_MM + PITCH_MM
    whole, hollowed = (Polygon(o.flattened(1e-4)) for o in (plain, cut))
    assert hollowed.difference(whole).area < 1e-2
    radius = PITCH_MM**2 / (8 * DEPTH_MM) + DEPTH_MM / 2
    half = math.asin(PITCH_MM / 2 / radius)
    segment = radius**2 * (half - math.sin(half) * math.cos(half))
    # and what lies between chords and edge, which bends outward: chord^3 / 12 radius
    bend = float(plain.curvatures[edge].max())
    extra = whole.area - hollowed.area - deep.sum() * segment
    assert -1e-2 <= extra <= deep.sum() * PITCH_MM**3 * bend / 12


def test_the_steel_they_take_is_that_of_the_segments() -> None:
    """On the flat, where the line of the points is the edge: area of circular segments, any handbook of mechanics."""
    knife = bw.solve(
        "bread", settings={"blade.scallop_pitch": f"{PITCH_MM} mm", "blade.scallop_depth": f"{DEPTH_MM} mm"}
    )
    shape = solve_shape(knife.design.family, "full", dict(knife.design.dimensions_mm))
    radius = PITCH_MM**2 / (8 * DEPTH_MM) + DEPTH_MM / 2
    half = math.asin(PITCH_MM / 2 / radius)
    segment = radius**2 * (half - math.sin(half) * math.cos(half))
    count = int((shape.values_mm["flat_length"] - LEAD_MM) / PITCH_MM)
    flat = box(0, -1, LEAD_MM + count * PITCH_MM, 60)
    plain, cut = (Polygon(o.flattened(1e-4)) for o in (shape.plain, shape.finished))
    assert plain.intersection(flat).area - cut.intersection(flat).area == pytest.approx(count * segment, rel=2e-4)
    assert cut.is_valid
    assert plain.contains(cut.buffer(-1e-3))


@repeated
@pytest.mark.parametrize(
    "grind",
    [{"grind.kind": "hollow", "grind.wheel": "400 mm", "grind.height": "14 mm", "grind.bevel": "single",
          "grind.ricasso": "8 mm", "grind.plunge_radius": "6 mm"}, *([{}] if EVERY_CASE else [])],
)  # fmt: skip
def test_the_grind_runs_to_the_line_of_the_points_and_the_scallops_are_cut_out_of_it(grind: dict[str, str]) -> None:
    """What the scallops take: thickness of the section at each place of the segments, summed over a fine grid.

    And the solid to print, a mesh made by other means, holds the same volume and centre.
    """
    core = bw.solve("bread", settings={**TWO, **grind}).core
    ground, plain, cut = core.ground, core.edge_line, core.finished
    step = 0.04
    rings = [Polygon(o.flattened(1e-4)) for o in (plain, cut)]
    between = rings[0].difference(rings[1])
    x0, y0, x1, y1 = between.bounds
    columns, rows = np.arange(x0, x1, step) + step / 2, np.arange(y0, y1, step) + step / 2
    some = np.append(columns[::8], columns[-1])  # 0.3 mm apart: between them an edge is straight within 0.0003 mm
    ends = np.array([chord_at(plain, float(place)) for place in some])
    chords = np.column_stack([np.interp(columns, some, end) for end in ends.T])
    gone = []
    for piece in between.geoms:
        prepare(piece)
        at = np.meshgrid(*(np.flatnonzero((v >= low) & (v <= high)) for v, low, high in (
            (columns, *piece.bounds[::2]), (rows, *piece.bounds[1::2]))))  # fmt: skip
        gone += [np.stack(at)[:, contains_xy(piece, columns[at[0]], rows[at[1]])]]
    column, row = np.concatenate(gone, axis=1)
    x, y, (low, high) = columns[column], rows[row], chords[column].T
    out = ground.plunge.out_mm(x, face_mm(ground.plunge, ground.taper, ground.bevels)) if ground.plunge else None
    right, left = faces(y - low, high - low, ground.taper.at(x), ground.bevels, out)
    taken = scallops_take(plain, cut, ground.taper, ground.bevels, ground.plunge)
    volume = float((right - left).sum()) * step**2
    assert taken.volume_mm3 == pytest.approx(volume, rel=3e-3)
    assert taken.centre_mm[0] == pytest.approx(float(((right - left) * x).sum()) * step**2 / volume, abs=0.05)
    assert taken.centre_mm[1] == pytest.approx(float(((right - left) * y).sum()) * step**2 / volume, abs=0.01)
    steel = core.weights.ground_blade
    assert steel is not None
    mesh = solids(core)["blade"]
    per_mm3 = core.material.density_kg_m3.value * 1e-6
    assert mesh.volume_mm3 * per_mm3 == pytest.approx(steel.mass_g, rel=3e-4)


def test_the_drawing_says_how_scallops_are_sharpened() -> None:
    core = bw.solve("bread").core
    *_, edge = sections_of(core)
    words = " ".join(edge.facts)
    assert "16° from one face only" in words
    assert "before its scallops" in edge.title
    assert all("each side" not in fact for fact in edge.facts)
    assert any("16° each side" in fact or "each side" in fact for fact in sections_of(bw.solve("chef").core)[-1].facts)


def test_a_scallop_that_undercuts_itself_is_refused() -> None:
    knife = bw.solve("chef")
    with pytest.raises(DesignError, match="undercuts itself: at most 2 mm works"):
        scalloped(knife.finished, 4.0, 2.5)
    with pytest.raises(DesignError, match="too short"):
        scalloped(knife.finished, 400.0, 2.5)
