"""A knife's place on a piece of stock: how it may lie, and the best way it was found to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.geometry.pose import Pose, angle_between
from blankwright.knife.holes import MadeHole
from blankwright.stock.bench import Search, plate_of
from blankwright.stock.judge import Verdict, judged
from blankwright.stock.never import never_fits
from blankwright.stock.piece import THICKEST_MM, Piece
from blankwright.stock.search import Allowed, Effort, Found, look, settled
from blankwright.stock.through import poses_through_holes
from blankwright.stock.wanted import Wanted

ALIKE_MM = 0.05
"""Placings whose room differs by less are as good; then the wishes decide."""

WOOD_GRAIN_DEG = 10.0
"""A wooden blade lies this near to the grain at most, where nothing is said: across it, it snaps (common practice)."""


_KEPT_OTHERWISE, _KEPT_TRIED = (0.005, 0.03, 0.06), 3
"""So much more of a zone to keep is sought beyond its share where what is sought at first finds nothing, from so many
of the best places: what the search's places make of a share is off by a hundredth or two."""

_KEPT_LACK_MM = 5.0
"""Where the best place lacks more than this, what is sought of a zone is not what is in the way."""


@dataclass(frozen=True)
class Wish:
    """What is asked of a placing beside that it fits.

    Args:
        grain_deg: Greatest angle between blade and grain [degrees]; None for any.
        flip: Whether it may be turned over: None as blade and piece allow.
    """

    grain_deg: float | None = None
    flip: bool | None = None

    def __post_init__(self) -> None:
        if self.grain_deg is not None and not 0 <= self.grain_deg <= 90:
            raise RequestError(f"--grain: {self.grain_deg:g} degrees is out of range. Allowed: 0 to 90 degrees.")


@dataclass(frozen=True, eq=False)
class Placed:
    """A knife on a piece.

    Args:
        wanted: The knife.
        piece: The piece.
        pose: How it lies best, whether it fits or not.
        verdict: What that was measured to be.
        why_sides: Why only one side may lie up, or neither; empty where both may.
        sideless: Whether neither side may lie up; pose and verdict then mean nothing.
    """

    wanted: Wanted
    piece: Piece
    pose: Pose
    verdict: Verdict
    why_sides: str = ""
    sideless: bool = False

    @property
    def fits(self) -> bool:
        """Whether it fits."""
        return self.verdict.fits and not self.sideless

    @property
    def short_mm(self) -> float:
        """What is missing where it is scarcest [mm]; 0 where it fits, or where no side of it may lie up."""
        if self.sideless:
            return 0.0
        return max((-limit.spare for limit in self.verdict.lacking if limit.kind != "keep"), default=0.0)

    @property
    def thin_mm(self) -> float:
        """How much too thin the piece is where nothing else is missing [mm]; 0 where it is not that."""
        only = all(limit.kind == "thickness" for limit in self.verdict.lacking)
        return self.short_mm if only else 0.0


def sides(wanted: Wanted, piece: Piece, wish: Wish) -> tuple[tuple[bool, ...], str]:
    """Return which sides may lie up (False as drawn, True turned over), and why not both.

    A blade ground on one face shows that face: it lies on the piece's front where that is to be seen, and a texture is
    kept on it. Where nobody says that both faces of the piece are alike such a blade is not turned over.
    """
    if wish.flip is False:
        return (False,), "it was not to be turned over"
    bevelled = wanted.bevelled
    if bevelled is None:
        return (False, True), ""
    up = bevelled == "left"  # its right face lies up as drawn
    asked = {zone.face for zone in piece.kept if zone.face != "either"}
    wants = {up if face == "front" else not up for face in asked}
    if piece.faces == "front":
        wants.add(up)
    if len(wants) > 1:
        return (), "a blade ground on one face cannot show two faces of the piece"
    if wants:
        return tuple(wants), "a blade ground on one face shows that face"
    if piece.faces == "alike":
        return (False, True), ""
    return (False,), 'a blade ground on one face is turned over only where the stock file says faces = "alike"'


