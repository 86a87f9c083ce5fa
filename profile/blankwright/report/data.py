"""The report as data: what `S.json` holds and `--json` prints. Numbers are what was computed, null where nothing is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from blankwright.base.finding import Finding
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.geometry.outline import Outline
from blankwright.knife.cautions import cautions
from blankwright.knife.code import design_code, design_table, in_mm
from blankwright.knife.knife import LIFT_MM, Workpiece
from blankwright.knife.moves import Move
from blankwright.knife.weights import PINCH_AHEAD_MM, Weights, ground_of, weigh
from blankwright.proof.proof import Proof
from blankwright.shop.tables import process
from blankwright.solid.bodies import Body
from blankwright.solid.stations import Station, stations

_DIGITS = 9  # a picometre: what rounding of the last steps adds lies below, what was computed lies above


def document(
    work: Workpiece, proof: Proof | None, files: Sequence[str], delivery: Delivery | None = None
) -> dict[str, Any]:
    """Return the report of a workpiece.

    Args:
        work: The workpiece.
        proof: What was measured on the written file, or None when none was written.
        files: Names of the written files.
        delivery: What goes to the shop, or None for the plain file.
    """
    sent = delivery or deliver(work, None)
    findings = [*work.findings, *sent.findings, *(proof.findings if proof else ())]
    weights = weigh(work)
    finished, cut = work.finished, work.cut
    table: dict[str, Any] = _rounded(
        {
            "format": 1,
            "design_code": design_code(work.design),
            "design": _filled(work),
            "design_sources": dict(sorted(work.design.sources.items())),
            "dimensions_mm": _dimensions(work),
            "dimensions": [
                {
                    "key": s.dimension.key,
                    "name": s.dimension.name,
                    "value_mm": s.value_mm,
                    "asked_mm": s.asked_mm,
                    "how": "asked" if s.asked_mm is not None else "followed",
                    "meaning": s.dimension.meaning,
                }
                for s in work.shape.solved
            ],
            "outlines": {
                "finished": _outline(finished, finished.max_error_mm),
                "cut": _outline(cut, finished.max_error_mm + LIFT_MM),
                "path": _outline(sent.path.outline, finished.max_error_mm + LIFT_MM) if sent.path else None,
            },
            "holes": [
                {
                    "x_mm": h.hole.x_mm,
                    "y_mm": h.hole.y_mm,
                    "diameter_mm": h.hole.diameter_mm,
                    "cut_diameter_mm": h.made.cut_diameter_mm,
                    "purpose": h.hole.purpose,
                    "made_by": h.made.made_by,
                    "reason": h.made.reason,
                }
                for h in sent.holes
            ],
            "allowance": {
                "process": work.allowance.process,
                "regions_mm": dict(work.allowance.regions_mm),
                "loss_mm": dict(work.allowance.loss_mm),
                "parts": [
                    {
                        "for": p.name,
                        "mm": p.mm,
                        "source": p.source,
                        "status": p.status,
                        "regions": list(p.regions),
                    }
                    for p in work.allowance.parts
                ],
            },
            "clearance": {
                "least_mm": proof.least_mm if proof else None,
                "at_mm": list(proof.at_mm) if proof and proof.at_mm else None,
                "worst_case_part_mm": proof.worst_case_part_mm if proof else None,
            },
            "delivery": _delivery(sent),
            "material": _material(work),
            "mass_g": {
                "cut_blank": work.cut_blank.mass_g,
                "finished_blank": work.finished_blank.mass_g,
                "ground_blade": _mass(weights.ground_blade),
                "handle": _mass(weights.handle),
                "finished_knife": _mass(weights.finished_knife),
            },
            "centre_mm": {
                "finished_blank": list(work.finished_blank.centre_mm),
                "finished_knife": _centre(weights.finished_knife),
            },
            "stages": _stages(work, weights),
            "parts": [
                {
                    "name": p.name,
                    "volume_mm3": p.volume_mm3,
                    "density_kg_m3": p.density_kg_m3,
                    "mass_g": p.body.mass_g,
                    "centre_mm": list(p.body.centre_mm),
                }
                for p in weights.parts
            ],
            "balance_mm": weights.balance_mm,
            "pinch": {"x_mm": PINCH_AHEAD_MM, "moment_nmm": weights.pinch_nmm, "status": "common practice"},
            "bench": [_station(s) for s in bench(work)],
            "not_weighed": weights.why_not or None,
            "part_size_mm": {"finished": list(finished.size_mm), "cut": list(cut.size_mm)},
            "checks": [_finding(f) for f in findings],
            "cautions": cautions(work),
            "process_note": process(work.allowance.process).note,
            "files": list(files),
        }
    )
    return table


def dumps(table: dict[str, Any] | list[dict[str, Any]]) -> str:
    """Return a report, or several, as JSON text."""
    return json.dumps(table, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _filled(work: Workpiece) -> dict[str, Any]:
    """Return the design with every dimension filled in, those that followed as well."""
    table = design_table(work.design)
    for s in work.shape.solved:
        if s.asked_mm is None:
            group, key = s.dimension.key.split(".")
            table.setdefault(group, {})[key] = in_mm(round(s.value_mm, _DIGITS))
    return table


def _dimensions(work: Workpiece) -> dict[str, float]:
    values = dict(work.shape.values_mm)
    values["overall_length"] = work.shape.overall_length_mm
    values["part_length"], values["part_height"] = work.finished.size_mm
    return values


def _mass(body: Body | None) -> float | None:
    return body.mass_g if body is not None else None


def _centre(body: Body | None) -> list[float] | None:
    return list(body.centre_mm) if body is not None and body.mass_g > 0 else None


def _stages(work: Workpiece, weights: Weights) -> list[dict[str, Any]]:
    """Return the steel (or board) at every stage, with what the next one takes off."""
    flat = [
        ("blank, as cut", work.cut_blank.mass_g, [*work.cut_blank.centre_mm, 0.0]),
        ("blank, ground to the line", work.finished_blank.mass_g, [*work.finished_blank.centre_mm, 0.0]),
    ]
    ground = [
        (name, body.mass_g, list(body.centre_mm))
        for name, body in (
            ("ground, before hardening", weights.before_hardening),
            ("ground and sharpened", weights.ground_blade),
        )
        if body is not None
    ]
    rows: list[dict[str, Any]] = []
    for name, grams, centre in (*flat, *ground):
        taken = rows[-1]["mass_g"] - grams if rows else None
        rows.append({"name": name, "mass_g": grams, "centre_mm": centre, "taken_off_g": taken})
    return rows


def bench(work: Workpiece) -> Sequence[Station]:
    """Return what the grinder sets and measures along the blade."""
    ground = ground_of(work)
    stock, length = work.design.number("material.thickness"), work.shape.values_mm["blade_length"]
    return stations(work.finished, ground.taper, ground.bevels, ground.before, stock, length)


def moves_table(moves: Sequence[Move]) -> list[dict[str, Any]]:
    """Return what moves weight and balance, for the report of a weighing."""
    return [
        {"change": m.change, "mass_g": m.grams, "balance_mm": m.balance_mm, "why_not": m.why_not or None} for m in moves
    ]


def _station(s: Station) -> dict[str, Any]:
    return {
        "at": s.name, "x_mm": s.x_mm, "height_mm": s.height_mm, "spine_mm": s.spine_mm,
        "grind_height_mm": s.grind_height_mm, "bevel_deg": list(s.bevel_deg),
        "platen_deg": list(s.platen_deg) if s.platen_deg else None,
        "scribe_mm": list(s.scribe_mm) if s.scribe_mm else None,
        "raise_mm": list(s.raise_mm), "gap_mm": list(s.gap_mm),
    }  # fmt: skip


def _outline(outline: Outline, error_mm: float) -> dict[str, Any]:
    return {
        "vertices": outline.vertices.tolist(),
        "regions": list(outline.regions),
        "area_mm2": outline.area_mm2,
        "perimeter_mm": outline.perimeter_mm,
        "max_error_mm": error_mm,
    }


def _delivery(sent: Delivery) -> dict[str, Any]:
    """Return how the file is written, and the path's figures on one's own table."""
    path, table = sent.path, sent.service.table if sent.service else None
    return {
        "service": sent.service.name if sent.service else None,
        "release": sent.style.release,
        "unit": sent.style.unit,
        "marks": sent.style.marks,
        "quantity": sent.quantity,
        "path": {
            "kerf_mm": path.kerf_mm,
            "cuts": len(path.passes),
            "cut_mm": path.cut_mm,
            "time_s": path.time_s(table, path.bounds_mm[:2]),
            "tabs_mm": [list(t) for t in path.tabs_mm],
        }
        if path and table
        else None,
    }


def _material(work: Workpiece) -> dict[str, Any]:
    density = work.material.density_kg_m3
    return {
        "name": work.material.name,
        "title": work.material.title,
        "kind": work.material.kind,
        "density_kg_m3": {"value": density.value, "source": density.source, "status": density.status},
    }


def _finding(f: Finding) -> dict[str, Any]:
    return {
        "code": f.code,
        "level": f.level,
        "message": f.message,
        "at_mm": list(f.at_mm) if f.at_mm else None,
    }


def _rounded(value: Any) -> Any:
    """Round every number to _DIGITS; vertices keep more, so that the file and the report agree."""
    if isinstance(value, float):
        return round(value, _DIGITS) + 0.0
    if isinstance(value, dict):
        return {k: v if k == "vertices" else _rounded(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(v) for v in value]
    return value
