"""A blade's lines: points that a maker takes off a pattern, made into the curves of a family."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.fields import Fields, as_point
from blankwright.base.frozen import dataclass
from blankwright.base.units import angle_deg
from blankwright.design.parts import Point
from blankwright.design.through import DEGREE, Through, through
from blankwright.geometry.spline import Spline

ROUND_SPACING = 0.5
"""How evenly control points lie along a line that runs round a tip: more of them where its points are close."""

NECK_SHARE = 0.62
"""Our drawing: between heel and handle the underside is held at this share of the gap."""

_DROP_MM = 0.3
"""A spine that falls less than this halfway along is straight, and offers no drop."""

LEAN_UP_MM = 10.0
"""How far above the heel corner the lean of the heel's line is measured."""

_PER_SPAN = 200


@dataclass(frozen=True)
class DrawnBlade:
    """The curves of a blade as tables of a family file, and what they measure by the keys of `[blade]` [mm]."""

    curves: list[dict[str, Any]]
    measures: dict[str, float]


@dataclass(frozen=True)
class Lines:
    """Points on the lines of a blade.

    Args:
        edge: From the heel corner to the tip.
        nose: Between edge and spine; of a blade that ends in a point there are none.
        corner: How nose and spine meet: a radius as text, or None where the tip is round.
        spine: From behind the tip to over the heel, the last.
        lean_deg: How far the line of the heel leans back from upright [degrees].
        heel_joint: How the heel corner is kept: "sharp" or a radius as text.
        choil: Radius of the inner corner as text, or the dimension that is it.
        tip: How the tip of a blade that ends in a point is kept: "sharp", or the dimension that is its radius.
    """

    edge: tuple[Point, ...]
    nose: tuple[Point, ...]
    corner: str | None
    spine: tuple[Point, ...]
    lean_deg: float
    heel_joint: str
    choil: str
    tip: str = "sharp"

    @property
    def flat(self) -> bool:
        """Whether the edge begins with a true straight."""
        return len(self.edge) > 2 and self.edge[1][1] == 0.0

    def joined(self, behind: Sequence[Point], corner: Point | None) -> DrawnBlade:
        """Return the curves of the blade in front of a handle.

        Args:
            behind: Control points of the handle that the spine runs into; none for a shoulder.
            corner: Where the spine ends at a shoulder.
        """
        end = [corner] if corner is not None else []
        last = "sharp" if corner is not None else "smooth"
        if self.nose and self.corner is None:
            return self._round(behind, end, last)
        edge = through(self.edge, flat=self.flat)
        start = self.nose[-1] if self.nose else self.edge[-1]
        spine = through([start, *self.spine, *end], behind=behind)
        curves = [_curve("edge", "edge", "edge", self.tip, edge.controls)]
        if self.nose:
            nose = (
                [*through([self.edge[-1], *self.nose]).controls] if len(self.nose) > 1 else [self.edge[-1], *self.nose]
            )
            curves.append(_curve("nose", "spine", "spine", self.corner or "sharp", nose[1:]))
        curves.append(_curve("spine", "spine", "spine", last, spine.controls[1:]))
        long, high = self.edge[-1]
        return DrawnBlade(curves, self._measures(long, high, _whole_spline(spine, behind)))

    def _round(self, behind: Sequence[Point], end: list[Point], last: str) -> DrawnBlade:
        """Return edge, tip and spine of a round tip: one smooth line."""
        points = [*self.edge, *self.nose, *self.spine, *end]
        found = through(points, flat=self.flat, behind=behind, even=ROUND_SPACING)
        foremost = max(range(len(points)), key=lambda i: points[i][0])
        pulls = [max(i - 1.0, i / DEGREE) for i in range(len(found.controls))]
        first = next(i for i, t in enumerate(pulls) if t >= found.at[len(self.edge) - 1])
        second = next(i for i, t in enumerate(pulls) if t > found.at[foremost])
        first = min(first, second - 1)
        controls = found.controls
        spline = _whole_spline(found, behind)
        t = np.linspace(0, spline.spans, _PER_SPAN * spline.spans + 1)
        tip = spline.at(t)[spline.at(t)[:, 0].argmax()]
        return DrawnBlade(
            [
                _curve("edge", "edge", "edge", "smooth", controls[:first]),
                _curve("tip", "edge", "edge", "smooth", controls[first:second]),
                _curve("spine", "spine", "spine", last, controls[second:]),
            ],
            self._measures(float(tip[0]), float(tip[1]), spline),
        )

    def _measures(self, long: float, high: float, spline: Spline) -> dict[str, float]:
        """Return what the lines measure, by the keys of `[blade]` [mm]."""
        found = {"length": long, "heel_height": self.spine[-1][1], "tip_height": high}
        if self.flat:
            found["flat_length"] = self.edge[1][0]
        middle = _height(spline, long / 2)
        if self.nose and self.corner is None:
            found["belly_height"] = _height(spline, 0.7 * long)
        elif self.spine[-1][1] - middle >= _DROP_MM:
            found["spine_drop"] = self.spine[-1][1] - middle
        return {key: round(mm, 2) for key, mm in (found | {"heel_lean": lean_mm(self.lean_deg)}).items()}

    def heel(self, gap_mm: float, under_mm: float, hidden: bool) -> list[dict[str, Any]]:
        """Return the curves from the underside of the handle down to the heel corner.

        Args:
            gap_mm: From the heel corner back to the handle [mm].
            under_mm: Height of the underside [mm].
            hidden: Whether the underside ends at a shoulder, from which the neck is straight.
        """
        corner = (-under_mm * math.tan(math.radians(self.lean_deg)), under_mm)
        neck = [corner] if hidden else [(-gap_mm * NECK_SHARE, under_mm), corner]
        return [
            _curve("neck", "heel", "choil", self.choil, neck),
            _curve("heel", "heel", "choil", self.heel_joint, [(0.0, 0.0)]),
        ]


