"""One design, the pages that show it, and the thread that answers them: edits first, the rest in steps between."""

from __future__ import annotations

import re
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from blankwright.base.errors import BlankwrightError, unknown
from blankwright.page import rest
from blankwright.page.answer import shape_answer
from blankwright.page.form import form
from blankwright.page.protocol import Asked, written
from blankwright.page.typed import UNITS
from blankwright.page.work import Ask, Look, Work

CHANGES = frozenset({"set", "lock", "drag", "undo", "redo", "text", "reread"})

_KEEP_AFTER_S = 0.3
"""A draft is written this long after the last edit; a page that hurries writes once."""

_REST_AFTER_S = 0.04
"""While a point is held the rest waits this long for the next move, which must not wait for it."""

_REST_EVERY_S = 0.12
"""While a point is held the rest follows this often at most: the processor belongs to the drawing."""

_LOOK_EVERY_S = 2.0
"""How often the file is looked at for changes from elsewhere."""

_KEY = re.compile(r"\b([a-z]+)(?:\]\s|\.)([a-z_]+)\b")


@dataclass(eq=False)
class Page:
    """One page in a browser.

    Args:
        send: Takes a message to it, from any thread; never waits.
        look: How it wants its answers.
    """

    send: Callable[[str], None]
    look: Look = field(default_factory=lambda: Look("mm", None))

    def say(self, said: dict[str, Any]) -> None:
        """Tell the page something."""
        self.send(written(said))

    def turn(self, asked: Asked) -> bool:
        """Take how the page wants its answers; whether all has to be told anew."""
        units, section, hand = asked["units"], asked["section_mm"], asked["hand"]
        if units is not None and units not in UNITS:
            raise unknown("unit", units, UNITS)
        before = self.look
        self.look = Look(
            units or before.units,
            before.section_mm if section is None else section,
            before.hand if hand is None else hand.strip() or None,
        )
        return (self.look.units, self.look.hand) != (before.units, before.hand)