def allowed_of(wanted: Wanted, piece: Piece, wish: Wish) -> tuple[Allowed, str]:
    """Return how a knife may lie on a piece, and why not on both sides.

    Raises:
        RequestError: An angle to the grain is asked for, and the stock file does not say how it runs.
    """
    flips, why = sides(wanted, piece, wish)
    limit = wish.grain_deg
    if limit is None and wanted.knife.start.wooden and piece.grain_deg is not None:
        limit = WOOD_GRAIN_DEG
    if limit is None:
        return Allowed(flips), why
    if piece.grain_deg is None:
        raise RequestError(
            f"--grain: the stock file does not say how the grain of '{piece.name}' runs. Give it grain = \"0 deg\", "
            "the angle from its length."
        )
    ranges = tuple((piece.grain_deg + end, limit) for end in (0.0, 180.0))
    return Allowed(flips, dict.fromkeys((False, True), ranges)), why


def place_on(
    wanted: Wanted, piece: Piece, wish: Wish, effort: Effort | None = None, first: Sequence[Pose] = ()
) -> Placed:
    """Return the best way a knife was found to lie on a piece.

    Args:
        wanted: The knife.
        piece: The piece.
        wish: What is asked beside.
        effort: How hard is looked.
        first: Placings to begin with.

    Raises:
        RequestError: As allowed_of.
    """
    allowed, why = allowed_of(wanted, piece, wish)
    if not allowed.flips:
        pose = Pose(0.0, 0.0, 0.0, flipped=False)
        return Placed(wanted, piece, pose, judged(wanted, piece, pose), why, sideless=True)
    search = Search(plate_of(piece, wanted), wanted)
    looked = look(search, allowed, effort, first)
    pose, verdict = best_of(wanted, piece, looked)
    found = Placed(wanted, piece, pose, verdict, why)
    if found.fits:
        return found
    return _kept_otherwise(search, allowed, looked, why) or through_holes(search, allowed, why) or found


def placed_if_fits(wanted: Wanted, piece: Piece, wish: Wish) -> Placed | None:
    """Return the same as place_on where that fits; None, and sooner, where it does not.

    Raises:
        RequestError: As allowed_of.
    """
    allowed, why = allowed_of(wanted, piece, wish)
    if not allowed.flips or never_fits(wanted, piece):
        return None
    search = Search(plate_of(piece, wanted), wanted)
    found = look(search, allowed, only_fits=True)
    pose, verdict = best_of(wanted, piece, found) if found else (None, None)
    if pose is not None and verdict is not None and verdict.fits:
        return Placed(wanted, piece, pose, verdict, why)
    return _kept_otherwise(search, allowed, found, why) or through_holes(search, allowed, why)


def _kept_otherwise(search: Search, allowed: Allowed, looked: Sequence[Found], why: str) -> Placed | None:
    """Return a placing that fits when more or less of a zone to keep is sought than at first; None where none does.

    The search looks at a zone in places, and its share is that of an area: what is sought beyond what is asked for may
    be more than there is room for, or less than it takes.

    Args:
        search: Knife and piece.
        allowed: How it may lie.
        looked: What was found, the best first.
        why: Why not on both sides.
    """
    wanted, piece = search.wanted, search.plate.piece
    if not piece.kept or not looked or looked[0].slack_mm < -_KEPT_LACK_MM:
        return None
    for more in _KEPT_OTHERWISE:
        again = Search(search.plate, wanted, more=more)
        found = [settled(again, one.pose, allowed) for one in looked[:_KEPT_TRIED]]
        pose, verdict = best_of(wanted, piece, sorted(found, key=lambda one: -one.slack_mm))
        if verdict.fits:
            return Placed(wanted, piece, pose, verdict, why)
    return None


def through_holes(search: Search, allowed: Allowed, why: str, but: Sequence[MadeHole] = ()) -> Placed | None:
    """Return the first placing that fits with a hole of the piece as one of the knife's; None where none does.

    Args:
        search: Knife and piece.
        allowed: How it may lie.
        why: Why not on both sides.
        but: Holes that were tried already.
    """
    wanted, piece = search.wanted, search.plate.piece
    for pose in poses_through_holes(search, allowed, but):
        told = judged(wanted, piece, pose.rounded())
        if told.fits:
            return Placed(wanted, piece, pose.rounded(), told, why)
    return None


