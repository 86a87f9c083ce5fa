"""Printer corrections: kept, found again, refused when they cannot be the printer's own."""

import math
import sys
import threading
from pathlib import Path

import pytest

from blankwright.base.errors import RequestError
from blankwright.template import printers
from blankwright.template.printers import Printer, all_printers, forget, recall, remember
from rooms.every import cases

FILE = "printers.toml"


def kept(folder, text):
    (folder / FILE).write_bytes(text if isinstance(text, bytes) else text.encode())


def test_a_printer_survives_to_the_last_digit(tmp_path):
    printer = Printer("office", 99.2, 100.4000000001)
    assert remember(printer, tmp_path) == tmp_path / FILE
    assert recall("office", tmp_path) == printer
    assert recall(" office ", tmp_path) == printer


def test_the_stretch_corrects_each_axis_on_its_own():
    printer = Printer("office", 101.2, 99.2)
    assert printer.stretch == (100 / 101.2, 100 / 99.2)
    # what comes out of the printer with the correction: 100 mm in both
    assert printer.stretch[0] * 1.012 * 100 == pytest.approx(100)
    assert printer.stretch[1] * 0.992 * 100 == pytest.approx(100)


def test_the_same_name_replaces_and_the_list_is_sorted(tmp_path):
    for name, x_mm in (("shop", 99.0), ("attic", 100.0), ("shop", 101.0), ("Office", 98.0)):
        remember(Printer(name, x_mm, 100), tmp_path)
    assert [(p.name, p.measured_x_mm) for p in all_printers(tmp_path)] == [
        ("Office", 98),
        ("attic", 100),
        ("shop", 101),
    ]
    assert [p.name for p in tmp_path.iterdir()] == [FILE], "no temporary file is left"


def test_the_file_is_the_same_whatever_the_order(tmp_path):
    a, b = Printer("a", 99, 100), Printer("b", 100, 101)
    for folder, order in (("1", (a, b)), ("2", (b, a))):
        for printer in order:
            remember(printer, tmp_path / folder / "deep")
    assert (tmp_path / "1/deep" / FILE).read_bytes() == (tmp_path / "2/deep" / FILE).read_bytes()


def test_forgetting(tmp_path):
    remember(Printer("a", 99, 100), tmp_path)
    remember(Printer("b", 99, 100), tmp_path)
    forget("a ", tmp_path)
    assert [p.name for p in all_printers(tmp_path)] == ["b"]
    with pytest.raises(RequestError, match="unknown printer 'a'"):
        forget("a", tmp_path)
    forget("b", tmp_path)
    assert all_printers(tmp_path) == ()


def test_an_unknown_printer_is_refused_with_the_known_names(tmp_path):
    with pytest.raises(RequestError, match=r"unknown printer 'office': none is kept .* measure its 100 mm bars"):
        recall("office", tmp_path)
    assert all_printers(tmp_path / "nowhere") == ()
    remember(Printer("office", 99, 100), tmp_path)
    remember(Printer("shop", 99, 100), tmp_path)
    with pytest.raises(RequestError, match=r"unknown printer 'ofice'. Did you mean 'office'\? Allowed: office, shop"):
        recall("ofice", tmp_path)


NAMES = [
    'the "big" one', "back\\slash", "żółw 木 🔪", "it's", "[a.b]", "a = 1 # x", "x" * 40, '"""', "'''", "measured_x",
]  # fmt: skip


@cases("name", NAMES, ids=range(len(NAMES)))
def test_any_name_survives_the_file(tmp_path, name):
    remember(Printer("other", 100, 100), tmp_path)
    remember(Printer(name, 99.2, 100.4), tmp_path)
    assert recall(name, tmp_path) == Printer(name.strip(), 99.2, 100.4)
    assert len(all_printers(tmp_path)) == 2
    forget(name, tmp_path)
    assert [p.name for p in all_printers(tmp_path)] == ["other"]


UNFIT = ["", "  \n", "x" * 41, None, 7, "\ud800", "two\nlines", "a\x1b[1m", "a\u2028b", "a\u202eb"]


@cases("name", UNFIT, ids=range(len(UNFIT)))
def test_a_name_that_cannot_be_kept_is_refused(tmp_path, name):
    with pytest.raises(RequestError, match="a printer's name"):
        Printer(name, 100, 100)
    for function in (recall, forget):
        with pytest.raises(RequestError, match="a printer's name"):
            function(name, tmp_path)


@cases(("x_mm", "y_mm"), [(96.999, 100), (100, 103.001), (97.0, 94.0), (0, 0), (-100, 100), (1e9, 100)])
def test_more_than_three_per_cent_is_not_the_printer(x_mm, y_mm):
    with pytest.raises(
        RequestError, match="Your viewer scaled the page; print at actual size and measure again"
    ) as told:
        Printer("office", x_mm, y_mm)
    assert f"{x_mm:g} mm in x and {y_mm:g} mm in y" in str(told.value)


