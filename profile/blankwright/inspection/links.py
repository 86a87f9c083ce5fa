"""Do the things in a file know each other? Handles given once, dictionaries and layouts that lead to what is there.

Rules are those of the DXF reference: "Object handles", "DICTIONARY" and "LAYOUT". Files of R12 and older, and those of
small writers, have no such things and pass.
"""

from __future__ import annotations

from collections.abc import Callable

from blankwright.proof.tags import Record

Fault = Callable[[str, str, int], None]
_SPACES = {"*MODEL_SPACE", "*PAPER_SPACE"}


class Links:
    """Handles of a file, and what refers to them, told record by record.

    Args:
        fault: Takes each fault.
    """

    def __init__(self, fault: Fault) -> None:
        self._fault = fault
        self._handles: set[int] = set()
        self._led_to: list[tuple[str, str]] = []
        self._layouts: list[tuple[str, str, int]] = []
        self._spaces: set[str] = set()

    def record(self, record: Record) -> None:
        """Look at the next record of a file."""
        called_by = 105 if record.kind == "DIMSTYLE" else 5  # 5 is another's name in that table
        handle = record.find(called_by)
        if handle is not None and record.kind != "SECTION":  # where it is a value of the header
            self._handle(*handle)
            for code, value, line in record.tags:  # a reader may take the last of several
                if code == called_by and _number(value) <= 0 and (value, line) != handle:
                    self._fault("type", "a handle is no hexadecimal number above 0", line)
        if record.kind == "DICTIONARY":
            self._dictionary(record)
        elif record.kind == "BLOCK_RECORD":
            self._spaces.add(record.text(2, "").upper())
        elif record.kind == "LAYOUT":
            self._layouts.append((record.text(5, ""), _layout_name(record), record.line))

    def end(self) -> None:
        """Look at what was gathered, when the file is through."""
        names = {(_number(target), name.upper()) for name, target in self._led_to}
        for handle, name, line in self._layouts:
            if (_number(handle), name.upper()) not in names:
                self._fault("frame", "a layout is in no dictionary under its name", line)
        if self._layouts and not (
            {name.upper() for _, name, _ in self._layouts} >= {"MODEL"} and self._spaces >= _SPACES
        ):
            self._fault("frame", "a layout of model or paper space is missing", self._layouts[0][2])

    def _handle(self, value: str, line: int) -> None:
        number = _number(value)
        if number <= 0:
            self._fault("type", "a handle is no hexadecimal number above 0", line)
        elif number in self._handles:
            self._fault("frame", "a handle is given twice", line)
        self._handles.add(number)

    def _dictionary(self, record: Record) -> None:
        name = None
        for code, value, line in record.tags:
            if code == 3:
                name = value.strip()
            elif code in {350, 360} and (name is not None or code == 350):
                if name is None:
                    self._fault("frame", "a dictionary has an entry without a name", line)
                if _number(value) <= 0:
                    self._fault("type", "a dictionary leads to a handle that is no hexadecimal number above 0", line)
                self._led_to.append((name or "", value))
                name = None


def _number(value: str) -> int:
    """Return a handle as a number, -1 for what is none."""
    try:
        return int(value, 16)
    except ValueError:
        return -1


def _layout_name(record: Record) -> str:
    """Return the name of a layout: the first text behind its own subclass marker."""
    own = False
    for code, value, _ in record.tags:
        own = own or (code == 100 and value.strip() == "AcDbLayout")
        if own and code == 1:
            return value.strip()
    return ""
