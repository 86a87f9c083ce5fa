"""Ten thousand hostile drawings, each inspected: a verdict in words, at most 5 s and 500 MB, and none called fit that
a careful reader refuses.

    python tests/bench/hostile_drawings.py [--count 10000] [--seed 1] [--first 0]     half an hour on two cores

Cutting files of several services and of a drawing library are damaged at bytes, tags, entities and structure, others
are built; each follows from the seed and its number. Each is inspected in a fork of a process that has everything
loaded, with a picture and a mended copy asked for. What is called fit, and every mended copy, is then opened by ezdxf,
with its audit, and by GDAL. Files made to take long come last, whole. Every fault is told, and ends with exit code 1.
"""

from __future__ import annotations

import argparse
import json
import logging
import random
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from forks import Ran, forked, loaded, ran

sys.path.insert(0, str(Path(__file__).parents[1]))

import ezdxf
import pyogrio

from properties.drawings import LONG_WORK, DrawingMaker, long_work
from properties.hostile import UNFIT

SERVED = (("chef", "jet"), ("paring", "laser"), ("utility", "plasma"), ("spreader", "own-table"), ("chef", "laser"))
LINES = (
    (),
    ("--process", "water-jet", "--thickness", "3mm"),
    ("--process", "plasma-table", "--thickness", "3mm", "--expect", "345x60mm"),
    ("--parts", "2", "--gap", "1mm"),
    ("--cut-layer", "0"),
)


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


def refusals(path: Path) -> list[str]:
    """Return what careful readers refuse a file for."""
    said = []
    try:
        doc = ezdxf.readfile(path)
        said += [f"ezdxf: audit: {error.message}" for error in doc.audit().errors[:3]]
    except Exception as error:
        said.append(f"ezdxf: {type(error).__name__}: {error}")
    try:
        pyogrio.raw.read(path)
    except Exception as error:
        said.append(f"GDAL: {type(error).__name__}: {error}")
    return said


def refused(folder: Path, name: str) -> list[str]:
    def asked() -> int:
        print(json.dumps(refusals(Path(name))))
        return 0

    done = forked(folder, asked)
    return json.loads(done.out) if done.code == 0 else [f"a reader ended with {done.code}"]


def tried(name: str, way: str, data: bytes, words: tuple[str, ...]) -> Outcome:
    """Inspect one drawing."""
    with tempfile.TemporaryDirectory(prefix="hostile-") as top:
        folder = Path(top) / "work"
        folder.mkdir()
        (folder / "x.dxf").write_bytes(data)
        run = ran(folder, "inspect", "x.dxf", *words, "--json", "--picture", "p.svg", "--mend", "m.dxf")
        faults = [*wrong(folder, run), *run.excess()]
        level, disagreed = "refused", []
        if run.code in (0, 1) and not faults:
            level = level_of(run.out)
            if level != "error":
                disagreed += refused(folder, "x.dxf")
            if (folder / "m.dxf").exists():
                faults += [f"the mended copy: {one}" for one in refused(folder, "m.dxf")]
    if faults:
        faults.append(run.err[:300])
    return Outcome(name, way, run, level, tuple(faults), tuple(disagreed))


def level_of(report: str) -> str:
    """Return the worst level that a report tells: ok, warning or error."""
    levels = {one["level"] for one in json.loads(report)["findings"]}
    return next((level for level in ("error", "warning") if level in levels), "ok")


def wrong(folder: Path, run: Ran) -> list[str]:
    """Return what is wrong with the outcome of a line."""
    said = [] if run.code in (0, 1, 2) else [f"exit code {run.code}"]
    if any(word in run.out + run.err for word in ("internal error", "Traceback", "Exception ignored", "Warning")):
        said.append("a fault of ours")
    if UNFIT.search(run.out) or UNFIT.search(run.err):
        said.append("a character that cannot be shown is printed")
    if run.code == 2 and (run.out or not run.err.startswith("blankwright: ")):
        said.append("a refusal that says something else as well")
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
        found.append(tried(str(number), one.way, one.data, words))
        told(found[-1])
        if len(found) % 1000 == 0:
            print(f"{len(found)} read", flush=True)
    for kind in LONG_WORK:
        found.append(tried(kind, "made to take long", long_work(kind), LINES[1]))
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
