"""Which blank a design means, and which handle it shall have: for designs of a blank that was lifted."""

from __future__ import annotations

from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.base.fields import read_toml
from blankwright.base.reading import is_plain_file
from blankwright.design.bought import BoughtFamily, load_bought, with_settings_of
from blankwright.design.family import load_family, with_handle
from blankwright.design.parts import LIFTED, OUTLINE_KEY, Family


def family_or_blank(name_or_path: str) -> Family:
    """Return a family by name or file, or that of a blank by the file of its lifted outline.

    Raises:
        RequestError: No such family or file.
    """
    path = Path(name_or_path)
    if name_or_path.endswith(".toml") and is_plain_file(path) and isinstance(read_toml(path).get(OUTLINE_KEY), list):
        return load_bought(name_or_path)
    return load_family(name_or_path)


def named_blank(named: str, outline: object, beside: Path | None, where: str) -> Family:
    """Return the family of the blank whose outline a design names.

    Args:
        named: Its key "family".
        outline: Its key "outline", None without.
        beside: Folder of the design file, for what is named by a relative path.
        where: File name for messages.

    Raises:
        RequestError: No such outline, or one key without the other.
    """
    if named != LIFTED:
        raise RequestError(
            f'{where} {OUTLINE_KEY}: only a blank that was lifted has one. Leave it out, or write family = "{LIFTED}".'
        )
    if not isinstance(outline, str) or not outline.strip():
        raise RequestError(
            f'{where}: family = "{LIFTED}" needs the outline that was lifted. Write {OUTLINE_KEY} = "S_lifted.toml", '
            "which is what blankwright lift FILE writes."
        )
    return load_bought(outline.strip(), beside, where)


def blank_with(family: Family, handle: str, beside: Path | None) -> Family:
    """Return a blank with another handle: it gives section and block, the tang stands.

    Raises:
        RequestError: No such handle.
    """
    if isinstance(family, BoughtFamily):
        return with_settings_of(family, handle, beside)
    return with_handle(family, handle, beside)  # a family of one's own that is called so
