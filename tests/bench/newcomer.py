"""A newcomer's five minutes, the machine's part of them: from the line that starts the page to a template to print.

    python tests/bench/newcomer.py [--python PATH] [--browser PATH]

Run it with the extras `page` and `test` and a Chromium; `--python` is the interpreter that Blankwright is installed
for, such as the one of a fresh environment. What a person reads, decides and types comes on top.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def step(words: str) -> Iterator[None]:
    """Print how long a step takes."""
    since = time.perf_counter()
    yield
    print(f"{words:<52} {time.perf_counter() - since:5.1f} s")


def main() -> None:
    """Go through the steps of docs/first_knife.md and print each with its time."""
    from playwright.sync_api import sync_playwright

    read = argparse.ArgumentParser(description=__doc__)
    read.add_argument("--python", default=sys.executable)
    read.add_argument("--browser", default=shutil.which("chromium"))
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        page = play.chromium.launch(executable_path=asked.browser, args=["--no-sandbox"]).new_page()
        page.set_default_timeout(300_000)
        env = os.environ | {"XDG_CACHE_HOME": folder}
        with step("blankwright page: the address is there"):
            line = [asked.python, "-m", "blankwright", "page", "--no-browser"]
            server = subprocess.Popen(line, cwd=folder, env=env, stdout=subprocess.PIPE, text=True)
            assert server.stdout is not None
            address = server.stdout.readline().strip()
        with step("the browser shows the families"):
            page.goto(address)
            page.wait_for_selector(".silhouettes path")
        with step("Paring knife: the bench with its drawing"):
            page.get_by_role("button", name="Paring knife").click()
            page.wait_for_selector(".grip")
        with step("everything else of it"):
            page.get_by_role("heading", name="To buy").wait_for()
        with step("the tip is pulled"):
            box = page.locator('[data-grip="blade.length"] .reach').bounding_box()
            x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
            page.mouse.move(x, y)
            page.mouse.down()
            page.mouse.move(x + 20, y, steps=10)
            page.mouse.up()
            page.wait_for_selector("#undo:not([disabled])")
        with step("a size is typed: 3 1/2 in"):
            page.get_by_label("blade length", exact=True).fill("3 1/2 in")
            page.keyboard.press("Enter")
            page.wait_for_selector(".size.asked #size-blade-length")
        with step("it is saved"):
            page.get_by_role("button", name="Save").click()
            page.locator("#file-name").fill("my_paring.toml")
            page.keyboard.press("Enter")
            page.get_by_text("my_paring.toml", exact=True).wait_for()
        page.get_by_role("button", name="Files out").click()
        with step("the template is looked at"):
            page.get_by_role("button", name="template", exact=True).click()
            page.get_by_alt_text("template, page 1").wait_for()
        with step("the template is written and fetched"):
            page.get_by_role("button", name="Write trace template").click()
            with page.expect_download() as fetched:
                page.locator(".made a").first.click()
            assert Path(fetched.value.path()).stat().st_size > 1000
        with step("everything is written and proven"):
            page.get_by_role("button", name="Write everything").click()
            page.get_by_text("_cut_mm.dxf").first.wait_for()
        with step("the manual is built, once"):
            page.goto(f"{address}manual/")
            page.get_by_text("At the bench").first.wait_for()
        server.terminate()
        server.wait(60)


if __name__ == "__main__":
    main()
