"""Every drawing of the corpus through `inspect`: areas against other readers, time and memory, and a table of verdicts.

Run:  python tests/corpus/run.py [--table FILE] [--store DIR]

Fetches what is not in the store yet (see `sources.toml`); a package that is not to be had is told and left out. Exit 1
when an area differs by more than 1e-4, a contour is missing, a file takes longer than 5 s or more than 500 MB, what
another reader refuses is called fit to cut, or the reading fails.
"""

from __future__ import annotations

import argparse
import json
import logging
import multiprocessing
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Any

sys.path[:0] = [str(Path(__file__).parents[2] / "profile"), str(Path(__file__).parents[1])]

from blankwright.inspection.run import look, report_of, request  # noqa: E402 - the path above is for a plain checkout
from corpus import readers  # noqa: E402
from corpus.fetch import drawings, fetched, sources  # noqa: E402

LONGEST_S, LARGEST_MB = 5.0, 500.0
SAME = 1e-4
"""Bars of the work order: a file is answered within these; areas agree within this share."""
WINDOW = 1e-2
"""Areas further apart than this share are of two contours. Where readers do not mean the same contours (one of two that
lie on each other is left out here), only what agrees is paired: the next best would be another contour."""
CHORDS = 2.5e-3
"""GDAL makes chords of splines and ellipses, however it is asked; files with them are compared to this share."""
UNLIKE = {"FILE", "DOUBLED", "JOINT", "CROSSING", "LAYERS", "THREE-D", "HATCH", "TEXT", "CONTENT", "SHORT-PIECE"}
"""Where these are told, readers do not mean the same contours; elsewhere none may be missing."""
MANY, TINY = 2000, 1e-6
"""Of files with more entities only the largest contours are kept, so that areas do not pair; smaller areas are none."""
LEAST = {".dxf": 300, ".svg": 60}


def looked_at(path: Path) -> dict[str, Any]:
    """Return what is found in a drawing, and what it took; runs in a process of its own."""
    start = time.process_time()
    asked = request(
        path, expect=None, process=None, stock=None, picture=None, mended=None, gap="0.1mm", force=False
    )  # fmt: skip
    seen = look(asked)
    report = report_of(seen)
    took = time.process_time() - start
    unit = seen.verdict.lines.unit_mm
    areas = [c["area_mm2"] / unit**2 for c in report["contours"] if c["closed"]]
    told = Counter(
        f"{f['code']}{'!' if f['level'] == 'warning' else ''}" for f in report["findings"] if f["level"] != "ok"
    )
    return {
        "verdict": report["verdict"], "seconds": took, "told": dict(told), "size": report["size_words"],
        "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "areas": areas,
        "messages": [f["message"] for f in report["findings"] if f["level"] != "ok"],
        "whole": not UNLIKE & {code.rstrip("!") for code in told}, "entities": report["counts"]["entities"],
    }  # fmt: skip


def compared(path: Path, found: dict[str, Any]) -> dict[str, Any]:
    """Compare the areas with those of other readers; runs in a process of its own, for readers that fail."""
    readers_of = (
        {"ezdxf": readers.by_ezdxf, "gdal": readers.by_gdal}
        if path.suffix.lower() == ".dxf"
        else {"svgpathtools": readers.by_svgpathtools}
    )
    out: dict[str, Any] = {}
    for name, read in readers_of.items():
        try:
            theirs = read(path)
        except Exception as error:
            out[name] = {"refused": f"{type(error).__name__}: {error}"[:90]}
            continue
        out[name] = matched(found["areas"], theirs, path, WINDOW if found["whole"] else SAME)
    return out


def matched(ours: list[float], theirs: list[float], path: Path, window: float) -> dict[str, Any]:
    """Pair areas, and say which are left over on either side."""
    factor = 1.0
    if path.suffix.lower() == ".svg" and ours:
        factor = _scale(path) ** 2
    left = sorted(a / factor for a in ours)
    only_theirs, worst, same = [], 0.0, 0
    for area in sorted(theirs):
        near = min(left, key=lambda a: abs(a - area), default=None)
        if near is None or abs(near - area) > window * max(area, 1e-12):
            only_theirs.append(area)
            continue
        left.remove(near)
        worst = max(worst, abs(near - area) / max(area, 1e-12))
        same += 1
    return {"same": same, "worst": worst, "only_theirs": only_theirs, "only_ours": left}


