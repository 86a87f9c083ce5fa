"""A ground blade worked out anew from the words of the trade, point by point: the judge's own way, none of ours.

Right and left of the edge's plane lies one side each. From the edge upward: the edge bevel, a straight line to the
side's share of the thickness behind the edge; the primary bevel, straight, a part of the wheel, or a parabola that
runs out along the blade; the face. Near a plunge line all that is ground lies further out, as far as the face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from blankwright.solid.section import Bevels


@dataclass(frozen=True)
class Half:
    """One side of a section: heights of its bevels above the edge and how far out they lie [mm]."""

    kind: str
    foot: np.ndarray
    behind: np.ndarray
    top: np.ndarray
    face: np.ndarray
    wheel: float

    def primary(self, share: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return height and distance out at shares of the primary bevel (of the wheel's arc, for a hollow)."""
        run, rise = self.top - self.foot, self.face - self.behind
        if self.kind == "convex":
            return self.foot + run * share, self.face - rise * (1 - share) ** 2
        if self.kind == "flat":
            return self.foot + run * share, self.behind + rise * share
        r, chord = self.wheel / 2, np.hypot(run, rise)
        along, up = np.divide((run, rise), chord, out=np.zeros((2, *chord.shape)), where=chord > 0)
        off = np.sqrt(r**2 - chord**2 / 4)
        turn = np.arcsin(chord / self.wheel) * (2 * share - 1)
        # about the wheel's centre, which lies off the chord's middle outside the steel; two equal roots kept apart
        less = 2 * r * np.sin(turn / 2) ** 2 - (chord**2 / 4) / (r + off)
        u = self.foot + run / 2 + r * np.sin(turn) * along - less * up
        return u, self.behind + rise / 2 + r * np.sin(turn) * up + less * along

    def out_at(self, u: float, out: float) -> float:
        """Return how far out the side lies at a height, for one section."""
        foot, behind, top, face = (float(v) for v in (self.foot, self.behind, self.top, self.face))
        if u >= top or face <= 0:
            return max(face, 0.0)
        if u < foot:
            return min(behind * u / foot + out, face)
        run, rise = top - foot, face - behind
        v = (u - foot) / run
        if self.kind == "flat":
            ground = behind + rise * v
        elif self.kind == "convex":
            ground = face - rise * (1 - v) ** 2
        else:
            p, q, r = complex(foot, behind), complex(top, face), self.wheel / 2
            centre = (p + q) / 2 + 1j * (q - p) / abs(q - p) * math.sqrt(r**2 - abs(q - p) ** 2 / 4)
            ground = centre.imag - math.sqrt(r**2 - (u - centre.real) ** 2)
        return min(ground + out, face)


def halves(height: np.ndarray, spine: np.ndarray, bevels: Bevels) -> tuple[Half, Half]:
    """Return the right and the left half of sections."""
    left = bevels.edge_angle_left_deg
    found = []
    for share, angle in ((bevels.right_share, bevels.edge_angle_deg),
                         (1 - bevels.right_share, bevels.edge_angle_deg if left is None else left)):  # fmt: skip
        thick, face = share * bevels.behind_edge_mm, share * spine
        full = 0.0 if angle == 90 else thick / math.tan(math.radians(angle))
        foot = np.minimum(full, height)
        behind = np.minimum(thick * (foot / full if full > 0 else 1.0), face)
        top = height if bevels.height_mm is None else np.minimum(np.maximum(bevels.height_mm, foot), height)
        found.append(Half(bevels.kind, foot, behind, top, face, bevels.wheel_mm or 0.0))
    return found[0], found[1]


def step_out(x: np.ndarray, at: float, radius: float, deepest: float) -> tuple[np.ndarray, float]:
    """Return how much further out ground steel lies ahead of a plunge line, and where the bevel is full [mm].

    A circle's part: upright where it is a quarter turn from its foot, level at its foot; no deeper than the face.
    """
    deep = min(radius, deepest)
    full = at + math.sqrt(max(2 * radius * deep - deep**2, 0.0))
    back = np.clip(full - x, 0.0, radius)
    return radius - np.sqrt((radius - back) * (radius + back)), full
