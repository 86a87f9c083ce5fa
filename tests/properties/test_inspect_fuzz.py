"""Damaged cutting files of every sort: a verdict for each, never a crash, never a long wait.

Work is counted in calls: a busy machine makes as many.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from blankwright.base.errors import BlankwrightError
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.mend import hindrances, mend
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.tables import process
from rooms.counting import calls_in
from truth import spoiled as s

SEED = 20260
FILES = 2000
MOST_CALLS = 75_000
"""Twice what the worst of the damaged files takes, which are small."""
WANTED = (Wanted(None, None, None), Wanted(None, process("water-jet"), 3.0), Wanted(None, process("plasma-table"), 3.0))
BAD_NUMBERS = (
    "nan",
    "inf",
    "-inf",
    "1e999",
    "1e308",
    "-1e300",
    "1e9",
    "0",
    "-0",
    "",
    "1_0",
    "１",
    "0x10",
    "1,5",
    "--1",
    "1e-320",
)


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


@pytest.fixture(scope="module")
def real_files(tmp_path_factory: pytest.TempPathFactory) -> list[bytes]:
    folder: Path = tmp_path_factory.mktemp("real")
    found = []
    for name, construction in (("chef", "full"), ("paring", "hidden"), ("spreader", "one-piece")):
        made = make(read_design(name, {"handle.construction": construction}), folder / construction, ("notes",), True)
        found.append(next(made.folder.glob("*.dxf")).read_bytes())
    block = s.block("H", s.circle(0, 0, 4) + s.insert("I", 1, 1)) + s.block(
        "I", s.light(s.BLADE) + s.spline([(0, 0), (9, 9), (20, 3), (30, 9)])
    )
    many = s.insert("H", -65, 12, sx=2, turn=30) + s.ellipse(-65, 12, (4, 0), 0.5) + s.heavy(s.BLADE) + s.point(1, 1)
    many += s.spline([(150.0, 25.0), (90.0, 33.0), (30.0, 33.0), (-20.0, 30.0)]) + "".join(s.pieces(s.BLADE, seed=3))
    return [*found, s.sound(many, blocks=block).encode(), s.sound(box=s.box_of(s.BLADE)).encode()]


def test_damaged_files_get_a_verdict_with_bounded_work(real_files: list[bytes]) -> None:
    print(f"seed {SEED}")
    rng = random.Random(SEED)
    most = 0
    for number in range(FILES):
        data = rng.choice(real_files)
        for _ in range(rng.randint(1, 2)):
            data = rng.choice(WAYS)(data, rng) or b"0"
        calls = calls_in(partial(judged, data, rng.choice(WANTED), number))
        most = max(most, calls)
        assert calls < MOST_CALLS, f"seed {SEED}, file {number}: {calls} calls"
    print(f"at most {most} calls")


def judged(data: bytes, wanted: Wanted, number: int) -> None:
    """Judge a file, and mend it where that is offered; a refusal is an answer too."""
    try:
        verdict = judge(read_drawing(data, "damaged.dxf"), wanted)
        assert verdict.findings, f"seed {SEED}, file {number}: nothing was said"
        if not hindrances(verdict) and verdict.runs:
            mend(verdict, 0.1)
    except BlankwrightError:
        pass


def hostile(kind: str) -> bytes:
    """Return a file that is made to take long."""
    if kind == "a star of long lines":
        return s.document("".join(s.line(float(k), 0.0, 3000.0 - k, 60.0) for k in range(3000))).encode()
    if kind == "all ends in one place":
        return s.document("".join(s.line(0.0, 0.0, float(k), 60.0) for k in range(10_000))).encode()
    if kind == "ten thousand loose ends":
        return s.document("".join(s.line(2.0 * k, 0.0, 2.0 * k + 1, 0.0) for k in range(10_000))).encode()
    if kind == "one line ten thousand times":
        return s.document(s.line(0.0, 0.0, 100.0, 0.0) * 10_000).encode()
    if kind == "circles in circles":
        return s.document("".join(s.circle(0.0, 0.0, 0.1 * k + 1) for k in range(5000))).encode()
    if kind == "blocks in blocks":
        blocks = "".join(s.block(f"B{k}", s.insert(f"B{k + 1}") * 10 + s.circle(0, 0, 1)) for k in range(9))
        return s.document(s.insert("B0"), blocks=blocks).encode()
    if kind == "a block ten thousand times":
        return s.document(
            s.insert("B").replace("41\n1\n", "41\n1\n70\n100\n71\n100\n44\n1\n45\n1\n"),
            blocks=s.block("B", s.light(s.BLADE)),
        ).encode()
    if kind == "many splines":
        rng = random.Random(1)
        points = [[(rng.uniform(0, 300), rng.uniform(0, 60)) for _ in range(20)] for _ in range(200)]
        return s.document("".join(s.spline(p) for p in points)).encode()
    if kind == "a spline of thousands of points":
        rng = random.Random(2)
        return s.document(s.spline([(rng.uniform(0, 300), rng.uniform(0, 60)) for _ in range(4000)])).encode()
    if kind == "a very fine polyline":
        return s.document(s.light(s.flattened(s.BLADE, 0.0005))).encode()
    return b"  0\nLINE\n" * 1_000_000


HOSTILE = {
    "a star of long lines": 1.6,
    "all ends in one place": 4.9,
    "ten thousand loose ends": 8.9,
    "one line ten thousand times": 4.9,
    "circles in circles": 3.1,
    "blocks in blocks": 3.1,
    "a block ten thousand times": 1.7,
    "many splines": 2.2,
    "a spline of thousands of points": 0.4,
    "a very fine polyline": 9.3,
    "millions of empty lines": 12.1,
}
"""The most millions of calls for each: at most twice what they take. Work by the square would take a thousand times."""


@pytest.mark.parametrize("kind", HOSTILE)
def test_files_made_to_take_long_are_answered_with_bounded_work(kind: str) -> None:
    data = hostile(kind)
    verdicts: list[Verdict] = []
    calls = calls_in(lambda: verdicts.append(judge(read_drawing(data, "hostile.dxf"), WANTED[1])))
    print(f"{kind}: {calls} calls, {len(data) / 1e6:.1f} MB")
    assert verdicts[0].level != "ok"
    assert calls < HOSTILE[kind] * 1e6