class Session:
    """A design that is open.

    Args:
        work: The design.
    """

    def __init__(self, work: Work) -> None:
        self.work = work
        self.pages: list[Page] = []
        self._edit = 0
        self._inbox: deque[tuple[Page, Asked]] = deque()
        self._calls: deque[Callable[[], None]] = deque()
        self._news = threading.Condition()
        self._later: Iterator[tuple[Page, dict[str, Any]] | None] | None = None
        self._rest_at = self._rested = 0.0
        self._ended = False
        self._keep_at: float | None = None
        self._thread = threading.Thread(target=self._run, name=f"design {work.name}", daemon=True)
        self._thread.start()

    # ------------------------------------------------------------ from other threads

    def ask(self, page: Page, asked: Asked) -> None:
        """Take a request of a page; it is answered in its turn."""
        with self._news:
            self._inbox.append((page, asked))
            self._news.notify()

    def call(self, what: Callable[[], None]) -> None:
        """Have something done between two answers."""
        with self._news:
            self._calls.append(what)
            self._news.notify()

    def join(self, page: Page) -> None:
        """Show the design on a page, or all of it once more."""

        def joined() -> None:
            if page not in self.pages:
                self.pages.append(page)
            self._show(page)

        self.call(joined)

    def leave(self, page: Page) -> None:
        """Show it there no more; what is not saved is kept at once."""

        def left() -> None:
            if page in self.pages:
                self.pages.remove(page)
            self._keep()

        self.call(left)

    def end(self) -> None:
        """End the thread, with what is not saved kept."""
        with self._news:
            self._ended = True
            self._news.notify()
        self._thread.join(timeout=5)

    # ------------------------------------------------------------ the thread

    def _run(self) -> None:
        looked = time.monotonic()
        while True:
            with self._news:
                if not (self._ended or self._inbox or self._calls or self._patience() <= 0):
                    self._news.wait(self._patience())
                if self._ended:
                    break
                call = self._calls.popleft() if self._calls else None
                taken = self._taken() if call is None else None
            if call is not None:
                self._do(call)
            elif taken is not None:
                self._answer(*taken)
            elif self._later is not None and self._patience() <= 0:
                self._step()
            now = time.monotonic()
            if self._keep_at is not None and now >= self._keep_at and not self.work.held:
                self._keep()
            if now - looked >= _LOOK_EVERY_S:
                looked = now
                self._look_elsewhere()
        self._keep()

    def _patience(self) -> float:
        """Return how long nothing is to be done unless something comes [s]."""
        if self._later is not None:
            return self._rest_at - time.monotonic()
        return _KEEP_AFTER_S if self._keep_at else _LOOK_EVERY_S

    def _do(self, call: Callable[[], None]) -> None:
        try:
            call()
        except Exception as error:
            self._tell_fault(error)

    def _tell_fault(self, error: Exception) -> None:
        for page in self.pages:
            page.say({"say": "wrong", "n": None, "text": str(error), "key": None})

    def _taken(self) -> tuple[Page, Asked, list[int]] | None:
        """Return the next request with the numbers that it answers: of drags of one point the newest."""
        if not self._inbox:
            return None
        page, asked = self._inbox.popleft()
        numbers = [asked.n]
        while asked.do in ("drag", "set") and asked["held"] and self._inbox:
            other, following = self._inbox[0]
            if other is not page or _moves(following) != _moves(asked):
                break
            self._inbox.popleft()
            asked = following
            numbers.append(asked.n)
        return page, asked, numbers

    def _answer(self, page: Page, asked: Asked, numbers: list[int]) -> None:
        try:
            if asked.do in CHANGES:
                self._change(page, asked, numbers)
            elif asked.do == "look":
                self._look(page, asked)
            elif asked.do in ("save", "save_as"):
                self._save(page, asked)
        except Ask as question:
            page.say({"say": "asks", "n": asked.n, "about": question.about, "text": str(question)})
            self._tell_doc()
        except BlankwrightError as error:
            text = str(error)
            page.say({"say": "wrong", "n": asked.n, "text": text, "key": self._key_in(text)})
            if asked.do == "drag":
                self._tell_shape([page], numbers, held=False)
        except Exception as error:
            text = f"internal error ({type(error).__name__}: {error}). The design stands as it was."
            page.say({"say": "wrong", "n": asked.n, "text": text, "key": None})

    def _key_in(self, text: str) -> str | None:
        """Return the key of the design that a message names first, if any."""
        match = _KEY.search(text)
        return f"{match[1]}.{match[2]}" if match else None

    def _change(self, page: Page, asked: Asked, numbers: list[int]) -> None:
        before = self._kind()
        if asked.do == "text" and not asked["text"]:
            page.say({"say": "text", "n": asked.n, "text": self.work.history.text})
            return
        self.work.change(asked, page.look)
        self._edit += 1
        if self._kind() != before:
            for each in self.pages:
                self._tell_form(each)
        self._tell_shape(self.pages, numbers, held=self.work.held, by=page)
        self._later = self._rest()
        now = time.monotonic()
        self._rest_at = max(now + _REST_AFTER_S, self._rested + _REST_EVERY_S) if self.work.held else now
        self._keep_at = now + _KEEP_AFTER_S

    def _kind(self) -> tuple[object, ...]:
        known = self.work.knife.asked if self.work.knife else None
        return (known.family, known.construction) if known else ()

    def _show(self, page: Page) -> None:
        """Tell a page all there is."""
        if self.work.knife is None:
            page.say({"say": "doc", "n": None, "doc": self.work.doc(), "text": self.work.fault})
            page.say({"say": "text", "n": None, "text": self.work.history.text})
            return
        self._tell_form(page)
        self._tell_shape([page], [], held=False)
        self._later = self._rest()

    def _look(self, page: Page, asked: Asked) -> None:
        if page.turn(asked):
            self._show(page)
        elif asked["section_mm"] is not None and self.work.knife is not None:
            shown = rest.section_answer(self.work.knife, page.look.units, page.look.section_mm)
            page.say({"say": "section", "n": asked.n, "edit": self._edit, "section": shown})

    def _save(self, page: Page, asked: Asked) -> None:
        work = self.work
        text = work.save(over=asked["over"]) if asked.do == "save" else work.save_as(asked["name"], over=asked["over"])
        page.say({"say": "doc", "n": asked.n, "doc": work.doc(), "text": text})
        self._tell_doc(but=page)

    # ------------------------------------------------------------ telling

    def _tell_form(self, page: Page) -> None:
        if self.work.knife is not None:
            page.say(form(self.work.knife.asked, page.look.units))

    def _tell_doc(self, but: Page | None = None) -> None:
        for page in self.pages:
            if page is not but:
                page.say({"say": "doc", "n": None, "doc": self.work.doc(), "text": ""})

    def _tell_shape(self, pages: list[Page], numbers: list[int], *, held: bool, by: Page | None = None) -> None:
        knife = self.work.knife
        if knife is None:
            return
        by_units: dict[str, dict[str, Any]] = {}
        head = {"edit": self._edit, "held": held, "doc": self.work.doc()}
        for page in pages:
            units = page.look.units
            if units not in by_units:
                by_units[units] = shape_answer(knife, self.work.table, units, self.work.limit) | head
            page.say(by_units[units] | {"answers": numbers if by in (None, page) else []})

    def _rest(self) -> Iterator[tuple[Page, dict[str, Any]] | None]:
        """Yield what follows the shape, for each page; None between steps."""
        knife, limit, wanted = self.work.knife, self.work.limit, self.work.wanted
        if knife is None:
            return
        for page in list(self.pages):
            for told in rest.rest(knife, page.look, self.work.before):
                yield (page, told) if told else None
        if self.work.held:
            return
        met = (limit, wanted) if limit and wanted else None
        for units in dict.fromkeys(page.look.units for page in self.pages):
            for told in rest.more(knife, units, met, self.work.folder.root):
                if told is None:
                    yield None
                    continue
                for page in self.pages:
                    if page.look.units == units:
                        yield page, told

    def _step(self) -> None:
        """Do one step of the rest."""
        assert self._later is not None
        try:
            told = next(self._later)
        except StopIteration:
            self._later, self._rested = None, time.monotonic()
            return
        except Exception as error:
            self._later = None
            self._tell_fault(error)
            return
        if told is not None:
            page, message = told
            page.say(message | {"edit": self._edit})

    # ------------------------------------------------------------ the file

    def _keep(self) -> None:
        self._keep_at = None
        try:
            self.work.keep()
        except (BlankwrightError, OSError) as error:
            for page in self.pages:
                page.say({"say": "wrong", "n": None, "text": f"what is not saved cannot be kept: {error}", "key": None})

    def _look_elsewhere(self) -> None:
        if self.work.look_elsewhere():
            self._tell_doc()


def _moves(asked: Asked) -> object:
    """Return what a request moves, so that of several in a row the newest is enough; None for no such request."""
    if asked.do == "drag":
        return asked["grip"]
    return frozenset(asked["values"]) if asked.do == "set" else None
