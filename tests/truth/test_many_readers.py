"""Files of every kind, opened by readers that others wrote; one that is not installed is passed over, and says so.

What each cannot do stands in DEVELOPERS.md. ezdxf and GDAL read every cutting file in test_second_readers.py and
test_service_files.py, PDFium measures the pages in test_template_rendered.py and test_check_print.py, html5lib parses
the sheet in the sheet's room.
"""

from __future__ import annotations

import importlib
import json
import math
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from blankwright.design.request import read_design
from blankwright.desk.make import Made, make
from blankwright.desk.papers import make_template
from blankwright.shop.services import service
from blankwright.template.scenes import wishes
from rooms.every import cases

SOURCE = (
    "DXF: dxf2vrml (dime), OpenSCAD, LibreCAD. SVG: librsvg, svgpathtools, svgelements, CairoSVG. PDF: Poppler, MuPDF, "
    "Ghostscript, pikepdf (QPDF), pypdf. Program: gcodeparser. JSON: jq, SQLite, Perl, orjson. STL: ADMesh, assimp, "
    "trimesh, numpy-stl."
)
TOLERANCE = 1e-4
REASON = (
    "Readers that flatten arcs do it to a few micrometres: less than 1e-4 of a knife's area. Sizes: a tenth of a mm."
)
PT_PER_MM = 72 / 25.4
LOCAL_CHECKS = {"QT_QPA_PLATFORM": "offscreen"}


