"""Which loose lines and arcs make one contour? Doubled pieces out, the rest joined end to end.

Words used here: a strand is the line work of one entity; a run is what strands make when they are joined, closed
or open. All lengths in mm.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.arrays import Array, Place
from blankwright.base.frozen import dataclass
from blankwright.geometry.outline import circles
from blankwright.proof import distance
from blankwright.proof.contacts import ALONG_MM, Index, Overlap, near_pairs, overlaps

JOINED_MM = 0.001
"""Ends this near are one: a tenth of the finest cutting tolerance in the trade."""
WIDE_BULGE = 0.9
"""Arcs that turn by more are halved before they are compared: ends and middle then tell where they run."""
STRAIGHT, ROUND_TURN = 1e-6, 1e-3
"""A flatter bulge is a line; arcs that turn by one whole turn within this are a circle."""
MAX_LOOSE = 2_000
"""Loose ends that are matched with each other; more are an error whatever they match."""


@dataclass(frozen=True, eq=False)
class Strand:
    """The line work of one entity.

    Args:
        kind: Entity type.
        layer: Its layer.
        line: Line number in the file.
        vertices: (n, 3) x [mm], y [mm] and bulge to the next vertex; pieces of no length are out.
        closed: Whether a last piece runs back to the first vertex.
        circle: Centre x, y and diameter [mm] of a full circle.
    """

    kind: str
    layer: str
    line: int
    vertices: Array
    closed: bool
    circle: tuple[float, float, float] | None = None

    @property
    def pieces(self) -> int:
        """Number of lines and arcs."""
        return len(self.vertices) if self.closed else len(self.vertices) - 1


@dataclass(frozen=True, eq=False)
class Run:
    """Strands joined end to end.

    Args:
        vertices: (n, 3) x [mm], y [mm] and bulge.
        closed: Whether it comes back to its start.
        layer: Layer of its first strand.
        kinds: Entity types it is made of.
        circle: Centre x, y and diameter [mm] when it is one full circle.
        loose: Whether start and end are loose ends; an end at a joint of three is not.
    """

    vertices: Array
    closed: bool
    layer: str
    kinds: frozenset[str]
    circle: tuple[float, float, float] | None = None
    loose: tuple[bool, bool] = (False, False)

    @property
    def pieces(self) -> int:
        """Number of lines and arcs; a full circle is held as two or more arcs."""
        return len(self.vertices) if self.closed else len(self.vertices) - 1

    @property
    def drawn(self) -> int:
        """Number of pieces that a cutter sees: a circle is one."""
        return 1 if self.circle is not None else self.pieces


@dataclass(frozen=True)
class Gap:
    """Two loose ends that belong together, or one that belongs to nothing.

    Args:
        ends: (run, 0 for its start or 1 for its end) of one or two loose ends.
        size_mm: How far they are apart [mm]; inf for a single end.
        at_mm: Halfway between them [mm].
    """

    ends: tuple[tuple[int, int], ...]
    size_mm: float
    at_mm: Place


@dataclass(frozen=True)
class Doubled:
    """What is drawn twice.

    Args:
        at_mm: Halfway along the shared stretch [mm].
        length_mm: How much is shared, end to end [mm].
        whole: A whole contour or entity lies on another one.
        kind: Entity type of the one that is too many.
        line: Its line number.
        removed: Whether it can be left out, or joined with the other one, without changing the shape.
    """

    at_mm: Place
    length_mm: float
    whole: bool
    kind: str
    line: int
    removed: bool


def _table(strands: Sequence[Strand]) -> tuple[distance.Pieces, list[int], list[int]]:
    """Return every piece, the strand it belongs to and its number there; wide arcs come as two halves."""
    rows, owner, number = [], [], []
    for s, strand in enumerate(strands):
        v = np.vstack([strand.vertices, strand.vertices[:1]]) if strand.closed else strand.vertices
        pairs = np.concatenate([v[:-1], v[1:]], axis=1)
        rows.append(pairs)
        owner.append(np.full(len(pairs), s))
        number.append(np.arange(len(pairs)))
    pairs = np.concatenate(rows)
    owners, numbers = np.concatenate(owner), np.concatenate(number)
    wide = np.flatnonzero(np.abs(pairs[:, 2]) > WIDE_BULGE)
    if len(wide):
        arcs = _pieces(pairs[wide])
        middle = distance.along_pieces(arcs, np.full(len(wide), 0.5))
        half = np.tan(np.arctan(pairs[wide, 2]) / 2)
        second = pairs[wide].copy()
        second[:, :2], second[:, 2] = middle, half
        pairs[wide, 3:5], pairs[wide, 2] = middle, half
        pairs = np.concatenate([pairs, second])
        owners, numbers = np.concatenate([owners, owners[wide]]), np.concatenate([numbers, numbers[wide]])
    return _pieces(pairs), owners.tolist(), numbers.tolist()


def _pieces(pairs: Array) -> distance.Pieces:
    """Return pieces from rows of start, bulge, end."""
    rows = np.empty((2 * len(pairs), 3))
    rows[::2], rows[1::2, :2], rows[1::2, 2] = pairs[:, :3], pairs[:, 3:5], 0.0
    return distance.pieces_of(rows, closed=False).take(2 * np.arange(len(pairs)))


def without_doubles(
    strands: Sequence[Strand], pairs_of: Callable[[distance.Pieces, float], tuple[Index, Index]] = near_pairs
) -> tuple[list[Strand], list[Doubled]]:
    """Take out what is drawn twice and join lines and arcs that run over each other.

    Args:
        strands: Line work.
        pairs_of: Finds the pieces that come near each other, as near_pairs does.

    Raises:
        GeometryError: The drawing is a tangle that would take too long to measure.
    """
    found: list[Doubled] = []
    kept = list(strands)
    for _ in range(4):  # joined lines may run over the next one
        if not kept:
            break
        pieces, owner, number = _table(kept)
        pairs = overlaps(pieces, *pairs_of(pieces, ALONG_MM))
        pairs = [p for p in pairs if (owner[p.first], number[p.first]) != (owner[p.second], number[p.second])]
        if not pairs:
            break
        kept, doubled, again = _resolved(kept, pairs, owner, number)
        found += doubled
        if not again:
            break
    return kept, found


def _resolved(
    strands: list[Strand], pairs: list[Overlap], owner: list[int], number: list[int]
) -> tuple[list[Strand], list[Doubled], bool]:
    """Leave out whole doubles, join partial ones; return strands, what was found, and whether to look again."""
    gone: set[int] = set()
    shared: dict[tuple[int, int], list[Overlap]] = defaultdict(list)
    for p in sorted(pairs, key=lambda q: (q.first, q.second)):
        drop, keep = (p.second, p.first) if p.second_whole else (p.first, p.second)
        if p.first_whole and p.second_whole:  # the loose one goes, and of two alike the later one
            drop, keep = sorted((p.first, p.second), key=lambda row: (strands[owner[row]].closed, -owner[row]))
        if (p.first_whole or p.second_whole) and keep not in gone:
            gone.add(drop)
            shared[owner[drop], owner[keep]].append(p)
        elif not (p.first_whole or p.second_whole):
            shared[owner[p.second], owner[p.first]].append(p)
    lost: dict[int, set[int]] = defaultdict(set)
    left = {row for row in range(len(owner)) if row not in gone}
    whole_rows = {(owner[row], number[row]) for row in left}
    for row in gone:
        if (owner[row], number[row]) not in whole_rows:
            lost[owner[row]].add(number[row])
    changed: dict[int, list[Strand]] = {}
    for s, numbers in lost.items():
        if len(numbers) == strands[s].pieces:
            changed[s] = []
        elif not strands[s].closed:
            changed[s] = _rest(strands[s], numbers)
    found, joined = [], False
    for (extra, base), overlap in shared.items():
        removed = extra in changed
        if not removed and base not in changed and _single(strands[extra]) and _single(strands[base]):
            union = _union(strands[base], strands[extra])
            if union is not None:
                changed[base], changed[extra] = [union], []
                removed = joined = True
        found.append(_doubled(strands[extra], overlap, changed.get(extra) == [], removed))
    kept = [new for s, strand in enumerate(strands) for new in changed.get(s, [strand])]
    return kept, found, joined


def _single(strand: Strand) -> bool:
    return not strand.closed and len(strand.vertices) == 2


def _doubled(strand: Strand, overlap: list[Overlap], whole: bool, removed: bool) -> Doubled:
    length = sum(float(np.hypot(*(p.ends[0] - p.ends[1]))) for p in overlap)
    middle = overlap[0].ends.mean(axis=0) if strand.circle is None or not whole else np.array(strand.circle[:2])
    return Doubled((float(middle[0]), float(middle[1])), length, whole, strand.kind, strand.line, removed)


def _rest(strand: Strand, lost: set[int]) -> list[Strand]:
    """Return what is left of an open strand, each unbroken part by itself."""
    out, begin = [], 0
    for k in range(strand.pieces + 1):
        if k == strand.pieces or k in lost:
            if k > begin:
                part = strand.vertices[begin : k + 1].copy()
                part[-1, 2] = 0.0
                out.append(replace(strand, vertices=part, circle=None))
            begin = k + 1
    return out


def _union(base: Strand, extra: Strand) -> Strand | None:
    """Return one line or arc that covers two which run over each other in part; None when that is not plain."""
    a, b = base.vertices, extra.vertices
    one, two = distance.pieces_of(a, closed=False), distance.pieces_of(b, closed=False)
    b_on_a = distance.to_pieces(b[:, :2], one.take(np.zeros(2, dtype=np.intp)))[0] <= ALONG_MM
    a_on_b = distance.to_pieces(a[:, :2], two.take(np.zeros(2, dtype=np.intp)))[0] <= ALONG_MM
    if b_on_a.sum() != 1 or a_on_b.sum() != 1:
        return None
    kept, far = int(np.flatnonzero(~a_on_b)[0]), b[int(np.flatnonzero(~b_on_a)[0]), :2]
    start, end = (a[kept, :2], far) if kept == 0 else (far, a[kept, :2])
    shared = float(np.hypot(*(a[1 - kept, :2] - b[int(np.flatnonzero(b_on_a)[0]), :2])))
    k = float(one.curvature[0])
    bulge = 0.0
    if k:
        cut_off = 2 * math.asin(min(1.0, shared * abs(k) / 2))
        turn = 4 * abs(math.atan(a[0, 2])) + 4 * abs(math.atan(b[0, 2])) - cut_off
        if turn > math.pi:
            return None
        bulge = math.copysign(math.tan(turn / 4), a[0, 2])
    return replace(base, vertices=np.array([[*start, bulge], [*end, 0.0]]))


def reversed_rows(vertices: Array) -> Array:
    """Return an open chain run the other way."""
    out = vertices[::-1].copy()
    out[:-1, 2], out[-1, 2] = -vertices[-2::-1, 2], 0.0
    return out


def _clusters(points: Array, tol_mm: float) -> list[int]:
    """Return a number for each point; points within a tolerance share it."""
    cells = np.floor(points / tol_mm).astype(np.int64)
    ids: dict[tuple[int, int], int] = {}
    where: list[int] = []
    first: list[int] = []
    for row, (x, y) in enumerate(cells.tolist()):
        if (x, y) not in ids:
            ids[x, y] = len(ids)
            first.append(row)
        where.append(ids[x, y])
    parent = list(range(len(ids)))

    def root(k: int) -> int:
        while parent[k] != k:
            parent[k] = parent[parent[k]]
            k = parent[k]
        return k

    for (x, y), k in ids.items():
        for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1)):
            other = ids.get((x + dx, y + dy))
            if other is not None and math.dist(points[first[k]], points[first[other]]) <= tol_mm:
                parent[root(other)] = root(k)
    return [root(k) for k in where]


def joined(strands: Sequence[Strand], tol_mm: float = JOINED_MM) -> tuple[list[Run], list[tuple[Place, int]]]:
    """Join strands end to end.

    Args:
        strands: Line work without doubles.
        tol_mm: Ends this near are one [mm].

    Returns:
        The runs, and the places where more than two ends meet with how many meet there.
    """
    runs = [Run(s.vertices, True, s.layer, frozenset(s.kind.split("+")), s.circle) for s in strands if s.closed]
    loose = [s for s in strands if not s.closed]
    if not loose:
        return runs, []
    ends = np.array([row for s in loose for row in (s.vertices[0, :2], s.vertices[-1, :2])])
    node = _clusters(ends, tol_mm)
    at: dict[int, list[int]] = defaultdict(list)  # node -> ends; end 2 s is the start of strand s, 2 s + 1 its end
    for end, k in enumerate(node):
        at[k].append(end)
    joints = [(_pair(ends[e[0]]), len(e)) for e in at.values() if len(e) > 2]
    left = set(range(len(loose)))
    starts = [end for e in at.values() if len(e) != 2 for end in e]
    ways = (end for end in [*starts, *range(0, 2 * len(loose), 2)] if end // 2 in left)
    runs += [_walk(end, loose, node, at, left) for end in ways]
    return runs, joints


def _walk(end: int, strands: list[Strand], node: list[int], at: dict[int, list[int]], left: set[int]) -> Run:
    """Follow strands from one end until there is no plain way on."""
    begin = end
    rows: list[Array] = []
    kinds: set[str] = set()
    while True:
        strand = strands[end // 2]
        left.discard(end // 2)
        kinds |= set(strand.kind.split("+"))
        rows.append(strand.vertices if end % 2 == 0 else reversed_rows(strand.vertices))
        far = end ^ 1
        ways = at[node[far]]
        nxt = ways[0] if ways[1:] == [far] else ways[-1]
        if len(ways) != 2 or nxt // 2 not in left:
            break
        end = nxt
    chain = np.concatenate([r[:-1] for r in rows] + [rows[-1][-1:]])
    closed = node[far] == node[begin] and len(at[node[begin]]) == 2 and len(chain) > 2
    loose = (len(at[node[begin]]) == 1, len(at[node[far]]) == 1)
    layer = strands[begin // 2].layer
    return Run(chain[:-1] if closed else chain, closed, layer, frozenset(kinds), None, loose)


def as_circle(run: Run) -> Run:
    """Return a closed run of arcs of one circle as that circle; any other run as it is."""
    v = run.vertices
    if not run.closed or run.circle is not None or not (np.abs(v[:, 2]) > STRAIGHT).all() or np.ptp(np.sign(v[:, 2])):
        return run
    centres, radii = circles(v[:, :2], np.roll(v[:, :2], -1, axis=0), v[:, 2])
    turn = 4 * np.arctan(np.abs(v[:, 2])).sum()
    if max(np.ptp(centres, axis=0).max(), np.ptp(radii)) > JOINED_MM or abs(turn - math.tau) > ROUND_TURN:
        return run
    x, y = centres.mean(axis=0)
    return replace(run, circle=(float(x), float(y), 2 * float(radii.mean())))


def _pair(row: Array) -> Place:
    return float(row[0]), float(row[1])


def gaps(runs: Sequence[Run]) -> list[Gap]:
    """Match the loose ends of open runs with each other, the nearest first."""
    ends = [(r, k) for r, run in enumerate(runs) for k in (0, 1) if not run.closed and run.loose[k]]
    points = np.array([runs[r].vertices[-k, :2] for r, k in ends]).reshape(-1, 2)
    if len(ends) > MAX_LOOSE:
        return [Gap((end,), math.inf, _pair(p)) for end, p in zip(ends, points, strict=True)]
    apart = np.hypot(points[:, None, 0] - points[None, :, 0], points[:, None, 1] - points[None, :, 1])
    i, j = np.triu_indices(len(ends), 1)
    out: list[Gap] = []
    free = set(range(len(ends)))
    for row in np.argsort(apart[i, j], kind="stable"):
        a, b = int(i[row]), int(j[row])
        if a in free and b in free:
            free -= {a, b}
            out.append(Gap((ends[a], ends[b]), float(apart[a, b]), _pair((points[a] + points[b]) / 2)))
            if not free:
                break
    return out + [Gap((ends[k],), math.inf, _pair(points[k])) for k in sorted(free)]


def bridged(runs: Sequence[Run], limit_mm: float) -> tuple[list[Run], list[Gap]]:
    """Close gaps up to a limit by moving both ends to the middle between them.

    Returns:
        The runs, and the gaps that were closed.
    """
    small = [g for g in gaps(runs) if g.size_mm <= limit_mm and len(g.ends) == 2]
    if not small:
        return list(runs), []
    moved = [run.vertices.copy() for run in runs]
    for gap in small:
        for r, k in gap.ends:
            moved[r][-k, :2] = gap.at_mm
    strands = [
        Strand("+".join(sorted(r.kinds)), r.layer, 0, v, r.closed, r.circle) for r, v in zip(runs, moved, strict=True)
    ]
    again, _ = joined([s for s in strands if s.closed or _has_length(s.vertices)])
    return again, small


def _has_length(vertices: Array) -> bool:
    return bool(np.hypot(*np.diff(vertices[:, :2], axis=0).T).sum() > JOINED_MM)
