"""What is in the PDF: page boxes, fonts, preferences, words, curves; and that it is the same every time."""

import io
import math
import os
import subprocess
import sys

import numpy as np
import pypdf
import pytest

from blankwright.base.errors import RequestError
from blankwright.geometry.outline import Outline, circles
from blankwright.ink.marks import (
    CUT,
    FINISHED,
    HOLE,
    NARROW,
    Arrow,
    Box,
    ClosedLine,
    LineType,
    Marks,
    Ring,
    Segment,
    Text,
)
from blankwright.ink.pdf import Layer, Page, bezier_pieces, numbers, pdf_bytes, printable
from rooms.counting import calls_in
from rooms.every import cases

POINT_MM = 25.4 / 72


def marks(*items):
    found = Marks()
    found.add(*items)
    return found


def page(*items, width_mm=210.0, height_mm=297.0, clip=None, name="row 1, column 1"):
    return Page(width_mm, height_mm, (Layer(marks(*items), clip),), name)


def written(*pages, title="Chef", subject="trace template", stretch=(1.0, 1.0)):
    return pypdf.PdfReader(io.BytesIO(pdf_bytes(pages, title=title, subject=subject, stretch=stretch)), strict=True)


LINE = Segment((10.0, 20.0), (110.0, 20.0), NARROW)


@cases("size", [(210.0, 297.0), (215.9, 279.4), (297.0, 420.0), (419.99, 60.001), (2000.0, 1999.5)])
@cases("stretch", [(1.0, 1.0), (1.012, 0.992)])
def test_the_page_boxes_are_the_paper(size, stretch):
    sheet = written(page(LINE, width_mm=size[0], height_mm=size[1]), stretch=stretch).pages[0]
    for box in (sheet["/MediaBox"], sheet["/CropBox"]):
        found = [float(value) * POINT_MM for value in box]
        assert found[:2] == [0, 0]
        assert found[2:] == pytest.approx(size, abs=0.001)
    assert "/UserUnit" not in sheet
    assert sheet.get("/Rotate", 0) == 0


def test_each_page_has_its_own_size_and_name():
    book = written(page(LINE), page(LINE, width_mm=420.0, name="row 1, column 2 – bütt ≥"))
    assert [round(float(p.mediabox.width) * POINT_MM, 2) for p in book.pages] == [210, 420]
    assert [entry.title for entry in book.outline] == ["row 1, column 1", "row 1, column 2 – bütt ≥"]


def test_it_asks_not_to_be_scaled():
    book = written(page(LINE))
    assert book.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert book.pdf_header == "%PDF-1.6"  # the version that brought PrintScaling


def test_the_properties_name_the_knife():
    book = written(page(LINE), title="Chef ) (\\ \n 木\ud800", subject="s" * 5000)
    assert book.metadata.title == "Chef ) (\\ 木"
    assert len(book.metadata.subject) == 400
    assert book.metadata.author == ""


def test_the_library_that_wrote_it_is_not_named():
    raw = pdf_bytes([page(LINE)], title="Chef", subject="trace template", stretch=(1.0, 1.0))
    assert b"reportlab" not in raw.lower()
    assert b"opensource" not in raw.lower()
    book = pypdf.PdfReader(io.BytesIO(raw), strict=True)
    assert (book.metadata.producer, book.metadata.creator) == ("Blankwright", "Blankwright")


def test_only_standard_fonts_and_nothing_embedded():
    book = written(page(LINE, Text(9, 9, "plain", 2.5, "start"), Text(9, 19, "bold", 5, "middle", bold=True)))
    fonts = [f.get_object() for f in book.pages[0]["/Resources"]["/Font"].values()]
    assert {f["/BaseFont"] for f in fonts} == {"/Helvetica", "/Helvetica-Bold"}
    assert all(f["/Subtype"] == "/Type1" and "/FontDescriptor" not in f for f in fonts)


def test_the_content_is_plain_text_without_pictures():
    sheet = written(page(LINE, Ring(50, 50, 20, HOLE))).pages[0]
    assert "/Filter" not in sheet["/Contents"].get_object()
    assert not list(sheet.images)


HOSTILE = [
    "(", ")) Tj ET Q", "\\", "\\051", "a\nb\rc", "\x00\x07", "\u202eabc", "木" * 300, "x" * 5000, "%%EOF",
    "endstream endobj", "żółw Ł 3″ ≤ 4′ → ⌀5 µ μ", "\ud800", "&lt;b>", "é e\u0301", "🔪",
]  # fmt: skip


