"""A sweep spread over two worker processes. Any concurrent.futures executor does, a cluster's as well.

Run:  python sweep_with_workers.py [number of knives]
"""

import sys
import time
from concurrent.futures import ProcessPoolExecutor

import blankwright as bw


def main(count: int = 300) -> None:
    """Solve chef's knives of many lengths and heights in two processes."""
    designs = [
        bw.request("chef", blade_length_mm=160 + 130 * i / count, heel_height_mm=44 + 10 * ((7 * i) % count) / count)
        for i in range(count)
    ]
    with ProcessPoolExecutor(2) as workers:
        list(bw.sweep(designs[:40], workers))  # the workers start here, not in the figure
        start = time.perf_counter()
        rows = list(bw.sweep(designs, workers))
        seconds = time.perf_counter() - start
    failed = sum(row["error"] is not None for row in rows)
    print(f"{len(rows)} knives, {failed} failed, {len(rows) / seconds:.0f} a second")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
