"""Two thousand spoiled job and stock files: an answer in words, at most 20 s, no traceback, whole files or none.

    python tests/bench/spoiled_jobs.py [--count 2000] [--seed 1] [--first 0]     twenty minutes on two cores

Every file follows from the seed and its number. Each is read in a fork of a process that has everything loaded, and its
processor time is taken. Every fault is told, and ends with exit code 1.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from forks import loaded, ran

sys.path.insert(0, str(Path(__file__).parents[1]))

from properties.spoiled_jobs import laid, wrong

_MOST_S = 20.0


def share(seed: int, numbers: range) -> list[tuple[int, int, float, str]]:
    """Read some cases; return number, exit code, time and what is wrong."""
    loaded()
    found = []
    for number in numbers:
        with tempfile.TemporaryDirectory(prefix="jobs-") as name:
            folder = Path(name) / "work"
            folder.mkdir()
            line = laid(folder, seed, number)
            run = ran(folder, *line)
            took = run.took_s
            faults = wrong(folder, run.code, run.out, run.err)
            if took > _MOST_S:
                faults.append(f"took {took:.1f} s")
        if faults:
            print(f"spoiled({seed}, {number}): {'; '.join(faults)}\n{run.err[:300]}", flush=True)
        found.append((number, run.code, took, "; ".join(faults)))
    return found


def main() -> int:
    """Run what was asked for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=2000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--workers", type=int, default=2)
    words = asked.parse_args()
    shares = [range(words.first + k, words.first + words.count, words.workers) for k in range(words.workers)]
    with ProcessPoolExecutor(words.workers) as pool:
        found = [one for part in pool.map(share, [words.seed] * len(shares), shares) for one in part]
    codes = Counter(code for _, code, _, _ in found)
    faults = [one for one in found if one[3]]
    print(
        f"{len(found)} jobs, exit codes {dict(sorted(codes.items()))}, the longest {max(t for *_, t, _ in found):.1f} s"
    )
    print(f"{len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