@cases("words", HOSTILE, ids=range(len(HOSTILE)))
def test_any_words_leave_a_whole_page(words):
    after = Text(20, 40, "THE END", 2.5, "start")
    for anchor in ("start", "middle", "end"):
        book = written(page(Text(20, 60, words, 2.5, anchor), after, LINE, name=words), title=words)
        assert len(book.pages) == 1
        assert "THE END" in book.pages[0].extract_text()


def test_words_come_out_as_they_went_in():
    text = "210 mm × 48 mm, 5 °, ±1, ø5 µm ²³ “pinch” €…"
    assert text in written(page(Text(20, 60, text, 2.5, "start"))).pages[0].extract_text()


def test_characters_the_fonts_lack_become_near_ones():
    assert printable("żółw Ł ″′ ≤ − → ⌀ μ fi") == "zólw L \"' <= - -> Ø µ fi"
    assert printable("e\u0301") == "é"
    assert printable("木🔪\x81") == "???"


def test_the_same_pages_give_the_same_bytes_here_and_in_another_process(tmp_path):
    code = (
        "import sys\n"
        "from blankwright.ink.marks import *\n"
        "from blankwright.ink.pdf import *\n"
        "m = Marks()\n"
        "m.add(Ring(50, 50, 20, HOLE), Ring(90, 50, 20, LineType('own', 0.3, ())), Segment((9, 9), (99, 9), CUT))\n"
        "m.add(Text(20, 60, 'words', 2.5, 'middle', True), Arrow((9, 9), (1, 0)))\n"
        "p = [Page(210, 297, (Layer(m, None),), 'a'), Page(210, 297, (Layer(m, Box(0, 0, 9, 9)),), 'b')]\n"
        "sys.stdout.buffer.write(pdf_bytes(p, title='t', subject='s', stretch=(1.01, 0.99)))\n"
    )
    found = [
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=tmp_path,
            check=True,
            capture_output=True,
            env=os.environ | {"PYTHONHASHSEED": seed, "TZ": zone},
        ).stdout
        for seed, zone in (("1", "UTC"), ("2", "Asia/Tokyo"))
    ]
    assert found[0] == found[1]
    m = marks(Ring(50, 50, 20, HOLE), Ring(90, 50, 20, LineType("own", 0.3, ())), Segment((9, 9), (99, 9), CUT))
    m.add(Text(20, 60, "words", 2.5, "middle", bold=True), Arrow((9, 9), (1, 0)))
    pages = [Page(210, 297, (Layer(m, None),), "a"), Page(210, 297, (Layer(m, Box(0, 0, 9, 9)),), "b")]
    assert pdf_bytes(pages, title="t", subject="s", stretch=(1.01, 0.99)) == found[0]
    assert pdf_bytes(pages, title="t", subject="s", stretch=(1.01, 0.99)) == found[0]


def test_a_line_type_of_ones_own_is_drawn_too():
    content = written(page(Segment((0, 0), (72, 0), LineType("own", 25.4 / 72, (25.4, 12.7)))))
    stream = content.pages[0]["/Contents"].get_data().decode()
    assert "[72 36]" in stream
    assert "\n1 w" in stream


def test_a_dash_is_centred_on_the_line():
    stream = written(page(Segment((10, 20), (110, 20), CUT))).pages[0]["/Contents"].get_data().decode()
    phase_mm = (3.0 / 2 - 100 / 2) % 3.75
    assert f"[8.503937 2.125984] {round(phase_mm / POINT_MM, 4)} d" in stream


@cases("length", [100.0, 3.0, 3.0 + 1e-9, 3.0 - 1e-9, 0.0])
def test_no_number_is_written_with_an_exponent(length):
    stream = written(page(Segment((10, 20), (10 + length, 20), CUT))).pages[0]["/Contents"].get_data().decode()
    assert "e-" not in stream


# Curves --------------------------------------------------------------------------------------------------


def on_curve(curve, t):
    a, b, c, d = curve
    s = 1 - t[:, None]
    u = t[:, None]
    return a * s**3 + 3 * b * s * s * u + 3 * c * s * u * u + d * u**3