@pytest.fixture(scope="module")
def chef(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Everything that make writes of a chef."""
    design, out = read_design("chef", {"cutting.process": "water-jet"}), tmp_path_factory.mktemp("all")
    make_template(design, out, wishes())
    return make(design, out, ("stl",)).folder


@pytest.fixture(scope="module")
def report(chef: Path) -> dict[str, Any]:
    table: dict[str, Any] = json.loads((chef / "chef.json").read_text(encoding="utf-8"))
    return table


@pytest.fixture(scope="module")
def sent(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """A cutting file of single lines and arcs, R12."""
    return make(read_design("chef"), tmp_path_factory.mktemp("plasma"), (), True, None, service("plasma"))


@pytest.fixture(scope="module")
def plasma(sent: Made) -> Path:
    """The file itself."""
    (path,) = sent.folder.glob("*.dxf")
    return path


@pytest.fixture(scope="module")
def plasma_area_mm2(sent: Made) -> float:
    """What the cut outline in it encloses."""
    return float(sent.report["outlines"]["cut"]["area_mm2"])


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a path with its program."""
    chosen = service("own-table")
    return make(read_design("chef"), tmp_path_factory.mktemp("own"), ("program",), True, None, chosen).folder


@pytest.fixture
def run(tmp_path: Path) -> Callable[..., str]:
    """Run a reader, or pass the test over when it is not installed; returns what it prints."""

    def ran(*words: object) -> str:
        if shutil.which(str(words[0])) is None:
            pytest.skip(f"{words[0]} is not installed")
        line = [str(word) for word in words]
        env = os.environ | LOCAL_CHECKS
        done = subprocess.run(line, cwd=tmp_path, env=env, capture_output=True, text=True, check=True, timeout=120)
        return done.stdout + done.stderr

    return ran


def module(name: str) -> Any:
    """Import a reader, or pass the test over when it is not installed."""
    try:
        return importlib.import_module(name)
    except ImportError:
        pytest.skip(f"{name} is not installed")


def header_box(path: Path) -> tuple[float, ...]:
    """Return the extents that the file itself states, read as text."""
    text = path.read_text(encoding="ascii")
    found = [re.search(rf"\${name}\n 10\n(\S+)\n 20\n(\S+)\n", text) for name in ("EXTMIN", "EXTMAX")]
    return tuple(float(v) for hit in found if hit for v in hit.groups())


# ---- DXF ----


def test_dime_reads_lines_and_arcs(plasma: Path, run: Callable[..., str]) -> None:
    rows = re.findall(r"^\s+(-?[\d.e+-]+) (-?[\d.e+-]+) 0,?$", run("dxf2vrml", plasma, "-e", "0.005"), re.MULTILINE)
    points = np.array(rows, dtype=float)
    assert len(points) > 100
    box = (*points.min(axis=0), *points.max(axis=0))
    assert box == pytest.approx(header_box(plasma), abs=0.02)


def test_openscad_reads_the_area(plasma: Path, plasma_area_mm2: float, run: Callable[..., str], tmp_path: Path) -> None:
    (tmp_path / "a.scad").write_text(f'import("{plasma}", $fn=2880);\n', encoding="ascii")
    run("openscad", "-q", "-o", "a.svg", "a.scad")
    text = (tmp_path / "a.svg").read_text(encoding="utf-8")
    outer = text.split('<path d="')[1].split("z")[0]
    x, y = np.array(re.findall(r"(-?[\d.e+-]+),(-?[\d.e+-]+)", outer), dtype=float).T
    area = abs((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2
    assert area == pytest.approx(plasma_area_mm2, rel=TOLERANCE)
    assert (x.min(), x.max()) == pytest.approx(header_box(plasma)[::2], abs=1e-3)


@pytest.mark.parametrize("kind", ["plain", "R12"])
def test_librecad_prints_the_file_at_true_size(
    kind: str, chef: Path, plasma: Path, run: Callable[..., str], tmp_path: Path
) -> None:
    """Its paper begins at the drawing's zero: what lies right of the heel and above the board line is on it."""
    path = tmp_path / "in.dxf"
    path.write_bytes((chef / "chef_cut_mm.dxf" if kind == "plain" else plasma).read_bytes())
    run("librecad", "dxf2pdf", path)
    box = re.search(r"HiResBoundingBox: \S+ \S+ (\S+) (\S+)", run("gs", "-q", "-sDEVICE=bbox", "-dBATCH", "-dNOPAUSE",
                                                                   tmp_path / "in.pdf"))  # fmt: skip
    assert box is not None
    printed = [float(v) / PT_PER_MM for v in box.groups()]
    assert printed[0] == pytest.approx(header_box(path)[2], abs=0.2)


# ---- SVG ----


def outline_of(report: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = report["outlines"]["finished"]
    return found


def test_svgpathtools_measures_the_outline_of_the_template(chef: Path, report: dict[str, Any]) -> None:
    paths, _, root = module("svgpathtools").svg2paths2(str(chef / "chef_template_mm.svg"))
    outline = max((p for p in paths if len(p) > 3), key=lambda p: p.bbox()[1] - p.bbox()[0])
    assert outline.isclosed()
    assert abs(outline.area(chord_length=0.1)) == pytest.approx(outline_of(report)["area_mm2"], rel=TOLERANCE)
    assert root["width"].endswith("mm")


def test_svgelements_sees_the_outline_in_millimetres(chef: Path, report: dict[str, Any]) -> None:
    reader = module("svgelements")
    svg = reader.SVG.parse(str(chef / "chef_template_mm.svg"), ppi=25.4)
    boxes = [reader.Path(e).bbox() for e in svg.elements() if isinstance(e, reader.Shape)]
    x0, y0, x1, y1 = max((b for b in boxes if b), key=lambda b: b[2] - b[0])
    assert (x1 - x0, y1 - y0) == pytest.approx(report["part_size_mm"]["finished"], abs=1e-3)


@pytest.mark.parametrize("name", ["chef_template_mm.svg", "chef_drawing_mm.svg"])
def test_librsvg_draws_it_as_large_as_it_says(name: str, chef: Path, run: Callable[..., str], tmp_path: Path) -> None:
    run("rsvg-convert", "-d", "254", "-p", "254", "-o", "a.png", chef / name)
    size = (tmp_path / "a.png").read_bytes()[16:24]
    wide, high = (int.from_bytes(size[i : i + 4], "big") / 10 for i in (0, 4))
    assert (wide, high) == pytest.approx(stated_mm(chef / name), abs=0.11)


@pytest.mark.parametrize("name", ["chef_template_mm.svg", "chef_drawing_mm.svg"])
def test_cairosvg_draws_it_as_large_as_it_says(name: str, chef: Path) -> None:
    size = module("cairosvg").svg2png(url=str(chef / name), dpi=254)[16:24]
    wide, high = (int.from_bytes(size[i : i + 4], "big") / 10 for i in (0, 4))
    assert (wide, high) == pytest.approx(stated_mm(chef / name), abs=0.11)


def stated_mm(path: Path) -> tuple[float, float]:
    text = path.read_text(encoding="utf-8")
    found = [re.search(rf'<svg[^>]* {name}="([\d.]+)mm"', text) for name in ("width", "height")]
    wide, high = (float(hit[1]) for hit in found if hit)
    return wide, high


# ---- PDF ----

A4_PT = pytest.approx((297 * PT_PER_MM, 210 * PT_PER_MM), abs=0.01)
PDFS = ("chef_template_a4.pdf", "chef_check_mm.pdf")


@pytest.mark.parametrize("name", PDFS)
def test_poppler_finds_the_paper_and_the_words(name: str, chef: Path, run: Callable[..., str]) -> None:
    size = re.search(r"Page size: +([\d.]+) x ([\d.]+) pts", run("pdfinfo", chef / name))
    assert size is not None
    assert tuple(map(float, size.groups())) == A4_PT
    assert "measure both bars" in run("pdftotext", chef / name, "-")


@pytest.mark.parametrize("name", PDFS)
def test_mupdf_finds_the_paper_and_the_words(name: str, chef: Path, run: Callable[..., str]) -> None:
    box = re.search(r"mediabox=\"([^\"]+)\"", run("mutool", "trace", chef / name, "1"))
    assert box is not None
    assert tuple(map(float, box[1].split()))[2:] == A4_PT
    assert "measure both bars" in run("mutool", "draw", "-F", "txt", "-o", "-", chef / name, "1")


@pytest.mark.parametrize("name", PDFS)
def test_ghostscript_draws_inside_the_paper(name: str, chef: Path, run: Callable[..., str]) -> None:
    boxes = re.findall(r"HiResBoundingBox: (\S+) (\S+) (\S+) (\S+)", run("gs", "-q", "-sDEVICE=bbox", "-dBATCH",
                                                                       "-dNOPAUSE", chef / name))  # fmt: skip
    assert boxes
    for box in boxes:
        x0, y0, x1, y1 = (float(v) / PT_PER_MM for v in box)
        assert 5 < x0 < x1 < 292
        assert 5 < y0 < y1 < 205


@cases("name", [*PDFS, "chef_card_a4.pdf"])
def test_qpdf_finds_nothing_to_mend(name: str, chef: Path) -> None:
    with module("pikepdf").open(chef / name) as pdf:
        assert not pdf.check_pdf_syntax() if hasattr(pdf, "check_pdf_syntax") else not pdf.check()
        assert str(pdf.Root.ViewerPreferences["/PrintScaling"]) == "/None"


# ---- the program ----


def test_gcodeparser_runs_as_far_as_the_note_says(table: Path) -> None:
    """The way is played back from its words alone; arc centres are from the start of the arc (G91.1)."""
    parse = module("gcodeparser").parse_gcode_lines
    text = (table / "chef_path_mm.nc").read_text(encoding="ascii")
    x = y = length = 0.0
    # a comment that begins with a word such as "G4 P" is read as one by this reader: comments are left out
    for line in parse(re.sub(r"\(.*?\)", "", text), include_comments=False):
        letter, number = line.command
        if letter != "G" or number not in (0, 1, 2, 3):
            continue
        to = line.params.get("X", x), line.params.get("Y", y)
        if number == 1:
            length += math.dist((x, y), to)
        elif number in (2, 3):
            i, j = line.params["I"], line.params["J"]
            first, last = math.atan2(-j, -i), math.atan2(to[1] - y - j, to[0] - x - i)
            turn = (first - last if number == 2 else last - first) % (2 * math.pi)
            length += math.hypot(i, j) * turn
        x, y = to
    note = " ".join((table / "chef_note.txt").read_text(encoding="ascii").split())
    said = re.search(r"Cut ([\d.]+) m of cut", note)
    assert said is not None
    assert length / 1000 == pytest.approx(float(said[1]), abs=0.006)


# ---- the report ----


def test_jq_reads_the_report(chef: Path, report: dict[str, Any], run: Callable[..., str]) -> None:
    assert float(run("jq", ".shop.cut_mm", chef / "chef.json")) == report["shop"]["cut_mm"]


def test_sqlite_reads_the_report(chef: Path, report: dict[str, Any]) -> None:
    import sqlite3

    text = (chef / "chef.json").read_text(encoding="utf-8")
    with sqlite3.connect(":memory:") as db:
        (valid, cut), *_ = db.execute("select json_valid(?1), json_extract(?1, '$.shop.cut_mm')", (text,))
    assert (valid, cut) == (1, report["shop"]["cut_mm"])


def test_perl_reads_the_report(chef: Path, report: dict[str, Any], run: Callable[..., str]) -> None:
    words = 'local $/; open F, "<", shift; print decode_json(<F>)->{shop}{cut_mm}'
    assert float(run("perl", "-MJSON::PP", "-e", words, chef / "chef.json")) == report["shop"]["cut_mm"]


def test_orjson_reads_the_report(chef: Path, report: dict[str, Any]) -> None:
    assert module("orjson").loads((chef / "chef.json").read_bytes()) == report


# ---- solids ----


@pytest.mark.parametrize("part", ["blade", "knife"])
def test_admesh_finds_a_closed_solid_of_the_same_volume(part: str, chef: Path, run: Callable[..., str]) -> None:
    path = chef / f"chef_{part}_mm.stl"
    told = run("admesh", path)
    volume = re.search(r"Volume +: +(\S+)", told)
    assert volume is not None
    assert float(volume[1]) == pytest.approx(module("trimesh").load(path).volume, rel=TOLERANCE)
    assert re.search(r"Total disconnected facets +: +\d+ +0", told), told


@pytest.mark.parametrize("part", ["blade", "knife"])
def test_assimp_and_numpy_stl_read_as_many_faces(part: str, chef: Path, run: Callable[..., str]) -> None:
    path = chef / f"chef_{part}_mm.stl"
    faces = re.search(r"^Faces: +(\d+)", run("assimp", "info", path), re.MULTILINE)
    assert faces is not None
    assert int(faces[1]) == len(module("stl").mesh.Mesh.from_file(str(path)).vectors)
