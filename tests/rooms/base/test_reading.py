"""What is read: plain files of a limited size, keys of few parts, numbers of few digits, texts that can be shown."""

from __future__ import annotations

import os
import tracemalloc
from pathlib import Path

import pytest

from blankwright.base.errors import RequestError, told
from blankwright.base.fields import read_toml
from blankwright.base.plain import plain_text
from blankwright.base.reading import parse_toml, read_limited
from blankwright.base.units import apart, decimals_apart
from rooms.every import cases

UNFIT = {
    "a control": ("\x1b[31mred", "U+001B"),
    "a control of the second set": ("a\x9bb", "U+009B"),
    "a line break": ("name\n0\nEOF", "line break"),
    "a mark of direction": ("gnp\u202ecod", "U+202E, right-to-left override"),
    "an isolate": ("a\u2066b", "U+2066"),
    "not to be seen": ("a\u200bb", "U+200B"),
    "half a pair": ("a\udcffb", "not text in UTF-8"),
    "no character": ("a\ufffeb", "U+FFFE"),
    "no character of a far plane": ("a\U0001ffffb", "U+1FFFF"),
}


@cases("what", UNFIT)
def test_a_text_that_cannot_be_shown_is_refused(what: str) -> None:
    text, words = UNFIT[what]
    with pytest.raises(RequestError) as error:
        plain_text(text, "name")
    assert words in str(error.value)
    assert str(error.value).isprintable()


@cases("text", ["Ägäis", "刃", "Нож", "سكين", "נתז", "می\u200cخواهم", "👩\u200d🍳", "e\u0301", "1/2 \"x\" 'y'"])
def test_letters_of_any_script_are_taken(text: str) -> None:
    assert plain_text(text, "name") == text


FILES = {
    "an escape": ('name = "a\\u001bb"', "name: holds a character that cannot be shown"),
    "an escape in a list": ('a = {b = ["x", "a\\u202Eb"]}', "a b: holds a character"),
    "a raw mark of direction": ('name = "a\u202eb"', "U+202E"),
    "a tab": ('name = "a\tb"', "U+0009"),
    "a key": ('"a\\tb" = 1', "a key: holds a character"),
    "several lines": ('name = """a\nb"""', "holds a line break"),
    "a long number": ("a = " + "9" * 400, "a: a whole number of"),
    "a long number in hexadecimal": ("[t]\na = 0x" + "f" * 5000, "t a: a whole number of"),
    "thousands of digits": ("a = " + "9" * 5000, "not valid TOML"),
    "a deep key": ("a" + ".a" * 50_000 + " = 1", "line 1: a key has at most 6 parts"),
    "a deep key of quotes": ('"a"' + ' . "a"' * 20_000 + " = 1", "a key has at most 6 parts"),
    "a deep table": ("x = 1\n[" + "a." * 50_000 + "a]", "line 2: a key has at most 6 parts"),
    "deep tables, one in the other": ("a = " + "{a = " * 20_000, "nested without end"),
    "deep lists": ("a = " + "[" * 50_000, "nested without end"),
}


@cases("what", FILES)
def test_a_text_file_that_cannot_be_is_refused_quickly(what: str) -> None:
    text, words = FILES[what]
    tracemalloc.start()
    with pytest.raises(RequestError) as error:
        parse_toml(text, "x.toml")
    assert tracemalloc.get_traced_memory()[1] < 50e6
    tracemalloc.stop()
    assert words in str(error.value)
    assert len(str(error.value)) < 300


def test_dots_in_texts_and_numbers_are_no_parts_of_a_key() -> None:
    text = "a = \"w.x.y.z.1.2.3.4.5.6\"\nb = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5]\nc.d.e.f = 'a.b.c.d.e.f.g.h.i'"
    assert parse_toml(text, "x")["c"]["d"]["e"]["f"] == "a.b.c.d.e.f.g.h.i"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with a name here")
def test_only_plain_files_are_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    for path, words in (
        (tmp_path / "pipe.toml", "no plain file"),
        (Path("/dev/zero"), "no plain file"),
        (tmp_path, "is a folder"),
        (tmp_path / "none", "cannot be read"),
        (tmp_path / ("x" * 5000), "cannot be read"),
    ):
        with pytest.raises(RequestError, match=words) as error:
            read_toml(path)
        assert len(str(error.value)) < 400
    (tmp_path / "large").write_bytes(b"x" * 2001)
    with pytest.raises(RequestError, match=r"larger than 2 kB; this is not a note\."):
        read_limited(tmp_path / "large", 2000, "a note")


def test_a_value_in_a_message_is_short_whatever_it_is() -> None:
    for value in (10**10_000, "x" * 10_000, [[[0] * 1000] * 1000]):
        assert len(told(value)) <= 60
    assert told(10**10_000) == "int without end"


def test_a_value_just_outside_does_not_look_like_its_end() -> None:
    assert f"{16.5000004:.{decimals_apart(16.5000004, 3.0, 16.5)}f}" == "16.5000004"
    assert apart(16.5, 1.0, 12.0) == "16.5"
    assert apart(0.7999999999, 0.8, 25.0) not in ("0.8", "0.800000")
