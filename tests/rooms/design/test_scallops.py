"""Scallops measured from the file that is cut: pitch, depth, inner radius, and the steel they take."""

from __future__ import annotations

import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from shapely.geometry import Polygon, box

import blankwright as bw
from blankwright.base.errors import DesignError
from blankwright.design.scallops import LEAD_MM, scalloped
from blankwright.design.solve import solve_shape

PITCH_MM, DEPTH_MM = 9.0, 1.5


@pytest.fixture(scope="module")
def knife() -> bw.Knife:
    return bw.solve(
        "bread", settings={"blade.scallop_pitch": f"{PITCH_MM} mm", "blade.scallop_depth": f"{DEPTH_MM} mm"}
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
            if b < -0.05 and x0 > 1 and y0 < 8:
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


def test_the_steel_they_take_is_that_of_the_segments(knife: bw.Knife) -> None:
    """On the flat, where the line of the points is the edge: area of circular segments, any handbook of mechanics."""
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


def test_a_scallop_that_undercuts_itself_is_refused() -> None:
    knife = bw.solve("chef")
    with pytest.raises(DesignError, match="undercuts itself: at most 2 mm works"):
        scalloped(knife.finished, 4.0, 2.5)
    with pytest.raises(DesignError, match="too short"):
        scalloped(knife.finished, 400.0, 2.5)
