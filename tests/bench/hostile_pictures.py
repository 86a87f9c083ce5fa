"""Two thousand hostile pictures and drawings, each lifted: an answer in words, at most 5 s and 1 GB, nothing left.

    python tests/bench/hostile_pictures.py [--count 2000] [--seed 1] [--first 0]     a quarter of an hour

Sound scans, pages and drawings are damaged at bytes and headers; scenes are built that show no knife; SVG files that
mislead a reader. Each follows from the seed and its number. All are lifted by the command line in this process; every
25th, and files made to take long, in a fork of it, so that its memory is its own.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from forks import Ran, ill_said, loaded, ran
from hostile_drawings import inside

sys.path.insert(0, str(Path(__file__).parents[1]))

from properties.pictures import HostilePicture, PictureMaker, long_work

ALONE = 25
MOST_MB = 1000.0


@dataclass(frozen=True)
class Outcome:
    """What came of a file."""

    name: str
    way: str
    ran: Ran
    faults: tuple[str, ...]


def tried(name: str, one: HostilePicture, *, alone: bool) -> Outcome:
    """Lift from one file, alone in a fork or in this process."""
    with tempfile.TemporaryDirectory(prefix="hostile-") as top:
        folder = Path(top) / "work"
        folder.mkdir()
        (folder / one.name).write_bytes(one.data)
        words = ("lift", one.name, *one.words, "--out", "o", "--json")
        run = ran(folder, *words) if alone else inside(folder, words)
        faults = wrong(folder, one, run, alone=alone)
    if faults:
        faults.append(run.err[-400:])
    return Outcome(name, one.way, run, tuple(faults))


def wrong(folder: Path, one: HostilePicture, run: Ran, *, alone: bool) -> list[str]:
    """Return what is wrong with the outcome of a line."""
    said = ill_said(run)
    if run.took_s > 5.0:
        said.append(f"{run.took_s:.1f} s")
    if alone and run.took_mb > MOST_MB:
        said.append(f"{run.took_mb:.0f} MB")
    made = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()} - {one.name}
    right = {"o/x/x_lifted.toml", "o/x/x_lifted.svg", "o/x/.written.json"} if run.code == 0 else set()
    return said + [f"left {sorted(made ^ right)}"] * (made != right)


def main() -> int:
    """Run what was asked for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--count", type=int, default=2_000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--keep", type=Path, help="Write the one file of --first here, and end.")
    asked.add_argument("--short", action="store_true", help="Leave out what is made to take long.")
    given = asked.parse_args()
    maker = PictureMaker(given.seed)
    if given.keep is not None:
        one = maker.picture(given.first)
        given.keep.write_bytes(one.data)
        print(one.name, one.way, *one.words)
        return 0
    loaded()
    import cv2

    cv2.setNumThreads(1)  # a process that forks has one thread
    found = []
    for number in range(given.first, given.first + given.count):
        found.append(tried(str(number), maker.picture(number), alone=number % ALONE == 0))
        if found[-1].faults:
            print(f"{found[-1].name} {found[-1].way}: {'; '.join(found[-1].faults)}", flush=True)
    for one in [] if given.short else long_work():
        found.append(tried("made to take long", one, alone=True))
        if found[-1].faults:
            print(f"{found[-1].name} {found[-1].way}: {'; '.join(found[-1].faults)}", flush=True)
    slow, large = max(found, key=lambda one: one.ran.took_s), max(found, key=lambda one: one.ran.took_mb)
    print(
        f"{len(found)} files {dict(Counter(one.way for one in found))}, "
        f"exit codes {dict(Counter(o.ran.code for o in found))}"
    )
    print(
        f"slowest {slow.ran.took_s:.2f} s ({slow.name} {slow.way}), "
        f"largest {large.ran.took_mb:.0f} MB ({large.name} {large.way})"
    )
    faults = sum(bool(one.faults) for one in found)
    print(f"{faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
