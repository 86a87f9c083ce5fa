"""The papers of one knife side by side: sheet, card, template, parts, report and terminal answer one question alike."""

from __future__ import annotations

import itertools
import re
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

from blankwright.base.library import templates_dir
from blankwright.cutting.parts.catalogue import all_parts
from blankwright.cutting.parts.sent import makers_note, parts_note
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.drawing.content import part_drawing
from blankwright.drawing.svg import drawing_svg
from blankwright.knife.handle import knuckle_room_mm
from blankwright.knife.knife import Knife, finish
from blankwright.report.data import document
from blankwright.sheet.card import card_of
from blankwright.sheet.files import SheetWishes, phone_pictures, sheet_files, sheet_paper
from blankwright.sheet.stages import sheet_of
from blankwright.shop.hand import finger_room
from blankwright.shop.services import service
from blankwright.template.scenes import scenes, template_pdf, wishes
from rooms.blanks import blank_file, knife_of, row_of_holes
from rooms.desk.test_all_papers import joined, pdf_words, told
from rooms.every import cases

LEAF = {"pins.diameter": "3/16 in", "pins.fit": "peened", "pins.count": "3", "material.thickness": "6 mm"}
BLANK = {"material.grade": "80CrV2", "material.thickness": "3 mm", "start.from": "hardened-blank"}


@cache
def work(name: str) -> Knife:
    """Return a knife of these tests: one of each kind that papers disagreed on."""
    return knife_of(*{
        "chef": ("chef", {}),
        "leaf": ("chef", LEAF),
        "hidden": ("utility", {"handle.construction": "hidden"}),
        "hardened": ("chef", {"start.from": "hardened-blank"}),
        "soft blank": ("chef", {"start.from": "blank"}),
    }[name])  # fmt: skip


@pytest.fixture(scope="module")
def lifted(tmp_path_factory: pytest.TempPathFactory) -> Knife:
    """Return a hardened blank that exists, its holes a little wide for the rod."""
    made, folder = knife_of("chef", {"pins.count": "3"}), tmp_path_factory.mktemp("lifted")
    return knife_of(str(blank_file(folder, made, row_of_holes(made, 5.01, 5.03, 5.02))), BLANK)


def sheet_words(knife: Knife) -> str:
    return "\n".join(words for stage in sheet_of(knife).stages for words in told(stage))


def parts_words(knife: Knife) -> str:
    """Return what shop and maker are told of the parts beside the blade."""
    parts = [(part, f"{part.name}.dxf") for part in all_parts(knife)[0]]
    return joined(makers_note(knife, parts) + parts_note(knife, parts, None, 1))


def template_words(knife: Knife) -> str:
    return joined(pdf_words(template_pdf(knife, wishes("A4"))))


def test_no_paper_bores_through_the_holes_of_a_blank_or_works_its_hard_steel(lifted: Knife) -> None:
    """A bit that is tight in hard steel breaks (common practice)."""
    through = r"(?:drill|bore) (?:it |the block )?(?:through|at) the tang's (?:own )?holes?"
    for knife in (lifted, work("hardened"), work("soft blank"), work("leaf")):
        for words in (sheet_words(knife), parts_words(knife), template_words(knife)):
            assert not re.search(through, words, re.IGNORECASE), re.search(through, words, re.IGNORECASE)
        assert "take the scale off and open its own hole" in parts_words(knife)
    for knife in (lifted, work("hardened"), work("soft blank")):
        assert "a blank's holes" in parts_words(knife)
        assert not re.search(r"trace round it|work to the line|transfer punch", parts_words(knife))
    assert re.search(through, parts_words(work("chef")))
    assert re.search(through, sheet_words(work("chef")), re.IGNORECASE)
    assert "transfer punch" in parts_words(work("chef"))


