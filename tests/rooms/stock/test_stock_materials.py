"""A blank comes out of a piece of its own material: refused in words, or said where nobody knows."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdf
import pytest

from blankwright.base.errors import RequestError
from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.geometry.pose import Pose
from blankwright.knife.knife import finish
from blankwright.shop.tables import material
from blankwright.stock.blank import Job
from blankwright.stock.figures import sheet_figures
from blankwright.stock.jobfile import read_job
from blankwright.stock.layout import Laid, Layout, Sheet, proven
from blankwright.stock.nest import Nested
from blankwright.stock.nestpicture import material_words
from blankwright.stock.nestreport import Report
from blankwright.stock.offcuts import offcuts
from blankwright.stock.ofmaterial import is_same, material_lines
from blankwright.stock.paper import placing_pdf
from blankwright.stock.picture import placing_svg
from blankwright.stock.piece import Piece, box
from blankwright.stock.place import Wish, place_on
from blankwright.stock.report import Told
from blankwright.stock.run import told_data
from blankwright.stock.stockfile import read_stock, stock_from_table
from blankwright.stock.stocktext import stock_text
from blankwright.stock.wanted import Wanted
from blankwright.template.scenes import wishes
from rooms.every import every
from rooms.stock.test_placing import QUICK

SHEET = {"kind": "sheet", "length": "600 mm", "width": "200 mm", "thickness": "3 mm"}

JOB = """stock = "sheet.toml"
gap = "4 mm"
[[part]]
design = "paring"
[[part]]
design = "chef"
"""
OTHER = 'set = { "material.grade" = "AEB-L" }\n'
BOARD = 'set = { "material.grade" = "beech", "cutting.process" = "trace" }\n'


def stock(*materials: str) -> str:
    rows = [f'[[piece]]\nname = "piece {k}"\n' + "\n".join(f'{key} = "{v}"' for key, v in SHEET.items()) + "\n" + (
        f'material = "{one}"\n' if one else "") for k, one in enumerate(materials, start=1)]  # fmt: skip
    return "format = 1\n" + "".join(rows)


def job_of(folder: Path, job: str, *materials: str) -> Job:
    (folder / "sheet.toml").write_text(stock(*materials))
    (folder / "job.toml").write_text(job)
    return read_job(folder / "job.toml")


@every(
    [
        (JOB + OTHER, ("",), r"sheet.toml \[\[piece\]\] piece 1 material: is not said.*paring\); AEB-L \(chef\)"),
        (JOB + BOARD, ("", "80CrV2"), r"several: 80CrV2 \(paring\); beech \(chef\)"),
        (JOB + OTHER, ("80CrV2",), "no piece is of AEB-L, to cut chef from; piece 1 is of 80CrV2"),
        (JOB, ("beech",), "no piece is of 80CrV2, to cut paring, chef from; piece 1 is of beech"),
        (JOB, ("unknown",), 'piece 1 is of steel of unknown grade.* material = "80CrV2"'),
        (JOB, ("80CrV3",), r"piece 1 material: unknown material '80CrV3'. Did you mean '80CrV2'"),
        (JOB, ("brass",), "brass is a metal for pins. Allowed here: steels or woods"),
        (JOB, ("my.toml",), "my.toml: there is no such table file"),
    ]
)  # fmt: skip
def test_a_job_whose_blanks_would_be_mixed_is_refused(job: str, materials: tuple[str, ...], words: str) -> None:
    with tempfile.TemporaryDirectory() as name, pytest.raises(RequestError, match=words):
        job_of(Path(name), job, *materials)


def test_each_blank_lies_on_a_piece_of_its_own(tmp_path: Path) -> None:
    """A sheet of each and a board that nothing is cut of: two materials never share a cutting file."""
    job = job_of(tmp_path, JOB + OTHER, "beech", "80CrV2", "AEB-L")
    paring, chef = Laid(0, Pose(150.0, 50.0, 0.0, False)), Laid(1, Pose(300.0, 100.0, 0.0, False))
    assert [[bool(blank.flips(piece)) for piece in job.pieces] for blank in job.blanks] == [
        [False, True, False],
        [False, False, True],
    ]
    good = Layout(job, (Sheet(1, 1, (paring,)), Sheet(2, 1, (chef,))))
    assert [fault for sheet in good.sheets for fault in proven(good, sheet).faults] == []
    lines = [line.text() for line in Report(Nested(good, 0.0, stopped=False, library=False, tried=1)).lines()]
    assert "Not used: piece 1; no blank is of beech." in lines
    mixed = Layout(job, (Sheet(1, 1, (paring, chef)),))
    assert list(proven(mixed, mixed.sheets[0]).faults) == ["2 chef: is of another material"]


def test_a_sheet_weighs_what_its_own_material_does(tmp_path: Path) -> None:
    """3 mm x 600 mm x 200 mm: of steel of 7850 kg/m3 2826 g (arithmetic); of AEB-L a little less."""
    for one in ("80CrV2", "AEB-L"):
        job = job_of(tmp_path, JOB.replace("[[part]]\n", "[[part]]\n" + OTHER.replace("AEB-L", one)), one)
        layout = Layout(job, (Sheet(0, 1, (Laid(0, Pose(300.0, 50.0, 0.0, False)),)),))
        figures = sheet_figures(layout, layout.sheets[0], None)
        assert figures.stock_g == pytest.approx(360_000 * material(one).density_kg_m3.value * 1e-6, abs=0.01)
        (first, *_) = offcuts(layout, layout.sheets[0])
        (read,) = stock_from_table(_parsed(stock_text([first])), "offcuts.toml")
        assert read.material is not None
        assert read.material.name == one


def _parsed(text: str) -> dict[str, Any]:
    import tomllib

    return tomllib.loads(text)


def test_a_sheet_that_does_not_say_is_taken_as_the_blanks_and_the_papers_say_so(tmp_path: Path) -> None:
    job = job_of(tmp_path, JOB, "")
    layout = Layout(job, (Sheet(0, 1, (Laid(0, Pose(300.0, 50.0, 0.0, False)),)),))
    assert material_words(layout, layout.sheets[0]) == "sheet.toml does not say its material; taken as 80CrV2"
    assert "material" not in stock_text(offcuts(layout, layout.sheets[0])), "an offcut claims no more than its sheet"


def test_a_material_of_ones_own_is_the_same_from_wherever_it_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "mine.toml").write_text((templates_dir() / "tables" / "steel.toml").read_text())
    monkeypatch.chdir(tmp_path)  # the change of a job's design is read from where the command runs
    job = job_of(Path(), JOB.replace("[[part]]\n", '[[part]]\nset = { "material.grade" = "mine.toml" }\n'), "mine.toml")
    written = stock_text(job.pieces)
    monkeypatch.chdir("/")
    (again,) = stock_from_table(_parsed(written), "offcuts.toml", tmp_path / "elsewhere")
    assert again.material is not None
    assert is_same(again.material, material(str(tmp_path / "mine.toml")))


def test_a_knife_is_placed_on_its_own_material_only(tmp_path: Path, command: Callable[..., Any]) -> None:
    (tmp_path / "s.toml").write_text(stock("beech", "AEB-L"))
    ran = command("place", "paring", tmp_path / "s.toml", "--out", tmp_path)
    assert ran.code == 2
    assert "paring is of 80CrV2, and no piece of the stock file is: piece 1 is of beech; piece 2 is of AEB-L" in ran.err
    spreader = command("place", templates_dir() / "designs" / "galley_spreader.toml", "leaf_spring", "--out", tmp_path)
    assert spreader.code == 2
    assert "Leaf spring is of steel of unknown grade" in spreader.err


def test_what_nobody_knows_of_a_piece_is_said_beside_the_placing() -> None:
    """A found piece whose grade nobody knows may be any steel; what is told of a steel may not hold for it."""
    knife, found = finish(read_design("paring")), read_stock("mill_file")[0]
    unsaid, board = stock_from_table(_parsed(stock("", "beech")), "s.toml")
    lines = [line.text() for line in material_lines(knife, unsaid, (unsaid, board))]
    assert lines == [
        "The stock file does not say the material of piece 1; taken as 80CrV2.",
        "Left out, of another material: piece 2 (beech).",
    ]
    (said,) = material_lines(knife, found, (found,))
    assert "may not hold for it. Harden a test piece first" in said.text()
    own = finish(read_design(str(templates_dir() / "designs" / "mill_file_paring.toml")))
    assert material_lines(own, found, (found,)) == []


@every(["unknown", "", "80CrV2"])
def test_paper_picture_and_data_say_the_same_of_a_piece_s_material(grade: str) -> None:
    knife, of = finish(read_design("paring")), material(grade) if grade else None
    piece = Piece("p", "found", box(260.0, 60.0), ((0.0, 5.0),), material=of)
    words = {
        "unknown": "steel of unknown grade: what is told of 80CrV2 may not hold",
        "": "material not said, taken as 80CrV2",
        "80CrV2": "80CrV2, as the stock file says",
    }[grade]
    told = Told(place_on(Wanted(knife), piece, Wish(), QUICK), (), Wish())
    assert told_data(told, [piece])["material"]["words"] == words
    assert words in placing_svg(told.placed)
    pages = pypdf.PdfReader(io.BytesIO(placing_pdf(told.placed, wishes("A4")))).pages
    assert words in pages[0].extract_text()
