"""Handles: a pattern is a file of its own, drawn for a whole hand and stretched to the hand that a blade is for."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.fields import Fields, as_point, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.library import shipped_names, template_file
from blankwright.base.units import length_mm
from blankwright.design.parts import CONSTRUCTIONS, REGIONS, Point

FOLDER = "handles"

SIZES = {
    "full": ("length", "front", "middle", "butt"),
    "one-piece": ("length", "front", "middle", "butt"),
    "hidden": ("length", "tang_length", "tang_front", "neck"),
}
"""What a pattern says of its own drawing, by construction."""

BLOCK = ("width", "front_height", "butt_height")
"""Sizes of a block around a hidden tang."""

FRONT_BEHIND_MM, BUTT_AHEAD_MM = 12.0, 16.0
"""Where the height of a full tang is measured: behind the handle's front, and ahead of its butt."""

LEAST_ROUND = 0.75
"""Our rule: a tang breaks where its corner is sharp, so a low handle keeps three quarters of the drawn radius."""


@dataclass(frozen=True)
class Pattern:
    """A handle as drawn.

    Args:
        name: Name used in designs.
        title: Name printed for a reader.
        use: What it is for.
        constructions: Constructions it can be: full and one-piece, or hidden.
        butt_mm: Rear end of its middle line [mm].
        drawn_mm: What its points measure, by the names of SIZES [mm].
        curves: Its curves as tables of a family file; x from its front, y from the middle of the tang there [mm].
        block_mm: Width and heights of a block around it, for a whole hand; empty for those of the hand [mm].
        defaults: Settings that it brings.
    """

    name: str
    title: str
    use: str
    constructions: tuple[str, ...]
    butt_mm: Point
    drawn_mm: dict[str, float]
    curves: tuple[dict[str, Any], ...]
    block_mm: dict[str, float]
    defaults: dict[str, Any]


def handle_names(construction: str | None = None) -> list[str]:
    """Return the names of the shipped handles; of those for one construction, if it is given."""
    names = shipped_names(FOLDER)
    if construction is None:
        return names
    return [n for n in names if construction in load_handle_table(n, n).get("constructions", ())]


def load_handle_table(name_or_path: str, where: str, beside: Path | None = None) -> dict[str, Any]:
    """Return the table of a shipped handle by name, or of a handle file by path.

    Args:
        name_or_path: "swell", or a path that ends in .toml.
        where: File and key that name it, for the message.
        beside: Folder that a relative path is looked for in first.

    Raises:
        RequestError: No such handle, or an unreadable file.
    """
    path = template_file("handle", name_or_path, where, beside)
    return _table(path, path.stat().st_mtime_ns)


def handle_name(name_or_path: str, where: str, beside: Path | None = None) -> str:
    """Return how a design anywhere names a handle: a shipped one by name, others by their whole path."""
    if not name_or_path.endswith(".toml"):
        return name_or_path
    return str(template_file("handle", name_or_path, where, beside).resolve())


@lru_cache(maxsize=32)
def _table(path: Path, _changed: int) -> dict[str, Any]:
    return read_toml(path)


def pattern_from_table(table: dict[str, Any], where: str) -> Pattern:
    """Build a handle from a parsed table.

    Args:
        table: The table, laid out like the shipped handle files.
        where: File for messages.

    Raises:
        RequestError: Something is missing, misspelt or out of range; the message names table and key.
    """
    top = Fields(table, where)
    top.only(("format", "name", "title", "use", "constructions", "butt", "drawn", "block", "curve", "defaults"))
    top.whole("format", 1, 1)
    own = table.get("constructions")
    if not isinstance(own, list) or not own or not all(c in CONSTRUCTIONS for c in own):
        raise RequestError(f"{where} constructions: expected a list of {', '.join(CONSTRUCTIONS)}.")
    if "hidden" in own and len(own) > 1:
        raise RequestError(f"{where} constructions: a hidden tang is drawn in a file of its own.")
    drawn = top.sub("drawn")
    drawn.only(SIZES[own[0]])
    butt = top.point("butt")
    if butt[0] > -20:
        raise RequestError(f"{where} butt: it must lie at least 20 mm behind the handle's front.")
    return Pattern(
        name=top.text("name"), title=top.text("title"), use=top.text("use"), constructions=tuple(own), butt_mm=butt,
        drawn_mm={key: length_mm(drawn.text(key), f"{drawn.where} {key}") for key in SIZES[own[0]]},
        curves=tuple(_curve(row) for row in top.rows("curve")), block_mm=_block(top),
        defaults=top.sub("defaults").table if "defaults" in table else {},  # type: ignore[arg-type]
    )  # fmt: skip


