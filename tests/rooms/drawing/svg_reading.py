"""A small reader of the drawings, written apart from the writer: path data, lines, circles, texts.

Arcs are turned from end points to centre by the formulas of SVG 1.1 (W3C), appendix F.6.5.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

from blankwright.ink.lettering import CAPITAL_PER_EM
from blankwright.ink.marks import Box, Text

SVG = "{http://www.w3.org/2000/svg}"
_TOKEN = re.compile(r"[MLAZ]|-?\d+(?:\.\d+)?")


def arc_centre(x1, y1, x2, y2, r, large, sweep):
    """Centre and start angle and swept angle of an arc, F.6.5 with equal radii and no rotation."""
    xd, yd = (x1 - x2) / 2, (y1 - y2) / 2
    r = max(r, math.hypot(xd, yd))
    root = math.sqrt(max(0.0, (r**4 - r * r * (yd * yd + xd * xd)) / (r * r * (yd * yd + xd * xd))))
    sign = 1 if large != sweep else -1
    cxd, cyd = sign * root * yd, -sign * root * xd
    cx, cy = cxd + (x1 + x2) / 2, cyd + (y1 + y2) / 2
    a = math.atan2(yd - cyd, xd - cxd)
    b = math.atan2(-yd - cyd, -xd - cxd)
    turn = b - a
    if sweep and turn < 0:
        turn += 2 * math.pi
    if not sweep and turn > 0:
        turn -= 2 * math.pi
    return cx, cy, r, a, turn


def pieces(d):
    """Read path data into ("L", p, q) and ("A", p, q, r, large, sweep)."""
    tokens = _TOKEN.findall(d)
    assert "".join(tokens) == re.sub(r"[\s,]", "", d)
    out, i, at, first, command = [], 0, None, None, None
    while i < len(tokens):
        if tokens[i].isalpha():
            command, i = tokens[i], i + 1
        if command == "Z":
            if at != first:
                out.append(("L", at, first))
            continue
        count = {"M": 2, "L": 2, "A": 7}[command]
        v = [float(t) for t in tokens[i : i + count]]
        i += count
        to = (v[-2], v[-1])
        if command == "M":
            first = to
        elif command == "L":
            out.append(("L", at, to))
        else:
            assert v[0] == v[1] and v[2] == 0
            out.append(("A", at, to, v[0], int(v[3]), int(v[4])))
        at = to
    return out


def path_points(d, step=0.02):
    """Points along a path, arcs turned by at most a step [rad]."""
    points = []
    for piece in pieces(d):
        points.append(piece[1])
        if piece[0] == "A":
            (x1, y1), (x2, y2), r, large, sweep = piece[1:]
            cx, cy, r, a, turn = arc_centre(x1, y1, x2, y2, r, large, sweep)
            count = max(2, math.ceil(abs(turn) / step))
            points += [
                (cx + r * math.cos(a + turn * k / count), cy + r * math.sin(a + turn * k / count))
                for k in range(1, count)
            ]
    return points


def path_area(d):
    """Signed area of a closed path, exact: shoelace of the chords plus the circle segments."""
    area = 0.0
    for piece in pieces(d):
        (x1, y1), (x2, y2) = piece[1], piece[2]
        area += (x1 * y2 - x2 * y1) / 2
        if piece[0] == "A":
            _, _, r, _, turn = arc_centre(x1, y1, x2, y2, *piece[3:])
            area += r * r * (turn - math.sin(turn)) / 2
    return area


@dataclass
class Drawing:
    """What a drawing holds, in sheet coordinates, y down."""

    root: ET.Element
    width: float
    height: float
    lines: list
    rings: list
    paths: dict
    texts: list

    def text_boxes(self):
        """The box of every text with its words; y turned so that the writer's own estimate applies."""
        out = []
        for t in self.texts:
            height = float(t.get("font-size")) * CAPITAL_PER_EM
            bold = t.get("font-weight") == "bold"
            box = Text(float(t.get("x")), -float(t.get("y")), t.text, height, t.get("text-anchor"), bold).box
            out.append((t.text, Box(box.x0, -box.y1, box.x1, -box.y0)))
        return out


def read(svg):
    """Read a drawing."""
    root = ET.fromstring(svg.encode())
    box = [float(v) for v in root.get("viewBox").split()]
    lines = [
        tuple(float(e.get(k)) for k in ("x1", "y1", "x2", "y2")) for e in root.iter(f"{SVG}line")
    ]  # fmt: skip
    rings = [tuple(float(e.get(k)) for k in ("cx", "cy", "r")) for e in root.iter(f"{SVG}circle")]
    paths: dict = {}
    for group in root.iter(f"{SVG}g"):
        paths.setdefault(group.get("class"), []).extend(p.get("d") for p in group.iter(f"{SVG}path"))
    return Drawing(root, box[2], box[3], lines, rings, paths, list(root.iter(f"{SVG}text")))
