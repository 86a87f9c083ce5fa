"""Words from users: safe in XML, limited, on the sheet."""

from __future__ import annotations

import dataclasses

from blankwright.drawing.svg import DimensionLine, HoleMark, drawing_svg
from blankwright.ink import lettering
from rooms.drawing import svg_plates
from rooms.drawing.svg_reading import SVG, read
from rooms.every import cases

HOSTILE = [
    "<script>alert('x')</script>",
    '"\'><g transform="scale(9)"/>&amp;&#0;]]>',
    "w" * 500,
    "long words " * 50,
    "two\nlines\r\nand\ttabs",
    "\x00\x07\x1b[31m\ud800\ufffe\u202e",
    "刀" * 200,
    "",
    "   ",
]


@cases("words", HOSTILE)
def test_hostile_words_are_harmless_everywhere(words):
    plate = dataclasses.replace(
        svg_plates.paring_plate(),
        title=words,
        lines=(words,) * 5,
        cautions=words,
        holes=(HoleMark(-30, 14, 5, words),),
        measures=(
            DimensionLine(words, (0, 0), (80, 9), "x", 1),
            DimensionLine(words, (0, 0), (0, 23), "y", 1),
            DimensionLine(words, (0, 0), (0, 23), "y", -1),
            DimensionLine(words, (0, 10), (0, 23), "r", 1),
        ),
    )
    drawing = read(drawing_svg(plate))
    tags = {e.tag.removeprefix(SVG) for e in drawing.root.iter()}
    assert tags <= {"svg", "title", "desc", "defs", "rect", "g", "path", "circle", "line", "text"}
    assert not any("transform" in e.attrib for e in drawing.root.iter())
    assert drawing.width < 900 and drawing.height < 500
    for text, box in drawing.text_boxes():
        assert box.x0 > 5 and box.x1 < drawing.width - 5 and box.y0 > 5 and box.y1 < drawing.height - 5, text


def test_clean_keeps_ordinary_words():
    assert lettering.clean("Beech, 10 mm × 45° ø5 “soft”", 60) == "Beech, 10 mm × 45° ø5 “soft”"


def test_clean_cuts_with_an_ellipsis():
    assert lettering.clean("abcdefgh", 5) == "abcd…"


@cases("words", [w for w in HOSTILE if w.strip()])
def test_wrapped_lines_are_never_wider_than_asked(words):
    lines = lettering.wrapped(lettering.clean(words, 300), 2.5, 60.0, 3)
    assert len(lines) <= 3
    assert lines or not lettering.clean(words, 300)
    assert all(lettering.width_mm(line, 2.5) <= 60.0 for line in lines)


def test_wrapping_loses_no_word_that_fits():
    text = "one two three four five six seven eight nine ten"
    assert " ".join(lettering.wrapped(text, 2.5, 30.0, 20)) == text


def test_estimated_widths_are_not_too_small():
    """Outside values: advance widths of a wide free sans-serif face, read from its font file."""
    size = lettering.font_size_mm(2.5)
    for char, advance in {
        "H": 0.752,
        "i": 0.278,
        "m": 0.974,
        "0": 0.636,
        "W": 0.989,
        " ": 0.318,
        "@": 1.0,
    }.items():
        assert advance * size <= lettering.width_mm(char, 2.5) <= 1.2 * advance * size
