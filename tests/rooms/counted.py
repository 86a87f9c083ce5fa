"""The work that is counted in calls, and how much of it is allowed: the same on every machine.

Bars are a twentieth to a tenth above what is reached; `tests/bench/speed.py` prints both.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import count

import blankwright as bw
from blankwright.desk.script import Knife
from blankwright.page.answer import shape_answer
from blankwright.page.folder import Folder
from blankwright.page.opening import begun
from blankwright.page.protocol import Asked, written
from blankwright.page.work import Look
from rooms.counting import calls_in

_NEW = count()


@dataclass(frozen=True)
class Counted:
    """A piece of work.

    Args:
        name: What it is.
        ready: Returns the work, after everything that is not counted.
        most: Calls allowed.
        warm: Rounds before, that fill what is kept for good.
    """

    name: str
    ready: Callable[[], Callable[[], object]]
    most: int
    warm: int = 3

    def calls(self) -> int:
        """Return the calls that it takes, once it is warm."""
        for _ in range(self.warm):
            self.ready()()
        return calls_in(self.ready())


def unseen() -> Knife:
    """Return a chef of a length that was not asked for before: shapes solved last are kept."""
    return bw.solve("chef", blade_length_mm=205.0 + next(_NEW) / 128)


def _solve() -> Callable[[], object]:
    return lambda: unseen().finished.area_mm2


def _cut() -> Callable[[], object]:
    knife = unseen()
    _ = knife.finished.area_mm2
    return lambda: knife.cut("laser").area_mm2


def _mass() -> Callable[[], object]:
    return unseen().mass


def _aim(let: list[str], weight_g: float, balance_mm: float) -> Callable[[], object]:
    return partial(unseen().aim, let, weight_g=weight_g, balance_mm=balance_mm)


def _drag() -> Callable[[], object]:
    """Move a point of the page's knife to where it was not before, and write the answer for the browser."""
    work, look = begun(Folder.here(), "chef", None), Look("mm", None)
    asked = Asked("drag", 1, {"grip": "blade.length", "to": [205.0 + next(_NEW) / 10 % 60, 18.0], "held": True})

    def moved() -> str:
        work.change(asked, look)
        assert work.knife is not None
        return written(shape_answer(work.knife, work.table, look.units, work.limit))

    return moved


WORKS = (
    Counted("solve, finished outline and its area", _solve, 3_500),
    Counted("cut outline and its area, another process", _cut, 650),
    Counted("drag a point of the page, and its first answer", _drag, 10_500),
    Counted("mass of every stage, balance", _mass, 2_300),
    Counted(
        "aim at weight and balance, two things let",
        partial(_aim, ["heel_height", "scales.thickness"], 174.0, -5.0), 60_000, 1,
    ),
    Counted(
        "aim at what two things cannot reach",
        partial(_aim, ["heel_height", "blade_length"], 174.0, -4.6), 200_000, 1,
    ),
)  # fmt: skip
