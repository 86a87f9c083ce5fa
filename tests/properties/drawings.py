"""Hostile drawings: ways to damage a DXF file, and files made to take long."""

from __future__ import annotations

import random
from collections.abc import Callable

from truth import spoiled as s

BAD_NUMBERS = (
    "nan", "inf", "-inf", "1e999", "1e308", "-1e300", "1e9", "0", "-0", "", "1_0", "１", "0x10", "1,5", "--1", "1e-320",
)  # fmt: skip


def flip_bytes(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.randint(1, 12)):
        out[rng.randrange(len(out))] = rng.randrange(256)
    return bytes(out)


def lines_of(data: bytes) -> list[bytes]:
    return data.split(b"\n")


def drop_lines(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 4)):
        del lines[rng.randrange(len(lines))]
    return b"\n".join(lines)


def double_lines(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 4)):
        a = rng.randrange(len(lines))
        lines[a:a] = lines[a : a + rng.randint(1, 40)]
    return b"\n".join(lines)


def mangle_numbers(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 6)):
        a = 2 * rng.randrange(len(lines) // 2) + 1
        lines[a] = rng.choice(BAD_NUMBERS).encode() if rng.random() < 0.6 else str(rng.uniform(-1e4, 1e4)).encode()
    return b"\n".join(lines)


def cut_short(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def shuffle_tags(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    pairs = [lines[k : k + 2] for k in range(0, len(lines) - 1, 2)]
    for _ in range(rng.randint(1, 6)):
        a, b = rng.randrange(len(pairs)), rng.randrange(len(pairs))
        if rng.random() < 0.5:
            pairs[a], pairs[b] = pairs[b], pairs[a]
        else:
            c, d = sorted((a, min(len(pairs), a + rng.randint(2, 30))))
            part = pairs[c:d]
            rng.shuffle(part)
            pairs[c:d] = part
    return b"\n".join(line for pair in pairs for line in pair)


def swap_codes(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 6)):
        lines[2 * rng.randrange(len(lines) // 2)] = str(
            rng.choice((0, 2, 8, 10, 20, 40, 42, 50, 66, 67, 70, 230))
        ).encode()
    return b"\n".join(lines)


WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    flip_bytes, drop_lines, double_lines, mangle_numbers, cut_short, shuffle_tags, swap_codes,
)  # fmt: skip


def long_work(kind: str, share: float = 1.0) -> bytes:
    """Return a file that is made to take long; a share of its full size where it has one."""

    def many(count: int) -> range:
        return range(round(count * share))

    if kind == "a star of long lines":
        return s.document("".join(s.line(float(k), 0.0, 3000.0 - k, 60.0) for k in many(3000))).encode()
    if kind == "all ends in one place":
        return s.document("".join(s.line(0.0, 0.0, float(k), 60.0) for k in many(10_000))).encode()
    if kind == "loose ends":
        return s.document("".join(s.line(2.0 * k, 0.0, 2.0 * k + 1, 0.0) for k in many(10_000))).encode()
    if kind == "one line many times":
        return s.document("".join(s.line(0.0, 0.0, 100.0, 0.0) for _ in many(10_000))).encode()
    if kind == "circles in circles":
        return s.document("".join(s.circle(0.0, 0.0, 0.1 * k + 1) for k in many(5000))).encode()
    if kind == "blocks in blocks":
        blocks = "".join(s.block(f"B{k}", s.insert(f"B{k + 1}") * 10 + s.circle(0, 0, 1)) for k in range(9))
        return s.document(s.insert("B0"), blocks=blocks).encode()
    if kind == "a block ten thousand times":
        rows = s.insert("B").replace("41\n1\n", "41\n1\n70\n100\n71\n100\n44\n1\n45\n1\n")
        return s.document(rows, blocks=s.block("B", s.light(s.BLADE))).encode()
    if kind == "many splines":
        rng = random.Random(1)
        points = [[(rng.uniform(0, 300), rng.uniform(0, 60)) for _ in range(20)] for _ in many(200)]
        return s.document("".join(s.spline(p) for p in points)).encode()
    if kind == "a spline of thousands of points":
        rng = random.Random(2)
        return s.document(s.spline([(rng.uniform(0, 300), rng.uniform(0, 60)) for _ in many(4000)])).encode()
    if kind == "a very fine polyline":
        return s.document(s.light(s.flattened(s.BLADE, 0.0005 / share))).encode()
    if kind == "empty lines":
        return b"  0\nLINE\n" * len(many(1_000_000))
    raise ValueError(kind)
