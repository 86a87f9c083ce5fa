"""One design at work: its text, what it solves to, and what each request of a page makes of both. No threads."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from blankwright.base.errors import BlankwrightError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.onefile import write_over
from blankwright.base.reading import is_plain_file, parse_toml, read_text
from blankwright.base.units import length_mm
from blankwright.design.keys import BY_KEY
from blankwright.design.parts import Dimension
from blankwright.design.request import PATTERN_KEY, Design, build_design
from blankwright.knife.knife import Knife
from blankwright.page import draft
from blankwright.page.edits import DesignText, Written
from blankwright.page.folder import MOST_DESIGN, Folder
from blankwright.page.grips import Place, words_of
from blankwright.page.history import History
from blankwright.page.protocol import Asked
from blankwright.page.steer import PIN, Limit, Settled, grip_named, moved, pin_moved, settle, solved
from blankwright.page.typed import as_written, exact, kind_of, shown, words_of_values

ELSEWHERE, TAKEN = "elsewhere", "taken"

_WORDS = {"name": "name", "family": "family", "handle.construction": "construction", PATTERN_KEY: "handle pattern"}


class Ask(Exception):  # noqa: N818 - a question, not an error
    """The maker has to decide before anything is written.

    Args:
        about: ELSEWHERE or TAKEN.
        text: The question in words.
    """

    def __init__(self, about: str, text: str) -> None:
        super().__init__(text)
        self.about = about


@dataclass(frozen=True)
class Look:
    """How a page wants its answers.

    Args:
        units: mm or in.
        section_mm: Station of the section [mm]; None for the middle.
        hand: Whose hand is drawn: "men 50", or a breadth such as "88 mm"; None for none.
    """

    units: str
    section_mm: float | None
    hand: str | None = None


class Work:
    """A design that is being changed.

    Args:
        folder: The started folder.
        name: The design file, relative to it; or a name with UNNAMED before it while it is no file.
        history: Its text and steps.
        base: Digest of the file as it was last read or written; empty for none.
    """

    def __init__(self, folder: Folder, name: str, history: History, base: str) -> None:
        self.folder, self.name, self.history, self.base = folder, name, history, base
        self.knife: Knife | None = None
        self.table: dict[str, Any] = {}
        self.limit: Limit | None = None
        self.wanted: Design | None = None
        """The design that met the limit."""
        self.fault = ""
        """Why the text makes no knife; empty when it does."""
        self.before: Knife | None = None
        """The knife as it was opened, or saved last."""
        self._text = DesignText(history.text)
        self._pending: dict[str, Written | None] = {}
        self._hold: tuple[str, Place] | None = None
        self._seen: tuple[int, int] | None = None
        self._elsewhere = False
        try:
            self._read(history.text)
        except BlankwrightError as error:
            self.fault = str(error)
        self.before = self.knife

    # ------------------------------------------------------------ what it is

    @property
    def path(self) -> Path | None:
        """The design file, relative to the started folder; None while it is none."""
        return None if self.name.startswith(draft.UNNAMED) else Path(self.name)

    @property
    def held(self) -> bool:
        """Whether a point is held, and what it brought is not yet a step."""
        return bool(self._pending)

    @property
    def saved(self) -> bool:
        """Whether the file holds the text."""
        return draft.digest(self.history.text) == self.base and not self._pending

    def doc(self) -> dict[str, Any]:
        """Return what the page shows of the design as a document."""
        h, path = self.history, self.path
        known = self.knife.asked if self.knife else None
        return {
            "id": self.name,
            "name": known.name if known else self.name.removeprefix(draft.UNNAMED),
            "title": known.title if known else "",
            "file": path.as_posix() if path else None,
            "slug": known.slug if known else None,
            "saved": self.saved,
            "elsewhere": self._elsewhere,
            "undo": h.undo_words,
            "redo": h.redo_words,
            "steps": h.count,
            "fault": self.fault,
        }

    # ------------------------------------------------------------ reading

    def _beside(self) -> Path:
        return self.path.parent if self.path else Path()

    def _parsed(self, text: str) -> dict[str, Any]:
        table = parse_toml(text, self.name.removeprefix(draft.UNNAMED))
        self.folder.check_design(table, self._beside())
        return table

    def _read(self, text: str) -> None:
        """Take a text: parse and solve it, or leave everything as it was.

        Raises:
            BlankwrightError: It makes no knife.
        """
        table = self._parsed(text)
        design = build_design(table, {}, self.name.removeprefix(draft.UNNAMED), self._beside())
        knife = solved(design, self.knife)
        self.table, self.knife, self.fault = table, knife, ""

    def _built(self, values: Mapping[str, Written | None]) -> Design:
        """Return the design with some keys changed."""
        changes = {key: value for key, value in values.items() if value is not None}
        self.folder.check_design(changes, self._beside())
        table = _without(self.table, [key for key, value in values.items() if value is None])
        return build_design(table, changes, self.name.removeprefix(draft.UNNAMED), self._beside())

    # ------------------------------------------------------------ changing

    def change(self, asked: Asked, look: Look) -> None:
        """Do what a page asks of the design: set, lock, drag, undo, redo, text or reread.

        Raises:
            BlankwrightError: It cannot be done; the design stands as it was.
        """
        if asked.do == "drag":
            self._drag(asked, look)
            return
        same_hold = asked.do == "set" and self._pending and set(asked["values"]) <= set(self._pending)
        if not same_hold:
            self.let_go()
        self.limit = self.wanted = None
        match asked.do:
            case "set":
                self._set(asked["values"], look.units, held=asked["held"])
            case "lock":
                self._lock(asked["keys"], look.units, on=asked["on"])
            case "undo":
                self._step(self.history.undo, self.history.redo)
            case "redo":
                self._step(self.history.redo, self.history.undo)
            case "text":
                self._take(asked["text"], "text")
            case "reread":
                self._reread()

    def _drag(self, asked: Asked, look: Look) -> None:
        knife = self._knife()
        x, y = asked["to"]
        if asked["grip"].startswith(PIN):
            self._drag_pin(knife, asked, look)
            return
        grip = grip_named(knife, asked["grip"])
        if self._hold is None or self._hold[0] != grip.name:
            self.let_go()
            self._hold = grip.name, grip.at
        wanted = {**self._pending, **moved(knife, grip, self._hold[1], (x, y), frozenset(self._pending), look.units)}
        if wanted:
            done = settle(self._built, knife, wanted, look.units, held=asked["held"])
            self._pending = dict(done.values)
            self._stand(done, wanted)
        if not asked["held"]:
            self.let_go()

    def _drag_pin(self, knife: Knife, asked: Asked, look: Look) -> None:
        if self._hold is None or self._hold[0] != asked["grip"]:
            self.let_go()
            self._hold = asked["grip"], (0.0, 0.0)
        done = pin_moved(self._built, knife, asked["grip"], asked["to"][0], look.units, held=asked["held"])
        self._pending |= done.values
        self.knife, self.limit, self.wanted = done.knife, done.limit, None
        if not asked["held"]:
            self.let_go()

    def let_go(self) -> None:
        """Make one step of what a held point brought."""
        self._hold = None
        if self._pending:
            values, self._pending = self._pending, {}
            self._commit(values)

    def _stand(self, done: Settled, wanted: Mapping[str, Written | None]) -> None:
        self.knife, self.limit = done.knife, done.limit
        self.wanted = self._built(wanted) if done.limit else None

    def _set(self, typed: Mapping[str, object], units: str, *, held: bool) -> None:
        wanted = {k: None if v is None else as_written(k, v, units) for k, v in typed.items()}
        wanted = self._pending | self._unfit(wanted) | wanted
        done = settle(self._built, self.knife, wanted, units, held=held)
        self._stand(done, wanted)
        self.fault = ""
        if held:
            self._pending = dict(done.values)
            return
        self._pending = {}
        self._commit(done.values, typed)

    def _unfit(self, wanted: Mapping[str, Written | None]) -> dict[str, Written | None]:
        """Return which dimensions have to go because another family, construction or handle has not got them."""
        bare = {k: wanted[k] for k in ("family", "handle.construction", PATTERN_KEY) if k in wanted}
        if not bare:
            return {}
        family_too = "family" in wanted
        asked = [f"{t}.{k}" for t, keys in self.table.items() if isinstance(keys, dict) for k in keys]
        sizes = [key for key in asked if kind_of(key) == "length" and key not in BY_KEY]
        design = self._built({**bare, **dict.fromkeys(sizes)})
        ranges = {d.key: d for d in design.family.offered(design.construction)}
        return {key: None for key in sizes if family_too or not _fits(ranges.get(key), self.table, key)}

    def _lock(self, keys: list[str], units: str, *, on: bool) -> None:
        knife = self._knife()
        there = {s.dimension.key: s.value_mm for s in knife.shape.solved}
        values: dict[str, Written | None] = {}
        for key in keys:
            if not on:
                values[key] = None
            elif key in there:
                values[key] = exact(round(there[key], 2), "mm")
            elif key in knife.asked.settings:
                values[key] = as_written(key, shown(key, knife.asked.settings[key], "mm"), "mm")
            else:
                raise RequestError(f"{key}: has no value that could stay.")
        done = settle(self._built, knife, values, units, held=False)
        self._stand(done, values)
        self._commit(done.values, values)

    def _commit(self, values: Mapping[str, Written | None], named: Mapping[str, object] | None = None) -> None:
        """Write values into the text as one step."""
        words = words_of_values(named or values, _WORDS | {k: words_of(k) for k in (named or values) if "." in k})
        if self._text.text != self.history.text:
            self._text = DesignText(self.history.text)
        text = self._text.change(values)
        self.table = self._parsed(text)
        self.history.change(words, text)

    def _take(self, text: str, words: str) -> None:
        """Take a whole text as one step."""
        self._read(text)
        self.history.change(words, text)

    def _step(self, way: Any, back: Any) -> None:
        if way():
            try:
                self._read(self.history.text)
            except BlankwrightError:
                back()
                raise

    def _knife(self) -> Knife:
        if self.knife is None:
            raise RequestError(f"the design makes no knife yet: {self.fault}")
        return self.knife

    # ------------------------------------------------------------ the file

    def _on_disk(self) -> str | None:
        """Return the file's text; None when there is none."""
        if self.path is None or not is_plain_file(self.path):
            return None
        self.folder.check(self.path)
        return read_text(self.path, MOST_DESIGN, "a design file")

    def look_elsewhere(self) -> bool:
        """Look whether the file was changed elsewhere; whether that is news."""
        before = self._elsewhere
        try:
            about = self.path.stat() if self.path else None
            state = (about.st_mtime_ns, about.st_size) if about else None
            if state != self._seen:
                self._seen = state
                text = self._on_disk()
                self._elsewhere = text is not None and draft.digest(text) != self.base
        except (OSError, BlankwrightError):
            return False
        return self._elsewhere != before

    def _reread(self) -> None:
        text = self._on_disk()
        if text is None:
            raise RequestError(f"{self.name.removeprefix(draft.UNNAMED)}: there is no such file to read again.")
        self._take(text, "what was changed elsewhere")
        self.base, self._elsewhere = draft.digest(text), False

    def save(self, *, over: bool) -> str:
        """Write the design to its file and say so.

        Args:
            over: Whether it may be written although it was changed elsewhere.

        Raises:
            Ask: It was changed elsewhere.
            RequestError: It is no file yet, or cannot be written.
        """
        self.let_go()
        path = self.path
        if path is None:
            raise RequestError("this design is no file yet. Give it a name.")
        self.folder.design(self.name)

        def content() -> str:
            there = self._on_disk()
            if there is not None and not over and draft.digest(there) != self.base:
                self._elsewhere = True
                raise Ask(ELSEWHERE, f"{path} was changed elsewhere since it was read here. Nothing was written.")
            return self.history.text

        write_over(path, content, new_folder=False)
        self._is_saved()
        return f"wrote {path.as_posix()}"

    def save_as(self, name: str, *, over: bool) -> str:
        """Write the design to another file, which it is from now on, and say so.

        Args:
            name: The file, relative to the started folder.
            over: Whether a file of that name may be written over.

        Raises:
            Ask: There is a file of that name.
            RequestError: The name is none for a design here, or it cannot be written.
        """
        self.let_go()
        path = self.folder.design(name)
        if path.parent != self._beside():  # what the design names beside itself must be there too
            build_design(self.table, {}, name, path.parent)

        def content() -> str:
            if is_plain_file(path) and not over:
                raise Ask(TAKEN, f"There is a file {path.as_posix()} already. Nothing was written.")
            return self.history.text

        write_over(path, content, new_folder=False)
        draft.drop(self.name)
        self.name = path.as_posix()
        self._is_saved()
        return f"wrote {path.as_posix()}"

    def _is_saved(self) -> None:
        self.base, self._elsewhere, self._seen = draft.digest(self.history.text), False, None
        self.before = self.knife
        draft.drop(self.name)

    def keep(self) -> None:
        """Keep what is not saved in a draft; nothing of one that is saved.

        Raises:
            RequestError: It cannot be written.
        """
        self.let_go()
        if self.saved or (not self.base and not self.history.count):
            draft.drop(self.name)
        else:
            draft.keep(self.name, draft.Draft(self.history, self.base))


def _fits(d: Dimension | None, table: Mapping[str, Any], key: str) -> bool:
    """Whether a dimension of a table can stand where d, or nothing, is offered."""
    group, _, word = key.rpartition(".")
    return d is not None and d.least_mm <= length_mm(table[group][word], key) <= d.greatest_mm


def _without(table: Mapping[str, Any], keys: list[str]) -> dict[str, Any]:
    """Return a table without some dotted keys."""
    out = {name: dict(value) if isinstance(value, dict) else value for name, value in table.items()}
    for key in keys:
        group, _, word = key.rpartition(".")
        inside = out.get(group)
        if isinstance(inside, dict):
            inside.pop(word, None)
    return out
