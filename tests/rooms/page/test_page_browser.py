"""The page in a real browser, as a maker uses it: mouse, finger's screen, keyboard alone; and its accessibility.

Chromium is the system's; the rules of accessibility are axe-core's, carried by a package: no network is needed. One
browser serves all tests. Nothing here measures time: it waits for what it expects.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from rooms.blanks import blank_file, knife_of
from rooms.often import EVERY_CASE, elsewhere, repeated
from rooms.page.serving import Served, galley, serving

playwright = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="Chromium is not installed")

DESKTOP, PHONE = {"width": 1360, "height": 860}, {"width": 390, "height": 844}
PATIENCE_MS = 60_000
AWAY = "ERR_CONNECTION_REFUSED"
"""What the browser says of a server that was stopped, which is a part of the tests."""

LEAN = ("--renderer-process-limit=1", "--disable-features=SpareRendererForSitePerProcess")
"""One process draws all windows: a tenth of the work."""


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with playwright.sync_playwright() as play:
        found = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu", *LEAN])
        yield found
        found.close()


@contextmanager
def seen(browser: Any, served: Served, size: dict[str, int]) -> Iterator[Any]:
    """A fresh window on the page; what its console complains of, or what it loads from elsewhere, fails the test."""
    window = browser.new_context(viewport=size, has_touch=size is PHONE)
    window.set_default_timeout(PATIENCE_MS)
    faults: list[str] = []
    page = window.new_page()
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console", lambda said: faults.append(said.text) if said.type == "error" and AWAY not in said.text else None
    )
    home = (f"http://{served.host}/{served.token}/", f"blob:http://{served.host}/")
    page.on("request", lambda asked: None if asked.url.startswith(home) else faults.append(asked.url))
    page.goto(f"http://{served.host}/{served.token}/")
    try:
        yield page
        assert faults == []
    finally:
        window.close()


def size_of(page: Any, words: str) -> Any:
    return page.get_by_label(words, exact=True)


def shows(page: Any, words: str, value: str) -> None:
    playwright.expect(size_of(page, words)).to_have_value(value, timeout=PATIENCE_MS)


def typed(page: Any, words: str, value: str) -> None:
    size_of(page, words).fill(value)
    page.keyboard.press("Enter")


def settled(page: Any) -> None:
    """Wait until the last of the answers is there: what to buy stands in it."""
    playwright.expect(page.get_by_role("heading", name="To buy")).to_be_visible(timeout=PATIENCE_MS)


def pull(page: Any, grip: str, by_x: float, by_y: float) -> None:
    box = page.locator(f'[data-grip="{grip}"] .reach').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by_x, y + by_y, steps=4)
    page.mouse.up()


def wrong(page: Any, **options: Any) -> list[str]:
    """Return what axe-core finds that is serious or critical, with its places."""
    Axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="its rules are not installed").Axe
    found = Axe().run(page, options=options).response["violations"]
    return [
        f"{v['id']}: {node['target']}"
        for v in found if v["impact"] in ("serious", "critical") for node in v["nodes"]
    ]  # fmt: skip


def keeps_nobody_out(page: Any, what: str) -> None:
    """Hold what is shown to axe-core's rules, light and dark; of those the dark changes contrast alone."""
    for scheme, rules in (("light", {}), ("dark", {"runOnly": ["color-contrast"]})):
        page.emulate_media(color_scheme=scheme)
        assert wrong(page, **rules) == [], (what, scheme)


