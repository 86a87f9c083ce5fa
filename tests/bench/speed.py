"""How much work it does and how fast it is: counts, ratios and medians in one run; nothing here is asserted.

Run:  python tests/bench/speed.py [--quick]

Counts are calls, the same on every machine (`tests/boundaries/test_counts.py` holds them). Times are processor times,
so that a machine that is busy with other things does not lengthen them. The yardstick for whole processes is
`python -c "import numpy, shapely, ezdxf"`, measured in turn with them. The peer, a general CAD kernel, is measured
where it is installed (extra `bench`). Our package is compiled to bytecode first, as an installed one is and as the
yardstick's libraries are; a source tree that may not write bytecode compiles itself on every run.
"""

from __future__ import annotations

import compileall
import importlib.util
import os
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

sys.path[:0] = [str(Path(__file__).parents[2] / "profile"), str(Path(__file__).parents[1])]

import blankwright as bw  # noqa: E402 - the path above is for a plain checkout
from blankwright.design.family import load_family  # noqa: E402
from blankwright.design.solve import solve_shape  # noqa: E402
from blankwright.knife.blank import cut_outline  # noqa: E402
from blankwright.knife.knife import finish  # noqa: E402
from boundaries.test_root import MOST_MODULES, modules_of_make  # noqa: E402
from rooms.counted import WORKS  # noqa: E402

YARDSTICK = [sys.executable, "-c", "import numpy, shapely, ezdxf"]
COMMAND = [sys.executable, "-m", "blankwright"]
REGIONS_MM = {"edge": 0.7, "spine": 0.65, "heel": 0.6, "tang": 0.65, "butt": 0.65}


Row = tuple[str, str, str]
"""What it is, what came out, and what is wanted."""


def seconds(command: list[str], folder: str) -> float:
    """Return the processor time of one whole process [s]."""
    before = os.times()
    path = os.pathsep.join(sys.path[:2])
    subprocess.run(command, check=True, cwd=folder, stdout=subprocess.DEVNULL, env=os.environ | {"PYTHONPATH": path})
    after = os.times()
    return after.children_user - before.children_user + after.children_system - before.children_system


def counts() -> list[Row]:
    """Count calls and modules."""
    rows = [(work.name, f"{work.calls():,} calls", f"at most {work.most:,}") for work in WORKS]
    with tempfile.TemporaryDirectory() as folder:
        modules = modules_of_make(Path(folder))
    return [*rows, ("blankwright make chef, all modules loaded", f"{modules} modules", f"at most {MOST_MODULES}")]


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


def inspecting(rounds: int) -> Row:
    """Measure the inspection of a file of 2,000 entities as a whole process."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "pieces.dxf").write_text(two_thousand_pieces())
        times = [seconds([*COMMAND, "inspect", "pieces.dxf"], folder) for _ in range(rounds + 1)]
    return "blankwright inspect, 2,000 entities", f"{statistics.median(times[1:]):.2f} s", "at most 1.5 s"


def processes(rounds: int) -> list[Row]:
    """Measure whole processes against the yardstick, in turn."""
    cases = {
        "blankwright --help": ([*COMMAND, "--help"], 0.6),
        "blankwright weigh chef": ([*COMMAND, "weigh", "chef"], 1.2),
        "blankwright template chef": ([*COMMAND, "template", "chef"], 1.5),
        "blankwright sheet chef": ([*COMMAND, "sheet", "chef"], 1.7),
        "blankwright make chef": ([*COMMAND, "make", "chef"], 2.0),
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


def in_process(count: int) -> list[Row]:
    """Measure solve, arc chain, cut outline and areas for the chef, and the peer's outline and parallel."""
    family = load_family("chef")
    lengths = [float(x) for x in np.linspace(190, 230, count + 1)]

    def whole(length: float) -> None:
        shape = solve_shape(family, "full", {"blade_length": length, "heel_height": 48.0})
        cut = cut_outline(shape.smooth, REGIONS_MM).outline
        _ = shape.finished.area_mm2, cut.area_mm2

    ours = statistics.median([timed(lambda length=length: whole(length)) for length in lengths][1:])
    row = ("solve + arcs + cut outline + areas, chef", f"{ours * 1e3:.1f} ms median", "at most 5 ms")
    if importlib.util.find_spec("OCP") is None:
        return [row, ("the same beside a CAD kernel", "not installed", "at most 0.5 x")]
    from peer import measured

    return [row, ("the same beside a CAD kernel", f"{ours / measured(lengths):.2f} x the kernel", "at most 0.5 x")]


def weighing(count: int) -> Row:
    """Measure weighing a solved knife that was not weighed before: every stage, part and the balance."""
    parts = [finish(bw.request("chef", blade_length_mm=float(x))) for x in np.linspace(190, 230, count + 1)]
    median = statistics.median(timed(lambda part=part: part.weights) for part in parts[1:])
    return "weigh, chef, in-process", f"{median * 1e3:.1f} ms median", "at most 3 ms"


def aiming(count: int) -> Row:
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
    """Return the processor time that an action takes [s]."""
    start = time.process_time()
    action()
    return time.process_time() - start


def sweep(count: int) -> Row:
    """Measure a sweep over two worker processes, by the clock: it is all that a sweep is for."""
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
        *counts(),
        *processes(3 if quick else 9),
        inspecting(3 if quick else 9),
        *in_process(40 if quick else 300),
        weighing(20 if quick else 200),
        aiming(6 if quick else 40),
        sweep(200 if quick else 900),
    ]
    print(f"Python {sys.version.split()[0]}, {Path(sys.executable).name}")
    for name, figure, bar in rows:
        print(f"  {name:<42} {figure:>22}   ({bar})")


if __name__ == "__main__":
    main()
