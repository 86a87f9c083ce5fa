"""An outline of the folder behind the drawing, and sizes fitted to it: as lift and fit of the command line have it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import RequestError
from blankwright.page.folder import Folder
from rooms.page.serving import serving

ASKED = ("--set", "blade.length=181 mm", "--set", "blade.heel_height=52 mm")


def test_a_thing_lies_behind_and_the_sizes_fit_it_as_the_command_line_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., Any]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert command("cut", "nakiri", *ASKED, "--out", "shop").code == 0
    thing = "shop/nakiri/nakiri_cut_mm.dxf"
    ran = command("lift", thing, "--name", "thing", "--fit", "nakiri")
    assert ran.code == 0, ran.err
    theirs = tomllib.loads((tmp_path / "out/thing/thing.toml").read_text(encoding="utf-8"))
    with serving("nakiri") as served:
        page = served.talk()
        assert page.hear("hello")["outlines"] == [thing, "out/thing/thing_lifted.toml"]
        page.ask("open", name="~nakiri")
        before = page.hear("shape")
        ways = [page.does("behind", name=name) for name in (thing, "out/thing/thing_lifted.toml")]
        assert ways[0]["d"] == ways[1]["d"] != before["finished"]["d"]
        assert ways[0]["frame"][2] == pytest.approx(181.0, abs=2.0)
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
