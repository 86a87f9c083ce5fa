"""A text builder for cutting files, sound and spoiled; knows nothing of the package."""

from __future__ import annotations

import math
import random
import re

Row = tuple[float, float, float]

BLADE: list[Row] = [
    (-110.0, 0.0, 0.0),  # handle underside
    (0.0, -2.0, 0.08),  # edge, rising to the tip
    (150.0, 25.0, 0.02),  # spine
    (-20.0, 30.0, 0.02),
    (-110.0, 24.0, 0.0),  # butt
]
"""A convex blade with handle, counter-clockwise: x, y and bulge to the next vertex."""
HOLES = ((-40.0, 12.0, 5.0), (-90.0, 10.0, 5.0))


def tags(*pairs: object) -> str:
    return "".join(f"{pairs[i]}\n{pairs[i + 1]}\n" for i in range(0, len(pairs), 2))


def arc_of(a: Row, b: Row) -> tuple[float, float, float, float, float]:
    """Return centre, radius and angles [degrees], counter-clockwise, of the arc from a to b."""
    dx, dy, g = b[0] - a[0], b[1] - a[1], a[2]
    k = (1 - g * g) / (4 * g)
    cx, cy = (a[0] + b[0]) / 2 - dy * k, (a[1] + b[1]) / 2 + dx * k
    first, last = (math.degrees(math.atan2(p[1] - cy, p[0] - cx)) for p in ((a, b) if g > 0 else (b, a)))
    return cx, cy, math.hypot(a[0] - cx, a[1] - cy), first, last


def line(x0: float, y0: float, x1: float, y1: float, layer: str = "0") -> str:
    return tags(0, "LINE", 8, layer, 10, repr(x0), 20, repr(y0), 11, repr(x1), 21, repr(y1))


def arc(cx: float, cy: float, r: float, first: float, last: float, layer: str = "0") -> str:
    return tags(0, "ARC", 8, layer, 10, repr(cx), 20, repr(cy), 40, repr(r), 50, repr(first), 51, repr(last))


def circle(x: float, y: float, wide: float, layer: str = "0") -> str:
    return tags(0, "CIRCLE", 8, layer, 10, repr(x), 20, repr(y), 40, repr(wide / 2))


def point(x: float, y: float, layer: str = "0") -> str:
    return tags(0, "POINT", 8, layer, 10, x, 20, y)


def light(rows: list[Row], layer: str = "0", *, closed: bool = True, extra: str = "") -> str:
    text = tags(0, "LWPOLYLINE", 8, layer, 90, len(rows), 70, int(closed)) + extra
    return text + "".join(tags(10, repr(x), 20, repr(y), 42, repr(b)) for x, y, b in rows)


def heavy(rows: list[Row], layer: str = "0", *, flags: int = 1, z: float = 0.0) -> str:
    text = tags(0, "POLYLINE", 8, layer, 66, 1, 10, 0, 20, 0, 30, z, 70, flags)
    text += "".join(tags(0, "VERTEX", 8, layer, 10, repr(x), 20, repr(y), 30, z, 42, repr(b)) for x, y, b in rows)
    return text + tags(0, "SEQEND")


def pieces(rows: list[Row], layer: str = "0", *, seed: int | None = None) -> list[str]:
    """Return every piece as LINE or ARC; with a seed in random order and direction."""
    rng = random.Random(seed)
    out = []
    for a, b in zip(rows, [*rows[1:], rows[0]], strict=True):
        if a[2]:
            out.append(arc(*arc_of(a, b), layer))
        elif seed is not None and rng.random() < 0.5:
            out.append(line(b[0], b[1], a[0], a[1], layer))
        else:
            out.append(line(a[0], a[1], b[0], b[1], layer))
    if seed is not None:
        rng.shuffle(out)
    return out


def spline(points: list[tuple[float, float]], layer: str = "0", degree: int = 3) -> str:
    n = len(points)
    inner = [i + 1 for i in range(n - degree - 1)]
    knots = [0] * (degree + 1) + inner + [n - degree] * (degree + 1)
    text = tags(0, "SPLINE", 8, layer, 70, 8, 71, degree, 72, len(knots), 73, n, 74, 0)
    text += "".join(tags(40, k) for k in knots)
    return text + "".join(tags(10, repr(x), 20, repr(y), 30, 0) for x, y in points)


def ellipse(x: float, y: float, major: tuple[float, float], ratio: float, layer: str = "0") -> str:
    return tags(0, "ELLIPSE", 8, layer, 10, x, 20, y, 30, 0, 11, major[0], 21, major[1], 31, 0, 40, ratio, 41, 0, 42,
                2 * math.pi)  # fmt: skip


def insert(name: str, x: float = 0, y: float = 0, *, sx: float = 1, sy: float = 1, turn: float = 0) -> str:
    return tags(0, "INSERT", 8, "0", 2, name, 10, x, 20, y, 41, sx, 42, sy, 50, turn)


def block(name: str, inside: str) -> str:
    return tags(0, "BLOCK", 8, "0", 2, name, 70, 0, 10, 0, 20, 0) + inside + tags(0, "ENDBLK", 8, "0")


