"""The page of a build sheet: valid, escaped, every figure marked, nothing from outside, no overflow."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest

from blankwright.base.said import NUMBER_WITH_UNIT, STATUSES
from blankwright.sheet.files import phone_pictures, pictures_of
from blankwright.sheet.html import sheet_html
from rooms.commands.test_inches import left_in_mm
from rooms.every import cases
from rooms.often import repeated, share
from rooms.sheet.sheet_cases import SOME, page, sheet, work

VOID = {"meta", "br", "img", "hr", "link", "input", "rect", "circle", "line", "path"}
FREE = {"svg", "style", "title"}
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


class Walk(HTMLParser):
    """Walks a page: open elements, marks by row, words outside marked rows."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[tuple[str, str]] = []
        self.unmarked: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.marks: list[tuple[str, str]] = []
        self.outside: list[str] = []
        self.tags: set[str] = set()
        self._row: list[str] = []
        self._marked = self._head_marked = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {k: v or "" for k, v in attrs}
        self.tags.add(tag)
        if tag == "table":
            self._head_marked = False
        if "id" in found:
            self.ids.append(found["id"])
        if tag == "a":
            self.links.append(found["href"])
            if found["href"].startswith("#note-"):
                self._marked = True
                self.marks.append((found["href"][1:], found.get("title", "")))
        self.outside += [f"{k}={v}" for k, v in found.items() if k in ("src", "href") and not v.startswith("#")]
        self.outside += [k for k in found if k.startswith("on")]
        if "fig" in found.get("class", "").split():
            assert not self._row
            self._row, self._marked = [tag], False
        if tag not in VOID:
            self.open.append((tag, found.get("class", "")))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        name, kind = self.open.pop()
        assert name == tag, f"</{tag}> closes <{name}>"
        if "fig" in kind.split():
            inside_head = "thead" in {tag for tag, _ in self.open}
            self._head_marked = self._marked if inside_head else self._head_marked
            if not self._marked and "own" not in kind.split() and not ("same" in kind.split() and self._head_marked):
                self.unmarked.append(" ".join(self._row))
            self._row = []

    def handle_data(self, data: str) -> None:
        if not self._row and not NUMBER_WITH_UNIT.search(data):
            return
        inside = {name for name, _ in self.open}
        classes = {c for _, kind in self.open for c in kind.split()}
        if self._row:
            self._row.append(data.strip())
        elif not inside & FREE and not classes & {"notes", "sub", "last"}:
            self.unmarked.append(data.strip())


@repeated
@pytest.mark.parametrize("name", SOME)
def test_every_element_is_closed_and_every_figure_marked(name: str) -> None:
    walk = Walk(page(name))
    assert not walk.open
    assert walk.unmarked == []
    assert len(walk.marks) > 15
    assert len(walk.ids) == len(set(walk.ids))
    for target, title in walk.marks:
        assert target in walk.ids
        assert re.search(r".+ \((" + "|".join(STATUSES) + r")\)$", title)
    assert {link[1:] for link in walk.links} <= set(walk.ids)


@repeated
@pytest.mark.parametrize("name", SOME)
def test_no_mark_reads_as_a_power(name: str) -> None:
    """A mark stands at a label or behind a full stop, never right behind a figure or its unit."""
    pieces = page(name).split(' <span class="mark">')[:-1]
    before = [piece.rpartition(">")[2] for piece in pieces]
    assert len(before) > 15
    assert [text for text in before if re.search(r"[\d°]$|\d°? ?[CF]\)$", text)] == []
    assert [text for text in before if re.search(NUMBER_WITH_UNIT.pattern + "$", text)] == []


def test_the_walk_sees_what_is_not_marked() -> None:
    whole = page("chef")
    bad = whole.replace("<main>", "<main><p>soak 5 min</p>", 1)
    assert Walk(bad).unmarked == ["soak 5 min"]
    mark = re.search(r' <span class="mark">.*?</span>', whole)
    assert mark is not None
    assert Walk(whole.replace(mark[0], "", 1)).unmarked


@cases("name", ["chef", "spreader", "file", "hidden"])
def test_nothing_comes_from_outside_and_nothing_runs(name: str) -> None:
    walk = Walk(page(name))
    assert walk.outside == []
    assert not walk.tags & {"script", "link", "iframe", "object", "form", "img"}
    assert "@import" not in page(name)
    assert "url(" not in page(name)


@repeated
@pytest.mark.parametrize("name", share(SOME, 4))
def test_the_page_is_valid_html(name: str) -> None:
    html5lib = pytest.importorskip("html5lib")
    html5lib.HTMLParser(strict=True).parse(page(name))  # raises on the first fault


