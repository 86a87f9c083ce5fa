"""Would a careful reader open this file? Types by group code, places, codes that may stand once, subclass markers.

A reader that takes what it needs overlooks such faults; another one refuses the whole file for them. Rules are those of
the DXF reference: "Group code value types", "Subclass markers", and the tables of single entities.
"""

from __future__ import annotations

import math

from blankwright.inspection.frame import TABLES, Frame
from blankwright.inspection.links import Links
from blankwright.proof.findings import OLD_RELEASE
from blankwright.proof.tags import Record

_FLOATS = ((10, 59), (110, 149), (210, 239), (460, 469), (1010, 1059))
_WHOLE = ((60, 79), (90, 99), (160, 179), (270, 299), (370, 389), (400, 409), (420, 429), (440, 459), (1060, 1071))
_BINARY = ((310, 319), (1004, 1004))
_XS = {*range(10, 19), 110, 111, 112, *range(210, 214), *range(1010, 1014)}
"""Group codes of an x, whose y follows: the same code and 10."""
_PLANE = {210, 220, 230}
_HANDLES = ((5, 5), (105, 105), (320, 369), (390, 399))
_POINT = {10, 20, 30}
_COMMON = {5, 6, 8, 48, 60, 62, 67, 370, 410, 420}
_ONCE = {
    "LINE": _POINT | {11, 21, 31, 39},
    "CIRCLE": _POINT | {39, 40},
    "ARC": _POINT | {39, 40, 50, 51},
    "POINT": _POINT | {39, 50},
    "LWPOLYLINE": {38, 39, 43, 70, 90},
    "POLYLINE": _POINT | {39, 40, 41, 66, 70, 71, 72, 73, 74, 75},
    "VERTEX": _POINT | {40, 41, 42, 50, 70},
    "SPLINE": {12, 22, 32, 13, 23, 33, 42, 43, 44, 70, 71, 72, 73, 74},
    "ELLIPSE": _POINT | {11, 21, 31, 40, 41, 42},
    "INSERT": _POINT | {2, 41, 42, 43, 44, 45, 50, 66, 70, 71},
}
"""Entity -> group codes of which the reference allows one, beside the common ones."""

_MARKERS = {
    "LINE": {"AcDbLine"},
    "CIRCLE": {"AcDbCircle"},
    "ARC": {"AcDbArc"},
    "POINT": {"AcDbPoint"},
    "LWPOLYLINE": {"AcDbPolyline"},
    "POLYLINE": {"AcDb2dPolyline", "AcDb3dPolyline", "AcDbPolygonMesh", "AcDbPolyFaceMesh"},
    "SPLINE": {"AcDbSpline"},
    "ELLIPSE": {"AcDbEllipse"},
    "INSERT": {"AcDbBlockReference", "AcDbMInsertBlock"},
    "MTEXT": {"AcDbMText"},
    "HATCH": {"AcDbHatch"},
    "MPOLYGON": {"AcDbMPolygon"},
    "LEADER": {"AcDbLeader"},
    "MESH": {"AcDbSubDMesh"},
    "IMAGE": {"AcDbRasterImage"},
    "WIPEOUT": {"AcDbWipeout"},
    "HELIX": {"AcDbSpline"},
    "REGION": {"AcDbModelerGeometry"},
    "BODY": {"AcDbModelerGeometry"},
    "3DSOLID": {"AcDbModelerGeometry"},
    "SURFACE": {"AcDbModelerGeometry"},
}
"""Entity -> the subclass markers of which it needs one, beside AcDbEntity, from release R13 on."""
_OLD = {"LINE", "CIRCLE", "ARC", "POINT", "POLYLINE", "INSERT"}
_NEWER = _MARKERS.keys() - _OLD - {"ELLIPSE"}
"""Entities that R12 does not know: in a file of it, too, readers that know them look for their marker; ELLIPSE they
read without."""
_EMBEDDED = (101, "Embedded Object")
"""Begins an object inside a text; some readers take what stands behind it for the object's, others for the entity's."""

_FRAME = {"SECTION": {2, 9}, "TABLE": {2}}
"""Record -> codes of words of the file's frame in it: the section's, a header variable's, the table's name."""
_NEEDED = {"IMAGE": 13, "WIPEOUT": 13, "HATCH": 91}
"""Entity -> a group code without which readers do not know its rim: a picture's size, a hatching's number of loops."""
_ADDED = 1001
"""Begins what a program adds for itself; nothing of the entity's own comes behind it."""


def _kinds() -> list[str]:
    kinds = ["s"] * 1072
    for ranges, kind in ((_FLOATS, "f"), (_WHOLE, "i"), (_HANDLES, "h"), (_BINARY, "b")):
        for low, high in ranges:
            kinds[low : high + 1] = [kind] * (high + 1 - low)
    return kinds


_KINDS = _kinds()
_WORDS = {"f": "number", "i": "number", "b": "row of bytes"}
_ANY_TEXT = frozenset(code for code, kind in enumerate(_KINDS) if kind not in _WORDS)
"""Codes of tags that hold any text: most of those in a file. What is a handle in an entity is text in some tables."""
_OWN_HANDLE = frozenset({5, 105})
"""Codes of what a record is called by; 0 calls nothing (DXF reference, handles), though a pointer may be it."""
_HANDLE_CODES = frozenset(code for code, kind in enumerate(_KINDS) if kind == "h")


