"""The unit in the header of an R12 file, which that release does not know: read rightly, and in nobody's way."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import ezdxf
import numpy as np
import pyogrio
import pytest
import shapely

from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.proof.reader import read_dxf
from blankwright.shop.services import service_from
from truth.services_by_hand import changed

SOURCE = (
    "DXF reference, header variables: $INSUNITS 4 is mm and 1 is inches, $MEASUREMENT 1 is metric and 0 is English. "
    "Readers written by others: ezdxf, GDAL (by pyogrio) and, where installed, dxf2vrml of the dime library."
)
TOLERANCE_MM = 2e-4
REASON = "dxf2vrml writes eight digits of single precision numbers; GDAL and ezdxf read what stands in the file."

INSUNITS = {"mm": (4, 1), "in": (1, 0)}
CASES = [(unit, contours) for unit in INSUNITS for contours in ("polyline", "exploded")]


def written(folder: Path, unit: str, contours: str, *, named: bool) -> Path:
    """Return an R12 file of a chef."""
    table = changed("plasma", {"file.unit": unit, "file.contours": contours, "file.unit_in_header": named})
    changes = {"cutting.process": "plasma-table"}
    where = folder / f"{unit}-{contours}-{named}"
    made = make(read_design("chef", changes), where, (), True, None, service_from(table, "x.toml"))
    (path,) = made.folder.glob("*.dxf")
    return path


@pytest.mark.parametrize(("unit", "contours"), CASES)
def test_the_unit_is_read_and_only_the_header_is_another(tmp_path: Path, unit: str, contours: str) -> None:
    named, silent = (written(tmp_path, unit, contours, named=told) for told in (True, False))
    doc = ezdxf.readfile(named)
    assert (doc.dxfversion, doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == ("AC1009", *INSUNITS[unit])
    audit = doc.audit()
    assert (audit.errors, audit.fixes) == ([], [])
    ours = read_dxf(named)
    assert (ours.insunits, ours.measurement) == INSUNITS[unit]
    assert read_dxf(silent).insunits is None
    texts = [path.read_text(encoding="ascii") for path in (named, silent)]
    extra = rf"  9\n\$INSUNITS\n 70\n +{INSUNITS[unit][0]}\n  9\n\$MEASUREMENT\n 70\n +{INSUNITS[unit][1]}\n"
    assert re.sub(extra, "", texts[0]) == texts[1]
    assert gdal(named) == gdal(silent)


def gdal(path: Path) -> list[bytes]:
    """Return what GDAL sees: it must be the same whatever the header says."""
    _, _, shapes, _ = pyogrio.raw.read(path, read_geometry=True)
    return list(shapes)


@pytest.mark.skipif(shutil.which("dxf2vrml") is None, reason="dxf2vrml (Debian's package dime) is not installed")
def test_dime_reads_the_same_lines(tmp_path: Path) -> None:
    seen = []
    for told in (True, False):
        path = written(tmp_path, "mm", "exploded", named=told)
        ran = subprocess.run(
            ["dxf2vrml", str(path), "-e", "0.005"], capture_output=True, text=True, check=True, timeout=60
        )
        numbers = re.findall(r"^\s+(-?[\d.e+-]+) (-?[\d.e+-]+) (-?[\d.e+-]+),?$", ran.stdout, re.MULTILINE)
        seen.append(np.array(numbers, dtype=float))
    assert len(seen[0]) > 30
    assert np.array_equal(*seen)
    box = shapely.MultiPoint(seen[0][:, :2]).bounds
    header = ezdxf.readfile(path).header
    low, high = header["$EXTMIN"], header["$EXTMAX"]
    assert box == pytest.approx((*low[:2], *high[:2]), abs=0.02), "its chords cut a little off an arc"