def test_a_scale_is_drawn_with_its_own_bore(lifted: Knife) -> None:
    """What is traced on the wood is what the sheet bores and the parts' file cuts, not the tang's hole."""
    for knife in (lifted, work("leaf"), work("chef")):
        scene = next(s for s in scenes(knife, both_faces=False, dummy=False) if s.name == "scales")
        drawn = {round(h.diameter_mm, 6) for h in scene.holes}
        (part, *_) = all_parts(knife)[0]
        assert drawn == {round(d, 6) for _, _, d in part.holes}
        (bore,) = drawn
        stage = next(s for s in sheet_of(knife).stages if s.code == "handle")
        assert f"Hole in the handle: {bore:.2f} mm" in told(stage)
        on_card = [
            one
            for s in card_of(sheet_of(knife)).stages
            if s.title == stage.title
            for one in s.told
            if one.label == "hole"
        ]
        assert [one.figure for one in on_card] == [f"{bore:.2f} mm"]


def test_sizes_have_two_decimals_at_most_where_a_maker_reads_them() -> None:
    for words in (parts_words(work("leaf")), template_words(work("leaf"))):
        assert not re.findall(r"\d\.\d{3,} mm", words)
        assert "4.86 mm" in words


@cases("name", ["chef", "leaf", "hidden"])
def test_a_rough_scale_or_block_has_one_size(name: str) -> None:
    """Sheet, card and template say and draw one size, with room at the front too, which is shaped before glue-up."""
    knife = work(name)
    scene = scenes(knife, both_faces=False, dummy=False)[1]
    (x0, y0, x1, y1), finished = scene.dashed[0].bounds_mm, scene.solid[0].bounds_mm
    size = f"{x1 - x0:.1f} x {y1 - y0:.1f}"
    assert x1 == pytest.approx(finished[2] + 3, abs=1e-6)
    assert f"dashed: saw to this, {size} mm" in template_words(knife)
    assert re.search(rf"^Saw \d [^:]*: {size.replace(' x ', ' mm (?:x )?')} mm", sheet_words(knife), re.MULTILINE)
    assert [one for s in card_of(sheet_of(knife)).stages for one in s.told if one.figure.startswith(size)]


def test_only_pages_of_the_blade_say_its_size() -> None:
    for name in ("chef", "hidden"):
        pages = template_words(work(name))
        assert pages.count("The part is ") == 1
        assert pages.index("The part is ") < pages.index("larger all round")


def test_a_peened_pin_is_said_to_have_room() -> None:
    assert "by hand and stands square" not in sheet_words(work("leaf"))
    assert "drops through every hole with room all round" in sheet_words(work("leaf"))
    assert "by hand and stands square" in sheet_words(work("chef"))


def test_room_for_the_knuckles_is_judged_once_as_it_is_printed() -> None:
    """20 mm are enough where 20 are needed, on the sheet as in the report, whatever stands behind the point."""
    heights = ("44 mm", "45.5 mm", "48 mm")
    found = set()
    for high in heights:
        knife = knife_of("chef", {"blade.heel_height": high})
        room = knuckle_room_mm(knife.shape, knife.handle) or 0.0
        (figure,) = (f.line.text() for f in knife.figures if f.code == "KNUCKLES")
        for_hand = "a knife for the hand" in figure
        assert for_hand == ("a knife for the hand" in sheet_words(knife)) == (round(room) < finger_room().low)
        found.add((for_hand, round(room), room < finger_room().low))
    assert (False, 20, True) in found, "none just below that is printed as enough"
    assert {for_hand for for_hand, *_ in found} == {True, False}


def test_a_rod_that_is_loose_in_a_blank_is_told_with_what_would_do(lifted: Knife, tmp_path: Path) -> None:
    """0.1 to 0.2 mm on the diameter for a pin in epoxy (common practice)."""
    (one,) = (f for f in lifted.findings if f.code == "PIN-PLAY")
    assert one.level == "warning"
    said = one.line.text()
    assert "rod of 4.76 mm has 0.27 mm of play in the blank's 5.03 mm hole; 0.10 to 0.20 mm is the rule" in said
    assert "Measure rods for one of 4.83 to 4.91 mm, or put a sleeve over it." in said
    assert said in sheet_words(lifted)
    made = knife_of("chef", {"pins.count": "3"})
    fits = knife_of(str(blank_file(tmp_path, made, row_of_holes(made, 5.1, 5.12, 5.15))), BLANK)
    assert not [f for f in fits.findings if f.code == "PIN-PLAY"]
    tight = knife_of(str(blank_file(tmp_path, made, row_of_holes(made, 5.04, 5.1, 5.12))), BLANK)
    (one,) = (f for f in tight.findings if f.code == "PIN-PLAY")
    assert "rod of 5.00 mm has 0.04 mm of play" in one.line.text()
    assert "sleeve" not in one.line.text()


