"""A closed triangle mesh as a binary STL file.

The format (its published description of 1989): 80 bytes of text, the number of triangles, and for each its normal, its
three corners and two empty bytes, all little-endian, numbers of 32 bits. It knows no unit: the text names it.
"""

from __future__ import annotations

import struct

import numpy as np
from numpy.typing import NDArray

HEADER_BYTES = 80

_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])


def stl_bytes(vertices_mm: NDArray[np.float64], faces: NDArray[np.int64], title: str) -> bytes:
    """Return a binary STL file.

    Args:
        vertices_mm: (n, 3) points [mm].
        faces: (m, 3) numbers of each triangle's points, counter-clockwise from outside.
        title: Text of the header; what does not fit is cut off. It must not begin with "solid", the mark of the
            written-out kind of the format.
    """
    corners = vertices_mm.astype("<f4")[faces]
    a, b, c = np.moveaxis(corners.astype(np.float64), 1, 0)
    normals = np.cross(b - a, c - a)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    table = np.zeros(len(faces), dtype=_TRIANGLE)
    table["normal"] = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0) + 0.0
    table["corners"] = corners
    header = title.encode("ascii", "replace")[:HEADER_BYTES].ljust(HEADER_BYTES)
    return header + struct.pack("<I", len(faces)) + table.tobytes()
