"""Ten thousand hostile text files, each read by a command line: an answer in words, at most 5 s and 500 MB.

    python tests/bench/hostile_text.py [--count 10000] [--seed 1] [--first 0]     half an hour on two cores
    python tests/bench/hostile_text.py --kinds stock --count 2000                 half an hour; 20 s for each, not 5

Every file follows from the seed and its number. Each is read in a fork of a process that has everything loaded, so
that its time and its memory are its own. Every fault is told, and ends with exit code 1.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from forks import loaded, ran

sys.path.insert(0, str(Path(__file__).parents[1]))

from properties.hostile import KINDS, STOCK_KINDS, Maker, laid, wrong

MOST_S = (5.0, 20.0)
"""Processor time that one file may take; a placing with all that would do takes longer than a reading."""


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


def tried(maker: Maker, number: int) -> Outcome:
    """Read one file."""
    hostile = maker.file(number)
    with tempfile.TemporaryDirectory(prefix="hostile-") as name:
        folder = Path(name) / "work"
        folder.mkdir()
        laid(hostile, folder)
        run = ran(folder, *hostile.line)
        faults = wrong(hostile, folder, run.code, run.out, run.err)
    if faults:
        faults.append(run.err[:300])
    faults += run.excess(MOST_S[hostile.kind in STOCK_KINDS])
    return Outcome(number, hostile.kind, " ".join(hostile.line), run.code, run.took_s, run.took_mb, tuple(faults))


def share(seed: int, kinds: tuple[str, ...], numbers: range) -> list[Outcome]:
    """Read some files in a process of their own, with forks of it."""
    maker, found = Maker(seed, kinds), []
    for number in numbers:
        one = tried(maker, number)
        found.append(one)
        if len(found) % 100 == 0:
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
    asked.add_argument("--kinds", choices=sorted({*KINDS, *STOCK_KINDS}), nargs="*", default=KINDS)
    given = asked.parse_args()
    print(f"seed {given.seed}, files {given.first} to {given.first + given.count - 1}", flush=True)
    loaded()
    found = share(given.seed, tuple(given.kinds), range(given.first, given.first + given.count))
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
