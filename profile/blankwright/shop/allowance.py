"""How much larger than the finished knife a blank is cut, region by region, and why.

The allowance of a region is the sum of what the cut may take from it and what the maker takes off
afterwards: half the limit deviation, the lean of the cut face, the burnt layer and the clean-up by hand.
Half the deviation, because it is stated on a size and a size has two sides: a blank that is 0.8 mm short
lacks 0.4 mm on each. Kerf is no part of it; the shop takes care of the kerf.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache

from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.fixed import FixedTable
from blankwright.base.frozen import dataclass
from blankwright.base.said import STATUSES, Status
from blankwright.shop import iso9013
from blankwright.shop.records import KINDS, REGIONS, Process
from blankwright.shop.tables import process, processes
from blankwright.shop.tolerance import Tolerance, size_tolerance

GIVEN: Status = "given by the design"
"""Name and standing of an allowance that the maker gives."""

STEP_MM = 0.05
"""Sums are rounded up to this: finer would claim more than any figure in the sum can bear."""

MAX_OVERRIDE_MM = 25.0
"""More than this on one side is a slip (an inch, or a full size instead of an allowance)."""

_ROUND_OFF_MM = 1e-9  # sums of a few decimal figures are off by 1e-15; a real figure has three decimals


@dataclass(frozen=True)
class Part:
    """One summand of an allowance.

    Args:
        name: What it is for.
        mm: Its size, per side [mm].
        source: Where it comes from.
        status: How far it can be trusted; GIVEN for the maker's own.
        regions: The regions it counts for.
    """

    name: str
    mm: float
    source: str
    status: Status
    regions: tuple[str, ...]

    def __post_init__(self) -> None:
        if not (math.isfinite(self.mm) and self.mm >= 0):
            raise RequestError(f"allowance '{self.name}' must be 0 mm or more, got {self.mm:g}.")
        if self.status not in STATUSES:
            raise RequestError(f"allowance '{self.name}': unknown status '{self.status}'.")
        if not self.name or not self.source or not self.regions or not set(self.regions) <= set(REGIONS):
            raise RequestError(f"allowance '{self.name}': needs a name, a source and regions out of {REGIONS}.")


@dataclass(frozen=True)
class Allowance:
    """The allowance of every region and what it is made of.

    Args:
        process: Name of the cutting process.
        regions_mm: Allowance of each of REGIONS, per side [mm]; the sum of the parts that name the region.
        loss_mm: What may already be missing from the cut edge before any finishing, per region [mm].
        parts: The summands.
        needed_mm: What the process itself asks for, per region [mm]; a figure of the design's own may be more or less.
    """

    process: str
    regions_mm: Mapping[str, float]
    loss_mm: Mapping[str, float]
    parts: tuple[Part, ...]
    needed_mm: Mapping[str, float]

    def __post_init__(self) -> None:
        for field in ("regions_mm", "loss_mm", "needed_mm"):  # one allowance is kept for many knives: nobody changes it
            object.__setattr__(self, field, FixedTable(getattr(self, field)))
        for table in (self.regions_mm, self.loss_mm, self.needed_mm):
            if tuple(table) != REGIONS:
                raise RequestError(f"an allowance needs each of: {', '.join(REGIONS)}.")
        for region, total_mm in self.regions_mm.items():
            parts_mm = sum(part.mm for part in self.parts if region in part.regions)
            if abs(parts_mm - total_mm) > _ROUND_OFF_MM:
                raise RequestError(f"the parts of the {region} allowance do not add up to {total_mm:g} mm.")


def allowance(
    process_name: str,
    *,
    thickness_mm: float,
    size_mm: float,
    material_kind: str,
    overrides: Mapping[str, float],
    notch_after_hardening: bool = False,
    heated: bool = True,
) -> Allowance:
    """Return the allowance for a blank.

    Args:
        process_name: A cutting process of the table.
        thickness_mm: Thickness of the stock [mm].
        size_mm: Largest size of the blank, on which the limit deviation is looked up [mm].
        material_kind: "steel", "stainless" or "wood".
        overrides: Allowances given by the design, by region [mm]; each replaces that region's sum. A
            figure below the region's loss_mm is accepted here: the proof of the cut file judges it.
        notch_after_hardening: Whether the heel notch is finished only after hardening: it then gets the clean-up of
            the edge, which is ground through the skin; before hardening a hollow corner gets little.
        heated: Whether the blade is hardened; what the clean-up is for is said otherwise of wood and soft steel.

    Raises:
        RequestError: Unknown process, kind or region, stock the process does not cut (the message names
            those that would), a size outside the tables, or an override that is no length of 0 to 25 mm.

    >>> allowance("water-jet", thickness_mm=3, size_mm=330, material_kind="steel", overrides={}).regions_mm["spine"]
    0.65
    """
    chosen = process(process_name)
    _check_stock(chosen, thickness_mm, material_kind)
    _check_overrides(overrides)
    if not (math.isfinite(size_mm) and size_mm > 0):
        raise RequestError(f"the size of the blank must be above 0 mm, got {size_mm:g}.")
    off = size_tolerance(chosen, thickness_mm=thickness_mm, size_mm=size_mm)
    given = tuple((region, float(value)) for region, value in overrides.items())
    return _summed(chosen, thickness_mm, off, material_kind, given, notch_after_hardening, heated)


@lru_cache(maxsize=256)
def _summed(
    chosen: Process,
    thickness_mm: float,
    off: Tolerance,
    material_kind: str,
    given: tuple[tuple[str, float], ...],
    notch_after_hardening: bool,
    heated: bool,
) -> Allowance:
    """Return the allowance of a blank whose request was checked; kept, for a table's step holds for many sizes."""
    overrides = dict(given)
    losses = _losses(chosen, thickness_mm, off, material_kind)
    loss_mm = sum(part.mm for part in losses)

    summed = tuple(region for region in REGIONS if region not in overrides)
    parts = [Part(p.name, p.mm, p.source, p.status, summed) for p in losses if summed]
    parts += _clean_up(chosen, summed, notch_after_hardening, heated)
    parts += [
        Part(GIVEN, overrides[region], f"the design's allowance for the {region}", GIVEN, (region,))
        for region in REGIONS
        if region in overrides
    ]
    parts += _rounding(parts, summed)
    parts += _edge_no_less_than_spine(parts, summed)
    totals_mm = {region: round(_sum_mm(parts, region), 9) for region in REGIONS}
    needed_mm: Mapping[str, float] = totals_mm
    if overrides:
        needed_mm = _summed(chosen, thickness_mm, off, material_kind, (), notch_after_hardening, heated).regions_mm
    return Allowance(chosen.name, totals_mm, dict.fromkeys(REGIONS, loss_mm), tuple(parts), needed_mm)


