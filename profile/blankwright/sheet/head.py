"""The head of the sheet: sizes at every stage, weights, balance, holes of the finished knife."""

from __future__ import annotations

from blankwright.base.said import Value
from blankwright.knife.knife import Knife
from blankwright.knife.words import stage_names
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.quantities import ASKED, GROUND, OUTLINE, WEIGHED, grams, mm, standing


def head(knife: Knife) -> Stage:
    """Return the figures of the whole knife."""
    return Stage("head", "This knife", rows=_rows(knife), tables=(_stages(knife),))


def _rows(knife: Knife) -> tuple[Row, ...]:
    weights = knife.weights
    values = knife.shape.values_mm
    rows = [
        Row("Blade length, heel to tip", (mm(values["blade_length"]),), OUTLINE),
        Row("Heel height", (mm(values["heel_height"]),), OUTLINE),
        Row("Overall length", (mm(knife.shape.overall_length_mm),), OUTLINE),
        Row("Handle length", (mm(knife.shape.front_x_mm - knife.shape.butt_x_mm),), OUTLINE),
        Row("Stock", (mm(knife.stock_mm, 2),), ASKED, knife.material.title),
        Row(
            "Spine at heel, middle, near the tip", tuple(mm(s.spine_mm, 2) for s in knife.stations), GROUND, sign=" / "
        ),
    ]
    if weights.finished_knife is not None and weights.balance_mm is not None:
        where = "ahead of the heel" if weights.balance_mm >= 0 else "behind the heel"
        rows += [
            Row("Weight, finished", (grams(weights.finished_knife.mass_g),), WEIGHED),
            Row("Balance", (mm(abs(weights.balance_mm)),), WEIGHED, where),
        ]
        if weights.handle is not None and weights.handle.mass_g > 0:
            rows.insert(-1, Row("Handle alone", (grams(weights.handle.mass_g),), WEIGHED))
    density = knife.material.density_kg_m3
    rows.append(Row("Density of the blade's material", (f"{density.value:.0f} kg/m³",), standing(density)))
    return tuple(rows)


def _stages(knife: Knife) -> Table:
    """Return length, height, thickness and weight at every stage."""
    weights = knife.weights
    flat, finished = knife.cut.size_mm, knife.finished.size_mm
    thick = max(float(t) for t in knife.ground.taper.thickness_mm)

    def row(name: str, size: tuple[float, float], thick_mm: float, mass_g: float) -> Row:
        shown: tuple[Value, ...] = (mm(size[0]), mm(size[1]), mm(thick_mm, 2), grams(mass_g))
        return Row(name, shown, WEIGHED)

    rows = []
    names = stage_names(knife)
    if not knife.start.bought:
        rows.append(row("cut", flat, knife.stock_mm, knife.cut_blank.mass_g))
    rows.append(
        row(
            "as bought" if knife.start.bought else "profiled to the line",
            finished,
            knife.stock_mm,
            knife.blank_mass_g if knife.start.bought else knife.finished_blank.mass_g,
        )
    )
    if weights.before_hardening is not None and knife.start.heated:
        rows.append(row(names.before, finished, thick, weights.before_hardening.mass_g))
    if weights.ground_blade is not None and not knife.start.ground:
        rows.append(row(names.ready, finished, thick, weights.ground_blade.mass_g))
    return Table("The part", ("long", "high", "thick", "weight"), tuple(rows))
