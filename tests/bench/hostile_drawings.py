"""Ten thousand hostile drawings, each inspected: a verdict in words, at most 5 s and 500 MB, and none called fit that
a careful reader refuses.

    python tests/bench/hostile_drawings.py [--count 10000] [--seed 1] [--first 0]     ten minutes

Cutting files of several services and of a drawing library are damaged at bytes, tags, entities and structure, others
are built; each follows from the seed and its number. All are inspected by the command line in this process; every
25th, and files made to take long, in a fork of it, so that its memory is its own, with a picture and a mended copy
asked for. What is not called faulty, and every mended copy, is then opened by ezdxf, with its audit, and by GDAL.
Every fault is told, and ends with exit code 1.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import json
import logging
import random
import resource
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from forks import Ran, ill_said, loaded, ran

sys.path.insert(0, str(Path(__file__).parents[1]))

import ezdxf

from properties.drawings import LONG_WORK, DrawingMaker, long_work
from truth.careful import refusals

SERVED = (("chef", "jet"), ("paring", "laser"), ("utility", "plasma"), ("spreader", "own-table"), ("chef", "laser"))
LINES = (
    (),
    ("--process", "water-jet", "--thickness", "3mm"),
    ("--process", "plasma-table", "--thickness", "3mm", "--expect", "345x60mm"),
    ("--parts", "2", "--gap", "1mm"),
    ("--cut-layer", "0"),
)

ALONE = 25
"""Every so many-th drawing is inspected in a process of its own."""


@dataclass(frozen=True)
class Outcome:
    """What came of a drawing."""

    name: str
    way: str
    ran: Ran
    level: str
    faults: tuple[str, ...]
    disagreed: tuple[str, ...]


def sources(folder: Path) -> list[bytes]:
    """Return cutting files of ours for several services, and drawings that a library wrote."""
    for k, (name, service) in enumerate(SERVED):
        words = ("make", name, "--service", service, "--with", "notes,finished,parts", "--out", f"o{k}")
        done = ran(folder, *words)
        assert done.code == 0, done.err
    found = [path.read_bytes() for path in sorted(folder.rglob("*.dxf"))]
    for release in ("R12", "R2000", "R2007", "R2018"):
        path = folder / f"library_{release}.dxf"
        drawn(release, path)
        found.append(path.read_bytes())
    return found


def drawn(release: str, path: Path) -> None:
    """Write a drawing with a library: an outline, holes, curves, a block and a text."""
    doc = ezdxf.new(release)
    doc.units = 4
    space = doc.modelspace()
    corners = [(-110, 0, 0, 0, 0), (0, -2, 0, 0, 0.08), (150, 25, 0, 0, 0.02), (-20, 30, 0, 0, 0), (-110, 24, 0, 0, 0)]
    if release == "R12":
        space.add_polyline2d([(x, y, b) for x, y, _, _, b in corners], format="xyb", close=True)
    else:
        space.add_lwpolyline(corners, close=True)
        space.add_spline([(-60, 10), (-50, 14), (-40, 10)])
        space.add_ellipse((-75, 12), (4, 0), 0.5)
        space.add_mtext("a text", dxfattribs={"layer": "NOTES"})
    space.add_circle((-90, 12), 2.5)
    block = doc.blocks.new("HOLE")
    block.add_circle((0, 0), 2)
    space.add_blockref("HOLE", (-30, 12))
    doc.saveas(path)


def inside(folder: Path, words: tuple[str, ...]) -> Ran:
    """Run a line in this process; the memory is that of everything so far."""
    from blankwright.commands.cli import main

    out, err = io.StringIO(), io.StringIO()
    begin, code = time.process_time(), 70
    with contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        sys.argv = ["blankwright", *words]
        try:
            main()
        except SystemExit as end:
            code = end.code if isinstance(end.code, int) else 0
        except BaseException as error:
            err.write(f"Traceback: {error!r}")
    most_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    gc.collect()  # a run of its own needs none
    return Ran(code, out.getvalue(), err.getvalue(), time.process_time() - begin, most_mb)


def tried(name: str, way: str, data: bytes, words: tuple[str, ...], *, alone: bool) -> Outcome:
    """Inspect one drawing, alone in a fork or in this process."""
    with tempfile.TemporaryDirectory(prefix="hostile-") as top:
        folder = Path(top) / "work"
        folder.mkdir()
        (folder / "x.dxf").write_bytes(data)
        asked = ("inspect", "x.dxf", *words, "--json")
        more = ("--picture", "p.svg", "--mend", "m.dxf") if alone else ()
        run = ran(folder, *asked, *more) if alone else inside(folder, asked)
        faults = [*wrong(folder, run), *run.excess()]
        level, disagreed = "refused", []
        if run.code in (0, 1) and not faults:
            level = level_of(run.out)
            if level != "error":
                disagreed += refusals(folder / "x.dxf")
            if (folder / "m.dxf").exists():
                faults += [f"the mended copy: {one}" for one in refusals(folder / "m.dxf")]
    if faults:
        faults.append(run.err[:300])
    return Outcome(name, way, run, level, tuple(faults), tuple(disagreed))


def level_of(report: str) -> str:
    """Return the worst level that a report tells: ok, warning or error."""
    levels = {one["level"] for one in json.loads(report)["findings"]}
    return next((level for level in ("error", "warning") if level in levels), "ok")


def wrong(folder: Path, run: Ran) -> list[str]:
    """Return what is wrong with the outcome of a line."""
    said = ill_said(run)
    left = {path.name for path in folder.iterdir()} - {"x.dxf", "p.svg", "m.dxf"}
    return said + [f"{sorted(left)} was left"] * bool(left)


def told(one: Outcome) -> None:
    if one.faults:
        print(f"{one.name} {one.way}: {'; '.join(one.faults)}", flush=True)
    if one.disagreed:
        print(f"{one.name} {one.way}: called {one.level}, but {'; '.join(one.disagreed)[:300]}", flush=True)


def main() -> int:
    """Run what was asked for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=10_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--keep", type=Path, help="Write the one drawing of --first here, and end.")
    given = asked.parse_args()
    print(f"seed {given.seed}, drawings {given.first} to {given.first + given.count - 1}", flush=True)
    loaded()
    logging.disable(logging.CRITICAL)
    with tempfile.TemporaryDirectory(prefix="sources-") as top:
        folder = Path(top) / "work"
        folder.mkdir()
        maker = DrawingMaker(given.seed, sources(folder))
    if given.keep is not None:
        given.keep.write_bytes(maker.drawing(given.first).data)
        return 0
    found = []
    for number in range(given.first, given.first + given.count):
        one = maker.drawing(number)
        words = LINES[random.Random(number).randrange(len(LINES))] if number % 2 else ()
        found.append(tried(str(number), one.way, one.data, words, alone=number % ALONE == 0))
        told(found[-1])
        if len(found) % 1000 == 0:
            print(f"{len(found)} read", flush=True)
    for kind in LONG_WORK:
        found.append(tried(kind, "made to take long", long_work(kind), LINES[1], alone=True))
        told(found[-1])
    slow, large = max(found, key=lambda one: one.ran.took_s), max(found, key=lambda one: one.ran.took_mb)
    print(f"{len(found)} drawings {dict(Counter(one.way for one in found))}")
    print(
        f"verdicts {dict(Counter(one.level for one in found))}, exit codes {dict(Counter(o.ran.code for o in found))}"
    )
    print(f"slowest {slow.ran.took_s:.2f} s ({slow.name}), largest {large.ran.took_mb:.0f} MB ({large.name})")
    fit = sum(one.level == "ok" and bool(one.disagreed) for one in found)
    print(
        f"{fit} called fit that a reader refuses, {sum(bool(one.disagreed) for one in found) - fit} with warnings only"
    )
    faults = sum(bool(one.faults) for one in found) + fit
    print(f"{faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