def _sum_mm(parts: list[Part], region: str) -> float:
    return sum(part.mm for part in parts if region in part.regions)


def _losses(chosen: Process, thickness_mm: float, off: Tolerance, material_kind: str) -> list[Part]:
    """Return what the cut itself may take from an edge."""
    parts = [_half_deviation(off), _squareness(chosen, thickness_mm)]
    burnt = chosen.burnt_layer_for(material_kind)
    if burnt.value > 0:
        parts.append(Part("burnt layer", burnt.value, burnt.source, burnt.status, REGIONS))
    return parts


def _half_deviation(off: Tolerance) -> Part:
    source = f"half of ±{off.plus_minus_mm:g} mm on a size; {off.source}"
    return Part("half the limit deviation", off.plus_minus_mm / 2, source, off.status, REGIONS)


def _squareness(chosen: Process, thickness_mm: float) -> Part:
    name = "lean of the cut face"
    if chosen.squareness_range is not None:
        lean_mm = iso9013.squareness_mm(chosen.squareness_range, thickness_mm)
        source = f"u at {thickness_mm:g} mm, {iso9013.SOURCE}, range {chosen.squareness_range}"
        return Part(name, lean_mm, source, "computed", REGIONS)
    figure = chosen.squareness_mm
    assert figure is not None  # Process holds exactly one of the two
    return Part(name, figure.value, figure.source, figure.status, REGIONS)