def lean_mm(lean_deg: float) -> float:
    """Return how far a line has leaned back LEAN_UP_MM above its foot [mm]."""
    return LEAN_UP_MM * math.tan(math.radians(lean_deg))


def lines_of(top: Fields) -> Lines:
    """Return the lines of a blade's table.

    Raises:
        RequestError: Points are missing or do not make a blade; the message names key and point.
    """
    edge, spine = _points(top, "edge", 3), _points(top, "spine", 2)
    nose = _points(top, "nose", 1) if "nose" in top.table else ()
    if edge[0] != (0.0, 0.0):
        raise RequestError(f"{top.where} edge: the first point is the heel corner, [0, 0].")
    if spine[-1][0] != 0 or spine[-1][1] <= 0:
        raise RequestError(f"{top.where} spine: the last point is the one over the heel, [0, height].")
    if any(a[0] >= b[0] for a, b in pairwise(edge)):
        raise RequestError(f"{top.where} edge: its points go forward, from the heel to the tip.")
    heel = top.sub("heel") if "heel" in top.table else Fields({}, f"{top.where} [heel]")
    heel.only(("lean", "round", "radius"))
    return Lines(
        edge, nose, top.text("nose_corner") if "nose_corner" in top.table else None, spine,
        angle_deg(heel.text("lean", "6 deg"), f"{heel.where} lean"), heel.text("round", "sharp"),
        heel.text("radius", "choil_radius"), _tip(top, bool(nose)),
    )  # fmt: skip


def _tip(top: Fields, nosed: bool) -> str:
    """Return how a tip is kept: a blade that offers a radius for it rounds it, if it ends in a point.

    Raises:
        RequestError: It has a nose of its own.
    """
    offered = "blade" in top.table and "tip_radius" in top.sub("blade").table
    if offered and nosed:
        raise RequestError(
            f"{top.where} [blade] tip_radius: a blade with a nose is round there; leave one of them out."
        )
    return "tip_radius" if offered else "sharp"


def _points(top: Fields, key: str, least: int) -> tuple[Point, ...]:
    raw = top.table.get(key)
    if not isinstance(raw, list) or not least <= len(raw) <= 60:
        raise RequestError(
            f"{top.where}: '{key}' must be a list of {least} to 60 points on the line, each [x, y] in mm."
        )
    return tuple(as_point(p, f"{top.where} {key} point {i + 1}") for i, p in enumerate(raw))


def _curve(name: str, region: str, frame: str, joint: str, points: Sequence[Point]) -> dict[str, Any]:
    return {"name": name, "region": region, "frame": frame, "joint": joint, "points": [list(p) for p in points]}


def _whole_spline(found: Through, behind: Sequence[Point]) -> Spline:
    return Spline(np.array([*found.controls, *behind], dtype=np.float64), DEGREE)


def _height(spline: Spline, x_mm: float) -> float:
    """Return the height of the upper line at a place [mm]."""
    places = spline.at(np.linspace(0, spline.spans, _PER_SPAN * spline.spans + 1))
    ahead = int(places[:, 0].argmax())
    upper = places[ahead:][::-1]
    return float(np.interp(x_mm, upper[:, 0], upper[:, 1]))
