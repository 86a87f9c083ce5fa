"""Every design that is open, the pages on them, and what a page asks for beside its design: lists, files, previews."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any

from blankwright import __version__
from blankwright.base.errors import BlankwrightError, RequestError
from blankwright.design.request import Design
from blankwright.page import behind, draft, lists, press
from blankwright.page.folder import Folder
from blankwright.page.opening import begun, check_name, opened
from blankwright.page.protocol import Asked
from blankwright.page.session import CHANGES, Page, Session
from blankwright.page.work import Work

QUICK = CHANGES | {"look", "save"}
"""What is handed to the design's own thread without waiting."""

_MOST_OPEN = 24
"""Designs that stay open with no page on them; what is not saved of the others is kept in drafts."""


class Shelf:
    """The designs of one started folder.

    Args:
        folder: The started folder.
        start: The design that the page was started with, opened; None for none.
    """

    def __init__(self, folder: Folder, start: Work | None) -> None:
        self.folder = folder
        self.previews = press.Previews()
        self._sessions: list[Session] = [Session(start)] if start else []
        self._start = self._sessions[0] if self._sessions else None
        self._on: dict[Page, Session] = {}
        self._lock = threading.RLock()
        self._press = ThreadPoolExecutor(1, thread_name_prefix="files")

    def hello(self, page: Page) -> None:
        """Tell a new page what there is."""
        page.say(
            {
                "say": "hello",
                "version": __version__,
                "folder": self.folder.root.name,
                "start": self._start.work.name if self._start else None,
                **lists.offers(),
                **self._files(),
            }
        )

    def _files(self) -> dict[str, Any]:
        named = [{"name": name, "title": title} for name, title in self.folder.designs()]
        left = [{"name": name, "title": name.removeprefix(draft.UNNAMED)} for name in draft.unnamed(self.folder.root)]
        return {"files": named, "unsaved": left, "outlines": self.folder.outlines()}

    def take(self, page: Page, asked: Asked) -> None:
        """Answer a request, or hand it on; may take its time unless it is one of QUICK."""
        try:
            self._take(page, asked)
        except BlankwrightError as error:
            page.say({"say": "wrong", "n": asked.n, "text": str(error), "key": None})

    def _take(self, page: Page, asked: Asked) -> None:
        match asked.do:
            case "open":
                self._show(page, self._open(asked["name"]))
            case "begin":
                self._show(page, self._begin(asked["family"], asked["construction"]))
            case "save_as":
                self._refuse_open(page, asked["name"])
                self._of(page).ask(page, asked)
            case "look" if page not in self._on:
                page.turn(asked)
            case "families":
                page.say({"say": "families", "n": asked.n, "families": lists.silhouettes(page.look.units)})
            case "choices":
                page.say({"say": "choices", "n": asked.n, "key": asked["key"], "choices": lists.choices(asked["key"])})
            case "folder":
                page.say({"say": "folder", "n": asked.n, **self._files()})
            case "write" | "preview" | "behind" | "fit":
                self._submit(page, asked)
            case _:
                self._of(page).ask(page, asked)

    def _of(self, page: Page) -> Session:
        with self._lock:
            found = self._on.get(page)
        if found is None:
            raise RequestError("open a design first, or begin one from a family.")
        return found

    def _open(self, name: str) -> Session:
        check_name(name)
        with self._lock:
            found = next((s for s in self._sessions if s.work.name == name), None)
            return found or self._added(opened(self.folder, name))

    def _begin(self, family: str, construction: str | None) -> Session:
        with self._lock:
            work = begun(self.folder, family, construction)
            taken = {s.work.name for s in self._sessions} | set(draft.unnamed(self.folder.root))
            stem, count = work.name, 1
            while work.name in taken:
                count += 1
                work.name = f"{stem}-{count}"
            return self._added(work)

    def _added(self, work: Work) -> Session:
        found = next((s for s in self._sessions if s.work.name == work.name), None)
        if found is not None:  # opened by its family's name, and there already
            return found
        session = Session(work)
        self._sessions.append(session)
        idle = [s for s in self._sessions[:-1] if s not in self._on.values() and s is not self._start]
        for old in idle[: max(len(self._sessions) - _MOST_OPEN, 0)]:
            self._sessions.remove(old)
            old.end()
        return session

    def _refuse_open(self, page: Page, name: str) -> None:
        with self._lock:
            other = next((s for s in self._sessions if s.work.name == name), None)
            if other is not None and other is not self._on.get(page) and other in self._on.values():
                raise RequestError(f"{name}: is open on another page. Choose another name.")
            if other is not None and other is not self._on.get(page):
                self._sessions.remove(other)
                other.end()

    def _show(self, page: Page, session: Session) -> None:
        with self._lock:
            before = self._on.get(page)
            self._on[page] = session
        if before is not None and before is not session:
            before.leave(page)
        session.join(page)

    def _submit(self, page: Page, asked: Asked) -> None:
        session = self._of(page)

        def snapshot() -> None:
            session.work.let_go()
            knife = session.work.knife
            if knife is None:
                page.say({"say": "wrong", "n": asked.n, "text": "the design makes no knife yet.", "key": None})
                return
            job = partial(self._job, session, page, asked, knife.asked, page.look.units)
            self._press.submit(_told, page, asked, job)

        session.call(snapshot)

    def _job(self, session: Session, page: Page, asked: Asked, design: Design, units: str) -> dict[str, Any]:
        """Do what takes its time with a design as it stood when it was asked for."""
        match asked.do:
            case "write":
                return press.write(self.folder, design, asked)
            case "preview":
                return press.preview(design, asked, units, self.previews)
            case "behind":
                return behind.behind(self.folder, asked, units)
            case _:
                values, told = behind.fitted(self.folder, asked, design, units)
                session.ask(page, Asked("set", asked.n, {"values": values, "held": False}))
                return {"say": "fitted", "n": asked.n, "told": told}

    def left(self, page: Page) -> None:
        """Take a page away."""
        with self._lock:
            session = self._on.pop(page, None)
        if session is not None:
            session.leave(page)

    def end(self) -> None:
        """End all threads; what is not saved is kept."""
        self._press.shutdown(wait=False, cancel_futures=True)
        for session in self._sessions:
            session.end()


def _told(page: Page, asked: Asked, job: Callable[[], dict[str, Any]]) -> None:
    """Do a job and tell the page what came of it."""
    try:
        page.say(job())
    except BlankwrightError as error:
        page.say({"say": "wrong", "n": asked.n, "text": str(error), "key": None})
    except Exception as error:
        text = f"internal error ({type(error).__name__}: {error}). Nothing was written."
        page.say({"say": "wrong", "n": asked.n, "text": text, "key": None})
