"""`nest` from its job file to its files: read back by others, used by the next job, refused in words."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import shapely

from blankwright.base.errors import DesignError, RequestError
from blankwright.stock.jobfile import read_job
from blankwright.stock.stockfile import read_stock
from properties.spoiled_jobs import laid, wrong
from rooms.every import every
from rooms.often import often, repeated

STOCK = """format = 1
[[piece]]
name = "Stainless sheet"
kind = "sheet"
length = "420 mm"
width = "150 mm"
thickness = "3 mm"
grain = "along"
quantity = 3
margin = "2 mm"
[[piece.zone]]
kind = "avoid"
name = "scratch"
points = [["380 mm", "70 mm"], ["410 mm", "70 mm"], ["410 mm", "90 mm"], ["380 mm", "90 mm"]]
margin = "3 mm"
"""

JOB = """name = "Ferry galley set"
stock = "sheet.toml"
gap = "4 mm"
[[part]]
design = "paring"
quantity = 4
turn = "grain"
within = "10 deg"
[[part]]
design = "utility"
quantity = 1
set.blade.length = "130 mm"
"""

PRICES = 'currency = "EUR"\nstock = "9.80 per kg"\ncutting = "3.50 per piece"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for name, text in (("sheet.toml", STOCK), ("job.toml", JOB), ("prices.toml", PRICES)):
        (tmp_path / name).write_text(text)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_job_from_file_to_files(folder: Path, command: Callable[..., Any]) -> None:
    ran = command("nest", "job.toml", "--seconds", "1.5", "--prices", "prices.toml", "--json")
    assert ran.code == 0, ran.err
    assert "of 5 blanks on 1 piece" in ran.err
    data = json.loads(ran.out)
    (sheet,) = data["sheets"]
    assert data["left"] == []
    assert {"piece", "yield", "parts"} <= set(sheet)
    assert all({"design", "x_mm", "y_mm", "turn_deg", "flipped"} <= set(part) for part in sheet["parts"])
    out = folder / "out" / "ferry-galley-set"
    assert sorted(data["files"]) == sorted(p.name for p in out.glob("*") if not p.name.startswith("."))

    outlines = _outlines(out / "ferry-galley-set_1_cut_mm.dxf")
    assert len(outlines) == 5
    for k, area in enumerate(outlines):
        assert shapely.box(2, 2, 418, 148).buffer(0.01).covers(area)
        assert shapely.box(380, 70, 410, 90).distance(area) > 2.99
        assert all(area.distance(other) > 3.99 for other in outlines[:k])
    whole = sum(area.area for area in outlines)
    assert sheet["yield"] == pytest.approx(whole / (420 * 150), abs=2e-3)  # the reader's chords
    job = read_job(folder / "job.toml")
    for area, part in zip(outlines, sheet["parts"], strict=True):
        x0, _, x1, _ = area.bounds
        ends = sorted(part["places_mm"][name][0] for name in ("tip", "butt"))
        assert ends == pytest.approx([x0, x1], abs=0.6 if part["turn_deg"] % 180 else 0.02)

    density = job.blanks[0].knife.material.density_kg_m3.value  # type: ignore[union-attr]
    kilos = 420 * 150 * 3 * density * 1e-9
    assert sheet["mass_g"]["stock"] == pytest.approx(kilos * 1000, abs=0.1)
    paid = (kilos - sheet["mass_g"]["offcuts"] / 1000) * 9.80 + 5 * 3.50
    assert data["cost"] == {"total": pytest.approx(paid, abs=0.02), "currency": "EUR"}
    middles = [(area.bounds[0] + area.bounds[2]) / 2 for area in outlines]
    assert all(a > b - 0.15 for a, b in pairwise(middles))  # held left: from the free end inward

    left = read_stock(out / "ferry-galley-set_offcuts.toml")
    assert left[-1].quantity == 2
    assert left[-1].outline.size_mm == (420.0, 150.0)
    assert left[-1].avoided[0].words == "scratch"
    (folder / "next.toml").write_text(JOB.replace("sheet.toml", "out/ferry-galley-set/ferry-galley-set_offcuts.toml"))
    assert read_job(folder / "next.toml").pieces == left or len(left) > 0


def _outlines(file: Path) -> list[shapely.Polygon]:
    """Return the closed lines of a DXF as GDAL reads them, holes left out; chords of 4 degrees."""
    pyogrio = pytest.importorskip("pyogrio")
    _, _, shapes, _ = pyogrio.raw.read(file)
    lines = [shapely.from_wkb(one) for one in shapes]
    areas = [shapely.Polygon(line.coords) for line in lines if line.geom_type == "LineString" and len(line.coords) > 3]
    return [area for area in areas if area.area > 500]


def test_a_file_for_each_part_lies_in_the_coordinates_of_the_sheet(folder: Path, command: Callable[..., Any]) -> None:
    ran = command("nest", "job.toml", "--seconds", "0.5", "--files", "part")
    assert ran.code == 0, ran.err
    out = folder / "out" / "ferry-galley-set"
    one_each = [_outlines(file)[0] for file in sorted(out.glob("*_cut_mm.dxf"))]
    assert len(one_each) == 5
    assert min(a.distance(b) for k, a in enumerate(one_each) for b in one_each[:k]) > 3.99


def test_what_found_no_room_is_told(folder: Path, command: Callable[..., Any]) -> None:
    (folder / "job.toml").write_text(JOB + '[[part]]\ndesign = "chef"\nset = { "material.thickness" = "4 mm" }\n')
    low = STOCK.replace("quantity = 3\n", "").replace('"150 mm"', '"60 mm"')
    (folder / "sheet.toml").write_text(low.replace("70 mm", "20 mm").replace("90 mm", "30 mm"))
    ran = command("nest", "job.toml", "--seconds", "0.5", "--units", "in")
    assert ran.code == 1
    assert "Left over: 1 chef: no piece is as thick as the 4 mm that it needs." in ran.out
    assert "no room was found for it" in ran.out
    data = json.loads((folder / "out/ferry-galley-set/ferry-galley-set_nest.json").read_text())
    assert {one["design"] for one in data["left"]} >= {"chef"}


@every(
    [
        ('gap = "4 mm"', 'gap = "0.2 mm"', "less than the slot"),
        ('gap = "4 mm"', 'gap = "4"', "gap"),
        ('stock = "sheet.toml"', 'stock = "shet.toml"', "there is no such stock file"),
        ('stock = "sheet.toml"', 'stock = "leaf_sprin"', "leaf_spring"),
        ("quantity = 4", "quantity = 0", r"\[\[part\]\] paring quantity"),
        ("quantity = 4", "quantity = 4000", "1 to 1000"),
        ('turn = "grain"', 'turn = "grian"', "Allowed: any, grain"),
        ('turn = "grain"', 'turn = "any"', "within: says how far from the grain"),
        ('within = "10 deg"', 'within = "100 deg"', "0 to 90 degrees"),
        ('design = "utility"', 'design = "utilty"', "utility"),
        ("set.blade.length", "set.blade.lenght", "length"),
        ('name = "Ferry', 'held = "top"\nname = "Ferry', "unknown held 'top'. Allowed: above, below, left, right"),
        ("[[part]]", "[[parts]]", "parts"),
        ('name = "Ferry', 'name = "' + 101 * "9", "job.toml name: at most 100 characters"),
        ('design = "utility"', 'name = "' + 101 * "9" + '"\ndesign = "utility"', "name: at most 100 characters"),
    ]
)  # fmt: skip
def test_a_job_file_is_refused_in_words(was: str, now: str, words: str) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "sheet.toml").write_text(STOCK)
        (folder / "job.toml").write_text(JOB.replace(was, now))
        with pytest.raises(RequestError, match=words):
            read_job(folder / "job.toml")


def test_what_no_file_is_made_of_is_not_laid_out_either(folder: Path) -> None:
    """An allowance that the cut may take: `cut` refuses it, and so does a sheet of it."""
    job = folder / "job.toml"
    job.write_text(JOB.replace('design = "utility"', 'design = "utility"\nset.allowance.edge = "0.1 mm"'))
    with pytest.raises(DesignError, match=r"\[\[part\]\] utility: \[allowance\] edge 0.10 mm where the cut may take"):
        read_job(job)


def test_the_gap_follows_the_process_where_nobody_gives_it(folder: Path) -> None:
    (folder / "job.toml").write_text(JOB.replace('gap = "4 mm"\n', ""))
    job = read_job(folder / "job.toml")
    assert job.gap_mm >= max(blank.kerf_mm for blank in job.blanks) + 1.0
    assert "common practice" in job.gap_words


def test_grain_that_nobody_knows_is_asked_for(folder: Path, command: Callable[..., Any]) -> None:
    (folder / "sheet.toml").write_text(STOCK.replace('grain = "along"\n', ""))
    ran = command("nest", "job.toml", "--seconds", "0.5")
    assert ran.code == 2
    assert "needs the direction of rolling of Stainless sheet" in ran.err
    assert not (folder / "out").exists()


@repeated
def test_spoiled_files_get_an_answer_in_words(
    tmp_path: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some of what `bench/spoiled_jobs.py` reads two thousand of."""
    faults, codes = list[str](), set[int]()
    for number in range(often(200, 25)):
        folder = tmp_path / str(number)
        folder.mkdir()
        line = laid(folder, 3, number)
        monkeypatch.chdir(folder)
        ran = command(*line)
        codes.add(ran.code)
        faults += [f"spoiled(3, {number}): {fault}" for fault in wrong(folder, ran.code, ran.out, ran.err)]
    assert not faults, "\n".join(faults)
    assert len(codes) > 1
