"""Ways to damage a DXF file: at its bytes, its tags, its entities and its structure."""

from __future__ import annotations

import contextlib
import random
from collections.abc import Callable, Sequence

BAD_NUMBERS = (
    "nan", "inf", "-inf", "1e999", "1e308", "-1e300", "1e9", "0", "-0", "", "1_0", "１", "0x10", "1,5", "--1",
    "1e-320",
)  # fmt: skip


def flip_bytes(data: bytes, rng: random.Random) -> bytes:
    out = bytearray(data)
    for _ in range(rng.randint(1, 12)):
        out[rng.randrange(len(out))] = rng.randrange(256)
    return bytes(out)


def lines_of(data: bytes) -> list[bytes]:
    return data.split(b"\n")


def drop_lines(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(min(rng.randint(1, 4), len(lines))):
        del lines[rng.randrange(len(lines))]
    return b"\n".join(lines)


def double_lines(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 4)):
        a = rng.randrange(len(lines))
        lines[a:a] = lines[a : a + rng.randint(1, 40)]
    return b"\n".join(lines)


def mangle_numbers(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 6) if len(lines) > 1 else 0):  # what was cut short may have one line only
        a = 2 * rng.randrange(len(lines) // 2) + 1
        lines[a] = rng.choice(BAD_NUMBERS).encode() if rng.random() < 0.6 else str(rng.uniform(-1e4, 1e4)).encode()
    return b"\n".join(lines)


def cut_short(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data))]


