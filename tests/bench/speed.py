"""How fast it is, as ratios and medians in one run; nothing here is asserted.

Run:  python tests/bench/speed.py [--quick]

The yardstick for whole processes is the time of `python -c "import numpy, shapely, ezdxf"`, measured in turn with
them, so that a slow or busy machine slows both sides. Our package is compiled to bytecode first, as an installed one
is and as the yardstick's libraries are; a source tree that may not write bytecode compiles itself on every run.
"""

from __future__ import annotations

import compileall
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise
from pathlib import Path

import numpy as np

import blankwright as bw
from blankwright.design.family import load_family
from blankwright.design.solve import solve_shape
from blankwright.knife.blank import cut_outline
from blankwright.knife.knife import finish

YARDSTICK = [sys.executable, "-c", "import numpy, shapely, ezdxf"]
COMMAND = [sys.executable, "-m", "blankwright.cli"]
REGIONS_MM = {"edge": 0.7, "spine": 0.65, "heel": 0.6, "tang": 0.65, "butt": 0.65}


def seconds(command: list[str], folder: str) -> float:
    """Return the wall time of one whole process [s]."""
    start = time.perf_counter()
    subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def two_thousand_pieces() -> str:
    """Return a cutting file of 2,000 loose lines in no order: a round outline and nine round holes of short chords."""
    rng = np.random.default_rng(1)
    lines = []
    for centre, radius in ((0.0, 150.0), *((-80.0 + 20 * k, 6.0) for k in range(9))):
        angles = np.linspace(0, 2 * np.pi, 201)
        points = np.stack([centre + radius * np.cos(angles), radius / 3 * np.sin(angles)], axis=1)
        lines += list(pairwise(points))
    order = rng.permutation(len(lines))
    ends = "".join(f"0\nLINE\n8\n0\n10\n{a[0]!r}\n20\n{a[1]!r}\n11\n{b[0]!r}\n21\n{b[1]!r}\n"
                   for a, b in ((lines[k][0].tolist(), lines[k][1].tolist()) for k in order))  # fmt: skip
    head = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n"
    return f"{head}0\nSECTION\n2\nENTITIES\n{ends}0\nENDSEC\n0\nEOF\n"


def inspecting(rounds: int) -> tuple[str, str, str]:
    """Measure the inspection of a file of 2,000 entities as a whole process."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "pieces.dxf").write_text(two_thousand_pieces())
        times = [seconds([*COMMAND, "inspect", "pieces.dxf"], folder) for _ in range(rounds + 1)]
    return "blankwright inspect, 2,000 entities", f"{statistics.median(times[1:]):.2f} s", "at most 1.5 s"


def processes(rounds: int) -> list[tuple[str, str, str]]:
    """Measure whole processes against the yardstick, in turn."""
    cases = {
        "blankwright --help": ([*COMMAND, "--help"], 0.6),
        "blankwright make chef": ([*COMMAND, "make", "chef"], 2.5),
    }
    compileall.compile_dir(Path(bw.__file__).parent, quiet=1)
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for name, (command, bar) in cases.items():
            seconds(YARDSTICK, folder), seconds(command, folder)
            pairs = [(seconds(command, folder), seconds(YARDSTICK, folder)) for _ in range(rounds)]
            ratio = statistics.median(a / b for a, b in pairs)
            rows.append((name, f"{ratio:.2f} x the yardstick", f"at most {bar} x"))
    return rows


def in_process(count: int) -> tuple[str, str, str]:
    """Measure solve, arc chain, cut outline and areas for the chef."""
    family = load_family("chef")
    times = []
    for length in np.linspace(190, 230, count + 1):
        start = time.perf_counter()
        shape = solve_shape(family, "full", {"blade_length": float(length), "heel_height": 48.0})
        cut = cut_outline(shape.smooth, REGIONS_MM).outline
        _ = shape.finished.area_mm2, cut.area_mm2
        times.append(time.perf_counter() - start)
    median = statistics.median(times[1:])  # the first one fills the caches
    return "solve + arcs + cut outline + areas, chef", f"{median * 1e3:.1f} ms median", "at most 5 ms"


def weighing(count: int) -> tuple[str, str, str]:
    """Measure weighing a solved knife that was not weighed before: every stage, part and the balance."""
    parts = [finish(bw.request("chef", blade_length_mm=float(x))) for x in np.linspace(190, 230, count + 1)]
    median = statistics.median(timed(lambda part=part: part.weights) for part in parts[1:])
    return "weigh, chef, in-process", f"{median * 1e3:.1f} ms median", "at most 3 ms"


def aiming(count: int) -> tuple[str, str, str]:
    """Measure aiming at weight and balance by two things that may change; half of the runs change the outline."""
    knife, times = bw.solve("chef"), []
    for i in range(count + 1):
        wood = "material.thickness" if i % 2 else "heel_height"
        goal = {"weight_g": 172.0 + i % 7, "balance_mm": -5.0 + 0.2 * (i % 5)}
        times.append(timed(lambda wood=wood, goal=goal: knife.aim([wood, "scales.thickness"], **goal)))
    return (
        "aim at weight and balance, chef, in-process",
        f"{statistics.median(times[1:]) * 1e3:.0f} ms median",
        "150 ms",
    )


def timed(action: Callable[[], object]) -> float:
    """Return how long an action takes [s]."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def sweep(count: int) -> tuple[str, str, str]:
    """Measure a sweep over two worker processes."""
    designs = [bw.request("chef", blade_length_mm=160 + 130 * i / count) for i in range(count)]
    with ProcessPoolExecutor(2) as workers:
        list(bw.sweep(designs[:40], workers))
        start = time.perf_counter()
        rows = list(bw.sweep(designs, workers))
        took = time.perf_counter() - start
    assert all(row["error"] is None for row in rows)
    return "sweep of chef variants, two processes", f"{len(rows) / took:.0f} a second", "300 a second"


def main() -> None:
    """Print the table."""
    quick = "--quick" in sys.argv
    rows = [
        *processes(3 if quick else 9),
        inspecting(3 if quick else 9),
        in_process(40 if quick else 300),
        weighing(20 if quick else 200),
    ]
    rows += [aiming(6 if quick else 40), sweep(200 if quick else 900)]
    print(f"Python {sys.version.split()[0]}, {Path(sys.executable).name}")
    for name, figure, bar in rows:
        print(f"  {name:<42} {figure:>22}   ({bar})")


if __name__ == "__main__":
    main()
