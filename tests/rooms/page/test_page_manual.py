"""The manual beside the page: built once when asked for, whole or not at all, and nothing beside it is handed out."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pytest

from blankwright.page import manual
from blankwright.page.manual import Manual, built
from rooms.often import EVERY_CASE, repeated
from rooms.page.serving import serving


class Builder:
    """Stands for the generator: writes two pages, or fails."""

    def __init__(self, fails: bool = False) -> None:
        self.fails, self.runs = fails, 0

    def __call__(self, line: list[str], **rest: Any) -> subprocess.CompletedProcess[str]:
        self.runs += 1
        pages = Path(line[-1])
        pages.mkdir()
        (pages / "index.html").write_text("<h1>Blankwright: the manual</h1>", encoding="utf-8")
        (pages / "reference").mkdir()
        (pages / "reference" / "commands.html").write_text("<h1>Commands</h1>", encoding="utf-8")
        return subprocess.CompletedProcess(line, 1 if self.fails else 0, "", "no such theme" if self.fails else "")


@pytest.fixture
def builder(monkeypatch: pytest.MonkeyPatch) -> Builder:
    found = Builder()
    monkeypatch.setattr(manual.subprocess, "run", found)
    return found


def all_of(one: Manual) -> str:
    """Ask until it is there, or says why not."""
    while "being put together" in (told := one.told()):
        pass
    return told


def test_it_is_built_once_and_an_older_one_goes(tmp_path: Path, builder: Builder) -> None:
    (tmp_path / "manual-0.0.1-older").mkdir()
    (tmp_path / "other").mkdir()
    place = built(tmp_path)
    assert built(tmp_path) == place
    assert builder.runs == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == [place.name, "other"]


def test_what_cannot_be_built_leaves_nothing_and_is_tried_again(tmp_path: Path, builder: Builder) -> None:
    one, builder.fails = Manual(tmp_path / "kept"), True
    told = all_of(one)
    assert "could not be built. no such theme" in told
    assert list((tmp_path / "kept").iterdir()) == []
    assert one.file("") is None
    builder.fails = False
    assert all_of(one) == ""
    assert one.file("") is not None


def test_without_its_libraries_it_says_which_line_to_type(
    tmp_path: Path, builder: Builder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(manual, "find_spec", lambda name: None)
    assert "python -m pip install &#x27;.[page]&#x27;" in all_of(Manual(tmp_path))
    assert builder.runs == 0


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path, builder: Builder) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    assert "file" in all_of(Manual(tmp_path / "file" / "cache"))


def test_it_is_handed_out_under_the_token_and_nothing_beside_it(
    tmp_path: Path, builder: Builder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(manual, "cache_dir", lambda: tmp_path / "cache")
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache" / "secret.html").write_text("secret", encoding="utf-8")
    with serving() as served:
        while b"being put together" in served.get(f"/{served.token}/manual/")[2]:
            pass
        status, headers, body = served.get(f"/{served.token}/manual/")
        assert (status, body) == (200, b"<h1>Blankwright: the manual</h1>")
        assert "form-action 'self'" in headers["content-security-policy"]
        assert "script-src 'self';" in headers["content-security-policy"]
        assert served.get(f"/{served.token}/manual/reference/commands.html")[2] == b"<h1>Commands</h1>"
        for name in ("nothing.html", "../secret.html", "%2e%2e/secret.html", "..%2fsecret.html", "/etc/passwd"):
            assert served.get(f"/{served.token}/manual/{name}")[0] == 404, name
        assert served.get("/wrong/manual/")[0] == 404
        assert b'href="manual/"' in served.get(f"/{served.token}/")[2]


@repeated
@pytest.mark.skipif(not EVERY_CASE, reason="it takes as long as forty other tests; the run of every case builds it")
def test_the_real_one_is_built(tmp_path: Path) -> None:
    pages = built(tmp_path)
    assert "Your first knife" in (pages / "index.html").read_text(encoding="utf-8")
    assert len(list(pages.rglob("*.html"))) >= 15
