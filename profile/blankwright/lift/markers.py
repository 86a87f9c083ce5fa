"""The square markers of a frame: which of their cells are black, and how they are drawn.

They are the first 100 markers of OpenCV's dictionary DICT_4X4_100 (module cv2.aruco, Apache License 2.0): four rows of
four cells inside a black border one cell wide.
"""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.ink.marks import Patch, Point

CELLS = 6
"""Cells along a side, the black border included."""

_INSIDE = 4
_CODES = (
    0xB532, 0x0F9A, 0x332D, 0x9946, 0x549E, 0x79CD, 0x9E2E, 0xC4F2, 0xFEDA, 0xCF56,
    0xF991, 0x11A7, 0x0EB7, 0x2A0F, 0x24B1, 0x263E, 0x4665, 0x6600, 0x6C5E, 0x76AF,
    0x868B, 0xB02B, 0xCCD5, 0xDD82, 0xFE47, 0x9471, 0xACE4, 0xA554, 0x2123, 0x346F,
    0x4415, 0x57B2, 0x9ECF, 0xF0CB, 0x08AE, 0x0929, 0x1875, 0x04FF, 0x0DF6, 0x1C5A,
    0x1718, 0x2A28, 0x328C, 0x38B2, 0x24E8, 0x2EEB, 0x2D3F, 0x4B64, 0x502E, 0x5013,
    0x5194, 0x5568, 0x5D41, 0x5F97, 0x6801, 0x6867, 0x6124, 0x61E9, 0x6B12, 0x6FE5,
    0x67DF, 0x7E1B, 0x80A0, 0x8344, 0x8BA2, 0x937A, 0x846C, 0x852A, 0x859C, 0x9C89,
    0x9FA1, 0xBB7C, 0xBC04, 0xB65B, 0xBFC8, 0xB7AB, 0xCA1F, 0xC962, 0xD958, 0xD3D5,
    0xCC98, 0xC7A0, 0xC537, 0xE95D, 0xF925, 0xFBBB, 0xEE2A, 0xF74D, 0x3575, 0x8AAD,
    0x7617, 0x0ACF, 0x064B, 0x2DC1, 0x49D8, 0x43F4, 0x4F36, 0x4FD3, 0x69E4, 0x70C7,
)  # fmt: skip
# The inner cells row by row from the top left, the first in the highest bit, 1 for white.

COUNT = len(_CODES)
"""How many markers there are."""


def is_white(number: int) -> tuple[tuple[bool, ...], ...]:
    """Return the cells of a marker, row by row from the top, its border included.

    Args:
        number: Which marker, from 0.

    Raises:
        RequestError: There is no such marker.
    """
    if not 0 <= number < COUNT:
        raise RequestError(f"a marker's number is 0 to {COUNT - 1}, got {number}.")
    code, edge = _CODES[number], range(1, 1 + _INSIDE)
    return tuple(
        tuple(
            row in edge and column in edge and bool(code >> (_INSIDE * (_INSIDE - row) + _INSIDE - column) & 1)
            for column in range(CELLS)
        )
        for row in range(CELLS)
    )


def drawn(number: int, corner_mm: Point, side_mm: float) -> Patch:
    """Return a marker as one filled area: cells that touch have no seam between them.

    Args:
        number: Which marker, from 0.
        corner_mm: Its lower left corner on the page [mm].
        side_mm: Length of its side [mm].
    """
    x0, y0 = corner_mm
    cell = side_mm / CELLS
    rings = (((0, 0), (CELLS, 0), (CELLS, CELLS), (0, CELLS)), *_white_rings(is_white(number)))
    return Patch(tuple(tuple((x0 + x * cell, y0 + y * cell) for x, y in ring) for ring in rings))


def _white_rings(white: tuple[tuple[bool, ...], ...]) -> list[tuple[tuple[int, int], ...]]:
    """Return the outlines of the white areas, in cells from the lower left corner, in a fixed order."""
    after: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for row, cells in enumerate(white):
        for x, there in enumerate(cells):
            y = CELLS - 1 - row
            around = (
                ((x, y), (x + 1, y), (x, y - 1)),
                ((x + 1, y), (x + 1, y + 1), (x + 1, y)),
                ((x + 1, y + 1), (x, y + 1), (x, y + 1)),
                ((x, y + 1), (x, y), (x - 1, y)),
            )
            for a, b, (nx, ny) in around if there else ():
                if not white[CELLS - 1 - ny][nx]:
                    after.setdefault(a, []).append(b)
    rings = []
    while after:
        start = min(after)
        ring: list[tuple[int, int]] = []
        at = start
        while not ring or at != start:
            ring.append(at)
            nexts = after[at]
            at = nexts.pop(_turn(ring, nexts))
            if not nexts:
                del after[ring[-1]]
        rings.append(_without_middles(ring))
    return rings


def _turn(ring: list[tuple[int, int]], nexts: list[tuple[int, int]]) -> int:
    """Return which way on is the left one: areas that touch at a corner are two rings."""
    if len(ring) < 2 or len(nexts) == 1:
        return 0
    (ax, ay), (bx, by) = ring[-2], ring[-1]
    left = (bx - (by - ay), by + (bx - ax))
    return nexts.index(left) if left in nexts else 0


def _without_middles(ring: list[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Return a ring without the points that lie on a straight side."""
    count = len(ring)
    return tuple(
        b
        for i, b in enumerate(ring)
        for a, c in [(ring[i - 1], ring[(i + 1) % count])]
        if (b[0] - a[0]) * (c[1] - b[1]) != (b[1] - a[1]) * (c[0] - b[0])
    )
