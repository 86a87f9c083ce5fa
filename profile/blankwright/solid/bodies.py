"""Masses with a centre, and their sum."""

from __future__ import annotations

from collections.abc import Sequence

from blankwright.base.frozen import dataclass


@dataclass(frozen=True)
class Body:
    """A mass and where its centre is.

    Args:
        mass_g: Mass [g].
        centre_mm: Centre x, y, z [mm].
    """

    mass_g: float
    centre_mm: tuple[float, float, float]


def together(bodies: Sequence[Body]) -> Body:
    """Return the sum of bodies; their total must not be zero."""
    total = sum(b.mass_g for b in bodies)
    x, y, z = (sum(b.mass_g * b.centre_mm[axis] for b in bodies) / total for axis in range(3))
    return Body(total, (x, y, z))
