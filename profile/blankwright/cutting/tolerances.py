"""How far off may the part be: what its shop says of itself, else what the table of its way of cutting says."""

from __future__ import annotations

from blankwright.base.errors import RequestError
from blankwright.base.finding import Finding, finding
from blankwright.base.said import exact_mm, mm, said
from blankwright.knife.knife import Knife
from blankwright.shop.services import Limit
from blankwright.shop.tables import process
from blankwright.shop.tolerance import Tolerance, hole_tolerance, size_tolerance

_ROUND_OFF_MM = 1e-9


def part_tolerance(knife: Knife) -> Tolerance | None:
    """Return how far off the size of a knife's blank may be, None where nothing is known."""
    limit = _limit(knife)
    return _own(limit.part_tolerance_mm if limit else None, knife) or _tabled(knife)


def cut_hole_tolerance(knife: Knife, diameter_mm: float) -> Tolerance | None:
    """Return how far off the diameter of a hole that is cut may be, None where nothing is known.

    Args:
        knife: The knife.
        diameter_mm: Diameter as cut [mm].
    """
    limit = _limit(knife)
    way = process(knife.oversize.process)
    return _own(limit.hole_tolerance_mm if limit else None, knife) or hole_tolerance(
        way, thickness_mm=knife.stock_mm, diameter_mm=diameter_mm
    )


def tolerance_findings(knife: Knife) -> list[Finding]:
    """Say where a shop holds less than the allowance counts with: half of that may be missing on each side."""
    service, limit, tabled = knife.service, _limit(knife), _tabled(knife)
    if service is None or limit is None or limit.part_tolerance_mm is None or tabled is None:
        return []
    more = (limit.part_tolerance_mm - tabled.plus_minus_mm) / 2
    if more <= _ROUND_OFF_MM:
        return []
    own, lost = knife.oversize.regions_mm, knife.oversize.loss_mm
    region = min(own, key=lambda name: own[name] - lost[name])
    left = own[region] - lost[region] - more
    words = (
        "{} holds no closer than {} on a size, the allowance counts with {}: at the {} {} {} in the worst case. "
        "Give a larger [allowance]."
    )
    rest = (mm(left), "is left to clean up") if left >= 0 else (mm(-left), "is missing")
    text = said(words, service.title, exact_mm(limit.part_tolerance_mm), exact_mm(tabled.plus_minus_mm), region, *rest)
    return [finding("SERVICE-TOLERANCE", text, level="warning" if left >= 0 else "error")]


def _limit(knife: Knife) -> Limit | None:
    return knife.service.limit_for(knife.stock_mm) if knife.service else None


def _own(value_mm: float | None, knife: Knife) -> Tolerance | None:
    """Return what a shop says of itself."""
    if value_mm is None or knife.service is None:
        return None
    return Tolerance(value_mm, f"the service file of {knife.service.title}", "asked")


def _tabled(knife: Knife) -> Tolerance | None:
    way = process(knife.oversize.process)
    try:
        return size_tolerance(way, thickness_mm=knife.stock_mm, size_mm=max(knife.finished.size_mm))
    except RequestError:
        return None  # the tables end before this thickness or size
