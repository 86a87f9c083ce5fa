"""What of a drawing is to be cut? Its line work in mm, curves followed by arcs, and what is left aside and why."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.errors import GeometryError
from blankwright.base.frozen import dataclass
from blankwright.inspection import curves
from blankwright.inspection.budget import Budget
from blankwright.inspection.drawing import Drawing, Item
from blankwright.inspection.roles import Choice, Use, uses_of
from blankwright.proof.chains import JOINED_MM, Strand

FOLLOW_MM = 0.005
FOLLOW_SHARE, SMALL_MM, LEAST_MM = 2e-5, 20.0, 1e-6
"""Splines and ellipses are followed by arcs within this, as the tool's own outlines are; small ones within a share of
their own size, a tenth of it below SMALL_MM, so that their areas hold."""
MOST_MM = 100_000.0
"""No curve is followed that reaches further: no cutting table does."""

ALL = Choice()
"""Nothing is said of layers: their names decide."""


@dataclass(frozen=True)
class Tiny:
    """A piece that is too short to be cut."""

    length_mm: float
    at_mm: Place
    kind: str
    line: int


@dataclass(frozen=True)
class Followed:
    """A spline or ellipse, and how near arcs came to it.

    Args:
        item: The entity.
        deviation_mm: Largest distance [mm]; None when it could not be followed.
        why: Why it could not be followed, a clause.
    """

    item: Item
    deviation_mm: float | None
    why: str


@dataclass(frozen=True, eq=False)
class Lines:
    """The line work of a drawing.

    Args:
        unit_mm: Millimetres in a file unit that were reckoned with.
        strands: What is to be cut, pieces of no length left out.
        shortest: All pieces shorter than `findings.SHORT_MM`, the ones of no length among them.
        followed: Splines and ellipses among what is to be cut.
        uses: What each layer, or each colour on it, was taken for.
        hidden: Line work on layers that are switched off or frozen, or invisible by itself.
        paper: What stands on paper layouts.
    """

    unit_mm: float
    strands: tuple[Strand, ...]
    shortest: tuple[Tiny, ...]
    followed: tuple[Followed, ...]
    uses: tuple[Use, ...]
    hidden: tuple[Item, ...]
    paper: tuple[Item, ...]

    @property
    def aside(self) -> tuple[Item, ...]:
        """Line work that is shown and not to be cut, marks among it."""
        return tuple(i for use in self.uses if use.role in {"mark", "aside"} for i in use.items)

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers that are to be cut, in capitals."""
        return tuple(sorted({use.layer.upper() for use in self.uses if use.role == "cut"}))

    def place(self, item: Item) -> Place | None:
        """Return where an entity is [mm]."""
        return None if item.at is None else (item.at[0] * self.unit_mm, item.at[1] * self.unit_mm)


def lines_of(drawing: Drawing, short_mm: float, choice: Choice = ALL, unit_mm: float | None = None) -> Lines:
    """Choose and convert the line work of a drawing.

    Args:
        drawing: The drawing as read.
        short_mm: Pieces below this length are listed [mm].
        choice: What somebody says of layers and colours.
        unit_mm: Millimetres in a file unit, where those of the file are not believed.

    Raises:
        RequestError: A layer or colour that was named is not in the file.
    """
    unit_mm = unit_mm or drawing.unit_mm or 1.0
    drawn = [i for i in drawing.items if i.line_work and not i.on_paper]
    uses = uses_of(drawing, drawn, choice)
    out = Lines(
        unit_mm=unit_mm,
        strands=(),
        shortest=(),
        followed=(),
        uses=tuple(uses),
        hidden=tuple(i for i in drawn if drawing.hides(i)),
        paper=tuple(i for i in drawing.items if i.on_paper),
    )
    strands: list[Strand] = []
    tiny: list[Tiny] = []
    followed: list[Followed] = []
    cut = {id(i) for use in uses if use.role == "cut" for i in use.items}
    for item in drawn:
        if id(item) in cut:
            _add(item, drawing.budget, unit_mm, short_mm, strands, tiny, followed)
    strands = _looped(strands)
    broken = [i for i in drawing.items if i.kind in {"SPLINE", "ELLIPSE"} and not i.line_work and i.spoiled]
    followed += [Followed(item, None, item.trouble) for item in broken if not item.on_paper]
    return replace(out, strands=tuple(strands), shortest=tuple(tiny), followed=tuple(followed))