class Structure:
    """What a careful reader would refuse, gathered over a file: each sort of fault once, with how often it is there."""

    def __init__(self) -> None:
        self._found: dict[tuple[str, str], list[int]] = {}
        self._frame = Frame(self._fault)
        self._links = Links(self._fault)
        self._padded: list[int] = []
        self.marked = False
        """Whether the file begins with a mark of its encoding."""

    def faults(self, release: str | None) -> list[str]:
        """Return one sentence for each sort of fault.

        Args:
            release: $ACADVER; up to R12, and where none is named, no markers are needed.
        """
        self._links.end()
        plain = release is None or release <= OLD_RELEASE
        out = []
        for (sort, what), lines in self._found.items():
            if sort == "newer" or (plain if sort == "marker" else sort == "new row" and not plain):
                continue
            end = "the file is damaged. Export it again" if sort == "frame" else "careful readers refuse the file"
            out.append(f"{_at(lines)}: {what}; {end}.")
        return out

    def refused(self) -> list[str]:
        """Return a sentence for each sort of thing that careful readers refuse, though it hides nothing of the file."""
        end = "careful readers refuse the file. Save it again with another program"
        out = [f"{_at(lines)}: {what}: {end}." for (sort, what), lines in self._found.items() if sort == "newer"]
        if self.marked:
            out.append("The file begins with a mark of its encoding (BOM): careful readers refuse it. Save it without.")
        if self._padded:
            out.append(
                f"line {self._padded[0]}: blanks stand before or behind a word: careful readers refuse the file. Save "
                "it again with another program."
            )
        return out

    def record(self, record: Record) -> None:
        """Look at any record: what stands where, and whether its values are of the kind that their group code has."""
        self._frame.record(record)
        self._links.record(record)
        words = _FRAME.get(record.kind, ())
        self._padded += [line for code, value, line in record.tags if code in words and value != value.strip()]
        if record.padded:
            self._padded.append(record.line)
        if (record.kind in _ONCE or record.kind in TABLES) and any(
            (c, v.strip()) == _EMBEDDED for c, v, _ in record.tags
        ):
            self._fault("order", f"{record.kind} holds an embedded object, as only texts do", record.line)
        before, group, added = 0, False, False
        for code, value, line in record.tags:
            added = added or code == _ADDED
            if added and 0 <= code < 1000 and code != 999:
                self._fault("order", f"{record.kind[:40]} goes on behind what a program added to it", line)
                break
            if code not in _ANY_TEXT and not _typed(code, value):
                what = f"{record.kind[:40]} has no {_WORDS[_KINDS[code]]} where group code {code} needs one"
                self._fault("type", what, line)
            if before in _XS and code not in {before + 10, 999}:
                self._fault("pair", f"{record.kind[:40]} has an x whose y does not follow it", line)
            before = code if code != 999 else before
            if not 0 <= code < len(_KINDS):
                self._fault("type", f"{record.kind[:40]} has group code {code}, which no file has", line)
            elif code == 102 and record.kind != "XRECORD":
                group = value.lstrip().startswith("{")
            elif group and code in {100, 1001}:
                break
        needed = _NEEDED.get(record.kind)
        if needed is not None and record.find(needed) is None:
            self._fault("needed", f"{record.kind} has no group code {needed}, which it needs", record.line)
        if group:
            self._fault("group", f"{record.kind[:40]} has a group 102 that does not end", record.line)
        if before in _XS:
            self._fault("pair", f"{record.kind[:40]} has an x whose y does not follow it", record.tags[-1][2])

    def entity(self, record: Record) -> None:
        """Look at an entity."""
        seen: set[int] = set()
        single = _ONCE.get(record.kind)
        marked: set[str] = set()
        grouped = False
        before = 0
        for code, value, line in record.tags:
            if code in _HANDLE_CODES and not _typed(code, value):
                self._fault("type", f"{record.kind[:40]} has no handle where group code {code} needs one", line)
            if single is not None and 20 <= code <= 28 and before != code - 10:
                self._fault("pair", f"{record.kind} has a y without an x before it", line)
            before = code if code != 999 else before
            if code == 10 and record.kind == "LWPOLYLINE" and 90 not in seen:
                self._fault("needed", "LWPOLYLINE does not say before its vertices how many it has (code 90)", line)
            if code == 102:
                grouped = value.lstrip().startswith("{")
            elif code == 100:
                marked.add(value.strip())
            elif code >= 1000:
                break  # what programs add for themselves
            elif single is not None and not grouped and (code in single or code in _COMMON or code in _PLANE):
                if code in seen:
                    self._fault("once", f"{record.kind} has group code {code} twice", line)
                seen.add(code)
        if record.kind in _MARKERS and not ("AcDbEntity" in marked and marked & _MARKERS[record.kind]):
            if record.kind in _NEWER:
                self._fault("newer", f"{record.kind} has no subclass marker, by which it is read", record.line)
            else:
                self._fault("marker", f"{record.kind} has no subclass marker, which its release needs", record.line)

    def _fault(self, sort: str, what: str, line: int) -> None:
        self._found.setdefault((sort, what), []).append(line)


def _at(lines: list[int]) -> str:
    """Return where something stands, by the first of its lines."""
    return f"line {lines[0]} and {len(lines) - 1} more" if len(lines) > 1 else f"line {lines[0]}"


def _typed(code: int, value: str) -> bool:
    kind = _KINDS[code] if 0 <= code < len(_KINDS) else "s"
    if kind == "s":
        return True
    if not value.isascii() or "_" in value:  # digits to Python, letters to others
        return False
    try:
        if kind == "b":
            return len(bytes.fromhex(value.strip())) >= 0
        if kind == "h":
            return int(value, 16) >= (1 if code in _OWN_HANDLE else 0)
        return math.isfinite(float(value)) if kind == "f" else int(value) is not None
    except ValueError:
        return False
