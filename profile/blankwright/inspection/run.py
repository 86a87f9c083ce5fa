"""Inspecting a cutting file from anywhere: read, judge, picture, mend, report; the order of things and the writing."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args

from blankwright.base.errors import RequestError
from blankwright.base.finding import Finding
from blankwright.base.frozen import dataclass
from blankwright.base.onefile import refuse_taken, write_chosen
from blankwright.base.said import Line, said
from blankwright.base.units import length_mm
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.lines import ALL, course_of
from blankwright.inspection.mend import Mended, hindrances, mend, open_ends
from blankwright.inspection.outcome import Inspected, counts_of, layers_of
from blankwright.inspection.roles import WORDS, Choice, Role, colour_named
from blankwright.inspection.sizing import WantedSize, in_words
from blankwright.inspection.sniff import read_bytes
from blankwright.inspection.verdict import Verdict, Wanted, judge
from blankwright.shop.tables import process as process_named

MAX_GAP_MM = 2.0
"""A wider gap is no slip of the drawing any more: something is missing."""


@dataclass(frozen=True)
class Request:
    """What is asked of an inspection.

    Args:
        file: The file to look at.
        wanted: What it is judged against.
        picture: Where the picture goes, or None.
        mended: Where the mended copy goes, or None.
        gap_mm: Gaps up to this are closed in it [mm].
        force: Whether files that are there may be overwritten.
    """

    file: Path
    wanted: Wanted
    picture: Path | None
    mended: Path | None
    gap_mm: float
    force: bool


def request(
    file: Path, *, expect: str | None, process: str | None, stock: str | None, picture: Path | None,
    mended: Path | None, gap: str, force: bool, parts: int = 1, choice: Choice = ALL,
) -> Request:  # fmt: skip
    """Read what a maker typed.

    Args:
        file: The file to look at.
        expect: Size of the part, such as "345x60mm", or None.
        process: Name of a cutting process, or None.
        stock: Thickness of the stock with its unit, or None.
        picture: Where the picture goes, or None.
        mended: Where the mended copy goes, or None.
        gap: Widest gap that is closed, with its unit.
        force: Whether files that are there may be overwritten.
        parts: How many parts the file should hold.
        choice: What is to be cut and what is a mark, from `chosen`.

    Raises:
        RequestError: Something does not fit; says what would.
    """
    way = None if process is None else process_named(process, "--process")
    thickness = None if stock is None else length_mm(stock, "--thickness")
    if thickness is not None and not 0 < thickness <= 100:
        raise RequestError(f"--thickness: {stock} is no stock for a knife. Write it like 3mm or 1/8in.")
    if thickness is not None and way is None:
        raise RequestError("--thickness: says nothing without --process, which decides on holes and walls.")
    if not 1 <= parts <= 999:
        raise RequestError(f"--parts: {parts} is out of range. Allowed: 1 to 999.")
    gap_mm = length_mm(gap, "--gap")
    if not 0 <= gap_mm <= MAX_GAP_MM:
        raise RequestError(f"--gap: {gap} is outside of 0 to {MAX_GAP_MM:g} mm; a wider gap is a missing piece.")
    for path, option, ending in ((picture, "--picture", ".svg"), (mended, "--mend", ".dxf")):
        _check_target(file, path, option, ending, force=force)
    size = None if expect is None else expected_size(expect)
    return Request(file, Wanted(size, way, thickness, parts, choice), picture, mended, gap_mm, force)


def chosen(
    cut_layers: Sequence[str], mark_layers: Sequence[str], cut_colours: Sequence[str], mark_colours: Sequence[str]
) -> Choice:
    """Read what was typed of layers and colours.

    Raises:
        RequestError: A colour is none.
    """
    return Choice(
        tuple(cut_layers),
        tuple(mark_layers),
        tuple(colour_named(c, "--cut-colour") for c in cut_colours),
        tuple(colour_named(c, "--mark-colour") for c in mark_colours),
    )


def _check_target(file: Path, path: Path | None, option: str, ending: str, *, force: bool) -> None:
    if path is None:
        return
    if path.suffix.lower() != ending:
        raise RequestError(f"{option}: {path} does not end in {ending}.")
    same = path.resolve() == file.resolve() or (path.exists() and file.exists() and path.samefile(file))
    if same:
        raise RequestError(f"{option}: {path} is the file that is inspected; it is never written over. Choose another.")
    refuse_taken(path, force=force, before=f"{option}: ")
    if path.is_dir() or not path.parent.is_dir():
        raise RequestError(f"{option}: {path} cannot be written: there is no such folder, or it is one itself.")


_SIDE = re.compile(r"^\s*(?P<first>[^xX×]+?)\s*[xX×]\s*(?P<second>[^xX×]+?)\s*$")
_UNIT = re.compile(r"[a-zA-Z\"'”″]+\s*$")


def expected_size(text: str) -> WantedSize:
    """Read the size that a part should have.

    Args:
        text: Such as "345x60mm" or "13.6 x 2.36 in"; a unit at the end counts for both sides.

    Raises:
        RequestError: It is no size.

    >>> expected_size("345x60mm").within_mm
    0.55
    """
    sides = _SIDE.match(text)
    unit = _UNIT.search(text)
    if sides is None or unit is None:
        raise RequestError(f"--expect: '{text[:40]}' is no size. Write length x height with a unit, such as 345x60mm.")
    values = []
    for side in (sides["first"], sides["second"]):
        whole = side if _UNIT.search(side) else f"{side}{unit[0]}"
        values.append((length_mm(whole, "--expect"), _last_digit_mm(whole)))
    if not all(0 < v <= 100_000 for v, _ in values):
        raise RequestError(f"--expect: '{text[:40]}' needs two lengths above 0.")
    lengths = sorted((v for v, _ in values), reverse=True)
    return WantedSize(lengths[0], lengths[1], max(within for _, within in values) + 0.05)


def _last_digit_mm(side: str) -> float:
    """Return half of the last digit that was typed [mm]: 345 mm means 344.5 to 345.5."""
    number, unit = _UNIT.sub("", side), _UNIT.search(side)
    factor = length_mm(f"1{unit[0] if unit else 'mm'}", "--expect")
    if "/" in number:
        return factor / 64
    decimals = len(re.split(r"[.,]", number.strip())[1]) if re.search(r"[.,]", number) else 0
    return float(factor * 0.5 / 10**decimals)


def inspect(asked: Request) -> dict[str, Any]:
    """Inspect a file, write what was asked for, and return the report as data.

    Raises:
        RequestError: The file cannot be read, or a result cannot be written.
    """
    return report_of(look(asked))


def look(asked: Request) -> Inspected:
    """Inspect a file and write what was asked for.

    Raises:
        RequestError: The file cannot be read, or a result cannot be written.
    """
    seen = Inspected(asked.file.name, judge(read_drawing(read_bytes(asked.file), asked.file.name), asked.wanted))
    if asked.mended is not None:
        seen = _with_mended(seen, asked.mended, asked.gap_mm, force=asked.force)
    if asked.picture is not None:
        write_chosen(asked.picture, _picture(seen), force=asked.force, before="--picture: ")
        seen = replace(seen, files=(*seen.files, asked.picture.as_posix()))
    return seen


def _with_mended(seen: Inspected, path: Path, gap_mm: float, *, force: bool) -> Inspected:
    """Write the mended copy, when it is sound; else say why there is none."""
    from blankwright.inspection.mended import mended_dxf  # noqa: PLC0415 - loads a library of its own

    result, why = _mend(seen.verdict, gap_mm)
    if result is None:
        return replace(seen, not_mended=tuple(why))
    text = mended_dxf(result.contours, result.circles, result.spots)
    again = judge(read_drawing(text.encode(), path.name), Wanted(None, None, None))
    if again.of("error"):
        return replace(seen, not_mended=tuple(f.line for f in again.of("error")[:5]))
    write_chosen(path, text, force=force, before="--mend: ")
    done = result.done or (said("written anew as closed polylines and circles"),)
    return replace(seen, mended=done, files=(path.as_posix(),))


def _mend(verdict: Verdict, gap_mm: float) -> tuple[Mended | None, list[Line]]:
    why = hindrances(verdict) or open_ends(verdict, gap_mm)
    if not why and not verdict.runs:
        why = [said("There is no contour to be cut.")]
    return (None, why) if why else (mend(verdict, gap_mm), [])


def report_of(seen: Inspected) -> dict[str, Any]:
    """Return an inspection as data, for a script or the command line."""
    verdict, parts = seen.verdict, seen.parts
    return {
        "format": 1,
        "file": seen.name,
        "verdict": verdict.level,
        "release": seen.release,
        "unit": seen.unit,
        "size_mm": None if verdict.size_mm is None else list(verdict.size_mm),
        "size_words": None if verdict.size_mm is None else in_words(verdict.size_mm),
        "counts": counts_of(verdict),
        "layers": layers_of(verdict),
        "parts": [
            {
                "size_mm": [max(p.outline.size_mm), min(p.outline.size_mm)],
                "centre_mm": list(p.outline.centre_mm),
                "area_mm2": p.area_mm2,
                "holes": len(p.holes),
                "cut_length_mm": p.cut_mm,
                "pierces": p.pierces,
                "verdict": p.level,
                "findings": list(p.findings),
                "quantity": sum(q.alike == p.alike for q in parts),
                "alike": p.alike,
            }
            for p in parts
        ],
        "contours": [
            {
                "closed": s.run.closed,
                "outer": s.depth == 0,
                "area_mm2": s.area_mm2 if s.run.closed else None,
                "length_mm": s.length_mm,
                "pieces": s.run.drawn,
                "bounds_mm": [*map(float, s.low), *map(float, s.high)],
            }
            for s in _as_drawn(verdict)
        ],
        "findings": [
            *(_finding(f, number) for number, f in enumerate(seen.told, start=1)),
            *(_finding(f, None) for f in verdict.of("ok")),
        ],
        "mended": [line.text() for line in seen.mended],
        "not_mended": [line.text() for line in seen.not_mended],
        "files": list(seen.files),
    }


def _as_drawn(verdict: Verdict) -> list[Any]:
    """Return the contours with their gaps left open, as the file has them."""
    from blankwright.inspection.nesting import areas_of  # noqa: PLC0415 - only for files with gaps

    return list(verdict.shapes) if not verdict.gaps else areas_of(verdict.runs)


def _finding(f: Finding, number: int | None) -> dict[str, Any]:
    place = None if f.at_mm is None else [round(v, 6) + 0.0 for v in f.at_mm]
    return {"code": f.code, "level": f.level, "message": f.message, "at_mm": place, "number": number}


MOST_DRAWN = 3_000
"""So many lines that are not cut are shown in the picture."""


def _picture(seen: Inspected) -> str:
    from blankwright.inspection.faults import Drawn, Fault, Words, faults_svg  # noqa: PLC0415 - only when asked for
    from blankwright.inspection.inspected import head, size_line  # noqa: PLC0415

    lines = [*size_line(seen), "For finding places, not for measuring. Solid ring: fault; dashed ring: worth a look."]
    faults = [Fault(number, f.code, f.level, f.message, f.at_mm) for number, f in enumerate(seen.told, start=1)]
    uses = [use for use in seen.verdict.lines.uses if use.role != "cut"]
    others = [(item, use.role) for use in uses for item in use.items][:MOST_DRAWN]
    drawn = [Drawn(course_of(i, seen.verdict.lines.unit_mm), i.closed and i.curve is None, role) for i, role in others]
    drawn += [Drawn(r.vertices, r.closed) for r in seen.verdict.runs]
    parts = seen.parts
    names = [Words(f"part {k}", p.outline.centre_mm) for k, p in enumerate(parts, start=1)] if len(parts) > 1 else []
    return faults_svg(head(seen), lines, drawn, faults, _roles(seen), names)


def _roles(seen: Inspected) -> list[tuple[str, str]]:
    """Return each role that lines of the file have, and which layers have it."""
    out = []
    for role in get_args(Role):
        layers = list(dict.fromkeys(use.layer for use in seen.verdict.lines.uses if use.role == role))
        more = f" and {len(layers) - 8} more" if len(layers) > 8 else ""
        if layers:
            out.append((role, f"{WORDS[role]}: {', '.join(layers[:8])}{more}"))
    return out
