"""The same design gives the same bytes on any processor.

Other processors are had on this one: the libraries below choose their inner loops by what the processor offers and
can be told to do without (documented switches of numpy and of the linear algebra library it brings). Where a switch
changes nothing the test says so and is skipped.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from rooms.often import elsewhere, repeated

ROOT = Path(__file__).resolve().parents[3]

WORK = """
import hashlib, json, sys
from pathlib import Path
import numpy as np
from blankwright.commands.cli import main

for line in json.loads(sys.argv[1]):
    sys.argv = ["blankwright", *line]
    try:
        main()
    except SystemExit as end:
        assert not end.code, (line, end.code)
rng = np.random.default_rng(1)
fingers = np.linalg.solve(rng.normal(size=(60, 60)), rng.normal(size=60)), np.sin(rng.normal(size=1000))
made = {str(p): hashlib.sha256(p.read_bytes()).hexdigest() for p in sorted(Path("out").rglob("*.*")) if p.is_file()}
Path("made.json").write_text(json.dumps([made, hashlib.sha256(b"".join(f.tobytes() for f in fingers)).hexdigest()]))
"""

CHEF = str(ROOT / "templates" / "designs" / "galley_chef.toml")
UTILITY = str(ROOT / "templates" / "designs" / "galley_utility.toml")
LINES = [
    ["make", CHEF],
    ["sheet", CHEF],
    ["make", UTILITY, "--out", "out/inches", "--units", "in"],
    ["cut", UTILITY, "--out", "out/laser", "--service", "laser"],  # release R2010, with classes
    ["cut", "chef", "--out", "out/plasma", "--service", "plasma"],  # single lines and arcs
]


def plain() -> dict[str, str]:
    """Return the switches for a processor with nothing but what the libraries were built for."""
    found = np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])  # type: ignore[call-overload]
    return {
        "OPENBLAS_CORETYPE": "Prescott",
        "NPY_DISABLE_CPU_FEATURES": " ".join(found),
        "GLIBC_TUNABLES": "glibc.cpu.hwcaps=-AVX2,-FMA,-AVX512F",
        "PYTHONHASHSEED": "5",  # and sets come in another order
    }


def made(folder: Path, switches: dict[str, str]) -> tuple[dict[str, str], str]:
    folder.mkdir()
    clean = {k: v for k, v in os.environ.items() if k not in plain()}
    words = [sys.executable, "-c", WORK, json.dumps(LINES)]
    done = subprocess.run(words, cwd=folder, env={**clean, **switches}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    files, fingers = json.loads((folder / "made.json").read_text())
    return files, fingers


@repeated
@elsewhere
def test_every_file_has_the_same_bytes(tmp_path: Path) -> None:
    here, fingers = made(tmp_path / "here", {"PYTHONHASHSEED": "1", "SOURCE_DATE_EPOCH": "soon"})
    there, other_fingers = made(
        tmp_path / "there", plain() | {"SOURCE_DATE_EPOCH": "86400", "TZ": "Pacific/Chatham", "LC_ALL": "C"}
    )
    assert len(here) >= 16
    assert {Path(name).suffix for name in here} >= {".dxf", ".svg", ".json", ".pdf", ".html", ".txt"}
    assert [name for name in here if there.get(name) != here[name]] == []
    assert there.keys() == here.keys()
    if fingers == other_fingers:
        pytest.skip("this processor or these libraries know no other way to compute: only sets came in another order")
