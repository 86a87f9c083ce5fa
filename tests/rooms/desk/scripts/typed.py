"""A designer's script as a strict type checker sees it: every public name used once."""

from pathlib import Path

import numpy as np

import blankwright as bw


def heaviest(lengths: list[float]) -> bw.Knife:
    """Return the heaviest of some knives."""
    knives = [bw.solve("chef", blade_length_mm=length, settings={"material.thickness": 2.5}) for length in lengths]
    return max(knives, key=lambda knife: knife.mass()["finished_knife"] or 0.0)


knife = heaviest([200.0, 210.0])
points = np.asarray(knife.finished)
bend = knife.curvature("edge", 50)[:, 3]
wanted: bw.Dimensions = {"heel_height_mm": 47}
other: bw.Design = knife.design.replace(name="Other", **wanted)
rows = list(bw.sweep(other.replace(blade_length_mm=x) for x in (190.0, 200.0)))
areas: list[float] = [row["finished_area_mm2"] for row in rows if row["error"] is None]
found = knife.aim(["heel_height"], balance_mm=-6.0)
paths: list[Path] = bw.solve(found).write("out")
own: bw.Family = bw.family_from_table({}, "own")
mine = bw.solve(own, blade_length_mm=200, settings={"blade.own_dimension": 12.0})
