"""The STL writer: bytes that hold what they must, read here with struct alone."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from blankwright.print3d.stl import HEADER_BYTES, stl_bytes

POINTS = np.array([[0.0, 0, 0], [10, 0, 0], [0, 10, 0], [0, 0, 10]])
FACES = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])


def read(data: bytes) -> tuple[bytes, list[tuple[float, ...]]]:
    """Return the header and 12 numbers of each triangle."""
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    rows = [struct.unpack_from("<12fH", data, 84 + 50 * i) for i in range(count)]
    assert all(row[12] == 0 for row in rows)
    return data[:80], [row[:12] for row in rows]


def test_a_tetrahedron() -> None:
    header, rows = read(stl_bytes(POINTS, FACES, "blade, unit mm"))
    assert header == b"blade, unit mm".ljust(80)
    assert rows[0] == (0, 0, -1, 0, 0, 0, 0, 10, 0, 10, 0, 0)
    assert rows[3][:3] == pytest.approx([3**-0.5] * 3)
    assert [row[3:6] for row in rows] == [tuple(POINTS[f[0]]) for f in FACES]


def test_normals_point_outward() -> None:
    _, rows = read(stl_bytes(POINTS, FACES, ""))
    middle = POINTS.mean(axis=0)
    for row in rows:
        corner, normal = np.array(row[3:6]), np.array(row[:3])
        assert (corner - middle) @ normal > 0
        assert np.linalg.norm(normal) == pytest.approx(1, abs=1e-6)


def test_the_header_has_a_fixed_length() -> None:
    for title in ("", "x" * 200, "größer, unit mm"):
        assert len(read(stl_bytes(POINTS, FACES, title))[0]) == HEADER_BYTES


def test_no_triangles_is_a_file_too() -> None:
    assert read(stl_bytes(POINTS, FACES[:0], "empty"))[1] == []


def test_the_same_mesh_gives_the_same_bytes() -> None:
    assert stl_bytes(POINTS, FACES, "a") == stl_bytes(POINTS.copy(), FACES.copy(), "a")
