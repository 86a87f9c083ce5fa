"""Memory over thousands of solves: what is kept must not grow with what was solved.

    python tests/bench/memory.py [--solves 5000]

Designs of every shipped family and construction, each another one, are solved, cut, weighed, drawn and let go, some of
them refused. Every tenth part of the way tells what Python holds (tracemalloc: all that was allocated and not freed)
and what the system has given the process (its resident set, where the system says it). The first fifth fills what is
kept on purpose: modules, tables, families. Exit code 1 when Python holds more at the end by over 20 bytes for each
solve after that, which is less than the smallest object, or the resident set has grown by more than 4 MB.
"""

from __future__ import annotations

import argparse
import gc
import os
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import blankwright as bw

STATM = Path("/proc/self/statm")
MOST_BYTES, MOST_RESIDENT = 20, 4_000_000


def designs(count: int) -> Iterator[bw.Design]:
    """Yield designs of all families and constructions, no two alike; every fiftieth cannot be."""
    kinds = [(name, construction) for name in bw.family_names() for construction in bw.load_family(name).curves]
    for i in range(count):
        name, construction = kinds[i % len(kinds)]
        span = bw.load_family(name).dimension("blade_length", construction)
        share = ((i * 0.6180339887498949) % 1) if i % 50 else 40.0
        length = span.least_mm + share * (span.greatest_mm - span.least_mm)
        yield bw.request(name, construction=construction, blade_length_mm=length, settings={"material.thickness": 3.0})


def held() -> tuple[int, int]:
    """Return what Python holds and what the process holds [bytes]; 0 for the second where nobody says it."""
    gc.collect()
    resident = int(STATM.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") if STATM.exists() else 0
    return tracemalloc.get_traced_memory()[0], resident


def main() -> int:
    """Solve, and tell what is held."""
    words = argparse.ArgumentParser(description="Does memory grow with what was solved?")
    words.add_argument("--solves", type=int, default=5000)
    count = max(10, words.parse_args().solves)
    tracemalloc.start()
    marks: list[tuple[int, int]] = []
    refused = 0
    for i, one in enumerate(designs(count), start=1):
        try:
            knife = bw.solve(one)
            assert knife.cut().area_mm2 and knife.mass() and knife._repr_svg_() and knife.finished.to_shapely(0.1)
        except bw.BlankwrightError:
            refused += 1
        if i % (count // 10) == 0:
            marks.append(held())
            print(f"{i:6} solves: Python holds {marks[-1][0] / 1e6:7.3f} MB, the process {marks[-1][1] / 1e6:6.1f} MB",
                  flush=True)  # fmt: skip
    grown, resident = marks[-1][0] - marks[1][0], marks[-1][1] - marks[1][1]
    each = grown / (count * 0.8)
    flat = each <= MOST_BYTES and resident <= MOST_RESIDENT
    print(f"{refused} refused; after the first fifth {each:+.2f} bytes for each solve, "
          f"resident {resident / 1e6:+.2f} MB: {'flat' if flat else 'GROWS'}")  # fmt: skip
    return 0 if flat else 1


if __name__ == "__main__":
    raise SystemExit(main())