def check_words(knife: Knife, folder: Path) -> str:
    made = make(knife.design, folder, service=knife.service)
    return joined(pdf_words(next(made.folder.glob("*_check_mm.pdf")).read_bytes()))


def test_a_check_print_says_what_it_is_laid_beside(tmp_path: Path) -> None:
    """Nobody orders what is cut by hand, and a line of the cutter's middle is no line of the part."""
    ordered = check_words(work("chef"), tmp_path / "shop")
    assert "Compare it with the order; lay the part on it when it comes." in ordered
    by_hand = check_words(knife_of("chef", {"cutting.process": "saw"}), tmp_path / "hand")
    assert "order" not in by_hand
    assert "Lay the part on it when it is cut." in by_hand
    table = finish(read_design("chef", {}), service=service("own-table"))
    assert table.service is not None and table.service.table is not None
    half, (long, high) = table.service.table.kerf_mm / 2, table.cut.size_mm
    words = check_words(table, tmp_path / "table")
    assert "order" not in words
    assert "lay the part" not in words.lower()
    assert f"the cutter's middle, {half:.2f} mm outside the part" in words
    assert f"The part itself is {long:.2f} mm long and {high:.2f} mm high" in words


def test_found_steel_has_coupons_that_can_be_cut_and_as_many_as_are_ready() -> None:
    """Three of 25 x 75 mm are not left of a mill file 28 mm wide."""
    for changes in ({"start.from": "found"}, {"material.grade": "unknown", "start.from": "blank"}):
        knife = knife_of("paring", changes)
        stages = {stage.code: "\n".join(told(stage)) for stage in sheet_of(knife).stages}
        assert "three coupons" in stages["list"]
        assert "Have three coupons" in stages["coupon"]
        assert "smaller where they must be; else from another piece of the same origin" in stages["coupon"]
        assert "from the piece itself" not in stages["coupon"]
    (ready,) = (stage for stage in sheet_of(work("chef")).stages if stage.code == "list")
    assert "a coupon of the same bar" in "\n".join(told(ready))


def test_a_grain_that_the_design_does_not_know_lies_along_the_part_where_the_piece_shows_one(tmp_path: Path) -> None:
    made = make(read_design("paring", {"start.from": "found"}), tmp_path)
    note = joined((made.folder / "paring_note.txt").read_text(encoding="ascii"))
    assert "as you like" not in note
    assert "where the piece shows one, lay it along the part" in note


def test_a_wooden_knife_has_a_grain_arrow_its_tools_ready_and_no_word_of_steel(tmp_path: Path) -> None:
    made = make(read_design("spreader", {"handle.construction": "one-piece", "material.grade": "beech"}), tmp_path)
    knife, report = made.knife, made.shown.data
    scene = scenes(knife, both_faces=False, dummy=False)[0]
    (arrow,) = (line for line in scene.lines if line.kind == "arrow")
    assert arrow.a[1] == arrow.b[1]
    assert "grain along the arrow" in template_words(knife)
    stages = {stage.code: "\n".join(told(stage)) for stage in sheet_of(knife).stages}
    for tool in ("saw", "plane", "rasp", "file", "sandpaper", "oil that may touch food"):
        assert tool in stages["list"].lower()
    for words in (sheet_words(knife), str(report["allowance"]), str(report["design"])):
        assert not re.search(r"harden|hacksaw|grinder|belt|brass", words, re.IGNORECASE)
    assert report["design"]["scales"] == {"material": None, "thickness": None, "section": None}
    assert "middle of it" not in stages["profile"]


