"""Ten thousand hostile text files, each read by a command line: an answer in words, at most 5 s and 500 MB.

    python tests/bench/hostile_text.py [--count 10000] [--seed 1] [--first 0]     half an hour on two cores

Every file follows from the seed and its number. Each is read in a fork of a process that has everything loaded, so
that its time and its memory are its own. Every fault is told, and ends with exit code 1.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import os
import pkgutil
import resource
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

os.environ["OPENBLAS_NUM_THREADS"] = "1"  # a process that forks has one thread
sys.path.insert(0, str(Path(__file__).parents[1]))

import blankwright
from properties.hostile import Hostile, Maker, laid, wrong

MOST_S, MOST_MB = 5.0, 500.0


@dataclass(frozen=True)
class Outcome:
    """What came of a file."""

    number: int
    kind: str
    line: str
    code: int
    took_s: float
    took_mb: float
    faults: tuple[str, ...]


def child(hostile: Hostile, folder: Path) -> None:
    """Run the line in this fork, and end it."""
    from blankwright.cli import main

    resource.setrlimit(resource.RLIMIT_CPU, (60, 60))
    os.chdir(folder)
    os.environ["XDG_CONFIG_HOME"] = "config"
    for number, name in ((1, "out.txt"), (2, "err.txt")):
        os.dup2(os.open(folder.parent / name, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
    sys.argv = ["blankwright", *hostile.line]
    code = 70
    with contextlib.suppress(BaseException):
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0
    os._exit(code)


def tried(maker: Maker, number: int) -> Outcome:
    """Read one file."""
    hostile = maker.file(number)
    with tempfile.TemporaryDirectory(prefix="hostile-") as name:
        folder = Path(name) / "work"
        folder.mkdir()
        laid(hostile, folder)
        process = os.fork()
        if process == 0:
            child(hostile, folder)
        _, status, used = os.wait4(process, 0)
        code = os.waitstatus_to_exitcode(status)
        out, err = ((Path(name) / one).read_text(encoding="utf-8", errors="replace") for one in ("out.txt", "err.txt"))
        faults = wrong(hostile, folder, code, out, err)
        if faults:
            faults.append(err[:300])
    took_s, took_mb = used.ru_utime + used.ru_stime, used.ru_maxrss / 1000
    if took_s > MOST_S:
        faults.append(f"{took_s:.1f} s")
    if took_mb > MOST_MB:
        faults.append(f"{took_mb:.0f} MB")
    return Outcome(number, hostile.kind, " ".join(hostile.line), code, took_s, took_mb, tuple(faults))


def loaded() -> None:
    """Load everything once, so that a fork has it."""
    for found in pkgutil.walk_packages(blankwright.__path__, "blankwright."):
        importlib.import_module(found.name)
    for name in ("ezdxf", "shapely", "svgwrite", "reportlab.pdfgen.canvas", "reportlab.platypus", "scipy.optimize"):
        importlib.import_module(name)


def share(seed: int, numbers: range) -> list[Outcome]:
    """Read some files in a process of their own, with forks of it."""
    maker, found = Maker(seed), []
    for number in numbers:
        one = tried(maker, number)
        found.append(one)
        if len(found) % 1000 == 0:
            print(f"{len(found)} read", flush=True)
        if one.faults:
            print(f"Maker({seed}).file({number}) {one.kind}, {one.line}: {'; '.join(one.faults)}", flush=True)
    return found


def main() -> int:
    """Run what was asked for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=10_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    given = asked.parse_args()
    print(f"seed {given.seed}, files {given.first} to {given.first + given.count - 1}", flush=True)
    loaded()
    found = share(given.seed, range(given.first, given.first + given.count))
    codes = {code: sum(one.code == code for one in found) for code in sorted({one.code for one in found})}
    kinds = {kind: sum(one.kind == kind for one in found) for kind in sorted({one.kind for one in found})}
    slow, large = max(found, key=lambda one: one.took_s), max(found, key=lambda one: one.took_mb)
    print(f"{len(found)} files {kinds}, exit codes {codes}")
    print(f"slowest {slow.took_s:.2f} s ({slow.number}: {slow.line})")
    print(f"largest {large.took_mb:.0f} MB ({large.number}: {large.line})")
    faults = sum(bool(one.faults) for one in found)
    print(f"{faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