@cases("radius", [0.05, 2.5, 60.0, 1000.0, 50_000.0])
@cases("bulge", [1.0, -1.0, 0.4, -0.01, 3.0])
def test_every_curve_stays_within_a_micrometre_of_its_arc(radius, bulge):
    chord = 2 * radius * math.sin(2 * math.atan(abs(bulge)))
    outline = Outline(np.array([(3.0, 4.0, bulge), (3.0 + chord * 0.6, 4.0 + chord * 0.8, 0.0)]))
    curves, straight = bezier_pieces(outline)
    centre, r = circles(outline.starts[:1], outline.ends[:1], outline.bulges[:1])
    assert r[0] == pytest.approx(radius)
    assert straight.tolist() == [False] * (len(curves) - 1) + [True]
    assert np.array_equal(curves[:-1, 3], curves[1:, 0])
    points = np.concatenate([on_curve(c, np.linspace(0, 1, 41)) for c in curves[:-1]])
    miss = np.abs(np.hypot(*(points - centre).T) - radius)
    assert miss.max() < 0.001
    # the whole arc is drawn, once, and the right way round
    turn = np.unwrap(np.arctan2(*(points - centre).T[::-1]))
    assert turn[-1] - turn[0] == pytest.approx(4 * math.atan(bulge), abs=1e-6)
    assert (np.diff(turn) * bulge >= -1e-12).all()


@cases("degrees", [10, 30, 60, 90])
def test_the_formula_behind_the_pieces_is_the_error_that_sampling_finds(degrees):
    angle = math.radians(degrees)
    k = 4 / 3 * math.tan(angle / 4)
    end = np.array([math.cos(angle), math.sin(angle)])
    curve = np.array([[1.0, 0.0], [1.0, k], end + k * np.array([end[1], -end[0]]), end])
    sampled = np.abs(np.hypot(*on_curve(curve, np.linspace(0, 1, 4001)).T) - 1).max()
    # Goldapp, Computer Aided Geometric Design 8, 1991; from memory
    assert 2 / 27 * math.sin(angle / 4) ** 6 / math.cos(angle / 4) ** 2 == pytest.approx(sampled, rel=0.01)


def test_a_nearly_flat_arc_is_no_special_case():
    for bulge in (1e-5, 1e-8, 1e-10, 1e-15, 0.0):
        curves, _ = bezier_pieces(Outline(np.array([(0.0, 0.0, bulge), (100.0, 0.0, 0.0), (50.0, 60.0, 0.0)])))
        assert np.isfinite(curves).all()
        assert np.abs(curves[0, :, 1]).max() <= 100 * bulge + 1e-12


CALLS_A_PIECE = 100


def test_a_long_outline_is_work_in_proportion():
    a = np.linspace(0, 2 * math.pi, 300, endpoint=False)
    bulge = math.tan(math.pi / 600)
    oval = Outline(np.column_stack([105 + 90 * np.cos(a), 150 + 30 * np.sin(a), np.full(300, bulge)]))
    pages = [page(ClosedLine(oval, FINISHED))]
    empty = [page(LINE)]
    written(*empty)  # loads the library
    more, base = (calls_in(lambda p=p: pdf_bytes(p, title="t", subject="s", stretch=(1, 1))) for p in (pages, empty))
    assert 300 < more - base < 300 * CALLS_A_PIECE


# Refusals ------------------------------------------------------------------------------------------------


def test_what_cannot_be_written_is_refused():
    with pytest.raises(RequestError, match="at least one page"):
        pdf_bytes([], title="t", subject="s", stretch=(1, 1))
    for stretch in ((1.2, 1), (1, 0.5), (math.nan, 1), (1, -1)):
        with pytest.raises(RequestError, match="printer correction"):
            pdf_bytes([page(LINE)], title="t", subject="s", stretch=stretch)
    for size in (0.0, -1.0, math.nan, math.inf, 5081.0):
        with pytest.raises(RequestError, match="cannot be written"):
            page(LINE, width_mm=size)
    with pytest.raises(RequestError, match="no area"):
        Layer(Marks(), Box(5, 5, 5, 9))
    with pytest.raises(RequestError, match="not finite"):
        pdf_bytes([page(Segment((0, 0), (math.nan, 1), NARROW))], title="t", subject="s", stretch=(1, 1))


def test_an_empty_page_is_a_page():
    assert len(written(Page(210, 297, (), "")).pages) == 1


def test_numbers_are_those_of_the_pdf_library() -> None:
    """Its own writer, one number at a time, over every size that a page may hold and beyond."""
    from reportlab.lib.rl_accel import fp_str

    rng = np.random.default_rng(5)
    values = rng.choice([-1, 1], 20_000) * 10 ** rng.uniform(-9, 7.5, 20_000)
    tens = 10.0 ** np.arange(-8, 8)
    edges = np.concatenate([[0.0, -0.0, 5e-7], tens, -tens, np.nextafter(tens, 0), np.nextafter(tens, np.inf)])
    values = np.concatenate([values, np.round(values[:5000], 2), np.round(values[:5000]), edges])
    assert numbers(values) == [fp_str(value) for value in values.tolist()]
