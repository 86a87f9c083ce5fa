"""Runs of a command line in forks of one process that has everything loaded, each with its own time and memory."""

from __future__ import annotations

import contextlib
import importlib
import os
import pkgutil
import resource
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process that forks has one thread

import blankwright

sys.path.insert(0, str(Path(__file__).parents[1]))

from properties.hostile import UNFIT

MOST_S, MOST_MB = 5.0, 500.0
"""Processor time and memory that one hostile file may take."""
_END_S = 60


@dataclass(frozen=True)
class Ran:
    """What came of a run: exit code, what was printed, processor time and memory."""

    code: int
    out: str
    err: str
    took_s: float
    took_mb: float

    def excess(self, most_s: float = MOST_S) -> list[str]:
        """Return what of it is more than a hostile file may take."""
        slow = [f"{self.took_s:.1f} s"] if self.took_s > most_s else []
        return slow + ([f"{self.took_mb:.0f} MB"] if self.took_mb > MOST_MB else [])


def loaded() -> None:
    """Load everything once, so that a fork has it."""
    for found in pkgutil.walk_packages(blankwright.__path__, "blankwright."):
        importlib.import_module(found.name)
    for name in (
        "ezdxf",
        "shapely",
        "svgwrite",
        "reportlab.pdfgen.canvas",
        "reportlab.platypus",
        "scipy.optimize",
        "scipy.spatial",
    ):
        importlib.import_module(name)


def ran(folder: Path, *words: str) -> Ran:
    """Run a line in a folder, with the settings that are kept in its folder config."""
    return forked(folder, lambda: _line(words))


def forked(folder: Path, work: Callable[[], int]) -> Ran:
    """Do a piece of work in a fork of this process, in a folder; what it prints goes beside the folder."""
    process = os.fork()
    if process == 0:
        code = 70
        with contextlib.suppress(BaseException):
            resource.setrlimit(resource.RLIMIT_CPU, (_END_S, _END_S))
            os.chdir(folder)
            for number, name in ((1, "out.txt"), (2, "err.txt")):
                os.dup2(os.open(folder.parent / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
            code = work()
            sys.stdout.flush()
            sys.stderr.flush()
        os._exit(code)
    _, status, used = os.wait4(process, 0)
    out, err = ((folder.parent / one).read_text(encoding="utf-8", errors="replace") for one in ("out.txt", "err.txt"))
    took_s, took_mb = used.ru_utime + used.ru_stime, used.ru_maxrss / 1000
    return Ran(os.waitstatus_to_exitcode(status), out, err, took_s, took_mb)


def _line(words: tuple[str, ...]) -> int:
    from blankwright.commands.cli import main

    os.environ["XDG_CONFIG_HOME"] = "config"
    sys.argv = ["blankwright", *words]
    try:
        main()
    except SystemExit as end:
        return end.code if isinstance(end.code, int) else 0
    return 70


def ill_said(run: Ran) -> list[str]:
    """Return what is wrong with the exit code and the words of a line, whatever it read."""
    said = [] if run.code in (0, 1, 2) else [f"exit code {run.code}"]
    if any(word in run.out + run.err for word in ("internal error", "Traceback", "Exception ignored", "Warning")):
        said.append("a fault of ours")
    if UNFIT.search(run.out) or UNFIT.search(run.err):
        said.append("a character that cannot be shown is printed")
    if run.code == 2 and (run.out or not run.err.startswith("blankwright: ")):
        said.append("a refusal that says something else as well")
    return said
