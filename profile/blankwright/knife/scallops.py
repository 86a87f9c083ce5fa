"""The scallops of an edge as a bench meets them: how many, how hollow, and how thick a round tool may be in them."""

from __future__ import annotations

import math

from blankwright.base.frozen import dataclass
from blankwright.design.shape import Shape
from blankwright.solid.section import Bevels

SQUARE_DEG = 90.0
"""Angle of a tool that is held square to the blade's faces."""


@dataclass(frozen=True)
class Scallops:
    """A row of scallops.

    Args:
        count: How many.
        pitch_mm: From point to point [mm].
        depth_mm: How deep each is under the line of its points [mm].
    """

    count: int
    pitch_mm: float
    depth_mm: float

    def tool_mm(self, angle_deg: float = SQUARE_DEG) -> float:
        """Return the diameter of the round tool that lies in a scallop whole; a thicker one rubs the points off [mm].

        The tool's axis runs up the blade, at an angle to its middle. Seen along the axis a scallop keeps its chord and
        is shallower by the angle's sine: the tool is the circle through its points and its bottom (circular segment,
        any handbook of mechanics). Held square it has the scallop's own radius.

        Args:
            angle_deg: Between the tool's axis and the middle of the blade [degrees].

        >>> round(Scallops(20, 8.0, 1.2).tool_mm(), 2)
        14.53
        """
        deep = self.depth_mm * math.sin(math.radians(angle_deg))
        return self.pitch_mm**2 / (4 * deep) + deep


def scallop_edge(bevels: Bevels) -> tuple[float, str]:
    """Return the angle at which scallops are sharpened [degrees], and from which face: "one", "the right", "the left".

    Args:
        bevels: The finished grind.
    """
    right, left = bevels.edge_angles_deg
    one_side = {0.0: "the left", 1.0: "the right"}
    return right if bevels.right_share >= 0.5 else left, one_side.get(bevels.right_share, "one")


def scallops_of(shape: Shape) -> Scallops:
    """Return the scallops of a shape whose edge has them.

    Args:
        shape: The solved shape.
    """
    pitch, depth = (shape.values_mm[f"scallop_{name}"] for name in ("pitch", "depth"))
    # a scallop is the arc that turns inward: its bulge is twice the depth over the pitch
    outline = shape.finished
    edge = (outline.bulges[i] for i, region in enumerate(outline.regions) if region == "edge")
    return Scallops(sum(bool(bulge < -depth / pitch) for bulge in edge), pitch, depth)
