"""The report as data: what `S.json` holds and `--json` prints. Numbers are what was computed, null where nothing is."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any

from blankwright.base.finding import Figure, Finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line
from blankwright.cutting.covernote import to_maker
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.order import SentFile
from blankwright.design.parts import REGIONS
from blankwright.design.shape import Solved
from blankwright.geometry.outline import Outline
from blankwright.knife.blank import LIFT_MM
from blankwright.knife.code import design_table, in_mm
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife
from blankwright.knife.unused import unused
from blankwright.knife.weights import PINCH_AHEAD_MM, KnifePart
from blankwright.knife.words import stage_names
from blankwright.proof.proof import Proof
from blankwright.report.shop import shop_table
from blankwright.solid.bodies import Body
from blankwright.solid.stations import BenchStation

if TYPE_CHECKING:
    from blankwright.knife.moves import Move

_DIGITS = 9  # a picometre: what rounding of the last steps adds lies below, what was computed lies above


@dataclass(frozen=True, eq=False)
class Report:
    """A knife and what was written of it, to be shown to a reader.

    Args:
        knife: The knife.
        proof: What was measured on the cutting file, or None when none was written.
        delivery: What goes to the shop; None when there is no cutting file.
        files: Names of the written files.
        folder: Where they are, in words.
        beside: What else there is to tell, such as a paper that could not be written.
        file: The cutting file, read back; None when there is none.
        cut_parts: What is cut beside the blade, as data.
        marks: What is marked on the blank.
    """

    knife: Knife
    proof: Proof | None = None
    delivery: Delivery | None = None
    files: tuple[str, ...] = ()
    folder: str = ""
    beside: tuple[Finding, ...] = ()
    file: SentFile | None = None
    cut_parts: tuple[dict[str, Any], ...] = ()
    marks: tuple[Line, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything that was looked at: the design, what its shop can make, the written file."""
        asked = self.delivery.findings if self.delivery else ()
        return (*self.knife.findings, *asked, *(self.proof.findings if self.proof else ()), *self.beside)

    @cached_property
    def data(self) -> dict[str, Any]:
        """The report as data."""
        table = document(self.knife, self.proof, self.files, self.delivery, self.beside, self.file)
        more = {"cut_parts": list(self.cut_parts), "marks": [line.text() for line in self.marks]}
        return table | {key: value for key, value in more.items() if value}


def document(
    knife: Knife,
    proof: Proof | None,
    files: Sequence[str],
    delivery: Delivery | None = None,
    beside: Sequence[Finding] = (),
    file: SentFile | None = None,
) -> dict[str, Any]:
    """Return the report of a knife.

    Args:
        knife: The knife.
        proof: What was measured on the written file, or None when none was written.
        files: Names of the written files.
        delivery: What goes to the shop; None for the plain file, or for a blank that is bought.
        beside: What else there is to tell, such as a paper that could not be written.
        file: The cutting file, read back; None when there is none.
    """
    weights, cut = knife.weights, knife.cut
    delivery = delivery or (None if knife.start.bought else deliver(knife))
    table: dict[str, Any] = _rounded(
        {
            "format": 1,
            "design_code": knife.code,
            "design": _filled(knife),
            "design_sources": _sources(knife),
            "start": {"name": knife.start.name, "words": knife.start.words, "bought": knife.start.bought},
            "dimensions_mm": _dimensions(knife),
            "dimensions": [_solved(s) for s in knife.shape.solved],
            "outlines": _outlines(knife, delivery),
            "holes": [_hole(h) for h in knife.holes],
            "allowance": _allowance(knife),
            "clearance": {
                "least_mm": proof.least_mm if proof else None,
                "at_mm": list(proof.at_mm) if proof and proof.at_mm else None,
                "worst_case_part_mm": proof.worst_case_part_mm if proof else None,
            },
            "delivery": _delivery(delivery) if delivery else None,
            "shop": shop_table(delivery, file) if delivery else None,
            "material": _material(knife),
            "mass_g": masses_g(knife),
            "centre_mm": {
                "finished_blank": list(knife.finished_blank.centre_mm),
                "finished_knife": _centre(weights.finished_knife),
            },
            "stages": [_stage(s) for s in stages_of(knife)],
            "parts": [_part(p) for p in weights.parts],
            "balance_mm": weights.balance_mm,
            "pinch": {"x_mm": PINCH_AHEAD_MM, "moment_nmm": weights.pinch_nmm, "status": "common practice"},
            "bench": [_station(s) for s in knife.stations],
            "not_weighed": weights.why_not or None,
            "part_size_mm": {"finished": list(knife.finished.size_mm), "cut": list(cut.size_mm)},
            "checks": [_finding(f) for f in Report(knife, proof, delivery, beside=tuple(beside)).findings],
            "figures": [_figure(f) for f in knife.figures],
            "cautions": knife.cautions,
            "to_maker": [line.text() for line in to_maker(delivery)] if delivery else [],
            "process_note": knife.process.note if knife.process else None,
            "files": list(files),
        }
    )
    return table


