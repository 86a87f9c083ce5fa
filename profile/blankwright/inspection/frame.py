"""Is a file framed as a drawing has to be? Sections, tables and blocks begun, named and ended, the header's variables.

Rules are those of the DXF reference: "General DXF file structure", "HEADER section", "Symbol table group codes" and
"BLOCKS section". A reader that takes what it needs overlooks such faults; another one refuses the whole file for them.
"""

from __future__ import annotations

from collections.abc import Callable

from blankwright.proof.tags import Record

_SECTIONS = ("HEADER", "CLASSES", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS", "THUMBNAILIMAGE", "ACDSDATA")
"""In the order that they have; the last two may change places."""
_BARE = {"ENDSEC", "ENDTAB"}
"""What has no tags of its own."""
TABLES = {
    "VPORT": "AcDbViewportTableRecord",
    "LTYPE": "AcDbLinetypeTableRecord",
    "LAYER": "AcDbLayerTableRecord",
    "STYLE": "AcDbTextStyleTableRecord",
    "VIEW": "AcDbViewTableRecord",
    "UCS": "AcDbUCSTableRecord",
    "APPID": "AcDbRegAppTableRecord",
    "DIMSTYLE": "AcDbDimStyleTableRecord",
    "BLOCK_RECORD": "AcDbBlockTableRecord",
}
"""Tables, which are called as their rows, and the marker under which a row with markers has its name, group code 2."""

_NO_ENTITIES = {"TABLE", "ENDTAB", "BLOCK", "ENDBLK", "CLASS", "DICTIONARY", *TABLES}
"""What stands in other sections only."""

_ANY_ROW = "AcDbSymbolTableRecord"
"""The first marker of every row that has markers."""
_PLAIN_ROWS = {"LTYPE", "VPORT", "APPID"}
"""Rows that careful readers do not take with subclass markers, where the release has none, nor with one of the two."""
_HEADER = {"$ACADVER": 1, "$INSUNITS": 70, "$MEASUREMENT": 70, "$HANDSEED": 5, "$DWGCODEPAGE": 3}
"""Header variable -> the group code of its value, of those that readers need."""
_PLACES = {"$EXTMIN", "$EXTMAX", "$LIMMIN", "$LIMMAX", "$INSBASE"}
"""Header variables that are places: an x and a y, in most of them a z."""

Fault = Callable[[str, str, int], None]
"""Takes a sort of fault, what is wrong in words, and the line."""


class Frame:
    """What of a file's frame is wrong, told record by record.

    Args:
        fault: Takes each fault.
    """

    def __init__(self, fault: Fault) -> None:
        self._fault = fault
        self._section = ""
        self._seen: list[str] = []
        self._open = ""
        self._before = ""

    def record(self, record: Record) -> None:
        """Look at the next record of a file."""
        kind = record.kind
        if kind in _BARE and any(code != 999 for code, _, _ in record.tags):
            self._fault("frame", f"something stands behind {kind} that belongs to nothing", record.line)
        if kind == "SECTION":
            self._begin(record)
        elif kind == "ENDSEC":
            self._end(record.line)
            self._section = ""
        elif not self._section and kind != "EOF":
            self._fault("frame", "something stands outside of every section", record.line)
        elif self._section == "TABLES":
            self._row(record)
        elif self._section == "BLOCKS":
            self._block(record)
        elif self._section == "ENTITIES" and kind in _NO_ENTITIES:
            self._fault("frame", f"a {kind} stands among the entities", record.line)
        elif self._section == "OBJECTS" and self._before == "SECTION" and kind != "DICTIONARY":
            self._fault("frame", "the first of the objects is not their dictionary", record.line)
        self._before = kind

    def _begin(self, record: Record) -> None:
        name = _first_name(record)
        self._section = name or "?"
        if name not in _SECTIONS:
            self._fault("frame", "a section has none of the names that sections have", record.line)
        elif name in self._seen:
            self._fault("frame", f"the section {name} is there twice", record.line)
        elif any(name in _SECTIONS[: _SECTIONS.index(one)] for one in self._seen if one in _SECTIONS[:6]):
            self._fault("frame", f"the section {name} stands too late in the file", record.line)
        self._seen.append(name)
        if name == "HEADER":
            self._header(record)

    def _end(self, line: int) -> None:
        if self._open:
            self._fault("frame", f"a {self._open} is begun and not ended", line)
        self._open = ""

    def _row(self, record: Record) -> None:
        kind, line = record.kind, record.line
        if kind == "TABLE":
            self._end(line)
            self._open = "table"
            if _first_name(record) not in TABLES:
                self._fault("frame", "a table has none of the names that tables have", line)
        elif not self._open:
            self._fault("frame", "something stands between the tables", line)
        elif kind == "ENDTAB":
            self._open = ""
        elif kind not in TABLES:
            self._fault("frame", "a table holds what is no row of a table", line)
        elif record.find(2) is None:
            self._fault("frame", f"a row of the table {kind} has no name", line)
        elif (marks := [v.strip() for code, v, _ in record.tags if code == 100]) and TABLES[kind] not in marks:
            self._fault("marker", f"a row of the table {kind} has not its own subclass marker", line)
        elif kind in _PLAIN_ROWS and marks:
            self._fault("new row", "rows of tables have subclass markers, which their release does not know", line)
            if marks[0] != _ANY_ROW:
                self._fault("marker", f"a row of the table {kind} has not the marker of all rows before its own", line)

    def _block(self, record: Record) -> None:
        if record.kind == "BLOCK":
            self._end(record.line)
            self._open = "block"
            if record.find(2) is None:
                self._fault("frame", "a block has no name", record.line)
        elif not self._open:
            self._fault("frame", "something stands between the blocks", record.line)
        elif record.kind == "ENDBLK":
            self._open = ""

    def _header(self, record: Record) -> None:
        """Each variable: its name, group code 9, then one value, or the numbers of a place."""
        name, codes, line = "", [], record.line
        for code, value, at in [*record.tags[1:], (9, "$", record.line)]:
            if code == 999:
                continue
            if code != 9:
                codes.append(code)
                continue
            if codes or name:
                self._variable(name, codes, line)
            name, codes, line = value.strip(), [], at

    def _variable(self, name: str, codes: list[int], line: int) -> None:
        if not name.startswith("$"):
            self._fault("header", "the header holds what is no variable of it", line)
        elif codes != [_HEADER[name]] if name in _HEADER else not _is_value(codes, place=name in _PLACES):
            self._fault("header", f"the header's {name[:40]} has not the values that belong to it", line)


def _is_value(codes: list[int], *, place: bool) -> bool:
    return codes in ([10, 20], [10, 20, 30]) or (not place and len(codes) == 1 and not 10 <= codes[0] <= 39)


def _first_name(record: Record) -> str:
    """Return the name of a section or table, which is its first tag."""
    code, value, _ = next((tag for tag in record.tags if tag[0] != 999), (0, "", 0))
    return value.strip() if code == 2 else ""
