"""What an outline measures at the stations of a family's dimensions: the numbers a fit begins with."""

from __future__ import annotations

import math
from collections.abc import Collection

import numpy as np

from blankwright.design.check import chord, station_mm
from blankwright.design.parts import Dimension
from blankwright.design.scallops import LEAD_MM
from blankwright.geometry.outline import Outline


def measured_mm(outline: Outline, dimensions: Collection[Dimension]) -> dict[str, float]:
    """Return what an outline measures, by the names of the dimensions; those that it does not show are left out.

    Args:
        outline: In the design's own coordinates, with its regions.
        dimensions: Dimensions of a family.
    """
    x0, _, x1, _ = outline.bounds_mm
    # where a handle begins is drawn by no line: what a family has by itself is the better guess
    gap = next(d.default_mm for d in dimensions if d.name == "handle_gap")
    places = {"heel": 0.0, "tip": x1, "front": -gap, "butt": x0}
    found = {"blade_length": x1, "handle_gap": gap, "handle_length": -gap - x0} | _scallops_mm(outline, dimensions)
    for d in dimensions:
        m = d.measure
        if d.name in found:
            continue
        if m.kind in ("above", "foremost-height"):
            found[d.name] = float(outline.starts[outline.starts[:, 0].argmax(), 1])
        elif m.kind in ("height", "thickness", "fall", "difference") or m.station is not None:
            value = _at_stations(outline, d, places)
            if math.isfinite(value):
                found[d.name] = value
    return found


def _at_stations(outline: Outline, d: Dimension, places: dict[str, float]) -> float:
    m = d.measure
    if m.station is None:
        return math.nan
    low, high = chord(outline, station_mm(m.station, places))
    if m.kind == "thickness":
        return high.y_mm - low.y_mm
    if m.kind == "height" or m.second is None:
        return high.y_mm
    return high.y_mm - chord(outline, station_mm(m.second, places))[1].y_mm


def _scallops_mm(outline: Outline, dimensions: Collection[Dimension]) -> dict[str, float]:
    """Return pitch and depth of scallops along the edge: the period that its height repeats in most, and its swing."""
    pitch = next((d for d in dimensions if d.name == "scallop_pitch"), None)
    if pitch is None:
        return {}
    x = np.arange(LEAD_MM, 0.6 * outline.bounds_mm[2], 0.25)
    y = np.array([chord(outline, at)[0].y_mm for at in x.tolist()])
    y = y - np.polyval(np.polyfit(x, y, 2), x)
    asked = np.arange(pitch.least_mm, pitch.greatest_mm, 0.02)
    power = np.abs(np.exp(-2j * np.pi * x[None, :] / asked[:, None]) @ (y * np.hanning(len(y))))
    low, high = np.percentile(y, (2, 98)).tolist()
    return {"scallop_pitch": float(asked[int(power.argmax())]), "scallop_depth": high - low}