def shuffle_tags(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    pairs = [lines[k : k + 2] for k in range(0, len(lines) - 1, 2)]
    for _ in range(rng.randint(1, 6) if pairs else 0):
        a, b = rng.randrange(len(pairs)), rng.randrange(len(pairs))
        if rng.random() < 0.5:
            pairs[a], pairs[b] = pairs[b], pairs[a]
        else:
            c, d = sorted((a, min(len(pairs), a + rng.randint(2, 30))))
            part = pairs[c:d]
            rng.shuffle(part)
            pairs[c:d] = part
    return b"\n".join(line for pair in pairs for line in pair)


def swap_codes(data: bytes, rng: random.Random) -> bytes:
    lines = lines_of(data)
    for _ in range(rng.randint(1, 6) if len(lines) > 1 else 0):
        lines[2 * rng.randrange(len(lines) // 2)] = str(
            rng.choice((0, 2, 8, 10, 20, 40, 42, 50, 66, 67, 70, 230))
        ).encode()
    return b"\n".join(lines)


WAYS: tuple[Callable[[bytes, random.Random], bytes], ...] = (
    flip_bytes,
    drop_lines,
    double_lines,
    mangle_numbers,
    cut_short,
    shuffle_tags,
    swap_codes,
)


Pair = list[str]
"""A group code and a value, both as they are written."""


def pairs_of(text: str) -> list[Pair]:
    lines = text.replace("\r\n", "\n").split("\n")
    return [lines[k : k + 2] for k in range(0, len(lines) - 1, 2)]


def joined(pairs: Sequence[Pair]) -> str:
    return "".join(f"{code}\n{value}\n" for code, value in pairs)


def records_of(pairs: Sequence[Pair]) -> list[list[Pair]]:
    """Return tags gathered from one code 0 to the next."""
    out: list[list[Pair]] = []
    for pair in pairs:
        if pair[0].strip() == "0" or not out:
            out.append([])
        out[-1].append(pair)
    return out


def parts_of(text: str) -> tuple[list[list[Pair]], int, int]:
    """Return all records, and where the entities begin and end."""
    found = records_of(pairs_of(text))
    first = next((k + 1 for k, r in enumerate(found) if ["2", "ENTITIES"] in _stripped(r)), 0)
    last = next((k for k in range(first, len(found)) if found[k][0][1].strip() == "ENDSEC"), len(found))
    return found, first, last


def _stripped(record: Sequence[Pair]) -> list[Pair]:
    return [[code.strip(), value.strip()] for code, value in record]


def _text(records: Sequence[Sequence[Pair]]) -> str:
    return "".join(joined(record) for record in records)


def entity_way(change: Callable[[list[Pair], random.Random], list[Pair]]) -> Callable[[str, random.Random], str]:
    """Return a way that changes one entity's tags."""

    def changed(text: str, dice: random.Random) -> str:
        records, first, last = parts_of(text)
        if last > first:
            at = dice.randrange(first, last)
            records[at] = change([list(pair) for pair in records[at]], dice)
        return _text(records)

    changed.__name__ = change.__name__
    return changed


def _at(record: list[Pair], dice: random.Random, codes: Sequence[str]) -> int | None:
    found = [k for k, (code, _) in enumerate(record) if code.strip() in codes]
    return dice.choice(found) if found else None


def nudged(record: list[Pair], dice: random.Random) -> list[Pair]:
    at = _at(record, dice, ("10", "20", "11", "21", "40", "42", "50", "51"))
    if at is not None:
        with contextlib.suppress(ValueError):
            value = float(record[at][1])
            record[at][1] = repr(dice.choice((value + dice.choice((1e-7, 1e-4, 0.01, 1.0)), -value, value * 1000, 0.0)))
    return record


def odd_number(record: list[Pair], dice: random.Random) -> list[Pair]:
    at = _at(record, dice, ("10", "20", "30", "11", "21", "40", "41", "42", "43", "50", "70", "90", "62", "210", "230"))
    if at is not None:
        record[at][1] = dice.choice(
            (*BAD_NUMBERS, "1.0 ", " 1", "+1", "1.", ".5", "1d3", "1.0f", "2147483648", "-32769")
        )
    return record


KINDS = [
    "LINE",
    "ARC",
    "CIRCLE",
    "LWPOLYLINE",
    "POLYLINE",
    "VERTEX",
    "SEQEND",
    "SPLINE",
    "ELLIPSE",
    "INSERT",
    "POINT",
    "TEXT",
    "MTEXT",
    "HATCH",
    "IMAGE",
    "3DFACE",
    "3DSOLID",
    "DIMENSION",
    "XLINE",
    "ACAD_PROXY_ENTITY",
    "line",
    "ATTRIB",
    "ATTDEF",
    "REGION",
    "MLINE",
    "LEADER",
    "WIPEOUT",
    "VIEWPORT",
    "SOLID",
    "MESH",
    "BODY",
    "OLE2FRAME",
    "TABLE",
    "ACAD_TABLE",
    "TOLERANCE",
    "LIGHT",
    "HELIX",
]


def other_kind(record: list[Pair], dice: random.Random) -> list[Pair]:
    record[0][1] = dice.choice((*KINDS, "", "LINE "))
    return record


def dropped_tag(record: list[Pair], dice: random.Random) -> list[Pair]:
    del record[dice.randrange(len(record))]
    return record


def doubled_tag(record: list[Pair], dice: random.Random) -> list[Pair]:
    at = dice.randrange(len(record))
    record.insert(dice.randrange(1, len(record) + 1), list(record[at]))
    return record


ODD_TAGS = (
    ("67", "1"), ("60", "1"), ("62", "-7"), ("62", "999"), ("420", "16777215"), ("420", "-1"), ("39", "3"),
    ("38", "5"), ("30", "5"), ("31", "5"), ("230", "-1"), ("230", "0"), ("210", "1"), ("100", "AcDbEntity"),
    ("100", "AcDbCircle"), ("100", ""), ("5", "0"), ("5", "1"), ("5", "FFFFFFFFFFFFFFFFFF"), ("5", "XYZ"),
    ("330", "0"), ("330", "1F"), ("330", "no handle"), ("360", "ABC"), ("102", "{ACAD_REACTORS"), ("102", "}"),
    ("102", "{"), ("1001", "ACAD"), ("1001", ""), ("1000", "x" * 400), ("1004", "zz"), ("1010", "1"),
    ("1040", "x"), ("1070", "1.5"), ("1071", "99999999999"), ("310", "0G"), ("310", "ABC"), ("6", "DASHED"),
    ("6", ""), ("8", ""), ("8", "no such"), ("8", "a*b?<>"), ("8", "x" * 300), ("370", "-4"), ("370", "25"),
    ("48", "-1"), ("43", "5"), ("40", "5"), ("41", "5"), ("70", "1"), ("70", "128"), ("70", "-1"), ("66", "1"),
    ("290", "2"), ("440", "33554559"), ("430", "a$b"), ("347", "1"), ("348", "1"), ("390", "1"),
    ("410", "Layout1"), ("410", "Model"), ("92", "4"), ("160", "9" * 19), ("284", "7"), ("999", "a remark"),
    ("-1", "x"), ("-5", "x"), ("1", "{\\fArial|b0;text}"), ("9999", "x"), ("1071", "1"), ("105", "3"),
    ("280", "x"), ("101", "Embedded Object"),
)  # fmt: skip


def odd_tag(record: list[Pair], dice: random.Random) -> list[Pair]:
    record.insert(dice.randrange(1, len(record) + 1), list(dice.choice(ODD_TAGS)))
    return record


def moved_tag(record: list[Pair], dice: random.Random) -> list[Pair]:
    if len(record) > 2:
        record.insert(dice.randrange(1, len(record)), record.pop(dice.randrange(1, len(record))))
    return record


def spaced(record: list[Pair], dice: random.Random) -> list[Pair]:
    at = dice.randrange(len(record))
    code, value = record[at]
    codes = f"  {code}", f"{code} ", f"+{code.strip()}", f"0{code.strip()}"
    values = f" {value}", f"{value}\t", value.lower(), f"\xa0{value}"
    record[at] = dice.choice(([dice.choice(codes), value], [code, dice.choice(values)]))
    return record


def gone(text: str, dice: random.Random) -> str:
    records, first, last = parts_of(text)
    del records[dice.randrange(first, last) if last > first else 0]
    return _text(records)


def twice(text: str, dice: random.Random) -> str:
    records, first, last = parts_of(text)
    if last > first:
        records.insert(dice.randrange(first, last + 1), records[dice.randrange(first, last)])
    return _text(records)


def swapped(text: str, dice: random.Random) -> str:
    records, first, last = parts_of(text)
    if last > first:
        a, b = dice.randrange(first, last), dice.randrange(len(records))
        records[a], records[b] = records[b], records[a]
    return _text(records)


ENTITY_WAYS: tuple[Callable[[str, random.Random], str], ...] = (
    *map(entity_way, (nudged, odd_number, other_kind, dropped_tag, doubled_tag, odd_tag, odd_tag, moved_tag, spaced)),
    gone, twice, swapped,
)  # fmt: skip


def sections_of(text: str) -> list[list[list[Pair]]]:
    """Return the records of a file, gathered from one SECTION to the next."""
    out: list[list[list[Pair]]] = []
    for record in records_of(pairs_of(text)):
        if record[0][1].strip() in ("SECTION", "EOF") or not out:
            out.append([])
        out[-1].append(record)
    return out


def _sections(found: Sequence[Sequence[Sequence[Pair]]]) -> str:
    return "".join(_text(section) for section in found)


def section_way(text: str, dice: random.Random) -> str:
    """Leave a section out, write it twice, put it elsewhere, or take its begin or end."""
    found = sections_of(text)
    at = dice.randrange(len(found))
    roll = dice.randrange(6)
    if roll == 0:
        del found[at]
    elif roll == 1:
        found.insert(dice.randrange(len(found) + 1), found[at])
    elif roll == 2:
        found.insert(dice.randrange(len(found)), found.pop(at))
    elif roll == 3:
        found[at] = found[at][1:]
    elif roll == 4:
        found[at] = found[at][:-1]
    else:
        found[at][0][-1][1] = dice.choice(
            ("ENTITIES", "BLOCKS", "HEADER", "OBJECTS", "", "CLASSES", "x" * 300, "entities")
        )
    return _sections(found)


def record_way(text: str, dice: random.Random) -> str:
    """Leave a record out wherever it stands, write it twice, or spoil a tag of it."""
    found = records_of(pairs_of(text))
    at = dice.randrange(len(found))
    roll = dice.randrange(4)
    if roll == 0:
        del found[at]
    elif roll == 1:
        found.insert(dice.randrange(len(found) + 1), found[at])
    elif roll == 2:
        found[at] = [list(p) for p in found[at]]
        found[at][dice.randrange(len(found[at]))][1] = dice.choice(("0", "", "x", "-1", "FFFF", "1.5", *BAD_NUMBERS))
    else:
        found[at] = odd_tag([list(p) for p in found[at]], dice)
    return _text(found)


RELEASES = ("AC1009", "AC1006", "AC1012", "AC1014", "AC1015", "AC1021", "AC1032", "AC9999", "", "R12")


def header_way(text: str, dice: random.Random) -> str:
    """Change a variable of the header."""
    pairs = pairs_of(text)
    names = [k for k, (code, value) in enumerate(pairs[:-1]) if code.strip() == "9" and value.startswith("$")]
    if not names:
        return text
    at = dice.choice(names)
    roll = dice.randrange(6)
    if roll == 0:
        release = next((k for k in names if pairs[k][1].strip() == "$ACADVER"), at)
        pairs[release + 1][1] = dice.choice(RELEASES)
    elif roll == 1:
        pairs[at + 1][1] = dice.choice(("0", "1", "4", "99", "-1", "1e20", "x", ""))
    elif roll == 2:
        del pairs[at + 1]
    elif roll == 3:
        del pairs[at : at + 2]
    elif roll == 4:
        pairs[at:at] = pairs[at : at + 2]
    else:
        pairs[at][1] = dice.choice(("$INSUNITS", "$HANDSEED", "$X", "$", "INSUNITS", "$DWGCODEPAGE", "$EXTMAX"))
    return joined(pairs)


def ending_way(text: str, dice: random.Random) -> str:
    """Change what stands before, behind and between the lines."""
    more = "0\nSECTION\n2\nENTITIES\n0\nENDSEC\n0\nEOF\n"
    made = [f"\ufeff{text}", text + more, f"{text}garbage", text.rstrip("\n"), f"999\na remark\n{text}", f"\n{text}"]
    made += [f"{text}\x1a", text.upper(), text.lower(), text[: dice.randrange(len(text) + 1)]]
    made += [text.replace("\n", other) for other in ("\r\n", "\r")] + [text.replace("\n", "\n\n", 1)]
    made += [text.replace("ENDSEC", "ENDSEC\n999\nremark", 1), text.replace("0\nEOF\n", "")]
    return dice.choice(made)


ROWS = ("LAYER", "LTYPE", "STYLE", "TABLE", "BLOCK", "BLOCK_RECORD", "DICTIONARY")


def layer_way(text: str, dice: random.Random) -> str:
    """Write a layer's row again, switch it off, or give it an odd name."""
    found = records_of(pairs_of(text))
    rows = [k for k, r in enumerate(found) if r[0][1].strip() in ROWS]
    if rows:
        at = dice.choice(rows)
        roll = dice.randrange(4)
        copy = [list(p) for p in found[at]]
        if roll == 0:
            found.insert(at, copy)
        elif roll == 1:
            found[at] = odd_tag(copy, dice)
        elif roll == 2:
            found[at] = dropped_tag(copy, dice)
        else:
            name = _at(copy, dice, ("2", "3", "5", "70", "62", "6", "330", "360", "350"))
            if name is not None:
                copy[name][1] = dice.choice(
                    ("", "0", "*Model_Space", "a|b", "x" * 300, "-7", "4", "\\U+00e9", "FFFFFFFF")
                )
            found[at] = copy
    return _text(found)


STRUCTURE_WAYS: tuple[Callable[[str, random.Random], str], ...] = (
    section_way, record_way, record_way, header_way, ending_way, layer_way,
)  # fmt: skip