@repeated
def test_from_nothing_to_all_files_in_the_folder(browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with serving() as served, seen(browser, served, DESKTOP) as page:
        page.get_by_role("button", name="Chef's knife").click()
        shows(page, "blade length", "210 mm")
        settled(page)

        pull(page, "blade.length", -40, 0)
        page.wait_for_selector("#undo:not([disabled])")  # it was let go, and is one step
        assert page.get_by_role("button", name="Undo").get_attribute("title") == "Undo: blade length"
        pulled = size_of(page, "blade length").input_value()
        assert pulled not in ("210 mm", "")
        typed(page, "blade length", "8 1/4 in")
        shows(page, "blade length", "209.55 mm")

        stop = page.locator("#stop")
        typed(page, "heel height", "75 mm")
        playwright.expect(stop).to_contain_text("stops at", timeout=PATIENCE_MS)
        assert "wanted 75 mm" in stop.inner_text()
        keeps_nobody_out(page, "bench")
        page.keyboard.press("Tab")
        page.get_by_role("button", name="Undo").click()
        playwright.expect(stop).to_be_hidden(timeout=PATIENCE_MS)
        page.get_by_role("button", name="Undo").click()
        shows(page, "blade length", pulled)
        page.get_by_role("button", name="Redo").click()
        shows(page, "blade length", "209.55 mm")

        page.get_by_role("button", name="Save").click()
        page.locator("#file-name").fill("mine.toml")
        page.keyboard.press("Enter")
        playwright.expect(page.locator("#state")).to_have_text("mine.toml", timeout=PATIENCE_MS)
        assert "8 1/4 in" in (tmp_path / "mine.toml").read_text(encoding="utf-8")

        page.get_by_role("button", name="Files out").click()
        page.get_by_label("margin").fill("8 mm")
        if EVERY_CASE:
            page.get_by_role("button", name="bench card").click()
            playwright.expect(page.get_by_alt_text("card, page 1")).to_be_visible(timeout=PATIENCE_MS)
        page.get_by_role("button", name="Write everything").click()
        page.wait_for_selector(".made a")
        names = page.locator(".made a").all_inner_texts()
        folder = next((tmp_path / "out").iterdir())
        assert len(names) >= 8
        assert [n for n in names if not (folder / n).is_file()] == []
        with page.expect_download() as fetched:
            page.locator(".made a").first.click()
        assert Path(fetched.value.path()).read_bytes() == (folder / names[0]).read_bytes()


@repeated
@elsewhere
def test_two_tabs_a_reload_and_a_server_started_again_lose_nothing(
    browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    before = galley(tmp_path).read_bytes()
    with serving("galley.toml") as served, seen(browser, served, DESKTOP) as page:
        typed(page, "blade length", "198 mm")
        shows(page, "blade length", "198 mm")
        page.reload()
        shows(page, "blade length", "198 mm")
        other = page.context.new_page()
        other.goto(page.url)
        shows(other, "blade length", "198 mm")
        typed(other, "heel height", "50 mm")
        shows(page, "heel height", "50 mm")
        other.close()
        served.stop()
        playwright.expect(page.locator("#gone")).to_contain_text("Start it again", timeout=PATIENCE_MS)
        page.close()
    assert (tmp_path / "galley.toml").read_bytes() == before
    with serving("galley.toml") as served, seen(browser, served, PHONE) as page:
        shows(page, "blade length", "198 mm")
        shows(page, "heel height", "50 mm")
        playwright.expect(page.locator("#state")).to_have_text("galley.toml, not saved")
        page.get_by_role("button", name="Undo").click()
        page.get_by_role("button", name="Undo").click()
        shows(page, "blade length", "205 mm")


def test_a_phone_has_points_that_a_finger_finds_and_sizes_that_stay_under_it(
    browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    galley(tmp_path)
    (tmp_path / "bad.toml").write_text('family = "chef"\n\n[blade]\nlength = "950 mm"\n', encoding="utf-8")
    blank_file(tmp_path, knife_of("chef", {"blade.length": "225 mm"}))
    with serving("galley.toml") as served, seen(browser, served, PHONE) as page:
        settled(page)
        top = {name: page.locator(name).bounding_box()["y"] for name in ("#sheet", "#figures", "#sizes", "#tells")}
        assert sorted(top, key=top.__getitem__) == list(top)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        for grip in ("tang.front", "handle.gap", "pin 1", "tang.front below", "blade.heel_height"):
            box = page.locator(f'[data-grip="{grip}"] .reach').bounding_box()
            page.touchscreen.tap(box["x"] + box["width"] / 2 + 2, box["y"] + box["height"] / 2)
            playwright.expect(page.locator("#points")).to_have_value(grip, timeout=PATIENCE_MS)
        page.locator("#points").select_option("tang.front")
        before = size_of(page, "tang front").input_value()
        page.get_by_role("button", name="Move it up").click()
        playwright.expect(size_of(page, "tang front")).not_to_have_value(before, timeout=PATIENCE_MS)

        page.locator("#thing-long").evaluate("field => { field.value = '374 mm' }")  # of the thing before
        page.locator("#thing").select_option("chef_lifted.toml")
        playwright.expect(page.locator("#thing-told")).to_contain_text("mm long and", timeout=PATIENCE_MS)
        playwright.expect(page.locator("#thing-told")).to_contain_text("A place may be off by")
        assert page.locator("#thing-long").input_value() == ""
        assert (
            page.locator("path.thing").bounding_box()["width"] > page.locator("path.finished").bounding_box()["width"]
        )
        assert page.get_by_role("button", name="Fit the sizes to it").is_visible()

        size_of(page, "heel height").focus()
        at = size_of(page, "tip height").bounding_box()
        typed(page, "heel height", "75 mm")
        playwright.expect(page.locator("#stop")).to_contain_text("stops at", timeout=PATIENCE_MS)
        page.keyboard.press("Tab")
        assert size_of(page, "tip height").bounding_box() == at

        page.get_by_role("button", name="As text").click()
        text = page.get_by_role("textbox", name="Design file")
        playwright.expect(text).to_have_value(re.compile("# the rack"), timeout=PATIENCE_MS)
        text.fill('family = "chief"')
        page.get_by_role("button", name="Take it").click()
        playwright.expect(page.locator("#text .error")).to_contain_text("Did you mean 'chef'", timeout=PATIENCE_MS)
        text.fill('name = "By hand"\nfamily = "chef"\n')
        page.get_by_role("button", name="Take it").click()
        playwright.expect(page.get_by_role("heading", name="By hand")).to_be_visible(timeout=PATIENCE_MS)

        page.get_by_role("button", name="Other design").click()
        page.get_by_role("button", name="bad.toml").click()
        playwright.expect(page.locator("#broken")).to_contain_text("950.00 mm is out of range", timeout=PATIENCE_MS)
        mended = page.get_by_role("textbox", name="Design file")
        mended.fill(mended.input_value().replace("950", "220"))
        page.get_by_role("button", name="Take the mended text").click()
        shows(page, "blade length", "220 mm")


@repeated
@elsewhere
def test_the_keyboard_alone_shapes_and_writes(browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)

    def tab_to(page: Any, script: str) -> None:
        for _ in range(120):
            page.keyboard.press("Tab")
            if page.evaluate(f"(() => {{ const e = document.activeElement; return Boolean({script}); }})()"):
                return
        raise AssertionError(f"the Tab key never comes to {script}")

    with serving() as served, seen(browser, served, DESKTOP) as page:
        page.wait_for_selector(".silhouettes button")
        tab_to(page, "e.innerText?.startsWith('Paring')")
        page.keyboard.press("Enter")
        settled(page)
        before = size_of(page, "blade length").input_value()
        tab_to(page, "e.dataset.grip === 'blade.length'")
        assert "Arrow keys move it" in page.evaluate("document.activeElement.getAttribute('aria-label')")
        page.keyboard.press("Shift+ArrowRight")
        playwright.expect(size_of(page, "blade length")).not_to_have_value(before, timeout=PATIENCE_MS)
        assert page.evaluate("document.activeElement.dataset.grip") == "blade.length"
        page.keyboard.press("Control+z")
        shows(page, "blade length", before)
        tab_to(page, "e.id === 'size-blade-heel_height'")
        page.keyboard.type("22 mm")
        page.keyboard.press("Enter")
        shows(page, "heel height", "22 mm")
        page.keyboard.press("Control+s")
        page.locator("#file-name").wait_for()
        page.keyboard.press("Enter")
        playwright.expect(page.locator("#state")).to_have_text("paring.toml", timeout=PATIENCE_MS)
        tab_to(page, "e.id === 'to-papers'")
        page.keyboard.press("Enter")
        tab_to(page, "e.innerText === 'Write trace template'")
        page.keyboard.press("Enter")
        page.wait_for_selector(".made a")
        page.keyboard.press("Escape")
        playwright.expect(page.locator("#papers")).to_be_hidden()
    assert list((tmp_path / "out").rglob("*_template_a4.pdf"))


@repeated
@elsewhere
@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_no_part_of_it_keeps_anybody_out(
    browser: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: dict[str, int]
) -> None:
    monkeypatch.chdir(tmp_path)
    galley(tmp_path)
    (tmp_path / "bad.toml").write_text('family = "chief"\n', encoding="utf-8")
    with serving("galley.toml") as served, seen(browser, served, size) as page:
        settled(page)
        typed(page, "heel height", "75 mm")
        page.wait_for_selector("#stop:not([hidden])")
        keeps_nobody_out(page, "bench")
        for button, part in (("As text", "#text textarea"), ("Files out", "#papers h2")):
            page.get_by_role("button", name=button).click()
            page.wait_for_selector(part)
            keeps_nobody_out(page, button)
            page.keyboard.press("Escape")
        page.get_by_role("button", name="Other design").click()
        page.wait_for_selector(".silhouettes path")
        keeps_nobody_out(page, "beginning")
        page.get_by_role("button", name="bad.toml").click()
        page.wait_for_selector("#broken textarea")
        keeps_nobody_out(page, "a design that makes no knife")
