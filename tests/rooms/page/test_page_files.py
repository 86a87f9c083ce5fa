"""What the page writes is what the command line writes from the saved design, byte for byte; previews are its pages."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
from PIL import Image

from rooms.page.serving import Talk, galley, serving

WISHES: tuple[tuple[str, dict[str, Any], list[str]], ...] = (
    ("all", {"with": ["sections"]}, ["make", "--with", "sections"]),
    ("cut", {"service": "laser", "quantity": 2}, ["cut", "--service", "laser", "--quantity", "2"]),
    ("template", {"paper": "Letter", "both_faces": True}, ["template", "--paper", "Letter", "--both-faces"]),
    ("sheet", {"paper": "A4"}, ["sheet", "--paper", "A4"]),
)


def contents(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def shaped(page: Talk) -> None:
    """Shape the open design by hand and save it."""
    page.hear("hello")
    page.ask("open", name="galley.toml")
    page.hear("shape")
    for i in range(1, 5):
        page.ask("drag", grip="blade.length", to=[205 + i, 18.0], held=i < 4)
    assert page.does("set", values={"blade.heel_height": "1 7/8 in", "pins.count": "3"})["say"] == "shape"
    assert page.does("save")["text"] == "wrote galley.toml"


def test_files_are_those_of_the_command_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable[..., Any]
) -> None:
    monkeypatch.chdir(tmp_path)
    galley(tmp_path)
    with serving("galley.toml") as served:
        page = served.talk()
        shaped(page)
        for what, rest, line in WISHES:
            made = page.does("write", what=what, **rest)
            assert made["say"] == "made", made
            theirs = tmp_path / f"by_command_{what}"
            ran = command(line[0], "galley.toml", *line[1:], "--out", theirs)
            assert ran.code == 0, ran.err
            by_page = {
                name: (tmp_path / made["folder"] / name).read_bytes() for name in (f["name"] for f in made["files"])
            }
            by_command = {Path(n).name: c for n, c in contents(theirs).items() if not n.endswith(".written.json")}
            assert by_page == by_command
            for file in made["files"]:
                status, headers, body = served.get(f"/{served.token}/{file['get']}")
                assert (status, body) == (200, by_page[file["name"]])
                assert headers["content-disposition"].startswith("attachment")
        page.close()


def test_a_preview_is_the_printed_page_at_its_size(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Page count and size are read from the written PDF by another library's own box."""
    monkeypatch.chdir(tmp_path)
    galley(tmp_path)
    with serving("galley.toml") as served:
        page = served.talk()
        shaped(page)
        made = page.does("write", what="template", paper="A4")
        pdf = next(tmp_path / made["folder"] / f["name"] for f in made["files"] if f["name"].endswith(".pdf"))
        seen = page.does("preview", what="template", paper="A4")["pages"]
        document = pypdfium2.PdfDocument(pdf)
        assert len(seen) == len(document)
        for told, printed in zip(seen, document, strict=True):
            wide, high = (points * 25.4 / 72 for points in printed.get_size())
            assert (told["wide_mm"], told["high_mm"]) == pytest.approx((wide, high), abs=0.01)
            status, headers, body = served.get(f"/{served.token}/{told['get']}")
            assert (status, headers["content-type"]) == (200, "image/png")
            picture = Image.open(io.BytesIO(body))
            assert picture.width / picture.height == pytest.approx(wide / high, rel=0.01)
            assert picture.convert("L").getextrema()[0] < 64, "something is drawn on it"
        document.close()
        drawing = page.does("preview", what="drawing", paper="A4")["pages"]
        assert served.get(f"/{served.token}/{drawing[0]['get']}")[2].startswith(b"<?xml")
        assert page.does("preview", what="everything")["say"] == "wrong"
        page.close()


def test_a_design_with_a_fault_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    galley(tmp_path)
    with serving("galley.toml") as served:
        page = served.talk()
        page.hear("hello")
        page.ask("open", name="galley.toml")
        page.hear("shape")
        for wish in (
            {"paper": "A99"},
            {"service": "nobody"},
            {"service": "../x.toml"},
            {"with": ["nothing"]},
            {"what": "more"},
        ):
            told = page.does("write", **({"what": "all"} | wish))
            assert told["say"] == "wrong", wish
        assert not (tmp_path / "out").exists()
        page.close()
