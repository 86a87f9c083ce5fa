"""Where the shipped templates are: the same answer from a wheel, an editable install and a source tree."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from blankwright.base.errors import RequestError, unknown
from blankwright.base.reading import is_plain_file


@cache
def templates_dir() -> Path:
    """Return the folder that holds families/, designs/ and scripts/.

    A wheel carries it inside the package; an editable install and a source tree have it beside profile/.

    Raises:
        RequestError: The installation is incomplete.
    """
    return shipped_dir("templates", "templates", "families")


def shipped_dir(in_a_wheel: str, in_a_checkout: str, holds: str) -> Path:
    """Return a shipped folder: inside the package of a wheel, beside profile/ in a checkout or an editable install.

    Args:
        in_a_wheel: Its name in the package.
        in_a_checkout: Its name beside profile/.
        holds: What lies in it, which tells it from another of the name.

    Raises:
        RequestError: The installation is incomplete.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / in_a_wheel, package.parent.parent / in_a_checkout):
        if (folder / holds).exists():
            return folder
    raise RequestError(f"The {in_a_wheel} folder is missing from this installation; install Blankwright again.")


@cache
def families_dir() -> Path:
    """Return the folder of the shipped families."""
    return templates_dir() / "families"


def shipped_names(folder: str) -> list[str]:
    """Return the names of the shipped files in a folder of the templates, such as "services"."""
    return sorted(path.stem for path in (templates_dir() / folder).glob("*.toml"))


def template_file(kind: str, source: str, where: str, beside: Path | None = None) -> Path:
    """Return the file that is meant by a shipped name or by the path of one's own.

    Args:
        kind: What it is, such as "service"; the folder of the templates is called by its plural.
        source: A shipped name, or a file ending in .toml.
        where: Option or key that names it, for the message.
        beside: Folder that a relative path is looked up in first.

    Raises:
        RequestError: No such name or file.
    """
    folder = f"{kind}s"
    if not source.endswith(".toml"):
        names = shipped_names(folder)
        if source not in names:
            raise unknown(kind, source, names, where)
        return templates_dir() / folder / f"{source}.toml"
    path = beside / source if beside is not None and is_plain_file(beside / source) else Path(source)
    if not is_plain_file(path):
        raise RequestError(f"{path}: there is no such {kind} file. Shipped: {', '.join(shipped_names(folder))}.")
    return path