def test_the_report_of_a_bought_blank_holds_no_way_of_cutting(lifted: Knife) -> None:
    for knife in (lifted, work("hardened")):
        report = document(knife, None, ())
        assert report["design"]["cutting"] == {"process": None, "heel_notch": None}
        assert report["design"]["grind"]["edge_before_hardening"] is None
        assert not [key for key in report["design_sources"] if key.startswith("cutting.")]
    assert document(work("soft blank"), None, ())["design"]["grind"]["edge_before_hardening"]
    asked = knife_of("chef", {"start.from": "hardened-blank", "cutting.process": "laser"})
    assert document(asked, None, ())["design"]["cutting"]["process"] == "laser", "what was asked for stays told"


def test_a_single_bevel_names_the_face_that_is_ground_and_thinned() -> None:
    for share, ground in (("100 %", "right"), ("0 %", "left")):
        for more in ({}, {"start.from": "hardened-blank"}):
            knife = knife_of("chef", {"grind.bevel": "single", "grind.right_share": share, **more})
            words = sheet_words(knife)
            assert f"the {ground} face only; the other stays flat" in words
            assert f"thin the spine toward the tip to the figures of the table, on the {ground} face alone" in words
            assert "the one face only" not in words
    assert "on both faces alike; the bevel follows" in sheet_words(work("chef"))


@cases("name", ["chef", "leaf", "hidden"])
def test_a_card_has_no_empty_box_and_says_where_near_the_tip_is(name: str) -> None:
    card = card_of(sheet_of(work(name)))
    assert all(s.told or s.grids or s.beside or s.cautions for s in card.stages)
    assert card.closing.startswith("Near tip: 50 mm before the tip. "), "chef and utility are longer than 120 mm"


@cases("way", ["trace", "plasma-table", "oxy-fuel", "laser"])
def test_cautions_of_found_steel_are_said_once(way: str) -> None:
    knife = knife_of("chef", {"start.from": "found", "cutting.process": way, "material.thickness": "6 mm"})
    words = knife.cautions.lower()
    assert words.count("plated or galvanised") == 1
    assert len(re.findall(r"\beyes?, ears?\b", words)) == 1
    known = knife_of("chef", {"cutting.process": "plasma-table", "material.thickness": "6 mm"})
    assert "never cut plated or galvanised stock." in known.cautions


@cases("source", ["galley_chef", "leaf_spring_chef", "mill_file_paring"])
def test_on_a_phone_no_figure_of_the_sheets_pictures_meets_another(source: str) -> None:
    knife = finish(read_design(templates_dir() / "designs" / f"{source}.toml"))
    for picture in phone_pictures(knife):
        texts = picture.marks.texts
        met = [(a.words, b.words) for a, b in itertools.combinations(texts, 2) if a.box.grown(0.2).meets(b.box)]
        assert not met


def test_a_drawing_writes_design_and_its_code_in_one_line() -> None:
    for family in ("paring", "chef", "spreader"):
        knife = knife_of(family, {"material.grade": "80CrV2"})
        written = re.findall(r"<text[^>]*>([^<]*)</text>", drawing_svg(part_drawing(knife)))
        assert [words for words in written if words.endswith(f"design {knife.code}")], written


def test_no_last_page_of_a_sheet_holds_hardly_a_sentence() -> None:
    """These two did, by what stood on them: then all sources go to the last page."""
    for family, changes, paper in (
        ("chef", {}, "Letter"),
        ("chef", {"material.grade": "sugar-maple", "handle.construction": "one-piece"}, "A4"),
    ):
        knife, wished = knife_of(family, changes), SheetWishes(sheet_paper(paper))
        printed = next(data for name, data in sheet_files(knife, wished).items() if "_sheet_" in name)
        assert isinstance(printed, bytes)
        document = pypdfium2.PdfDocument(printed)
        last = document[len(document) - 1].get_textpage().get_text_bounded()
        assert len(last.splitlines()) > 12, last
