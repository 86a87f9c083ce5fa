"""How a design's steel is ground: its taper, its bevels before and after hardening, where the grind begins."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.design.request import Design
from blankwright.design.settings import GrindWish
from blankwright.geometry.outline import Outline
from blankwright.solid.blade import Plunge, Taper
from blankwright.solid.section import BLUNT_DEG, Bevels
from blankwright.solid.taper import taper_of

_SHARES = {"double": 0.5, "single": 1.0}


@dataclass(frozen=True, eq=False)
class Ground:
    """How the steel of a knife is ground.

    Args:
        taper: Thickness along x.
        bevels: The finished grind.
        before: The grind before hardening, or None for a knife that is not hardened.
        plunge: Where the grind begins; None for ground through to the heel.
    """

    taper: Taper
    bevels: Bevels
    before: Bevels | None
    plunge: Plunge | None


def ground_by(design: Design, finished: Outline, front_x_mm: float, *, hardened: bool) -> Ground:
    """Return how a design's steel is ground.

    Args:
        design: The request.
        finished: The finished outline.
        front_x_mm: x of the handle's front [mm].
        hardened: Whether the blade has still to be hardened, as new steel has and wood has not.

    Raises:
        RequestError: A setting is missing or contradicts another one.
    """
    taper = taper_of(
        design,
        front_x_mm=front_x_mm,
        end_x_mm=finished.bounds_mm[2],
        rear_x_mm=finished.bounds_mm[0],
    )
    bevels = bevels_of(design)
    wish = design.grind
    thick = wish.edge_before_hardening_mm if hardened else None
    before = bevels.unsharpened(max(thick, bevels.behind_edge_mm)) if thick is not None else None
    begins = wish.ricasso_mm or wish.plunge_radius_mm
    plunge = Plunge(wish.ricasso_mm, wish.plunge_radius_mm) if begins else None
    end = finished.bounds_mm[2]
    if plunge is not None and plunge.at_mm + plunge.radius_mm > end / 2:
        raise RequestError(
            f"[grind] ricasso, plunge_radius: {plunge.at_mm:g} and {plunge.radius_mm:g} mm leave less than half of a "
            f"blade of {end:.0f} mm to grind. Use smaller ones."
        )
    return Ground(taper, bevels, before, plunge)


def bevels_of(design: Design) -> Bevels:
    """Return the finished grind of a design.

    Raises:
        RequestError: A hollow grind without its wheel, an uneven one without its share, or shares that contradict.
    """
    wish, blunt = design.grind, design.grind.edge == "blunt"
    if wish.edge_angle_deg is None and not blunt:
        raise RequestError("[grind] edge_angle is missing: a sharp edge needs the angle on each side, such as 15 deg.")
    if wish.kind == "hollow" and wish.wheel_mm is None:
        raise RequestError("[grind] wheel is missing: a hollow grind needs its wheel's diameter, such as 400 mm.")
    if wish.edge_angle_left_deg is not None and wish.bevel == "single":
        raise RequestError("[grind] edge_angle_left: a single bevel has one edge angle; leave it out.")
    bevels = Bevels(
        kind=wish.kind,
        height_mm=None if isinstance(wish.height_mm, str) else wish.height_mm,
        behind_edge_mm=wish.behind_edge_mm,
        edge_angle_deg=BLUNT_DEG if blunt or wish.edge_angle_deg is None else wish.edge_angle_deg,
        wheel_mm=wish.wheel_mm if wish.kind == "hollow" else None,
        right_share=_right_share(wish),
        edge_angle_left_deg=None if blunt else wish.edge_angle_left_deg,
        blunt=blunt,
    )
    if bevels.height_mm is not None and bevels.height_mm <= bevels.edge_bevel_mm:
        raise RequestError(
            f"[grind] height: {bevels.height_mm:g} mm lies inside the edge bevel, which alone is "
            f"{bevels.edge_bevel_mm:.2f} mm high. Grind higher, thinner behind the edge or at a steeper edge angle."
        )
    return bevels


def _right_share(wish: GrindWish) -> float:
    bevel, share = wish.bevel, wish.right_share_percent
    if share is None:
        if bevel == "uneven":
            raise RequestError(
                "[grind] right_share is missing: an uneven bevel needs the share of the thickness that lies right of "
                "its edge, such as 70 %."
            )
        return _SHARES[bevel]
    fits = 1 <= share <= 99 if bevel == "uneven" else share in {"double": (50.0,), "single": (0.0, 100.0)}[bevel]
    if not fits:
        words = {"double": "50 %", "single": "0 % or 100 %", "uneven": "1 % to 99 %"}[bevel]
        article = "an" if bevel == "uneven" else "a"
        raise RequestError(
            f"[grind] right_share: {share:g} % does not go with {article} {bevel} bevel. Allowed: {words}."
        )
    return share / 100