def _scale(path: Path) -> float:
    from blankwright.inspection.budget import Budget
    from blankwright.inspection.svg import root_place
    from blankwright.inspection.svgxml import tree_of

    matrix = root_place(tree_of(path.read_bytes(), Budget()))[0].matrix
    return float(abs(matrix[0, 0] * matrix[1, 1])) ** 0.5


def work(path: str) -> dict[str, Any]:
    """Look at a drawing and compare it."""
    logging.disable()
    warnings.simplefilter("ignore")
    try:
        found = looked_at(Path(path))
    except Exception:
        return {
            "file": path,
            "verdict": "FAILED",
            "messages": [traceback.format_exc()[-600:]],
            "seconds": 0.0,
            "mb": 0.0,
        }
    return {"file": path, **found, "others": compared(Path(path), found)}


def main() -> int:
    """Run the corpus; return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--table", type=Path, help="write what was found in each file, one JSON object a line")
    parser.add_argument("--store", type=Path, default=Path(tempfile.gettempdir()) / "blankwright-corpus")
    asked = parser.parse_args()
    asked.store.mkdir(parents=True, exist_ok=True)
    files: list[str] = []
    for source in sources():
        folder = fetched(source, asked.store)
        if folder is None:
            print(f"{source.name} {source.version}: not to be had from {source.registry}; left out")
            continue
        here = drawings(source, folder)
        print(f"{source.name} {source.version} ({source.registry}, {source.licence}): {len(here)} drawings")
        files += map(str, here)
    if not files:
        print("no drawing is to be had here (offline?); the corpus is skipped")
        return 0
    with multiprocessing.get_context("fork").Pool(2, maxtasksperchild=1) as pool:
        rows = list(pool.imap(work, files, chunksize=1))
    if asked.table:
        asked.table.write_text("".join(json.dumps(row, ensure_ascii=False) + "\n" for row in rows), encoding="utf-8")
    return summed(rows)


def summed(rows: list[dict[str, Any]]) -> int:
    """Print what came out; return the exit code."""
    bad = []
    for ending, least in LEAST.items():
        here = [r for r in rows if r["file"].lower().endswith(ending)]
        print(f"{ending[1:]}: {len(here)} files (at least {least}); {dict(Counter(r['verdict'] for r in here))}")
        if len(here) < least:
            print(f"   fewer than {least}: some packages were not to be had")
    for name in ("ezdxf", "gdal", "svgpathtools"):
        seen = [(r, r["others"][name]) for r in rows if name in r.get("others", {})]
        told = [(r, o) for r, o in seen if "refused" not in o]
        exact = [(r, o) for r, o in told if not (name == "gdal" and {"SPLINE", "ELLIPSE"} & set(r["told"]))]
        same, worst = sum(o["same"] for _, o in told), max((o["worst"] for _, o in exact), default=0.0)
        print(
            f"{name}: {len(told)} files read, {len(seen) - len(told)} refused; {same} contours, worst area {worst:.1e}"
        )
        bars = [(r, o, SAME if (r, o) in exact else CHORDS) for r, o in told if r["entities"] < MANY]
        bad += [f"{r['file']}: area off by {o['worst']:.1e} against {name}" for r, o, bar in bars if o["worst"] > bar]
        missing = [
            (r, max(o["only_theirs"])) for r, o in told if r["whole"] and any(a > TINY for a in o["only_theirs"])
        ]
        bad += [f"{r['file']}: {name} has a contour of {area:.4g} more" for r, area in missing if area > TINY]
        fit = [r for r, o in seen if "refused" in o and r["verdict"] == "ok"]
        bad += [f"{r['file']}: fit to cut, and {name} refuses it" for r in fit]
    slow, large = (max(rows, key=lambda r: r[key]) for key in ("seconds", "mb"))
    print(
        f"longest {slow['seconds']:.2f} s ({Path(slow['file']).name}), "
        f"largest {large['mb']:.0f} MB ({Path(large['file']).name})"
    )
    bad += [f"{r['file']}: {r['seconds']:.1f} s" for r in rows if r["seconds"] > LONGEST_S]
    bad += [f"{r['file']}: {r['mb']:.0f} MB" for r in rows if r["mb"] > LARGEST_MB]
    bad += [f"{r['file']}: {r['messages'][0]}" for r in rows if r["verdict"] == "FAILED"]
    print("\n".join(bad))
    total = len(rows)
    print(f"{total - len(bad)} passed, {len(bad)} failed")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
