"""The manual beside the page: built from the shipped text when it is asked for, once, into the user's cache folder."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import threading
from functools import cache
from html import escape
from importlib.util import find_spec
from pathlib import Path

from blankwright import __version__
from blankwright.base.errors import RequestError
from blankwright.base.filled import filled_once
from blankwright.base.library import shipped_dir, templates_dir

NEEDS = "The manual is built by two more libraries. Install them in its checkout: python -m pip install '.[page]'"

POLICY = "form-action 'self'"
"""What the manual may do beside the page itself: its search is a form that comes back to it."""

_PATIENCE_S = 300
_BEFORE = "manual-"


def manual_dir() -> Path:
    """Return the folder of the manual's text: in the package of a wheel, beside profile/ in a checkout.

    Raises:
        RequestError: The installation is incomplete.
    """
    return shipped_dir("manual", "docs", "conf.py")


def cache_dir() -> Path:
    """Return the user's folder for what can be made again."""
    from platformdirs import user_cache_path  # noqa: PLC0415 - only who asks for the manual needs it

    return user_cache_path("blankwright", appauthor=False)


@cache
def _state(text: Path) -> str:
    """Return what tells one state of text and code from another, so that a checkout's manual is never an old one."""
    seen = hashlib.sha256()
    for root in (text, Path(__file__).resolve().parents[1], templates_dir()):
        for path in sorted(root.rglob("*")):
            if path.suffix in (".md", ".py", ".toml", ".css", ".svg", ".png", ".json"):
                about = path.stat()
                seen.update(f"{path} {about.st_size} {about.st_mtime_ns}\n".encode())
    return seen.hexdigest()[:12]


class Manual:
    """The built manual of this version. Asking for it builds it; nobody waits for that.

    Args:
        folder: Where it is kept; None for the user's cache folder.
    """

    def __init__(self, folder: Path | None = None) -> None:
        self._folder = folder
        self._lock = threading.Lock()
        self._building: threading.Thread | None = None
        self._files: dict[str, Path] = {}
        self._fault = ""

    def file(self, name: str) -> Path | None:
        """Return a file of the built manual, None for one that it has not; only what was built can be named."""
        return self._files.get(name or "index.html")

    def told(self) -> str:
        """Return a page that says what is missing while the manual is not there; empty when it is.

        The first to ask has it built. What could not be built is tried again when asked for once more.
        """
        with self._lock:
            if self._files:
                return ""
            if self._building is None:
                self._fault = ""
                self._building = threading.Thread(target=self._build, name="manual", daemon=True)
                self._building.start()
            building = self._building
        building.join(0.5)
        with self._lock:
            if self._files:
                return ""
            if self._fault:
                self._building = None
                return _page(self._fault)
        return _page("The manual is being put together, once for this version: half a minute.", again_s=2)

    def _build(self) -> None:
        try:
            found = built(self._folder or cache_dir())
            files = {path.relative_to(found).as_posix(): path for path in found.rglob("*") if path.is_file()}
        except (RequestError, OSError, subprocess.SubprocessError) as error:
            with self._lock:
                self._fault = str(error)
            return
        with self._lock:
            self._files = files


def built(kept: Path) -> Path:
    """Return the folder of the built manual, which is built if it is not there yet; whole or not at all.

    Args:
        kept: The folder that it is kept in.

    Raises:
        RequestError: A library is missing, or it could not be built.
        OSError: The folder cannot be written.
    """
    text = manual_dir()
    place = kept / f"{_BEFORE}{__version__}-{_state(text)}"
    if (place / "index.html").is_file():
        return place
    if find_spec("sphinx") is None or find_spec("myst_parser") is None:
        raise RequestError(NEEDS)

    def build(work: Path) -> Path:
        pages = work / "pages"
        line = [sys.executable, "-B", "-m", "sphinx", "-q", "-b", "html", "-d", f"{work}/trees", str(text), str(pages)]
        code = str(Path(__file__).resolve().parents[2])
        env = os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, (code, os.environ.get("PYTHONPATH"))))}
        done = subprocess.run(
            line, env=env, stdin=subprocess.DEVNULL, capture_output=True, text=True, errors="replace",
            timeout=_PATIENCE_S, check=False,
        )  # fmt: skip
        if done.returncode or not (pages / "index.html").is_file():
            raise RequestError(f"The manual could not be built. {done.stderr.strip()[-600:]}")
        return pages

    filled_once(place, build, _BEFORE)
    return place


def _page(words: str, again_s: int = 0) -> str:
    again = f'<meta http-equiv="refresh" content="{again_s}">' if again_s else ""
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Manual</title>{again}'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="stylesheet" href="../look.css">'
        f'</head><body><main class="start"><h1>Manual</h1><p>{escape(words)}</p></main></body></html>'
    )
