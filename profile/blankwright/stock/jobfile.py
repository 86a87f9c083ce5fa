"""The job file: which blanks, how many, on what stock, how far apart; read with messages that name file, part and key.

stock = "my_sheet.toml"          # a stock file beside this one, or a shipped one
gap = "4 mm"                     # between two blanks; left out, the slot and what the process wants beside it
rim = "3 mm"                     # to the edge of the stock; left out, the slot, or the stock's own margin
held = "left"                    # the side at which the stock is clamped: cut last (left, right, below, above)

[[part]]
design = "chef"                  # a family's name or a design file
quantity = 6
flip = true                      # may be turned over, where blade and steel allow it; false never
turn = "grain"                   # any, grain, or angles such as ["0 deg", "180 deg"]
within = "10 deg"                # of the grain
outline = "cut"                  # cut, with allowance; finished, where the blank is ground to the line
set = { "blade.length" = "210 mm" }
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from blankwright.base.doors import a_path
from blankwright.base.errors import DesignError, RequestError, told, unknown
from blankwright.base.fields import Fields, read_toml
from blankwright.base.library import template_file
from blankwright.base.reading import is_plain_file, why_no_file
from blankwright.base.units import angle_deg, length_mm
from blankwright.cutting.delivery import check_allowance
from blankwright.design.request import MOST_NAME, read_design
from blankwright.knife.knife import Knife, finish
from blankwright.stock.blank import HELD, MOST_BLANKS, MOST_PARTS, TURNS, Blank, Job, Turn
from blankwright.stock.gap import gap_of
from blankwright.stock.piece import Piece
from blankwright.stock.stockfile import read_stock

FORMAT = 1
_MOST_ANGLES = 72
_TOP = ("format", "name", "stock", "gap", "rim", "held", "part")
_PART = ("design", "name", "quantity", "flip", "turn", "within", "outline", "process", "set")
_OUTLINES = ("cut", "finished")
_SHAPES = ("bars", "sheets")


def read_job(source: str | Path) -> Job:
    """Read a job file.

    Args:
        source: The file (.toml), or the name of a shipped one.

    Raises:
        RequestError: Unreadable, or something in it, in its stock file or in a design cannot be; it says which.
        DesignError: A design is no knife.
    """
    path = a_path(source, "a job file")
    if not str(path).endswith(".toml"):
        path = template_file("job", str(path), "JOB")
    if not is_plain_file(path):
        raise RequestError(f"{str(path)[:200]}: {why_no_file(path, 'job file')}.")
    return job_from_table(read_toml(path), path.name, path.parent)


def job_from_table(table: dict[str, Any], where: str, beside: Path) -> Job:
    """Read a job file that is parsed already.

    Args:
        table: The file as a table.
        where: Its name, for messages.
        beside: Folder in which stock and design files are looked up first.

    Raises:
        RequestError: As read_job.
        DesignError: As read_job.
    """
    top = Fields(table, where)
    top.only(_TOP)
    if "format" in table:
        top.whole("format", FORMAT, FORMAT)
    pieces = _stock(top.text("stock"), beside)
    rows = [_named(row, where, k) for k, row in enumerate(top.rows("part"), start=1)]
    if len(rows) > MOST_BLANKS:
        raise RequestError(f"{where}: {len(rows)} parts; at most {MOST_BLANKS} go in a job.")
    wanted = sum(row.whole("quantity", 1, MOST_PARTS, 1) for row in rows)
    if wanted > MOST_PARTS:
        raise RequestError(f"{where}: {wanted} blanks are wanted; at most {MOST_PARTS} go in a job.")
    blanks = tuple(_blank(row, beside) for row in rows)
    rim = _length(top, "rim") if "rim" in table else None
    if "gap" in table:
        gap, words = _length(top, "gap"), ""
    else:
        gap, words = gap_of(blanks, where)
    name, held = _name(top, Path(where).stem), top.choice("held", HELD, "left")
    try:
        return Job(name, pieces, blanks, gap, rim, held, words, Path(top.text("stock")).name)  # type: ignore[arg-type]
    except RequestError as error:
        raise RequestError(f"{where}: {error}") from None


def _name(row: Fields, default: str) -> str:
    """Return a name that files can be called by."""
    name = row.text("name", default)
    if len(name) > MOST_NAME:
        raise RequestError(f"{row.where} name: at most {MOST_NAME} characters.")
    return name


def _named(row: Fields, where: str, number: int) -> Fields:
    design = row.table.get("name", row.table.get("design"))
    return Fields(row.table, f"{where} [[part]] {design if isinstance(design, str) else f'number {number}'}")


def _stock(name: str, beside: Path) -> tuple[Piece, ...]:
    own = beside / name
    return read_stock(own if name.endswith(".toml") and is_plain_file(own) else name)


def _blank(row: Fields, beside: Path) -> Blank:
    row.only(_PART)
    knife = _knife(row, beside)
    outline = row.choice("outline", _OUTLINES, "cut")
    if outline == "cut":
        _check(knife, row.where)
    way = knife.process
    flip = row.table.get("flip")
    if flip is not None and not isinstance(flip, bool):
        raise RequestError(f"{row.where} flip: expected true or false, got {told(flip)}.")
    turn = _turn(row)
    if "within" in row.table and turn != "grain":
        raise RequestError(f'{row.where} within: says how far from the grain; write turn = "grain" too.')
    if "within" in row.table:
        within = angle_deg(row.table["within"], f"{row.where} within")
        if not 0 <= within <= 90:
            raise RequestError(f"{row.where} within: {within:g} degrees is out of range. Allowed: 0 to 90 degrees.")
    else:
        within = 0.0
    found = knife.found
    lost = 0.0 if found is None else 2 * found.loss.value
    try:
        return Blank(
            name=_name(row, knife.design.name),
            outline=knife.cut if outline == "cut" else knife.finished,
            quantity=row.whole("quantity", 1, MOST_PARTS, 1),
            thickness_mm=knife.stock_mm + lost,
            kerf_mm=0.0 if way is None or outline == "finished" else way.kerf_mm.value,
            flip=flip,
            turn=turn,
            within_deg=within,
            knife=knife,
        )
    except RequestError as error:
        raise RequestError(f"{row.where} {error}") from None


def _knife(row: Fields, beside: Path) -> Knife:
    source = row.text("design")
    if source.endswith(".toml") and is_plain_file(beside / source):
        source = str(beside / source)
    changes = _flat(row.table.get("set", {}), f"{row.where} set")
    if "process" in row.table:
        changes["cutting.process"] = row.text("process")
    knife = finish(read_design(source, changes, told_as=f"{row.where} set"))
    if knife.start.bought:
        raise RequestError(
            f"{row.where}: the work starts {knife.start.words}; its outline is cut already, so nothing is laid out."
        )
    return knife


def _check(knife: Knife, where: str) -> None:
    """Refuse a design of which no cutting file would be made."""
    wrong = [f.message for f in knife.findings if f.level == "error"]
    if wrong:
        raise DesignError(f"{where}: {' '.join(wrong)}")
    try:
        check_allowance(knife.oversize)
    except DesignError as error:
        raise DesignError(f"{where}: {error}") from None


def _flat(value: object, where: str, before: str = "", depth: int = 0) -> dict[str, object]:
    """Return a table of changes by dotted key, whether the dots are quoted or not."""
    if not isinstance(value, dict) or depth > 3:
        raise RequestError(f'{where}: expected a table such as {{ "blade.length" = "210 mm" }}, got {told(value)}.')
    out: dict[str, object] = {}
    for key, one in value.items():
        out |= _flat(one, where, f"{before}{key}.", depth + 1) if isinstance(one, dict) else {f"{before}{key}": one}
    return out


def _turn(row: Fields) -> Turn:
    value = row.table.get("turn", "any")
    if isinstance(value, str) and value in TURNS:
        return "grain" if value == "grain" else "any"
    if isinstance(value, list) and 1 <= len(value) <= _MOST_ANGLES:
        return tuple(angle_deg(one, f"{row.where} turn") for one in value)
    if isinstance(value, str):
        raise RequestError(f'{unknown("turn", value, TURNS, row.where)} Or angles such as ["0 deg"].')
    raise RequestError(f'{row.where} turn: {told(value)} is unknown. Allowed: any, grain, or angles such as ["0 deg"].')


def _length(top: Fields, key: str) -> float:
    value = length_mm(top.table[key], f"{top.where} {key}")
    if not 0 <= value <= 200:
        raise RequestError(f"{top.where} {key}: {value:g} mm is out of range. Allowed: 0 to 200 mm.")
    return value
