"""The same outline and its parallel by a general CAD kernel, Open CASCADE: what a shop's own program would ask for.

Run:  python tests/bench/peer.py        (needs the extra `bench`; speed.py calls it where it is installed)

The kernel is given the control points that a solve ended with, so it does less: it makes the splines, an outline of
them, its area, the parallel outline at the allowance and that one's area. It solves nothing.
"""

from __future__ import annotations

import statistics
import time

from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepGProp import BRepGProp
from OCP.BRepOffsetAPI import BRepOffsetAPI_MakeOffset
from OCP.collections import Array1_double, Array1_gp_Pnt, Array1_int
from OCP.Geom import Geom_BSplineCurve
from OCP.GeomAbs import GeomAbs_Arc
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopoDS import TopoDS, TopoDS_Shape, TopoDS_Wire

from blankwright.design.family import load_family
from blankwright.design.solve import SolvedShape, solve_shape
from blankwright.geometry.spline import Spline

ALLOWANCE_MM = 0.654
"""One distance all around: the kernel has no ramps. It is the mean of what the bench's own cut asks for."""


def edge(spline: Spline) -> Geom_BSplineCurve:
    """Return one of our splines as a curve of the kernel."""
    poles = Array1_gp_Pnt(1, len(spline.points))
    for i, (x, y) in enumerate(spline.points.tolist()):
        poles.SetValue(i + 1, gp_Pnt(x, y, 0))
    knots, times = Array1_double(1, spline.spans + 1), Array1_int(1, spline.spans + 1)
    for i in range(spline.spans + 1):
        knots.SetValue(i + 1, float(i))
        times.SetValue(i + 1, spline.degree + 1 if i in (0, spline.spans) else 1)
    return Geom_BSplineCurve(poles, knots, times, spline.degree)


def wire(shape: SolvedShape) -> TopoDS_Wire:
    """Return the splines as one closed outline."""
    maker = BRepBuilderAPI_MakeWire()
    for spline in shape.splines:
        maker.Add(BRepBuilderAPI_MakeEdge(edge(spline)).Edge())
    return maker.Wire()


def area_mm2(outline: TopoDS_Shape) -> float:
    """Return the area inside an outline."""
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(BRepBuilderAPI_MakeFace(TopoDS.Wire(outline)).Face(), found)
    return abs(found.Mass())


def outline_and_parallel(shape: SolvedShape) -> tuple[float, float]:
    """Return the areas of an outline and of its parallel, made by the kernel [mm2]."""
    whole = wire(shape)
    maker = BRepOffsetAPI_MakeOffset(whole, GeomAbs_Arc)
    maker.Perform(ALLOWANCE_MM)
    return area_mm2(whole), area_mm2(maker.Shape())


def measured(lengths_mm: list[float]) -> float:
    """Return the median processor time of an outline and its parallel [s]; the first one is left out."""
    family, times = load_family("chef"), []
    for length in lengths_mm:
        shape = solve_shape(family, "full", {"blade_length": length, "heel_height": 48.0})
        start = time.process_time()
        outline_and_parallel(shape)
        times.append(time.process_time() - start)
    return statistics.median(times[1:])


def main() -> None:
    """Print areas beside ours, and the time."""
    shape = solve_shape(load_family("chef"), "full", {"blade_length": 210.0, "heel_height": 48.0})
    own, out = outline_and_parallel(shape)
    print(f"area: the kernel {own:.2f}, ours {shape.smooth.area_mm2:.2f} mm2; its parallel {out:.2f} mm2")
    print(f"an outline and its parallel: {measured([190.0 + i for i in range(31)]) * 1e3:.1f} ms")


if __name__ == "__main__":
    main()
