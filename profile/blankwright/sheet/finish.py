"""The finish of the blade, the edge on the stone, and what the knife needs afterwards."""

from __future__ import annotations

from blankwright.base.said import NOT_CHECKED, Line, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.blank import wood_dust
from blankwright.sheet.model import Row, Stage, Table
from blankwright.sheet.quantities import ASKED, PLACES, computed, deg, lines, mm, said
from blankwright.sheet.tablelines import cautions_of, rule_lines
from blankwright.shop.edges import TYPES, edge_angle, edge_remark
from blankwright.shop.finishes import blade_care
from blankwright.shop.grit import sequence

_RAISE = computed("the section laid on its edge bevel: height times sine, less the middle's offset times cosine")
_GAP = computed("the same, of the spine's corner on that side")
_STONE = "Stone numbers are other scales than paper numbers: go by the size of the grain."


def grit_table(title: str, name: str) -> Table:
    """Return papers in the order of use with their mean grain size.

    Args:
        title: Title of the table.
        name: Name of the sequence in the trade's table.
    """
    papers = sequence(name).grits
    standings = {p.status: p.source for p in papers}
    status = NOT_CHECKED if NOT_CHECKED in standings else papers[0].status
    row = Row("mean grain", tuple(f"{p.size_um:g} µm" for p in papers), Standing(standings[status], status))
    return Table(title, tuple(f"P{p.number}" for p in papers), (row,))


def sequence_line(name: str) -> Line:
    """Return how a sequence of papers is used."""
    found = sequence(name)
    return Line(found.text, (), Standing(found.source, found.status))


def blade(knife: Knife) -> Stage:
    """Return the hand finish of the blade, before the handle goes on."""
    return Stage(
        "finish",
        "Hand finish the blade",
        tables=(grit_table("Paper for steel", "steel, hand"),),
        steps=(
            sequence_line("steel, hand"),
            *lines(
                "One grit after the other, each across the one before, until no line of the last is left.",
                "Last strokes from heel to tip, all one way, over a hard flat block.",
                "Keep this paper for steel: grains of steel in wood turn black.",
            ),
        ),
        checks=lines("Slanting light shows scratches one way only.", "Spine and notch are rounded where fingers lie."),
        cautions=(Line("Clamp the blade flat on a board, edge away from you; never over the corner of a bench."),),
    )


def edge(knife: Knife) -> Stage:
    """Return the edge: angles, raise of the spine on the stone, jig angle."""
    if knife.start.wooden:
        return _wooden_edge(knife)
    bevels = knife.ground.bevels
    right, left = bevels.edge_angle_deg, bevels.edge_angle_left_deg or bevels.edge_angle_deg
    sided = "right" if bevels.right_share == 1.0 else "left"
    if knife.single:
        angle = right if sided == "right" else left
        rows = [Row(f"Edge angle, {sided} face only", (deg(angle),), ASKED, "to the stone; the other face stays flat")]
    elif abs(right - left) < 1e-6:
        rows = [Row("Edge angle, each side", (deg(right),), ASKED, "to the stone; jig angle the same")]
    else:
        rows = [Row("Edge angle, right and left", (deg(right), deg(left)), ASKED, "to the stone", sign=" and ")]
    return Stage(
        "edge",
        "Edge",
        tuple(rows),
        (Table("Spine above the stone", tuple(s.place for s in knife.stations), tuple(_lifts(knife)), PLACES),),
        (
            *_usual(knife),
            *lines("Raise the spine by the figure, lay a wedge or a stack of coins of that height beside the stone, "
                   "and keep it all along." if not knife.single else
                   "Raise the spine of the ground face only; lay the flat face on the stone just to take the burr off.",
                   "One side until a burr runs from heel to tip, then the other; then lighter and finer in turn."
                   if not knife.single else "Work until a burr runs from heel to tip.",
                   _STONE),
        ),
        lines("It cuts a sheet of paper cleanly from heel to tip.", "No light shines back from the edge."),
        cautions_of("sharpening"),
    )  # fmt: skip


def _usual(knife: Knife) -> tuple[Line, ...]:
    """Return how the edge angle lies to what is usual for this type of knife."""
    family = knife.design.family.name
    if family not in TYPES:
        return ()
    usual = edge_angle(family)
    words = edge_remark(family, knife.ground.bevels.edge_angle_deg)
    return (Line(words, (), Standing(usual.source, usual.status)),)


def _lifts(knife: Knife) -> list[Row]:
    """Return raise and clear gap at every place, for each side that lies on a stone at an angle."""
    sides = [side for side in (0, 1) if all(s.raise_mm[side] is not None for s in knife.stations)]
    raised = [[(s.raise_mm[side] or 0.0, s.gap_mm[side] or 0.0) for s in knife.stations] for side in sides]
    alike = len(sides) == 2 and all(abs(a[0] - b[0]) < 1e-6 for a, b in zip(*raised, strict=True))
    rows = []
    for side, figures in list(zip(sides, raised, strict=True))[: 1 if alike else 2]:
        name = "" if alike else f", {('right', 'left')[side]} side on the stone"
        rows.append(Row(f"middle of the spine{name}", tuple(mm(lift) for lift, _ in figures), _RAISE))
        rows.append(Row(f"clear gap below it{name}", tuple(mm(gap) for _, gap in figures), _GAP))
    return rows


def _wooden_edge(knife: Knife) -> Stage:
    bevels = knife.ground.bevels
    return Stage(
        "edge",
        "Edge",
        (Row("Edge", (mm(bevels.behind_edge_mm, 2),), ASKED, "thick, then rounded"),
         Row("Slope of the last bevel, each side", (deg(bevels.edge_angle_deg),), ASKED)),
        steps=lines("Shape the last bevel with a sanding block, both faces alike.",
                    "Round the edge itself until a finger runs along it without catching: it spreads, not cuts."),
        checks=lines("No splinter lifts when you wipe along it with a cloth."),
        cautions=wood_dust(0, 2),
    )  # fmt: skip


def sanding(kind: str) -> Table:
    """Return the papers for a handle, or a board: those for wood or those for a laminate."""
    name = "laminate" if kind == "laminate" else "wood"
    return grit_table(f"Paper for {name}", name)


def care(knife: Knife) -> Stage:
    """Return the last look and what to tell the one who gets it."""
    kept = [line for found in blade_care(knife.material.kind) for line in rule_lines(found.rules)]
    steps = kept if not knife.start.wooden else lines("Wash by hand, dry it standing, never in the machine.",
                                                      "Oil it again when it looks grey.")  # fmt: skip
    weighed = knife.weights.finished_knife
    checks = [Line("Write on this sheet what came out otherwise, and put it back with the pattern.")]
    if weighed is not None:
        checks.insert(0, said("It weighs near {}; far off means another thickness or material than the sheet's.",
                              computed("weight of the finished knife, from this sheet's head"),
                              f"{weighed.mass_g:.0f} g"))  # fmt: skip
    cautions = lines("Hand it over handle first, and never leave it in the sink.")
    return Stage("care", "Last look and care", steps=tuple(steps), checks=tuple(checks), cautions=cautions)