def _solved(s: Solved) -> dict[str, Any]:
    return {
        "key": s.dimension.key,
        "name": s.dimension.name,
        "value_mm": s.value_mm,
        "asked_mm": s.asked_mm,
        "how": "asked" if s.asked_mm is not None else "measured" if s.dimension.measured else "followed",
        "meaning": s.dimension.meaning,
    }


def _outlines(knife: Knife, sent: Delivery | None) -> dict[str, Any]:
    """Return the outlines; a bought blank's is the finished one, as it comes."""
    error = knife.finished.max_error_mm
    further = error + (0.0 if knife.start.bought else LIFT_MM)
    path = sent.path if sent else None
    return {
        "finished": _outline(knife.finished, error),
        "cut": _outline(knife.cut, further),
        "path": _outline(path.outline, further) if path else None,
    }


def _hole(h: MadeHole) -> dict[str, Any]:
    return {
        "x_mm": h.hole.x_mm,
        "y_mm": h.hole.y_mm,
        "diameter_mm": h.hole.diameter_mm,
        "cut_diameter_mm": h.made.cut_diameter_mm,
        "purpose": h.hole.purpose,
        "made_by": h.made.made_by,
        "words": h.words,
        "reason": h.made.reason,
    }


def _allowance(knife: Knife) -> dict[str, Any]:
    """Return the oversize; nothing at all on a bought blank."""
    oversize = knife.allowance
    if oversize is None:
        none = dict.fromkeys(REGIONS, 0.0)
        return {"process": None, "regions_mm": none, "loss_mm": none, "parts": []}
    parts = [
        {"for": p.name, "mm": p.mm, "source": p.source, "status": p.status, "regions": list(p.regions)}
        for p in oversize.parts
    ]
    return {
        "process": oversize.process,
        "regions_mm": dict(oversize.regions_mm),
        "loss_mm": dict(oversize.loss_mm),
        "parts": parts,
    }


def _part(p: KnifePart) -> dict[str, Any]:
    return {
        "name": p.name,
        "volume_mm3": p.volume_mm3,
        "density_kg_m3": p.density_kg_m3,
        "mass_g": p.body.mass_g,
        "centre_mm": list(p.body.centre_mm),
    }