def box_of(rows: list[Row]) -> tuple[float, float, float, float]:
    """Return the extents, arcs walked in small steps."""
    xs, ys = [], []
    for a, b in zip(rows, [*rows[1:], rows[0]], strict=True):
        xs.append(a[0])
        ys.append(a[1])
        if a[2]:
            cx, cy, r, first, last = arc_of(a, b)
            for k in range(2001):
                angle = math.radians(first + ((last - first) % 360) * k / 2000)
                xs.append(cx + r * math.cos(angle))
                ys.append(cy + r * math.sin(angle))
    return min(xs), min(ys), max(xs), max(ys)


def scaled(rows: list[Row], factor: float) -> list[Row]:
    return [(x * factor, y * factor, b) for x, y, b in rows]


def holes(factor: float = 1.0, layer: str = "0") -> str:
    return "".join(circle(x * factor, y * factor, d * factor, layer) for x, y, d in HOLES)


MARKERS = {
    "HATCH": "AcDbHatch", "IMAGE": "AcDbRasterImage",
    "LINE": "AcDbLine", "CIRCLE": "AcDbCircle", "ARC": "AcDbCircle", "POINT": "AcDbPoint", "LWPOLYLINE": "AcDbPolyline",
    "POLYLINE": "AcDb2dPolyline", "SPLINE": "AcDbSpline", "ELLIPSE": "AcDbEllipse", "INSERT": "AcDbBlockReference",
}  # fmt: skip
"""Subclass markers, DXF reference: from release R13 on each entity has them."""


def marked(entities: str) -> str:
    """Return entities as releases from R13 on have them, with their subclass markers."""
    head = rf"(?m)^0\n({'|'.join(MARKERS)})\n8\n(.*)\n"
    out = re.sub(head, lambda m: tags(0, m[1], 100, "AcDbEntity", 8, m[2], 100, MARKERS[m[1]]), entities)
    return re.sub(r"(\n100\nAcDbCircle\n10\n.*\n20\n.*\n40\n.*\n)(50\n)", r"\g<1>100\nAcDbArc\n\2", out)


def document(
    entities: str, *, insunits: int | None = 4, measurement: int | None = 1, release: str = "AC1015",
    layers: tuple[str, ...] = ("0",), off: tuple[str, ...] = (), frozen: tuple[str, ...] = (), blocks: str = "",
    box: tuple[float, float, float, float] | None = None, end: bool = True,
) -> str:  # fmt: skip
    if release > "AC1009":
        entities, blocks = marked(entities), marked(blocks)
    head = tags(9, "$ACADVER", 1, release)
    head += "" if insunits is None else tags(9, "$INSUNITS", 70, insunits)
    head += "" if measurement is None else tags(9, "$MEASUREMENT", 70, measurement)
    if box is not None:
        head += tags(9, "$EXTMIN", 10, box[0], 20, box[1], 30, 0, 9, "$EXTMAX", 10, box[2], 20, box[3], 30, 0)
    table = tags(0, "TABLE", 2, "LAYER", 70, len(layers))
    for name in layers:
        table += tags(0, "LAYER", 2, name, 70, int(name in frozen), 62, -7 if name in off else 7, 6, "CONTINUOUS")
    text = tags(0, "SECTION", 2, "HEADER") + head + tags(0, "ENDSEC")
    text += tags(0, "SECTION", 2, "TABLES") + table + tags(0, "ENDTAB", 0, "ENDSEC")
    text += tags(0, "SECTION", 2, "BLOCKS") + blocks + tags(0, "ENDSEC") if blocks else ""
    text += tags(0, "SECTION", 2, "ENTITIES") + entities + tags(0, "ENDSEC")
    return text + (tags(0, "EOF") if end else "")


def sound(more: str = "", **changes: object) -> str:
    """Return a sound file with the blade and its holes, and more entities."""
    outline = str(changes.pop("outline", light(BLADE)))
    drilled = str(changes.pop("drilled", holes()))
    return document(outline + drilled + more, **changes)  # type: ignore[arg-type]


def polygon(x: float, y: float, wide: float, sides: int) -> list[Row]:
    turn = 2 * math.pi / sides
    return [(x + wide / 2 * math.cos(k * turn), y + wide / 2 * math.sin(k * turn), 0.0) for k in range(sides)]


def flattened(rows: list[Row], step_deg: float = 1.0) -> list[Row]:
    """Return the outline with every arc as short lines."""
    out: list[Row] = []
    for a, b in zip(rows, [*rows[1:], rows[0]], strict=True):
        out.append((a[0], a[1], 0.0))
        if a[2]:
            cx, cy, r, first, last = arc_of(a, b)
            sweep = (last - first) % 360
            n = max(1, round(sweep / step_deg))
            angles = [math.radians(first + sweep * k / n) for k in range(1, n)]
            steps = [(cx + r * math.cos(t), cy + r * math.sin(t), 0.0) for t in angles]
            out += steps if a[2] > 0 else steps[::-1]
    return out
