"""The cover note of a sheet: all that a shop has to know, in the words of its knives; the file as ezdxf reads it."""

from __future__ import annotations

import io
import re
from functools import cache

import ezdxf
import ezdxf.bbox
import pytest

from blankwright.base.library import templates_dir
from blankwright.cutting.covernote import note_of
from blankwright.cutting.delivery import deliver
from blankwright.cutting.note import NoteRow
from blankwright.cutting.order import SentFile
from blankwright.design.request import read_design
from blankwright.geometry.pose import Pose
from blankwright.ink.papers import paper
from blankwright.knife.knife import Knife, finish
from blankwright.shop.tables import material
from blankwright.stock.blank import Blank, Job
from blankwright.stock.layout import Laid, Layout, Sheet
from blankwright.stock.nest import Nested
from blankwright.stock.nestfiles import Split, layout_files
from blankwright.stock.nestreport import Report
from blankwright.stock.piece import Piece, box


@cache
def knife(name: str) -> Knife:
    return finish(read_design(str(templates_dir() / "designs" / f"{name}.toml")))


def report(*names: str, thick: float = 3.0, finished: bool = False, steel: str = "80CrV2") -> Report:
    """Lay knives out one above the other, turned by 3 degrees on a sheet rolled along."""
    knives = [knife(name) for name in dict.fromkeys(names)]
    blanks = tuple(
        Blank(k.design.name, k.finished if finished else k.cut, names.count(n), 3.0, 1.0, knife=k)
        for n, k in zip(dict.fromkeys(names), knives, strict=True)
    )
    piece = Piece(
        "Sheet", "sheet", box(500.422, 90.0 * len(names)), ((0.0, thick),), grain_deg=0.0, material=material(steel)
    )
    order = [list(dict.fromkeys(names)).index(name) for name in names]
    laid = tuple(Laid(b, Pose(200.0, 40.0 + 85.0 * k, 3.0, False)) for k, b in enumerate(order))
    layout = Layout(Job("Galley set", (piece,), blanks, 4.0, stock="sheet.toml"), (Sheet(0, 1, laid),))
    return Report(Nested(layout, 0.0, stopped=False, library=False, tried=1))


def files(told: Report, split: Split = "sheet") -> dict[str, str]:
    return {name: text for name, text in layout_files(told, paper("A4"), split).items() if isinstance(text, str)}


def words(note: str) -> str:
    return re.sub(r"\s+", " ", note)


def test_the_note_says_all_that_a_shop_has_to_know() -> None:
    made = files(report("galley_chef", "galley_paring", "galley_paring"))
    note = words(made["1_note.txt"])
    for told in (
        "Galley set, Sheet: cover note",
        "galley-set_1_cut_mm.dxf: DXF R2000, numbers are millimetres.",
        "3, all in this file, at true size, laid out on Sheet, 500.4 x 270.0 mm, at least 4 mm apart",
        "What we grind off later is in every outline already; add none.",
        "Material 80CrV2 (1.2235) chromium-vanadium steel, 3 mm (0.118 in).",
        "Rolling direction along the length of the sheet (x in the file); parts lie within 3.0 degrees of it: do not",
        f"1 x Galley chef, design {knife('galley_chef').code}.",
        f"2 x Galley paring, design {knife('galley_paring').code}.",
        "cut 4.85 mm, ream. Cut as drawn; we ream.",
        "Part +/- 0.25 mm on any size, holes +/- 0.25 mm on the diameter",
        "please compensate for your kerf",
        "Edges come sharp",
    ):
        assert told in note
    assert made["1_note.txt"].isascii()


def test_the_parts_are_told_in_the_words_of_their_own_notes() -> None:
    told = report("galley_chef", "galley_utility").data["sheets"][0]["note"]["rows"]
    for name in ("galley_chef", "galley_utility"):
        single = note_of([deliver(knife(name))], SentFile("x.dxf", "x.dxf", (), (1.0, 1.0)))
        own = [
            row
            for row in single.rows
            if row.about in ("Material", "Size", "Weight", "Inside", "Holes", "Edges", "Kerf")
        ]
        assert len(own) == 7
        assert all({"about": row.about, "words": row.words} in told for row in own)


def test_what_the_note_says_of_the_file_is_what_ezdxf_reads() -> None:
    made = files(report("galley_chef", "galley_paring", "galley_paring"))
    drawing = ezdxf.read(io.StringIO(made["1_cut_mm.dxf"])).modelspace()
    shut = [line for line in drawing.query("LWPOLYLINE") if line.closed]
    extents = ezdxf.bbox.extents(drawing, fast=False)
    note = words(made["1_note.txt"])
    assert f"CUT cut {len(shut)} closed contours, {len(drawing.query('CIRCLE'))} round holes" in note
    wide, high = map(float, re.search(r"All that is cut is ([\d.]+) x ([\d.]+) mm", note).groups())  # type: ignore[union-attr]
    assert (wide, high) == pytest.approx((extents.size.x, extents.size.y), abs=0.06)


def test_a_part_is_as_thick_and_as_heavy_as_the_sheet_that_it_is_cut_out_of() -> None:
    """A knife of 3 mm out of 4 mm: its note says 4 mm and a third more, by arithmetic; its maker is told."""
    thin, thick = (report("galley_chef", thick=t) for t in (3.0, 4.0))
    assert "and 4 mm thick" in words(files(thick)["1_note.txt"])
    weighs = [one.data["sheets"][0]["mass_g"]["blanks"] for one in (thin, thick)]
    assert weighs[1] == pytest.approx(weighs[0] * 4 / 3, abs=0.2)
    assert weighs[0] == pytest.approx(knife("galley_chef").cut_blank.mass_g, abs=0.1)
    line = "  to look at: Galley chef is drawn for 3 mm and is cut out of 4 mm: take other steel, or grind it down."
    assert [line in [one.text() for one in told.lines()] for told in (thin, thick)] == [False, True]


def test_a_finished_line_is_not_said_to_have_an_allowance() -> None:
    told = report("galley_chef", finished=True)
    note = words(files(told, "part")["1_note.txt"])
    assert "Galley chef: the finished line, nothing added." in note
    assert "What we grind off" not in note
    long, high = knife("galley_chef").finished.size_mm
    assert f"The part is {long:.1f} mm long, {high:.1f} mm high" in note
    assert "1, a file each" in note
    assert NoteRow("File", "galley-set_1_*_cut_mm.dxf: DXF R2000, numbers are millimetres.").words in note


def test_a_board_that_a_hand_cuts_gets_the_note_of_a_hand() -> None:
    made = files(report("galley_spreader", thick=8.0, steel="beech"))
    note = words(made["1_note.txt"])
    assert "note for the hand that cuts" in note
    assert "Grain along the length of the sheet (x in the file); parts lie within 3.0 degrees of it" in note
    assert "American beech, 8 mm" in note
    assert "500.4 x 90 x 8 mm" in made["1_layout_mm.svg"], "sizes to a tenth, as on other papers"


def test_a_hand_that_cuts_a_finished_line_has_no_room_to_wander() -> None:
    """With nothing added, its note said that room is left for the hand."""
    notes = [
        words(files(report("galley_spreader", thick=8.0, steel="beech", finished=f))["1_note.txt"])
        for f in (False, True)
    ]
    assert [("Room is left for a hand" in note, "No room is left for a hand" in note) for note in notes] == [
        (True, False),
        (False, True),
    ]
    assert "nothing added" in notes[1]
    off = float(re.search(r"off by ([\d.]+) mm either way", notes[1])[1])  # type: ignore[index]
    assert f"Stay {off / 2:g} mm outside the line or more." in notes[1]
