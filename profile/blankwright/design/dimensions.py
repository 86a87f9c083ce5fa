"""Names of the dimensions that shipped families offer, for whoever checks the types of a script before it runs."""

from __future__ import annotations

from typing import TypedDict


class Dimensions(TypedDict, total=False):
    """Dimensions by their names in scripts [mm]; a family of one's own may have others (`Family.dimensions`)."""

    blade_length_mm: float
    heel_height_mm: float
    tip_height_mm: float
    flat_length_mm: float
    spine_drop_mm: float
    belly_height_mm: float
    choil_radius_mm: float
    heel_lean_mm: float
    tip_radius_mm: float
    scallop_pitch_mm: float
    scallop_depth_mm: float
    handle_gap_mm: float
    handle_length_mm: float
    tang_front_mm: float
    tang_middle_mm: float
    tang_butt_mm: float
    tang_length_mm: float
    overall_length_mm: float