def _block(top: Fields) -> dict[str, float]:
    if "block" not in top.table:
        return {}
    block = top.sub("block")
    block.only(BLOCK)
    return {key: length_mm(block.text(key), f"{block.where} {key}") for key in BLOCK}


def _curve(row: Fields) -> dict[str, Any]:
    row.only(("name", "region", "frame", "joint", "points"))
    points = row._get("points")
    if not isinstance(points, list) or not 1 <= len(points) <= 200:
        raise RequestError(f"{row.where}: 'points' must be a list of 1 to 200 points, each [x, y] in mm.")
    return {
        "name": row.text("name"),
        "region": row.choice("region", REGIONS),
        "frame": row.choice("frame", ("handle", "neck"), "handle"),
        "joint": row.text("joint", "smooth"),
        "points": [as_point(p, f"{row.where} point {i + 1}") for i, p in enumerate(points)],
    }


def check_construction(pattern: Pattern, construction: str, where: str) -> None:
    """Refuse a handle that is not drawn for a construction, naming those that are.

    Raises:
        RequestError: It is not.
    """
    if construction in pattern.constructions:
        return
    raise unknown(f"handle for a tang that is {construction}", pattern.name, handle_names(construction), where)


def fitted(pattern: Pattern, sizes_mm: dict[str, float], front_mm: Point) -> tuple[list[dict[str, Any]], Point]:
    """Return a handle's curves stretched to a hand and put behind a blade, and the rear end of its middle line.

    Args:
        pattern: The handle.
        sizes_mm: What it shall measure, by the names of SIZES [mm].
        front_mm: Middle of the tang at the handle's front [mm].
    """
    drawn = pattern.drawn_mm
    reach = "tang_length" if "tang_length" in drawn else "length"
    stretch = sizes_mm[reach] / drawn[reach]
    fall = pattern.butt_mm[1] / pattern.butt_mm[0]
    shares = _shares(drawn, sizes_mm)
    out = []
    for curve in pattern.curves:
        points = []
        for x, y in curve["points"]:
            if curve["frame"] == "neck":
                points.append([front_mm[0] + x, front_mm[1] + y * sizes_mm["neck"] / drawn["neck"]])
                continue
            middle = fall * x
            high = (y - middle) * _between(shares, -x)
            points.append([front_mm[0] + x * stretch, front_mm[1] + fall * x * stretch + high])
        out.append({**curve, "points": points, "joint": _joint(curve["joint"], shares[0][1])})
    rear = pattern.butt_mm[0] * sizes_mm["length"] / drawn["length"]
    return out, (front_mm[0] + rear, front_mm[1] + fall * rear)


def _joint(drawn: str, share: float) -> str:
    """Return a joint of a lower handle: its radius is as much smaller, no less than LEAST_ROUND of the drawn one."""
    if drawn in ("sharp", "smooth"):
        return drawn
    return f"{length_mm(drawn, 'joint') * min(1.0, max(share, LEAST_ROUND)):.2f} mm"


def _shares(drawn: dict[str, float], sizes: dict[str, float]) -> list[tuple[float, float]]:
    """Return how much higher a handle becomes, by the distance behind its front in the drawing [mm]."""
    if "tang_front" in drawn:
        return [(0.0, sizes["tang_front"] / drawn["tang_front"])]
    at = {"front": FRONT_BEHIND_MM, "middle": drawn["length"] / 2, "butt": drawn["length"] - BUTT_AHEAD_MM}
    return [(x, sizes[key] / drawn[key]) for key, x in at.items()]


def _between(shares: list[tuple[float, float]], behind_mm: float) -> float:
    """Return the share at a distance behind the front, straight between those that are known."""
    (x0, s0), *rest = shares
    if behind_mm <= x0:
        return s0
    for x1, s1 in rest:
        if behind_mm <= x1:
            return s0 + (s1 - s0) * (behind_mm - x0) / (x1 - x0)
        x0, s0 = x1, s1
    return s0
