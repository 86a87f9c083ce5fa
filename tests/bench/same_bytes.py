"""The same design gives the same bytes: with any Python, any seed of hashes, locale, time zone, build date and kernel.

    python tests/bench/same_bytes.py [INTERPRETER ...] [--any-kernel]

Each interpreter (this one when none is named) has Blankwright installed. It makes the six shipped designs, their
sheets, files for a laser and a plasma shop, and designs aimed at what can and cannot be reached, once as it is and once
in every world below; every file of every run is compared with the first run's. The environment is changed in each run's
own process and nowhere else.

The settings of the linear algebra's kernel are asked of OpenBLAS (its documented switch); a processor that lacks what a
kernel needs would end the process, so kernels beyond the oldest are tried only with --any-kernel. Exit code 1 when any
file differs.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

SWITCHES = (
    "PYTHONHASHSEED", "PYTHONUTF8", "LC_ALL", "LANG", "TZ", "SOURCE_DATE_EPOCH", "OPENBLAS_CORETYPE",
    "OPENBLAS_NUM_THREADS", "NPY_DISABLE_CPU_FEATURES", "PYTHONPATH",
)  # fmt: skip

WORLDS: dict[str, dict[str, str]] = {
    "as it is": {"PYTHONHASHSEED": "0"},
    "another seed of hashes": {"PYTHONHASHSEED": "1"},
    "a third seed of hashes": {"PYTHONHASHSEED": "4294967295"},
    "locale C, no UTF-8 mode": {"LC_ALL": "C", "PYTHONUTF8": "0"},
    "a German locale": {"LC_ALL": "de_DE.UTF-8"},
    "a Turkish locale": {"LC_ALL": "tr_TR.UTF-8"},
    "time zone ahead by 12:45": {"TZ": "Pacific/Chatham"},
    "time zone behind by 3:30": {"TZ": "America/St_Johns"},
    "build date 0": {"SOURCE_DATE_EPOCH": "0"},
    "build date 2038": {"SOURCE_DATE_EPOCH": "2147483648"},
    "one thread": {"OPENBLAS_NUM_THREADS": "1"},
    "kernel Prescott": {"OPENBLAS_CORETYPE": "Prescott"},
}
KERNELS: dict[str, dict[str, str]] = {
    f"kernel {name}": {"OPENBLAS_CORETYPE": name} for name in ("Nehalem", "Sandybridge", "Haswell", "Zen", "SkylakeX")
}

WORK = """
import hashlib, json, locale, sys
from pathlib import Path
import numpy, scipy, shapely
from blankwright.commands.cli import main
from blankwright.base.library import templates_dir

try:
    told = locale.setlocale(locale.LC_ALL, "")
except locale.Error:
    told = "not to be had here"
designs = sorted((templates_dir() / "designs").glob("*.toml"))
lines = [[word, str(path)] for path in designs for word in ("make", "sheet")]
lines += [["cut", "chef", "--service", shop, "--out", "out/" + shop] for shop in ("laser", "plasma")]
let = [word for key in ("heel_height", "scales.thickness", "material.thickness") for word in ("--let", key)]
aim = ["aim", "chef", "--weight", "190g", "--balance", "2mm", *let]
lines += [[*aim, "--out", "out/met"], [*aim, "--blade-area", "7000mm2", "--nearest", "--out", "out/nearest"]]
for line in lines:
    sys.argv = ["blankwright", *line]
    try:
        main()
    except SystemExit as end:
        assert not end.code or "--nearest" in line, (line, end.code)
made = {p.as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(Path("out").rglob("*")) if p.is_file()}
rng = numpy.random.default_rng(1)
finger = numpy.linalg.solve(rng.normal(size=(60, 60)), rng.normal(size=60)).tobytes()
about = {"python": sys.version.split()[0], "numpy": numpy.__version__, "scipy": scipy.__version__,
         "shapely": shapely.__version__, "locale": told, "finger": hashlib.sha256(finger).hexdigest()}
Path("made.json").write_text(json.dumps([made, about]))
"""


def run(interpreter: str, world: dict[str, str]) -> tuple[dict[str, str], dict[str, str]] | str:
    """Make everything in a folder of its own; return the files' sums and what it was made with, or what went wrong."""
    clean = {key: value for key, value in os.environ.items() if key not in SWITCHES}
    with tempfile.TemporaryDirectory() as folder:
        done = subprocess.run(
            [interpreter, "-c", WORK], cwd=folder, env=clean | world, capture_output=True, text=True, check=False
        )
        if done.returncode:
            return (done.stderr.strip().splitlines() or [f"ended by signal {-done.returncode}"])[-1][:300]
        made, about = json.loads((Path(folder) / "made.json").read_text())
    return made, about


def main() -> int:
    """Run every interpreter in every world, and compare."""
    words = argparse.ArgumentParser(description="Are the bytes the same everywhere?")
    words.add_argument("interpreters", nargs="*", default=[sys.executable], help="each with Blankwright installed")
    words.add_argument("--any-kernel", action="store_true", help="kernels that this processor may lack as well")
    asked = words.parse_args()
    worlds = WORLDS | (KERNELS if asked.any_kernel else {})
    first: dict[str, str] = {}
    bad = 0
    for named in asked.interpreters:
        interpreter = str(Path(shutil.which(named) or named).absolute())  # not what a link in it leads to
        plain_finger = ""
        for name, world in worlds.items():
            found = run(interpreter, world)
            if isinstance(found, str):
                lacks = name in KERNELS
                bad += not lacks
                print(f"  {name}: {'not to be had' if lacks else 'FAILED'}: {found}", flush=True)
                continue
            made, about = found
            if not plain_finger:
                plain_finger = about["finger"]
                print(", ".join(f"{key} {about[key]}" for key in ("python", "numpy", "scipy", "shapely")), flush=True)
            first = first or made
            other = sorted(key for key in first.keys() | made.keys() if first.get(key) != made.get(key))
            bad += bool(other)
            said = f"DIFFERS: {', '.join(other[:5])}" if other else f"{len(made)} files, the same bytes"
            more = f"; locale {about['locale']}" if "LC_ALL" in world else ""
            more += "" if about["finger"] == plain_finger else "; a solve of 60 unknowns has other last digits"
            print(f"  {name}: {said}{more}", flush=True)
    print("all the same" if first and not bad else f"{bad} runs are not as the first")
    if first:
        print("sum of all:", hashlib.sha256(json.dumps(first, sort_keys=True).encode()).hexdigest()[:16])
    return 1 if bad or not first else 0


if __name__ == "__main__":
    raise SystemExit(main())
