"""Which family a design means: a shipped one, a file, or that of one blank that was lifted."""

from __future__ import annotations

from pathlib import Path

from blankwright.base.errors import RequestError
from blankwright.base.fields import read_toml
from blankwright.base.reading import is_plain_file
from blankwright.design.family import load_family, with_handle
from blankwright.design.parts import LIFTED, Family

OUTLINE_KEY = "outline"
"""Top key with the file of a lifted outline, of family LIFTED."""


def family_or_blank(name_or_path: str) -> Family:
    """Return a family by name or file, or that of a blank by the file of its lifted outline.

    Raises:
        RequestError: No such family or file.
    """
    path = Path(name_or_path)
    if name_or_path.endswith(".toml") and is_plain_file(path) and isinstance(read_toml(path).get(OUTLINE_KEY), list):
        return _blank(name_or_path, None, "")
    return load_family(name_or_path)


def _blank(outline: str, beside: Path | None, where: str) -> Family:
    from blankwright.design.bought import load_bought  # noqa: PLC0415 - few knives begin with a blank

    return load_bought(outline, beside, where)


def named_family(named: object, outline: object, beside: Path | None, where: str) -> Family:
    """Return the family that a design names, or that of the blank whose outline it names.

    Args:
        named: Its key "family".
        outline: Its key "outline", None without.
        beside: Folder of the design file, for what is named by a relative path.
        where: File name for messages.

    Raises:
        RequestError: No such family or outline, or one key without the other.
    """
    if not isinstance(named, str) or not named.strip():
        raise RequestError(f"{where}: the key 'family' is missing. Write family = \"chef\" or a path to a family file.")
    if named.strip() != LIFTED:
        if outline is not None:
            raise RequestError(
                f"{where} {OUTLINE_KEY}: only a blank that was lifted has one. Leave it out, or write "
                f'family = "{LIFTED}".'
            )
        return load_family(named.strip(), beside)
    if not isinstance(outline, str) or not outline.strip():
        raise RequestError(
            f'{where}: family = "{LIFTED}" needs the outline that was lifted. Write {OUTLINE_KEY} = "S_lifted.toml", '
            "which is what blankwright lift FILE writes."
        )
    return _blank(outline.strip(), beside, where)


def with_pattern(family: Family, handle: str, beside: Path | None) -> Family:
    """Return a family with another handle; of a blank the handle gives section and block, its tang stands.

    Raises:
        RequestError: No such handle, or it does not go with the family.
    """
    if family.name == LIFTED:
        from blankwright.design.bought import BoughtFamily, with_settings_of  # noqa: PLC0415

        if isinstance(family, BoughtFamily):
            return with_settings_of(family, handle, beside)
    return with_handle(family, handle, beside)
