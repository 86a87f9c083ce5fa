"""The folder that the page was started in: names of files in it, and no way out of it."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any

from blankwright.base.errors import BlankwrightError, RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.plain import RESERVED, plain_text
from blankwright.base.reading import is_plain_file, parse_toml, read_text
from blankwright.design.keys import BY_KEY
from blankwright.design.parts import OUTLINE_KEY
from blankwright.design.request import PATTERN_KEY

MOST_DESIGN = 200_000
"""Largest design file that the page opens [bytes]."""

OUT = "out"
"""Where the command line writes to as well when nothing else is said."""

OUTLINES = (".dxf", ".svg", ".png", ".jpg", ".jpeg", ".tif", ".tiff", ".pdf", ".csv", ".toml")
"""Endings of files that an outline can be lifted from, or was lifted to."""

LIFTED = "_lifted.toml"

_MOST_NAME = 120
_MOST_LISTED = 200
_MOST_LOOKED_AT = 2000
_LIST_BYTES = 60_000
_DEEP = 2
"""Folders below the started one in which designs are looked for."""


@dataclass(frozen=True)
class Folder:
    """The started folder.

    Args:
        root: Its path, whole and without links. Names are relative to it, and it is the process's own folder, so that
            a design reads the same here as on the command line.
    """

    root: Path

    @classmethod
    def here(cls) -> Folder:
        """Return the folder that the process was started in."""
        return cls(Path.cwd().resolve())

    def design(self, name: str) -> Path:
        """Return the path of a design file, relative to the folder; the file need not be there.

        Raises:
            RequestError: The name is none of a design file in the folder, or a link leads out of it.
        """
        path = self._inside(name)
        if path.suffix != ".toml":
            raise RequestError(f"{name[:200]}: a design file's name ends in .toml.")
        return path

    def outline(self, name: str) -> Path:
        """Return the path of a file that shows an outline, relative to the folder.

        Raises:
            RequestError: The name is none of such a file in the folder, or a link leads out of it.
        """
        path = self._inside(name)
        if path.suffix.lower() not in OUTLINES:
            raise unknown("ending", path.suffix or name, OUTLINES)
        return path

    def _inside(self, name: str) -> Path:
        """Return a path below the folder.

        Raises:
            RequestError: It is not below it, be it by a link, or it is hidden, or no name that every system takes.
        """
        plain_text(name, "a file's name")
        parts = PurePosixPath(name).parts
        bad = (
            not parts
            or len(name) > _MOST_NAME
            or PurePosixPath(name).is_absolute()
            or PureWindowsPath(name).anchor
            or "\\" in name
            or any(part.startswith(".") or part.split(".")[0].strip().lower() in RESERVED for part in parts)
            or any(sign in name for sign in '<>:"|?*')
        )
        if bad:
            raise RequestError(f"{name[:200]}: no name of a file in the folder {self.root.name}.")
        path = Path(*parts)
        self.check(path)
        return path

    def check(self, path: Path) -> None:
        """Refuse a path that leads out of the folder, be it by a link.

        Raises:
            RequestError: It does.
        """
        try:
            whole = (self.root / path).resolve()
        except (OSError, RuntimeError, ValueError):  # links in a ring
            whole = Path()
        if not whole.is_relative_to(self.root):
            raise RequestError(f"{str(path)[:200]}: leads out of the folder {self.root.name}, which the page keeps to.")

    def out(self, slug: str) -> Path:
        """Return the folder that files are written to, relative as the command line has it.

        Raises:
            RequestError: A link of that name leads out of the started folder.
        """
        self.check(Path(OUT) / slug)
        return Path(OUT)

    def check_design(self, table: Mapping[str, Any], beside: Path) -> None:
        """Refuse a design that names a file outside of the folder: a family, a table of one's own, a mark.

        Args:
            table: The design as a table, or changes by dotted key.
            beside: Folder of the design file, relative.

        Raises:
            RequestError: It does; the message says which key.
        """
        for key, name in _files_named(table):
            if PurePosixPath(name).is_absolute() or PureWindowsPath(name).anchor or len(name) > 2 * _MOST_NAME:
                raise RequestError(f"{key}: {name[:200]} lies outside of the folder {self.root.name}. Put it beside.")
            for where in (beside / name, Path(name)):
                try:
                    self.check(where)
                except RequestError as error:
                    raise RequestError(f"{key}: {error}") from None
                if name.endswith(".toml") and is_plain_file(where):
                    self._check_named(where)

    def _check_named(self, path: Path) -> None:
        """Refuse a file, such as a family or a service, that itself names a file outside of the folder."""
        for word in _words_in(parse_toml(read_text(path, MOST_DESIGN, "a text file of ours"), path.name)):
            for where in (path.parent / word, Path(word)):
                self.check(where)

    def check_file(self, path: Path) -> None:
        """Refuse a file that leads out of the folder, or names one that does.

        Raises:
            RequestError: It does, or cannot be read.
        """
        self.check(path)
        self._check_named(path)

    def designs(self) -> list[tuple[str, str]]:
        """Return name and title of the designs in the folder, at most a few hundred, in the order of their names."""
        found = []
        for path in self._named((".toml",)):
            try:
                self.check(path)
                table = parse_toml(read_text(path, _LIST_BYTES, "a design file"), path.name)
            except BlankwrightError:
                continue
            if isinstance(table.get("family"), str):
                title = table.get("name", path.stem)
                found.append((path.as_posix(), title if isinstance(title, str) else path.stem))
            if len(found) >= _MOST_LISTED:
                break
        return found

    def outlines(self) -> list[str]:
        """Return the files that may show an outline, with what was lifted to `out`; a few hundred at most."""
        found = [path for path in self._named(OUTLINES) if path.suffix != ".toml" or path.name.endswith(LIFTED)]
        if (self.root / OUT).is_dir() and self._keeps(Path(OUT)):
            found += [OUT / path for path in Folder(self.root / OUT)._named((LIFTED,))]
        return [path.as_posix() for path in found[:_MOST_LISTED] if self._keeps(path)]

    def _keeps(self, path: Path) -> bool:
        try:
            self.check(path)
        except RequestError:
            return False
        return True

    def _named(self, endings: tuple[str, ...]) -> Iterator[Path]:
        looked = 0
        for folder, folders, files in os.walk(self.root):
            here = Path(folder).relative_to(self.root)
            deep = len(here.parts) < _DEEP
            folders[:] = sorted(f for f in folders if deep and not f.startswith((".", OUT, "__", "node_modules")))
            for name in sorted(files):
                looked += 1
                if looked > _MOST_LOOKED_AT:
                    return
                if (
                    name.lower().endswith(endings)
                    and not name.startswith(".")
                    and is_plain_file(self.root / here / name)
                ):
                    yield here / name


def _words_in(value: Any) -> Iterator[str]:
    """Yield every text of a table that is the name of a file."""
    if isinstance(value, str):
        if value.strip().endswith((".toml", ".svg")):
            yield value.strip()
    elif isinstance(value, (Mapping, list)):
        for inner in value.values() if isinstance(value, Mapping) else value:
            yield from _words_in(inner)


def _files_named(table: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield every key whose value is a file's name, with the name."""
    flat: dict[str, Any] = {}
    for key, value in table.items():
        flat |= {f"{key}.{k}": v for k, v in value.items()} if isinstance(value, Mapping) else {key: value}
    for key, value in flat.items():
        named = key in ("family", OUTLINE_KEY, "mark.file", PATTERN_KEY) or (
            key in BY_KEY and BY_KEY[key].kind == "name"
        )
        if named and isinstance(value, str) and (key in (OUTLINE_KEY, "mark.file") or value.strip().endswith(".toml")):
            yield key, value.strip()