def best_of(wanted: Wanted, piece: Piece, found: Sequence[Found]) -> tuple[Pose, Verdict]:
    """Return the placing that fits with the most room; among those as good, the one that the wishes prefer."""
    near = [one for one in found if one.slack_mm >= found[0].slack_mm - ALIKE_MM]
    told = [(one.pose.rounded(), judged(wanted, piece, one.pose.rounded())) for one in near]
    most = max((verdict.spare_mm for _, verdict in told if verdict.fits), default=None)
    if most is None:
        return told[0]
    good = [(pose, verdict) for pose, verdict in told if verdict.fits and verdict.spare_mm >= most - ALIKE_MM]
    return min(good, key=lambda one: (*_wishes(wanted, piece, one[0]), -one[1].spare_mm))


def _wishes(wanted: Wanted, piece: Piece, pose: Pose) -> tuple[float, ...]:
    """Return what the wishes say against a placing: angle to the grain, what is lost of zones to keep, a slant."""
    grain = 0.0 if piece.grain_deg is None else angle_between(pose.turn_deg, piece.grain_deg)
    kept = sum(-limit.least_mm for limit in judged(wanted, piece, pose).limits if limit.kind == "keep")
    slant = min(angle_between(pose.turn_deg, direction) for direction in _straights(piece))
    return round(grain), round(kept, 2), round(slant, 1), float(pose.flipped), abs(pose.turn_deg) > 90


def _straights(piece: Piece) -> list[float]:
    """Return the directions of the piece's long straight sides [degrees]; what is left beside them is straight."""
    long = (piece.outline.bulges == 0) & (piece.outline.chord_lengths > 0.3 * max(piece.outline.size_mm))
    d = (piece.outline.ends - piece.outline.starts)[long]
    return np.degrees(np.arctan2(d[:, 1], d[:, 0])).tolist() or [0.0]


def _where_thin(placed: Placed, wish: Wish, effort: Effort | None) -> Placed:
    """Return a placing that is short of thickness alone, where there is one: else a knife seems to reach over the edge.

    Args:
        placed: The best placing; one that fits stays.
        wish: What is asked beside.
        effort: How hard is looked.
    """
    wanted, piece = placed.wanted, placed.piece
    points = wanted.cut.sampled(1.0)[0]
    most_mm = float(wanted.thickness_mm(points[:, 0]).max())
    allowed, _ = allowed_of(wanted, piece, wish)
    if placed.fits or not allowed.flips or piece.least_thickness_mm >= most_mm:
        return placed
    thick = replace(piece, thickness=((0.0, THICKEST_MM),))
    poses = [one.pose.rounded() for one in look(Search(plate_of(thick, wanted), wanted), allowed, effort)]
    told = [(pose, judged(wanted, piece, pose)) for pose in poses]
    thin = [(pose, verdict) for pose, verdict in told if {one.kind for one in verdict.lacking} <= {"thickness"}]
    if not thin:
        return placed
    pose, verdict = max(thin, key=lambda one: (one[1].fits, *(limit.spare for limit in one[1].lacking)))
    return replace(placed, pose=pose, verdict=verdict)


def place(wanted: Wanted, pieces: Sequence[Piece], wish: Wish, effort: Effort | None = None) -> list[Placed]:
    """Return a knife placed on each of some pieces: the smallest that holds it first, else the one that nearly does.

    Args:
        wanted: The knife.
        pieces: The pieces.
        wish: What is asked beside.
        effort: How hard is looked.

    Raises:
        RequestError: As allowed_of.
    """
    found = [_where_thin(place_on(wanted, piece, wish, effort), wish, effort) for piece in pieces]
    return sorted(
        found, key=lambda one: (not one.fits, one.sideless, one.piece.outline.area_mm2 if one.fits else one.short_mm)
    )