def dumps(table: dict[str, Any] | list[dict[str, Any]]) -> str:
    """Return a report, or several, as JSON text."""
    return json.dumps(table, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _sources(knife: Knife) -> dict[str, str]:
    """Return where the settings come from, without those that do nothing."""
    gone = unused(knife)
    return {key: source for key, source in sorted(knife.design.sources.items()) if key not in gone}


def _filled(knife: Knife) -> dict[str, Any]:
    """Return the design with every dimension filled in, those that followed as well; null is what does nothing."""
    table = design_table(knife.design)
    table["material"]["grade"] = knife.material.name
    for dotted in unused(knife):
        group, key = dotted.split(".")
        table[group][key] = None
    for s in knife.shape.solved:
        if s.asked_mm is None:
            group, key = s.dimension.key.split(".")
            table.setdefault(group, {})[key] = in_mm(round(s.value_mm, _DIGITS))
    return table


def _dimensions(knife: Knife) -> dict[str, float]:
    values = dict(knife.shape.values_mm)
    values["overall_length"] = knife.shape.overall_length_mm
    values["part_length"], values["part_height"] = knife.finished.size_mm
    return values


def masses_g(knife: Knife) -> dict[str, float | None]:
    """Return the weight at every stage [g]; None where nothing computes it."""
    weights = knife.weights
    bodies = {"ground_blade": weights.ground_blade, "handle": weights.handle, "finished_knife": weights.finished_knife}
    return {
        "cut_blank": knife.cut_blank.mass_g,
        "finished_blank": knife.finished_blank.mass_g,
        **{name: body.mass_g if body is not None else None for name, body in bodies.items()},
    }


def _centre(body: Body | None) -> list[float] | None:
    return list(body.centre_mm) if body is not None and body.mass_g > 0 else None


@dataclass(frozen=True)
class Stage:
    """The steel, or the board, at one stage of the work.

    Args:
        name: The stage in words.
        mass_g: Its weight [g].
        centre_mm: Its centre of mass [mm].
        taken_off_g: What the work took off since the stage before [g]; None for the first.
    """

    name: str
    mass_g: float
    centre_mm: tuple[float, ...]
    taken_off_g: float | None


def stages_of(knife: Knife) -> list[Stage]:
    """Return the steel (or board) at every stage, with what each took off."""
    weights, names = knife.weights, stage_names(knife)
    flat = [(f"blank, {knife.start.blank_words}", knife.cut_blank), (names.line, knife.finished_blank)]
    seen = 0 if knife.start.ground else 1 if knife.start.bought else 2
    rows = [(name, blank.mass_g, (*blank.centre_mm, 0.0)) for name, blank in flat[:seen]]
    for name, body in (
        (names.before, weights.before_hardening),
        (names.ready, weights.ground_blade),
    ):
        rows += [(name, body.mass_g, body.centre_mm)] if body is not None else []
    before = [None, *(grams for _, grams, _ in rows)]
    return [
        Stage(name, grams, centre, None if was is None else was - grams)
        for (name, grams, centre), was in zip(rows, before, strict=False)
    ]


def _stage(stage: Stage) -> dict[str, Any]:
    return {
        "name": stage.name, "mass_g": stage.mass_g, "centre_mm": list(stage.centre_mm),
        "taken_off_g": stage.taken_off_g,
    }  # fmt: skip


def moves_table(moves: Sequence[Move]) -> list[dict[str, Any]]:
    """Return what moves weight and balance, for the report of a weighing."""
    return [
        {"change": m.change.text(), "mass_g": m.grams, "balance_mm": m.balance_mm, "why_not": m.why_not or None}
        for m in moves
    ]


def _station(s: BenchStation) -> dict[str, Any]:
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
            "cut_mm": path.run.cut_mm,
            "time_s": path.run.time_s(table),
            "tabs_mm": [list(t) for t in path.tabs_mm],
        }
        if path and table
        else None,
    }


def _material(knife: Knife) -> dict[str, Any]:
    density = knife.material.density_kg_m3
    return {
        "name": knife.material.name,
        "title": knife.material.title,
        "kind": knife.material.kind,
        "density_kg_m3": {"value": density.value, "source": density.source, "status": density.status},
    }


def _finding(f: Finding) -> dict[str, Any]:
    return {
        "code": f.code,
        "level": f.level,
        "message": f.message,
        "at_mm": list(f.at_mm) if f.at_mm else None,
    }


def _figure(f: Figure) -> dict[str, Any]:
    return {"code": f.code, "message": f.line.text(), "at_mm": list(f.at_mm) if f.at_mm else None}


def _rounded(value: Any) -> Any:
    """Round every number to _DIGITS; vertices keep more, so that the file and the report agree."""
    if isinstance(value, float):
        return round(value, _DIGITS) + 0.0
    if isinstance(value, dict):
        return {k: v if k == "vertices" else _rounded(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_rounded(v) for v in value]
    return value
