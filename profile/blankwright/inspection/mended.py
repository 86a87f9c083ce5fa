"""A mended cutting file: closed polylines, circles and drill spots on their layers, and nothing else."""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.dxflibrary import drawing_library
from blankwright.cutting.dxf import INSUNITS, LAYERS, MEASUREMENT
from blankwright.geometry.outline import piece_bounds


def mended_dxf(
    contours: Sequence[Array], circles: Sequence[tuple[float, float, float]], spots: Sequence[tuple[float, float]]
) -> str:
    """Return a DXF (release R2000, mm) of closed contours as text; the same content gives the same text.

    Args:
        contours: (n, 3) x [mm], y [mm] and bulge of each closed contour.
        circles: Centre x, y and diameter [mm] of each circle.
        spots: Drill spots [mm].
    """
    ezdxf = drawing_library()
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no time stamps: same content, same bytes
    try:
        doc = ezdxf.new("R2000", setup=False)
        doc.header["$INSUNITS"], doc.header["$MEASUREMENT"] = INSUNITS["mm"], MEASUREMENT["mm"]
        space = doc.modelspace()
        for name in ("CUT", "DRILL") if spots else ("CUT",):
            doc.layers.add(name, color=LAYERS[name])
        for rows in contours:
            space.add_lwpolyline(rows.tolist(), format="xyb", close=True, dxfattribs={"layer": "CUT"})
        for x, y, wide in circles:
            space.add_circle((x, y), wide / 2, dxfattribs={"layer": "CUT"})
        for spot in spots:
            space.add_point(spot, dxfattribs={"layer": "DRILL"})
        box = _box(contours, circles, spots)
        if box is not None:
            space.dxf.extmin, space.dxf.extmax = (*box[0].tolist(), 0), (*box[1].tolist(), 0)
            doc.header["$EXTMIN"], doc.header["$EXTMAX"] = space.dxf.extmin, space.dxf.extmax
        stream = io.StringIO()
        doc.write(stream)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    return f"999\nmended copy, all coordinates in mm\n{stream.getvalue()}"


def _box(
    contours: Sequence[Array], circles: Sequence[tuple[float, float, float]], spots: Sequence[tuple[float, float]]
) -> tuple[Array, Array] | None:
    """Return the corners of the exact box around everything [mm]."""
    lows, highs = [], []
    for rows in contours:
        low, high = piece_bounds(rows[:, :2], np.roll(rows[:, :2], -1, axis=0), rows[:, 2])
        lows.append(low.min(axis=0))
        highs.append(high.max(axis=0))
    for x, y, wide in circles:
        lows.append(np.array([x - wide / 2, y - wide / 2]))
        highs.append(np.array([x + wide / 2, y + wide / 2]))
    for spot in spots:
        lows.append(np.array(spot))
        highs.append(np.array(spot))
    return (np.min(lows, axis=0), np.max(highs, axis=0)) if lows else None
