"""An outline of the folder behind the drawing, and sizes fitted to it: as lift and fit of the command line have it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import RequestError
from blankwright.ink.svg import path_data
from blankwright.knife.knife import Knife
from blankwright.lift.standing import hull_of, lowest
from blankwright.page.folder import Folder
from rooms.blanks import knife_of
from rooms.design.cases import solved
from rooms.lift.scans import Scan, saved
from rooms.lift.scans import drawn as scan_of
from rooms.page.serving import serving


def drawn(knife: Knife) -> str:
    """Return a knife's outline as another program's drawing has it: a path in mm."""
    x0, y0, x1, y1 = knife.finished.bounds_mm
    wide, high = x1 - x0, y1 - y0
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}">'
        f'<path d="{path_data(knife.finished, (-x0, y1))}" fill="none" stroke="black"/></svg>'
    )


def test_a_thing_lies_behind_and_the_sizes_fit_it_as_the_command_line_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., Any]
) -> None:
    monkeypatch.chdir(tmp_path)
    thing = "thing.svg"
    knife = knife_of("nakiri", {"blade.length": "181 mm", "blade.heel_height": "52 mm"})
    (tmp_path / thing).write_text(drawn(knife), encoding="utf-8")
    ran = command("lift", thing, "--fit", "nakiri")
    assert ran.code == 0, ran.err
    theirs = tomllib.loads((tmp_path / "out/thing/thing.toml").read_text(encoding="utf-8"))
    with serving("nakiri") as served:
        page = served.talk()
        assert page.hear("hello")["outlines"] == [thing, "out/thing/thing_lifted.toml"]
        page.ask("open", name="~nakiri")
        before = page.hear("shape")
        ways = [page.does("behind", name=name) for name in (thing, "out/thing/thing_lifted.toml")]
        assert ways[0]["d"] == ways[1]["d"] != before["finished"]["d"]
        assert ways[0]["frame"][2] == pytest.approx(181.0, abs=0.1)
        assert page.does("fit", name=thing)["told"][0].startswith("Nearest family: nakiri")
        shape = page.hear("shape")
        for table in ("blade", "handle", "tang"):
            for key, text in theirs.get(table, {}).items():
                assert shape["values"][f"{table}.{key}"]["shown"] == text
        assert page.does("undo")["finished"] == before["finished"]
        for name in ("gone.dxf", "../x.dxf", "/etc/hostname", "galley.exe", "out/.hidden.svg"):
            told = page.does("behind", name=name)
            assert told["say"] == "wrong", told
            assert "--" not in told["text"]
        page.close()


def test_a_scan_is_spoken_of_in_the_words_of_the_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Fields are called long and high, a bare number is in the unit of the head, and how far off it may be is told."""
    monkeypatch.chdir(tmp_path)
    outline = solved("paring", "full", "default").finished
    picture = scan_of([outline.flattened(0.005)], Scan(dpi=150))
    saved(picture, tmp_path / "named.png", 150)
    saved(picture, tmp_path / "bare.png")
    stands = lowest(hull_of(outline.flattened(0.005)))
    long, high = (f"{v / 25.4:.3f}" for v in (stands.long_mm, stands.high_mm))
    with serving("paring") as served:
        page = served.talk()
        page.ask("look", units="in")  # before a design is open it is done at once
        page.ask("open", name="~paring")
        page.hear("shape")
        told = page.does("behind", name="bare.png", long=long, high=high)["told"]
        assert "A place may be off by 0.0" in told[0] and told[0].endswith(" in, in 95 of 100 cases.")
        assert told[1].startswith("long was taken for the length of the thing")
        one = page.does("behind", name="named.png", long=long)["told"]
        assert "Only one direction was measured; the other keeps what the file says. Say how high it is." in one
        wrong = [
            page.does("behind", name="bare.png"),
            page.does("behind", name="bare.png", long=high, high=long),
            page.does("behind", name="named.png", long="19"),
            page.does("behind", name="named.png", long="long"),
        ]
        assert [w["say"] for w in wrong] == ["wrong"] * 4
        assert "the other way round: long " in wrong[1]["text"]
        assert wrong[3]["text"].startswith("long: 'long' is not a quantity")
        for text in [*told, *one, *(w["text"] for w in wrong)]:
            assert "--" not in text and "x is" not in text and "along x" not in text, text
        page.close()


def test_what_a_link_leads_to_outside_is_neither_listed_nor_lifted(tmp_path: Path) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    (tmp_path / "theirs.dxf").write_text("0\nEOF\n", encoding="utf-8")
    (inside / "mine.dxf").write_text("0\nEOF\n", encoding="utf-8")
    (inside / "link.dxf").symlink_to(tmp_path / "theirs.dxf")
    (inside / "out").symlink_to(tmp_path)
    folder = Folder(inside)
    assert folder.outlines() == ["mine.dxf"]
    for name in ("link.dxf", "out/theirs.dxf"):
        with pytest.raises(RequestError, match="leads out"):
            folder.outline(name)