def test_the_strict_parser_sees_a_fault() -> None:
    html5lib = pytest.importorskip("html5lib")
    with pytest.raises(html5lib.html5parser.ParseError):
        html5lib.HTMLParser(strict=True).parse(page("chef").replace("</tbody>", "</thead>", 1))


def test_a_name_cannot_bring_in_markup() -> None:
    hostile = '</title><script>alert(1)</script><img src=x onerror="x">&amp; "quoted" \'q\' {} \u202e'
    named = replace(sheet("chef"), title=hostile, subtitle=hostile)
    pictures = [replace(p, caption=hostile, desc=hostile) for p in pictures_of(work("chef"))]
    text = sheet_html(named, pictures, pictures, units="mm", paper="A4")
    walk = Walk(text)
    assert not walk.open
    assert not walk.tags & {"script", "img"}
    assert walk.outside == []


def test_classes_of_the_pictures_have_names_of_their_own() -> None:
    svgs = re.findall(r"<svg .*?</svg>", page("chef"), re.S)
    assert len(svgs) == 4  # for a wide page, and for a phone
    for svg in svgs:
        assert all(name.startswith("pic-") for name in re.findall(r'class="([^"]*)"', svg))
        assert not re.search(r'\bid="', svg)
        assert "<?xml" not in svg
    style = page("chef").split("</style>")[0]
    assert "pic-" not in style


def test_inches_and_letter() -> None:
    text = page("chef", "in", "Letter")
    assert "size: Letter" in text
    assert "8.268 in" in text
    assert ">210.0 mm<" not in text


@repeated
@pytest.mark.parametrize("name", share(["chef", "utility", "stainless", "spring", "spreader"], 3))
def test_an_inch_page_has_no_length_in_mm_alone(name: str) -> None:
    text = page(name, "in", "Letter").split("</style>")[1].split("Where the figures come from")[0]
    lines = re.sub(r"<[^>]+>", "", re.sub(r"</(?:p|li|td|th|figcaption|text|desc)>", "\n", text))
    assert [line for line in left_in_mm(unescape(lines)) if not re.search(r"mm [^()]*\([^()]* in\)", line)] == []


def test_the_same_bytes_twice() -> None:
    one = sheet_html(sheet("chef"), pictures_of(work("chef")), phone_pictures(work("chef")), units="mm", paper="A4")
    assert one == sheet_html(
        sheet("chef"), pictures_of(work("chef")), phone_pictures(work("chef")), units="mm", paper="A4"
    )


PROBE = """<script>
document.title = '';
for (const [name, page] of Object.entries(PAGES)) for (const wide of WIDTHS) {
const f = document.createElement('iframe'); f.style = `width:${wide}px;height:900px;border:0`;
f.onload = () => { const d = f.contentDocument, w = d.documentElement.clientWidth;
  const over = d.documentElement.scrollWidth - w;
  let cells = 0;
  for (const e of d.querySelectorAll('p,li,h1,h2,h3,figcaption,td,th'))
    if (!e.closest('.wide') && e.getBoundingClientRect().right > w + 0.5) cells += 1;
  if (w > 700) for (const e of d.querySelectorAll('.wide')) if (e.scrollWidth > e.clientWidth + 1) cells += 1;
  document.title += `[${name}, ${wide} px: over ${over} cells ${cells}]`; };
f.srcdoc = page; document.body.append(f); }
</script>"""


WIDTHS = [390, 760, 1100]


SHOWN = ("chef", "hidden", "spreader", "file", "forged", "utility")


def test_nothing_runs_over_the_side(tmp_path: Path) -> None:
    """All pages side by side in one window: the browser costs more than they do."""
    if CHROMIUM is None:
        pytest.skip("no chromium here")
    pages = json.dumps({name: page(name) for name in SHOWN}).replace("</", "<\\/")
    probe = tmp_path / "probe.html"
    body = PROBE.replace("WIDTHS", str(WIDTHS)).replace("PAGES", pages)
    probe.write_text(f"<!DOCTYPE html><meta charset=utf-8><body>{body}", encoding="utf-8")
    line = [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={tmp_path / 'u'}",
            "--virtual-time-budget=4000", "--window-size=1300,3000", "--dump-dom", probe.as_uri()]  # fmt: skip
    try:
        done = subprocess.run(line, capture_output=True, text=True, timeout=120, check=False)
    except subprocess.TimeoutExpired:
        pytest.skip("chromium did not answer")
    if "<title>" not in done.stdout:
        pytest.skip("chromium does not run here")
    told = done.stdout.partition("<title>")[2].partition("</title>")[0]
    assert sorted(told.strip("[]").split("][")) == sorted(
        f"{n}, {wide} px: over 0 cells 0" for n in SHOWN for wide in WIDTHS
    )
