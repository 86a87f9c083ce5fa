"""How soon the page shows an edit: 200 drags in a real browser, from the pointer's move to the picture; and memory.

    python tests/bench/page_speed.py [--browser PATH] [--edits 5000] [--beside 2]

Needs the extras `page` and `test` and a Chromium. Bars: 50 ms at the median and 100 ms at the 95th percentile from
edit to picture, 200 ms at the median to the rest; the server's memory flat over all edits.
"""

from __future__ import annotations

import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
DRAGS = 200
BARS_MS = {"picture, median": 50.0, "picture, 95 of 100": 100.0, "rest, median": 200.0}

WATCH = """
() => {
  window.seen = {sent: new Map(), picture: [], rest: []};
  let moved = 0;
  for (const kind of ["pointermove", "keydown"]) window.addEventListener(kind, (e) => { moved = e.timeStamp; }, true);
  const send = WebSocket.prototype.send;
  WebSocket.prototype.send = function (text) {
    const message = JSON.parse(text);
    if (message.do === "drag") window.seen.sent.set(message.n, moved);
    if (!this.watched) {
      this.watched = true;
      let last = null;
      this.addEventListener("message", (event) => {
        const told = JSON.parse(event.data);
        if (told.say === "shape") {
          const times = told.answers.map((n) => window.seen.sent.get(n)).filter((t) => t !== undefined);
          if (times.length) {
            last = {edit: told.edit, since: times[0]};
            const drawn = () => times.forEach((t) => window.seen.picture.push(performance.now() - t));
            requestAnimationFrame(() => setTimeout(drawn));
          }
        }
        if (told.say === "rest" && told.edit === last?.edit) {
          const since = last.since;
          requestAnimationFrame(() => setTimeout(() => window.seen.rest.push(performance.now() - since)));
        }
      });
    }
    return send.call(this, text);
  };
}
"""


def started(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """Start the page's server and return it with its address."""
    env = os.environ | {"PYTHONPATH": str(ROOT / "profile")}
    line = [sys.executable, "-m", "blankwright", "page", "chef", "--no-browser"]
    server = subprocess.Popen(line, cwd=folder, env=env, stdout=subprocess.PIPE, text=True)
    assert server.stdout is not None
    return server, server.stdout.readline().strip()


def memory_mb(number: int) -> float:
    """Return what a process holds in memory [MB]."""
    for line in Path("/proc", str(number), "status").read_text(encoding="utf-8").splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1]) / 1024
    return 0.0


def drags(page: Any, count: int) -> None:
    """Move the tip to and fro with the mouse, one frame at a time."""
    box = page.locator('[data-grip="blade.length"] .reach').bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    for step in range(count):
        page.mouse.move(x - 60 + abs(step % 80 - 40) * 1.5, y + step % 20 - 10)
        time.sleep(0.06)
    page.mouse.up()


@contextmanager
def beside(count: int) -> Iterator[None]:
    """Keep the machine busy with other processes meanwhile."""
    line = [sys.executable, "-c", "while True: pass"]
    others = [subprocess.Popen(line, start_new_session=True) for _ in range(count)]  # as programs of their own
    try:
        yield
    finally:
        for other in others:
            other.kill()


def single(page: Any, count: int) -> None:
    """Move the tip by arrow keys, each an edit of its own with its rest."""
    page.locator('[data-grip="blade.length"]').focus()
    for step in range(count):
        page.keyboard.press("ArrowLeft" if step % 2 else "ArrowRight")
        time.sleep(0.3)


def main() -> int:
    """Measure, print, and return 1 where a bar is missed."""
    from playwright.sync_api import sync_playwright

    read = argparse.ArgumentParser(description=__doc__)
    read.add_argument("--browser", default=shutil.which("chromium"))
    read.add_argument("--edits", type=int, default=0)
    read.add_argument("--beside", type=int, default=0, help="busy processes beside it")
    asked = read.parse_args()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play, beside(asked.beside):
        server, address = started(Path(folder))
        browser = play.chromium.launch(executable_path=asked.browser, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1360, "height": 860})
        page.add_init_script(f"({WATCH})()")
        page.goto(address)
        page.wait_for_selector(".grip")
        time.sleep(1)
        drags(page, DRAGS)
        time.sleep(1)
        picture = sorted(page.evaluate("window.seen.picture"))
        page.evaluate("window.seen.rest.length = 0")
        single(page, 30)
        rest = page.evaluate("window.seen.rest")
        found = {
            "picture, median": statistics.median(picture),
            "picture, 95 of 100": picture[int(len(picture) * 0.95)],
            "rest, median": statistics.median(rest) if rest else float("nan"),
        }
        print(f"{len(picture)} drags, {len(rest)} rests")
        for name, value in found.items():
            print(f"{name:<20} {value:6.1f} ms   bar {BARS_MS[name]:.0f} ms")
        if asked.edits:
            before = memory_mb(server.pid)
            for done in range(0, asked.edits, 500):
                page.evaluate(EDITS)
                print(f"{done + 500} edits: {memory_mb(server.pid):.1f} MB (before {before:.1f} MB)")
        browser.close()
        server.terminate()
        server.wait(60)
    return int(any(not value <= BARS_MS[name] for name, value in found.items()))


EDITS = """
async () => {
  const address = new URL("talk", location.href); address.protocol = "ws:"; address.hash = "";
  const line = new WebSocket(address);
  await new Promise((done) => { line.onopen = done; });
  line.send(JSON.stringify({do: "open", n: 1, name: "~chef"}));
  for (let i = 0; i < 500; i++) {
    await new Promise((done) => {
      line.onmessage = (e) => {
        const told = JSON.parse(e.data);
        if (told.say === "shape" && told.answers.includes(i + 2)) done();
      };
      line.send(JSON.stringify({do: "set", n: i + 2, values: {"blade.length": `${200 + i % 40} mm`}}));
    });
  }
  line.close();
}
"""

if __name__ == "__main__":
    sys.exit(main())
