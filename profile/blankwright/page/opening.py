"""Beginning and opening a design: from a family, a file, or where it was left without being saved."""

from __future__ import annotations

import json
import re

from blankwright.base.errors import BlankwrightError, RequestError
from blankwright.base.reading import parse_toml, read_text
from blankwright.design.family import is_family, load_family
from blankwright.page import draft
from blankwright.page.folder import MOST_DESIGN, Folder
from blankwright.page.history import History
from blankwright.page.work import Work

_HEAD = (
    "# A design file. Lengths carry their unit: 210 mm, 21 cm, 8 1/4 in. What is not written follows from the family."
)
_UNNAMED = re.compile(r"~[a-z0-9][a-z0-9-]{0,60}")


def opened(folder: Folder, name: str) -> Work:
    """Open a design where it was left.

    Args:
        folder: The started folder.
        name: A design file, a family file or a family's name; or UNNAMED and the name of a draft.

    Raises:
        RequestError: There is no such thing in the folder.
    """
    if _UNNAMED.fullmatch(name):
        left = draft.kept(name)
        if left is None:
            return begun(folder, name.removeprefix(draft.UNNAMED), None, name)
        return Work(folder, name, left.history, "")
    if not name.endswith(".toml"):
        left = draft.kept(f"{draft.UNNAMED}{name}") if _UNNAMED.fullmatch(f"{draft.UNNAMED}{name}") else None
        return Work(folder, f"{draft.UNNAMED}{name}", left.history, "") if left else begun(folder, name, None)
    path = folder.design(name)
    text = read_text(path, MOST_DESIGN, "a design file")
    if _is_family(text, name):
        return begun(folder, name, None)
    name, left = path.as_posix(), draft.kept(path.as_posix())
    if left is None or left.history.text == text:
        return Work(folder, name, History(text), draft.digest(text))
    work = Work(folder, name, left.history, left.base)
    work.look_elsewhere()
    return work


def begun(folder: Folder, family: str, construction: str | None, name: str = "") -> Work:
    """Begin a design from a family; it is no file yet.

    Args:
        folder: The started folder.
        family: A family's name, or its file in the folder.
        construction: full, hidden or one-piece; None for the family's first.
        name: What it is called while it is no file; nothing for the family's name.

    Raises:
        RequestError: There is no such family, or it has no such construction.
    """
    folder.check_design({"family": family}, folder.root)
    kind = load_family(family)
    kind.offered(construction or next(iter(kind.curves)))
    lines = [_HEAD, f"name = {json.dumps(kind.name)}", f"family = {json.dumps(family)}"]
    if construction and construction != next(iter(kind.curves)):
        lines += ["", "[handle]", f'construction = "{construction}"']
    if not name:
        name = f"{draft.UNNAMED}{re.sub('[^a-z0-9]+', '-', kind.name.lower()).strip('-') or 'knife'}"
    return Work(folder, name, History("\n".join(lines) + "\n"), "")


def _is_family(text: str, name: str) -> bool:
    try:
        table = parse_toml(text, name)
    except BlankwrightError:
        return False
    return is_family(table)


def check_name(name: str) -> None:
    """Refuse what is no name of a design.

    Raises:
        RequestError: It is none.
    """
    if name.startswith(draft.UNNAMED) and not _UNNAMED.fullmatch(name):
        raise RequestError(f"{name[:100]}: no name of a design.")