_BY_HAND = "left to clean up by hand after the cut"


def _clean_up(chosen: Process, regions: tuple[str, ...], notch_after_hardening: bool, heated: bool) -> list[Part]:
    """Return the clean-up by hand; regions with the same figure share a part."""
    groups: dict[tuple[float, str, Status], list[str]] = {}
    for region in regions:
        figure = chosen.clean_up_mm["edge" if region == "heel" and notch_after_hardening else region]
        groups.setdefault((figure.value, figure.source if heated else _BY_HAND, figure.status), []).append(region)
    return [
        Part("clean-up by hand", mm, source, status, tuple(group)) for (mm, source, status), group in groups.items()
    ]


def _rounding(parts: list[Part], regions: tuple[str, ...]) -> list[Part]:
    """Return what rounding each sum up to STEP_MM adds; regions with the same figure share a part."""
    groups: dict[float, list[str]] = {}
    for region in regions:
        sum_mm = _sum_mm(parts, region)
        up_mm = math.ceil(sum_mm / STEP_MM - _ROUND_OFF_MM) * STEP_MM
        extra_mm = round(up_mm - sum_mm, 9)
        if extra_mm > 0:
            groups.setdefault(extra_mm, []).append(region)
    source = f"sums are rounded up to {STEP_MM:g} mm"
    return [Part("rounding up", mm, source, "computed", tuple(group)) for mm, group in groups.items()]


def _edge_no_less_than_spine(parts: list[Part], summed: tuple[str, ...]) -> list[Part]:
    """Return what lifts the edge to the spine's allowance, unless the design gives the edge its own."""
    lift_mm = round(_sum_mm(parts, "spine") - _sum_mm(parts, "edge"), 9)
    if "edge" not in summed or lift_mm <= 0:
        return []
    source = "a cutting edge gets no less than the spine"
    return [Part("edge as much as the spine", lift_mm, source, "common practice", ("edge",))]


def _check_overrides(overrides: Mapping[str, float]) -> None:
    for region, value in overrides.items():
        if region not in REGIONS:
            raise unknown("region", str(region), REGIONS, "[allowance]")
        number = isinstance(value, (int, float)) and not isinstance(value, bool)
        if not number or not (0 <= value <= MAX_OVERRIDE_MM):  # nan fails the comparison as well
            raise RequestError(
                f"[allowance] {region}: must be 0 to {MAX_OVERRIDE_MM:g} mm per side, got {told(value)}."
            )


def _check_stock(chosen: Process, thickness_mm: float, material_kind: str) -> None:
    """Raise when the process does not cut this stock, and say which would."""
    if material_kind not in KINDS:
        raise unknown("material kind", str(material_kind), KINDS)
    if not (math.isfinite(thickness_mm) and thickness_mm > 0):
        raise RequestError(f"the thickness of the stock must be above 0 mm, got {thickness_mm:g}.")
    if _cuts(chosen, thickness_mm, material_kind):
        return
    if material_kind not in chosen.materials:
        reason = f"{chosen.name} cuts {_and(chosen.materials)}, not {material_kind}"
    else:
        low_mm, high_mm = _thickness_range_mm(chosen)
        reason = f"{chosen.name} has figures for {low_mm:g} to {high_mm:g} mm, not {thickness_mm:g} mm"
    others = [other.name for other in processes() if _cuts(other, thickness_mm, material_kind)]
    advice = f"These would do: {', '.join(others)}" if others else "No process in the table would do"
    raise RequestError(f"[cutting] process: {reason}. {advice} (for {material_kind}, {thickness_mm:g} mm).")


def _and(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _thickness_range_mm(entry: Process) -> tuple[float, float]:
    high_mm = entry.thickness_max_mm.value
    if entry.deviation_class is not None:
        high_mm = min(high_mm, iso9013.MAX_THICKNESS_MM)
    return entry.thickness_min_mm.value, high_mm


def _cuts(entry: Process, thickness_mm: float, material_kind: str) -> bool:
    low_mm, high_mm = _thickness_range_mm(entry)
    return material_kind in entry.materials and low_mm <= thickness_mm <= high_mm