def _add(
    item: Item,
    budget: Budget,
    unit_mm: float,
    short_mm: float,
    strands: list[Strand],
    tiny: list[Tiny],
    followed: list[Followed],
) -> None:  # fmt: skip
    """Add one entity's line work in mm."""
    if item.curve is not None:
        chain, closed = _follow(item, budget, unit_mm, followed), item.closed
    else:
        chain, closed = np.asarray(item.chain) * np.array([unit_mm, unit_mm, 1.0]), item.closed
        if item.trouble:
            followed.append(Followed(item, None, item.trouble))
    if chain is None or not np.isfinite(chain).all():
        return
    if closed and len(chain) > 2 and np.hypot(*(chain[0, :2] - chain[-1, :2])) <= 1e-9 and item.curve is not None:
        chain = chain[:-1]
    lengths = lengths_of(chain, closed)
    short = np.flatnonzero(lengths < short_mm)
    tiny += [Tiny(float(lengths[k]), _pair(chain[k, :2]), item.kind, item.line) for k in short]
    keep = lengths > JOINED_MM
    rows = chain[keep] if closed else np.concatenate([chain[:-1][keep], chain[-1:]])
    if len(rows) < 2:
        return
    if not closed:
        rows = rows.copy()
        rows[-1, 2] = 0.0
    circle = item.circle and (item.circle[0] * unit_mm, item.circle[1] * unit_mm, item.circle[2] * unit_mm)
    strands.append(_Part(item.kind, item.layer, item.line, rows, closed, circle, loop=item.loop))


@dataclass(frozen=True, eq=False)
class _Part(Strand):
    """A strand that may be one of several of a subpath."""

    loop: int = 0


def _looped(strands: list[Strand]) -> list[Strand]:
    """Join the strands of each subpath, so that other subpaths may touch it where they meet."""
    out: list[Strand] = []
    for strand in strands:
        last = out[-1] if out else None
        if not isinstance(strand, _Part) or not isinstance(last, _Part) or not strand.loop or last.loop != strand.loop:
            out.append(strand)
            continue
        if np.hypot(*(last.vertices[-1, :2] - strand.vertices[0, :2])) > JOINED_MM:
            out.append(strand)
            continue
        rows = np.concatenate([last.vertices[:-1], strand.vertices])
        out[-1] = replace(last, vertices=rows)
    return [_closed(s) if isinstance(s, _Part) and s.loop else s for s in out]


def _closed(strand: Strand) -> Strand:
    rows = strand.vertices
    meets = len(rows) > 2 and np.hypot(*(rows[0, :2] - rows[-1, :2])) <= JOINED_MM
    return replace(strand, vertices=rows[:-1], closed=True) if meets else strand


def lengths_of(chain: Array, closed: bool) -> Array:
    """Return the length of each line and arc [mm]."""
    v = np.concatenate([chain, chain[:1]]) if closed else chain
    step = v[1:, :2] - v[:-1, :2]
    chord = np.hypot(step[:, 0], step[:, 1])
    half = 2 * np.arctan(v[:-1, 2])  # half the angle that an arc turns by
    return np.asarray(chord / np.sinc(half / np.pi))


def _follow(item: Item, budget: Budget, unit_mm: float, followed: list[Followed]) -> Array | None:
    assert item.curve is not None
    curve = item.curve.moved(unit_mm * np.eye(2), np.zeros(2))
    reach = curve.reach
    share = FOLLOW_SHARE if reach > SMALL_MM else FOLLOW_SHARE / 10
    try:
        if reach > MOST_MM:
            raise GeometryError("it is larger than anything to be cut")  # noqa: TRY301 - told like what cannot be followed
        chain, deviation = curves.to_arcs(curve, min(FOLLOW_MM, max(share * reach, LEAST_MM)), budget)
    except GeometryError as error:
        followed.append(Followed(item, None, str(error)))
        return None
    followed.append(Followed(item, deviation, ""))
    return chain


def course_of(item: Item, unit_mm: float) -> Array:
    """Return an entity's line work for the eye: (n, 3) x [mm], y [mm] and bulge; curves as short lines."""
    if item.chain is not None:
        return np.asarray(item.chain * np.array([unit_mm, unit_mm, 1.0]))
    assert item.curve is not None
    count = len(item.curve.coefs)
    u = np.tile(np.linspace(0, 1, 12), count)
    p = item.curve.at(np.repeat(np.arange(count), 12), u)
    return np.column_stack([p * unit_mm, np.zeros(len(p))])


def _pair(row: Array) -> Place:
    return float(row[0]), float(row[1])
