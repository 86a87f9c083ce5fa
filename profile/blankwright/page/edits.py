"""Changes to the text of a design file: a key gets a value or its line goes; comments and order stay."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from blankwright.base.errors import RequestError

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

Written = str | int | list[str]
"""A value as it stands in a design file."""


class DesignText:
    """The text of a design file that can be changed key by key; parsed with its comments when first changed."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._document: TOMLDocument | None = None

    def change(self, values: Mapping[str, Written | None]) -> str:
        """Change keys and return the new text.

        Args:
            values: By dotted key; None takes the key's line out.

        Raises:
            RequestError: The text cannot be changed so, such as a table that is written on one line twice.
        """
        from tomlkit import dumps, parse  # noqa: PLC0415 - only who changes a text needs it
        from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415

        try:
            document = self._document or parse(self.text)
            for key, value in values.items():
                _put(document, key, value)
            self.text = dumps(document)
        except (TOMLKitError, TypeError, ValueError, LookupError) as error:
            self._document = None
            raise RequestError(f"the text of the design cannot be changed by itself ({error}). Edit it.") from None
        self._document = document
        return self.text


def _put(document: Any, key: str, value: Written | None) -> None:
    from tomlkit import table as new_table  # noqa: PLC0415

    group, _, word = key.rpartition(".")
    if not group:
        document[word] = value
        return
    if group not in document:
        if value is None:
            return
        if document.as_string() and not document.as_string().endswith("\n\n"):
            from tomlkit import nl  # noqa: PLC0415

            document.add(nl())
        document.add(group, new_table())
    inside = document[group]
    if value is not None:
        inside[word] = value
    elif word in inside:
        del inside[word]
        if not len(inside) and not inside.as_string().strip():
            del document[group]
