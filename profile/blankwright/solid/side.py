"""One side of sections of a blade: where its bevels end, and its edge, a bevel or a round, in closed form."""

from __future__ import annotations

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.frozen import dataclass


@dataclass(frozen=True)
class Side:
    """One side of sections: where its bevels end.

    Args:
        foot: (n,) height of the edge bevel [mm].
        behind: (n,) how far out the side lies there [mm].
        top: (n,) height of the grind line [mm].
        face: (n,) how far out the face lies [mm].
        radius: Radius of a rounded edge [mm]; 0 for an edge bevel.
    """

    foot: Array
    behind: Array
    top: Array
    face: Array
    radius: float

    def edge_out(self, u: Array) -> Array:
        """Return how far out the edge bevel, or the round, has come at heights up to its foot [mm]."""
        if self.radius > 0:
            result: Array = np.sqrt(np.maximum(u * (2 * self.radius - u), 0.0))
            return result
        straight: Array = u * np.divide(self.behind, self.foot, out=np.zeros_like(self.foot), where=self.foot > 0)
        return straight

    def edge_height(self, out: Array) -> Array:
        """Return the height at which the edge bevel, or the round, has come out by a distance; its foot at most."""
        if self.radius > 0:
            near = np.minimum(out, self.radius)
            result: Array = np.minimum(self.radius - np.sqrt(self.radius**2 - near**2), self.foot)
            return result
        part = np.clip(np.divide(out, self.behind, out=np.ones_like(out), where=self.behind > 0), 0.0, 1.0)
        straight: Array = self.foot * part
        return straight

    def edge_integrals(self, low: Array, out: Array) -> tuple[Array, Array, Array]:
        """Return area, moment about the edge and moment about the plane below a height, all of it further out."""
        if self.radius == 0:
            return trapezoid(out, out + self.edge_out(low), low)
        r, end = self.radius, self.edge_out(low)
        turned = np.arccos(np.clip(1 - low / r, -1.0, 1.0))
        under = r * r / 2 * (turned - np.sin(turned) * np.cos(turned))  # half of a circular segment
        about = r * under - end**3 / 3 + out * low**2 / 2
        across = out * out * low / 2 + out * under + (r * low**2 - low**3 / 3) / 2
        return out * low + under, about, across


def trapezoid(a: Array, b: Array, run: Array) -> tuple[Array, Array, Array]:
    """Return area, moment about its lower side and moment about the plane, of a trapezoid of thicknesses a to b."""
    return run * (a + b) / 2, run * run * (a + 2 * b) / 6, run * (a * a + a * b + b * b) / 6
