"""A blade, its oversize and a small DXF text writer, all independent of the package's own writer."""

from __future__ import annotations

import math

import numpy as np

from blankwright.geometry.outline import Outline
from blankwright.proof.holes import ExpectedHole
from blankwright.proof.proof import Expected

CLEARANCE_MM = 1.0
HOLES = (
    ExpectedHole(-40.0, 12.0, 5.1, "cut"),
    ExpectedHole(-90.0, 10.0, 5.1, "ream"),
    ExpectedHole(-65.0, 11.0, 6.0, "drill"),
)
UNDER_MM = {"cut": 0.0, "ream": 0.25}
"""How much smaller than finished a hole is cut: to size, or 0.25 mm under for the reamer (common practice)."""


def cut_mm(hole: ExpectedHole) -> float | None:
    """Return the diameter that a hole is cut [mm], None for one that is drilled."""
    return None if hole.made_by == "drill" else hole.diameter_mm - UNDER_MM[hole.made_by]


def finished_vertices() -> np.ndarray:
    """A convex counter-clockwise blade with handle: straight butt, arced edge and spine, a sharp tip."""
    return np.array(
        [
            [-110.0, 0.0, 0.0],  # handle underside
            [0.0, -2.0, 0.08],  # edge, rising to the tip
            [150.0, 25.0, 0.02],  # spine
            [-20.0, 30.0, 0.02],
            [-110.0, 24.0, 0.0],  # butt
        ]
    )


def grown(vertices: np.ndarray, by_mm: float) -> np.ndarray:
    """Offset a convex chain: concentric arcs, and a round at each corner. Plain trigonometry."""
    rows: list[list[float]] = []
    n = len(vertices)
    ends = []
    for i in range(n):
        (x0, y0, b), (x1, y1, _) = vertices[i], vertices[(i + 1) % n]
        chord, heading, half = math.hypot(x1 - x0, y1 - y0), math.atan2(y1 - y0, x1 - x0), 2 * math.atan(b)
        assert chord > 0
        a0, a1 = heading - half, heading + half
        ends.append((a0, a1))
        rows.append([x0 + by_mm * math.sin(a0), y0 - by_mm * math.cos(a0), b])
        rows.append([x1 + by_mm * math.sin(a1), y1 - by_mm * math.cos(a1), 0.0])
    for i in range(n):
        turn = (ends[(i + 1) % n][0] - ends[i][1] + math.pi) % (2 * math.pi) - math.pi
        assert turn > 0, "the chain must be convex"
        rows[2 * i + 1][2] = math.tan(turn / 4)
    return np.array(rows)


def expected(unit: str = "mm", loss_mm: float = 0.4) -> Expected:
    finished = Outline(finished_vertices(), ("tang", "edge", "spine", "tang", "butt"))
    n = len(finished)
    return Expected(
        finished=finished,
        asked_mm=np.full(n, CLEARANCE_MM),
        loss_mm=np.full(n, loss_mm),
        holes=HOLES,
        unit=unit,
        marks=True,
        deviation_mm=0.0,
    )


def tags(*pairs: object) -> str:
    return "".join(f"{pairs[i]}\n{pairs[i + 1]}\n" for i in range(0, len(pairs), 2))


def lwpolyline(vertices: np.ndarray, layer: str = "CUT", closed: bool = True, extra: str = "") -> str:
    text = tags(0, "LWPOLYLINE", 8, layer, 90, len(vertices), 70, int(closed)) + extra
    return text + "".join(tags(10, repr(float(x)), 20, repr(float(y)), 42, repr(float(b))) for x, y, b in vertices)


def polyline(vertices: np.ndarray, layer: str = "CUT", flags: int = 1) -> str:
    text = tags(0, "POLYLINE", 8, layer, 66, 1, 10, 0, 20, 0, 30, 0, 70, flags)
    text += "".join(tags(0, "VERTEX", 8, layer, 10, float(x), 20, float(y), 42, float(b)) for x, y, b in vertices)
    return text + tags(0, "SEQEND")


def circle(x: float, y: float, diameter: float, layer: str = "CUT") -> str:
    return tags(0, "CIRCLE", 8, layer, 10, x, 20, y, 40, diameter / 2)


def point(x: float, y: float, layer: str = "DRILL") -> str:
    return tags(0, "POINT", 8, layer, 10, x, 20, y)


def document(
    entities: str,
    *,
    box: tuple[float, float, float, float] | None,
    insunits: int | None = 4,
    measurement: int | None = 1,
    release: str = "AC1015",
    layers: tuple[str, ...] = ("0", "CUT", "DRILL"),
    blocks: str = "",
    layer_flags: int = 0,
) -> str:
    head = tags(9, "$ACADVER", 1, release)
    head += "" if insunits is None else tags(9, "$INSUNITS", 70, insunits)
    head += "" if measurement is None else tags(9, "$MEASUREMENT", 70, measurement)
    if box is not None:
        head += tags(9, "$EXTMIN", 10, box[0], 20, box[1], 30, 0) + tags(9, "$EXTMAX", 10, box[2], 20, box[3], 30, 0)
    table = tags(0, "TABLE", 2, "LAYER", 70, len(layers))
    table += "".join(tags(0, "LAYER", 2, name, 70, layer_flags, 62, 7, 6, "CONTINUOUS") for name in layers)
    return (
        tags(999, "written by a test", 0, "SECTION", 2, "HEADER") + head + tags(0, "ENDSEC")
        + tags(0, "SECTION", 2, "TABLES") + table + tags(0, "ENDTAB", 0, "ENDSEC")
        + tags(0, "SECTION", 2, "BLOCKS") + blocks + tags(0, "ENDSEC")
        + tags(0, "SECTION", 2, "ENTITIES") + entities + tags(0, "ENDSEC", 0, "EOF")
    )  # fmt: skip


def cut_vertices(by_mm: float = CLEARANCE_MM) -> np.ndarray:
    return grown(finished_vertices(), by_mm)


def holes_text(scale: float = 1.0) -> str:
    text = ""
    for hole in HOLES:
        x, y = hole.x_mm * scale, hole.y_mm * scale
        diameter = cut_mm(hole)
        text += point(x, y) if diameter is None else circle(x, y, diameter * scale)
    return text


def good(**changes: object) -> str:
    """The text of a sound file; keyword arguments go to `document`, or replace contour= or holes=."""
    outline = Outline(cut_vertices())
    contour = str(changes.pop("contour", lwpolyline(cut_vertices())))
    holes = str(changes.pop("holes", holes_text()))
    more = str(changes.pop("more", ""))
    changes.setdefault("box", outline.bounds_mm)
    return document(contour + holes + more, **changes)  # type: ignore[arg-type]
