"""Damaged cutting files of every sort: a verdict for each, never a crash, never a long wait.

Work is counted in calls: a busy machine makes as many.
"""

from __future__ import annotations

import random
from functools import partial
from pathlib import Path

import pytest

from blankwright.base.errors import BlankwrightError
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.inspection import budget
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.mend import hindrances, mend
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.tables import process
from properties.damage import WAYS
from properties.drawings import LONG_WORK, long_work
from rooms.counting import calls_in
from rooms.often import often, repeated, share
from truth import spoiled as s

SEED = 20260
FILES = often(300, 70)
MOST_CALLS = 75_000
"""Twice what the worst of the damaged files takes, which are small."""
WANTED = (Wanted(None, None, None), Wanted(None, process("water-jet"), 3.0), Wanted(None, process("plasma-table"), 3.0))


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


@repeated
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


MOST_THOUSANDS = {
    "a star of long lines": 410,
    "all ends in one place": 1080,
    "loose ends": 2000,
    "one line many times": 1080,
    "circles in circles": 1160,
    "blocks in blocks": 440,
    "a block ten thousand times": 810,
    "many splines": 260,
    "a spline of thousands of points": 80,
    "a very fine polyline": 950,
    "empty lines": 2400,
}
"""The most thousands of calls for each: at most twice what they take."""
SHARE = 0.2
"""Of the full size; work by the square would still take many times the calls. The bench reads them whole."""


@repeated
@pytest.mark.parametrize("kind", share(LONG_WORK, 3))
def test_files_made_to_take_long_are_answered_with_bounded_work(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a tenth of the budget: what a file may take is what the budget gives, and not a step more."""
    monkeypatch.setattr(budget, "WHOLE", budget.WHOLE / 10)
    data = long_work(kind, SHARE)
    verdicts: list[Verdict] = []
    calls = calls_in(lambda: verdicts.append(judge(read_drawing(data, "hostile.dxf"), WANTED[1])))
    print(f"{kind}: {calls} calls, {len(data) / 1e6:.1f} MB")
    assert verdicts[0].level != "ok"
    assert calls < MOST_THOUSANDS[kind] * 1e3
