"""How close layouts are: six classic instances against the records, and knives on sheets against two other ways.

    python tests/bench/nesting.py [--data FOLDER] [--seconds 40] [--seeds 3] [--only NAME]     half an hour on two cores

FOLDER holds the instances as NAME.json, as their collection has them (strip_height; items with demand, shape and
allowed_orientations), and best_known.csv with the widths of the record layouts; without it, knives only. Each instance
is scaled so that its strip is 400 mm high, and its parts keep 0.002 mm: what is told as a share of the record is of our
proven layout. Beside ours stands what the strip search alone gets in the same seconds. Of knives both are looked for
with several seeds, for both are chance, and one draw of each says little: told are the means and every draw. Ends with
exit code 1 where an instance is wider than 1.06 times its record, layouts of knives are longer in the mean than those
of the strip search alone, or one of them is longer than rows by hand.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import sys
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from statistics import mean

import numpy as np

import blankwright as bw
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.stock import strip
from blankwright.stock.blank import Blank, Job
from blankwright.stock.layout import proven
from blankwright.stock.nest import nested
from blankwright.stock.piece import Piece, box

HIGH_MM, GAP_MM, MOST = 400.0, 0.002, 1.06

KNIVES = {
    "galley set": ((("chef", 6), ("utility", 6), ("paring", 8)), 400.0),
    "chefs": ((("chef", 12),), 500.0),
    "parings": ((("paring", 40),), 300.0),
    "cleavers and slicers": ((("vegetable-cleaver", 4), ("slicer", 6), ("spreader", 6)), 500.0),
}


def classic(folder: Path, name: str) -> tuple[Job, float]:
    """Return an instance as a job on a strip long enough, and how many mm one of its units is."""
    data = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    scale = HIGH_MM / data["strip_height"]
    blanks = []
    for item in data["items"]:
        points = np.array(item["shape"]["data"][:-1]) * scale
        outline = Outline(np.column_stack([points, np.zeros(len(points))]))
        outline = outline if outline.area_mm2 > 0 else outline.reversed()
        turns = tuple(float(turn) for turn in item["allowed_orientations"])
        blanks.append(Blank(f"{name} {item['id']}", outline, item["demand"], 1.0, 0.0, flip=False, turn=turns))
    area = sum(b.area_mm2 * b.quantity for b in blanks)
    piece = Piece("strip", "sheet", box(round(2.2 * area / HIGH_MM, 3), HIGH_MM), ((0.0, 1.0),))
    return Job(name, (piece,), tuple(blanks), GAP_MM, 0.0), scale


def knives(name: str) -> Job:
    """Return knives on a long sheet, 4 mm apart, 3 mm from its edge."""
    kinds, high = KNIVES[name]
    blanks = []
    for family, count in kinds:
        knife = finish(bw.request(family))
        blanks.append(Blank(family, knife.cut, count, 0.0, 1.0, None, "any", knife=knife))
    area = sum(b.area_mm2 * b.quantity for b in blanks)
    piece = Piece("sheet", "sheet", box(round(3.0 * area / high, 1), high), ((0.0, 3.0),))
    return Job(name, (piece,), tuple(blanks), 4.0, 3.0)


def alone(job: Job, seconds: float, seed: int = 0) -> float:
    """Return the length that the strip search alone needs: outlines as they are, none turned over, one run [mm]."""
    piece, edge = job.pieces[0], job.edge_mm(job.blanks[0], job.pieces[0])
    items = []
    for k, blank in enumerate(job.blanks):
        shape = blank.outline.flattened(0.02) if blank.outline.bulges.any() else blank.outline.vertices[:, :2]
        turns = blank.turn if isinstance(blank.turn, tuple) else None
        items.append(strip.Item(k, shape, blank.quantity, turns, flipped=False))
    high, least = piece.outline.size_mm[1] - 2 * edge, np.inf
    gap = job.gap_mm + (0.04 if job.gap_mm > 0.1 else 0.0)
    for found in strip.strip_layouts(items, high, gap, seconds, seed=seed, workers=os.cpu_count() or 1):
        if found is not None:
            moved = strip.tightened(found, items)
            least = min(least, max(_end(job.blanks[k], pose) for k, pose in moved.placed) + edge)
    return float(least)


def _end(blank: Blank, pose: Pose) -> float:
    return pose.outline(blank.outline).bounds_mm[2]


def by_rows(job: Job) -> float:
    """Return the length of rows by hand: the longest first, one above the other, row beside row [mm]."""
    edge, high = job.edge_mm(job.blanks[0], job.pieces[0]), job.pieces[0].outline.size_mm[1]
    sizes = sorted((b.outline.size_mm for b in job.blanks for _ in range(b.quantity)), reverse=True)
    x, y, row = edge, edge, 0.0
    for long, wide in sizes:
        if y + wide > high - edge and row:
            x, y, row = x + row + job.gap_mm, edge, 0.0
        y, row = y + wide + job.gap_mm, max(row, long)
    return x + row


def ours(job: Job, seconds: float, seed: int = 1) -> tuple[float, float]:
    """Return the length of our layout and how long it took; nothing may be left or at fault."""
    begun = time.monotonic()
    found = nested(job, seconds, seed=seed, workers=os.cpu_count() or 1)
    took = time.monotonic() - begun
    assert not found.layout.left, Counter(found.layout.left)
    assert not [fault for sheet in found.layout.sheets for fault in proven(found.layout, sheet).faults]
    return found.layout.used_mm(found.layout.sheets[0]), took


def records(folder: Path) -> dict[str, float]:
    """Return the widths of the record layouts, in the units of each instance."""
    lines = (folder / "best_known.csv").read_text(encoding="utf-8").splitlines()
    rows = [row for row in csv.reader(line for line in lines if not line.startswith("#")) if len(row) > 5]
    return {row[0]: float(row[5]) for row in rows if row[5].replace(".", "", 1).isdigit()}


def classics(folder: Path, seconds: float, only: str | None) -> Iterator[tuple[str, ...]]:
    """Yield rows of the first table."""
    for name, best in records(folder).items():
        if only in (None, name):
            job, scale = classic(folder, name)
            mm, took = ours(job, seconds)
            other = alone(job, seconds)
            share = mm / scale / best
            yield (
                name,
                f"{best:.3f}",
                f"{mm / scale:.3f}",
                f"{share:.3f}",
                f"{other / scale / best:.3f}",
                f"{took:.0f} s",
            )


def sheets(seconds: float, seeds: int, only: str | None) -> Iterator[tuple[str, int, list[float], list[float], float]]:
    """Yield name, blanks, lengths of ours and of the strip search alone by seed, and that of rows by hand [mm]."""
    for name in KNIVES:
        if only in (None, name):
            job = knives(name)
            found = [(ours(job, seconds, seed)[0], alone(job, seconds, seed)) for seed in range(1, seeds + 1)]
            yield name, job.parts, [one for one, _ in found], [other for _, other in found], by_rows(job)


def main() -> int:
    """Print the tables."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--data", type=Path)
    asked.add_argument("--seconds", type=float, default=40.0)
    asked.add_argument("--seeds", type=int, default=3)
    asked.add_argument("--only")
    words = asked.parse_args()
    bad = 0
    if words.data is not None:
        print("instance     record      ours   ours/record  strip search alone/record", flush=True)
        for row in classics(words.data, words.seconds, words.only):
            print(f"{row[0]:10s} {row[1]:>9s} {row[2]:>9s} {row[3]:>10s} {row[4]:>16s}        {row[5]}", flush=True)
            bad += float(row[3]) > MOST
    print(
        "knives                 blanks   ours mm   strip search alone   rows by hand   each of ours | alone", flush=True
    )
    for name, blanks, own, other, rows in sheets(words.seconds, words.seeds, words.only):
        each = " | ".join(" ".join(f"{mm:.1f}" for mm in some) for some in (own, other))
        print(f"{name:22s} {blanks:5d} {mean(own):10.1f} {mean(other):16.1f} {rows:16.1f}          {each}", flush=True)
        bad += mean(own) > mean(other) or max(own) > rows
    print(f"{bad} beyond what is asked")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