@cases(("x_mm", "y_mm"), [(97, 97), (98, 98), (97.1, 97.3), (97.6, 97.9), (102, 102.3)])
def test_two_per_cent_the_same_both_ways_is_the_viewer(x_mm, y_mm):
    """A page fitted to margins of 3 mm comes out at 204 / 210 of its size on A4, 97.1 % both ways."""
    with pytest.raises(RequestError, match=r"the same both ways, is not the printer\. Your viewer scaled the page"):
        Printer("office", x_mm, y_mm)


@cases(("x_mm", "y_mm"), [(98.01, 98.01), (97.5, 97.81), (97, 98), (102.5, 98)])
def test_uneven_bars_or_small_errors_are_the_printers(x_mm, y_mm):
    assert Printer("office", x_mm, y_mm).stretch == (100 / x_mm, 100 / y_mm)


def test_three_per_cent_is_taken():
    assert Printer("office", 97, 103).stretch == (100 / 97, 100 / 103)


@cases("value", [math.nan, math.inf, "99 mm", None, True])
def test_a_bar_that_is_no_length_is_refused(value):
    with pytest.raises(RequestError, match=r"'office': the bar in [xy] must be a length in mm"):
        Printer("office", value, 100)
    with pytest.raises(RequestError, match="the bar in y"):
        Printer("office", 100, value)


BROKEN = {
    "no toml": "office 99.2",
    "not utf-8": b"\xff\xfe\x00",
    "nested without end": "a = " + "[" * 100_000,
    "a number without end": "a = " + "1" * 10_000,
    "no table": "office = 99.2",
    "a list of tables": '[[office]]\nmeasured_x = "99 mm"\nmeasured_y = "99 mm"\n',
    "a key missing": '[office]\nmeasured_x = "99 mm"\n',
    "a key too many": '[office]\nmeasured_x = "99 mm"\nmeasured_y = "99 mm"\nrun = "x"\n',
    "no unit": '[office]\nmeasured_x = "99"\nmeasured_y = "99 mm"\n',
    "a bare number": "[office]\nmeasured_x = 99\nmeasured_y = 99\n",
    "scaled": '[office]\nmeasured_x = "90 mm"\nmeasured_y = "90 mm"\n',
    "no name": '[""]\nmeasured_x = "99 mm"\nmeasured_y = "99 mm"\n',
    "a long name": f'[{"x" * 5000}]\nmeasured_x = "99 mm"\nmeasured_y = "99 mm"\n',
    "twice": '["a"]\nmeasured_x = "99 mm"\nmeasured_y = "99 mm"\n[" a"]\nmeasured_x = "99 mm"\nmeasured_y = "99 mm"\n',
    "huge": "#" * 2_000_000,
}


@cases("case", sorted(BROKEN))
def test_a_broken_file_is_named_and_left_alone(tmp_path, case):
    kept(tmp_path, BROKEN[case])
    before = (tmp_path / FILE).read_bytes()
    calls = (
        lambda: recall("office", tmp_path),
        lambda: forget("office", tmp_path),
        lambda: all_printers(tmp_path),
        lambda: remember(Printer("office", 99, 100), tmp_path),
    )
    for call in calls:
        with pytest.raises(RequestError) as told:
            call()
        assert str(told.value).startswith(str(tmp_path / FILE))
        assert "Mend the file, or delete it" in str(told.value)
        assert len(str(told.value)) < 500 + len(str(tmp_path))
    assert (tmp_path / FILE).read_bytes() == before


def test_a_folder_in_the_files_place_is_refused(tmp_path):
    (tmp_path / FILE).mkdir()
    with pytest.raises(RequestError, match="is a folder"):
        all_printers(tmp_path)


def test_a_file_in_the_folders_place_is_refused(tmp_path):
    (tmp_path / "config").write_text("")
    with pytest.raises(RequestError, match=r"cannot be (read|written)"):
        remember(Printer("office", 99, 100), tmp_path / "config")


def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(tmp_path, monkeypatch):
    remember(Printer("office", 99, 100), tmp_path)
    before = (tmp_path / FILE).read_bytes()

    def full(self, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(RequestError, match=r"printers\.toml: cannot be written \(No space left on device\)"):
        remember(Printer("office", 101, 100), tmp_path)
    assert (tmp_path / FILE).read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == [FILE]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the variable is that of the XDG base directories")
def test_the_users_own_folder_is_used_when_none_is_named(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    path = remember(Printer("office", 99, 100))
    assert path == tmp_path / "blankwright" / FILE
    assert [p.name for p in all_printers()] == ["office"]
    assert recall("office").measured_x_mm == 99
    forget("office")
    assert all_printers() == ()


def test_two_that_remember_at_once_are_both_kept(tmp_path, monkeypatch):
    read, inside = printers._read, []

    def slow(path):
        known = read(path)
        if not inside:  # another run comes between reading and writing
            inside.append(threading.Thread(target=remember, args=(Printer("second", 99, 100), tmp_path)))
            inside[0].start()
            inside[0].join(0.2)
        return known

    monkeypatch.setattr(printers, "_read", slow)
    remember(Printer("first", 99, 100), tmp_path)
    inside[0].join()
    assert [p.name for p in all_printers(tmp_path)] == ["first", "second"]
