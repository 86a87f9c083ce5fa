"""The finish of the blade, the edge on the stone, and what the knife needs afterwards."""

from __future__ import annotations

from blankwright.base.said import NOT_CHECKED, Line, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.blank import wood_dust
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import (
    ASKED,
    PLACES,
    PRACTICE,
    STATIONS,
    WEIGHED,
    computed,
    deg,
    grams,
    lines,
    mm,
)
from blankwright.sheet.tablelines import cautions_of, to_do, to_know
from blankwright.shop.bands import Rule
from blankwright.shop.edges import TYPES, edge_angle, edge_remark
from blankwright.shop.finishes import blade_care
from blankwright.shop.grit import sequence

_RAISE = computed("the section laid on its edge bevel: height times sine, less the middle's offset times cosine")
_GAP = computed("the same, of the spine's corner on that side")
_BOTH_FACES = ("One side until a burr runs from heel to tip, then the other; then lighter and finer in turn.",)
_ONE_FACE = (
    "Work the ground face alone until a burr runs from heel to tip.",
    "Lay the other face flat on the stone, just to take the burr off; then lighter and finer in turn.",
)
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
    names = tuple(f"P{p.number}" for p in papers)
    return Table(title, names, (row,), card=dict(enumerate(names)))


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
            *lines(
                "Round spine and notch first, where fingers lie, with a strip of abrasive cloth.",
                "One grit after the other, each across the one before, until no line of the last is left.",
            ),
            sequence_line("steel, hand"),
            *lines("Draw the last strokes from heel to tip, all one way, over a hard flat block."),
        ),
        facts=(*lines("This paper is for steel alone: grains of steel in wood turn black."), *to_know(_kept(knife))),
        checks=lines("Slanting light shows scratches one way only.", "Spine and notch are rounded where fingers lie."),
        cautions=(Line("Clamp the blade flat on a board, edge away from you; never over the corner of a bench."),),
    )


def edge(knife: Knife) -> Stage:
    """Return the edge: angles, raise of the spine on the stone, jig angle; of a blunt one its radius."""
    if knife.ground.bevels.blunt:
        return _blunt_edge(knife)
    if knife.start.wooden:
        return _wooden_edge(knife)
    if knife.scallops is not None:
        from blankwright.sheet import scalloped  # noqa: PLC0415 - few edges have them

        return scalloped.edge(knife, knife.scallops)
    return Stage(
        "edge",
        "Edge",
        (_angles(knife),),
        (Table("Spine above the stone", tuple(s.place for s in knife.stations), tuple(_lifts(knife)), PLACES,
               STATIONS),),
        facts=(*_usual(knife), Line(_STONE)),
        steps=lines("Raise the spine by the figure, lay a wedge or a stack of coins of that height beside the stone, "
                    "and keep it all along.", *(_ONE_FACE if knife.single else _BOTH_FACES)),
        checks=lines("It cuts a sheet of paper cleanly from heel to tip.", "No light shines back from the edge."),
        cautions=cautions_of("sharpening"),
    )  # fmt: skip


def _angles(knife: Knife) -> Row:
    """Return the edge angle: of the ground side alone, of both, or of each, with the side named."""
    right, left = knife.ground.bevels.edge_angles_deg
    if knife.single:
        sided, angle = ("right", right) if knife.ground.bevels.right_share == 1.0 else ("left", left)
        return Row(f"Edge angle, {sided} face only", (deg(angle),), ASKED, "to the stone; the other face stays flat",
                   card=f"edge, {sided} only")  # fmt: skip
    if abs(right - left) < 1e-6:
        return Row("Edge angle, each side", (deg(right),), ASKED, "to the stone; jig angle the same",
                   card=BESIDE)  # fmt: skip
    return Row("Edge angle, right and left", (deg(right), deg(left)), ASKED, "to the stone", sign=" and ",
               card="edge, right and left")  # fmt: skip


def _blunt_edge(knife: Knife) -> Stage:
    """Return the rounding of an edge that is not to cut, of steel or of wood."""
    bevels, wood = knife.ground.bevels, knife.start.wooden
    tool = "a sanding block" if wood else "a fine file or a stone"
    if knife.scallops is not None:
        tool = "paper round a dowel" if wood else "a fine round file"
    does = "spreads" if knife.design.family.name == "spreader" or not wood else "parts soft food"
    cloth = "a strip of fine sanding cloth" if wood else "strips of abrasive cloth, coarse to fine"
    return Stage(
        "edge",
        "Round the edge",
        (Row("Edge, thick", (mm(bevels.behind_edge_mm, 2),), ASKED, card="edge"),
         Row("Rounded to a radius of", (mm(bevels.edge_radius_mm, 2),), ASKED, card="radius")),
        facts=(Line(f"Rounded over its whole thickness it {does} and does not cut.", (), PRACTICE),),
        steps=lines(f"Break both corners of the edge from heel to tip with {tool}, both sides alike.",
                    f"Round what is left with {cloth}, pulled over the edge to and fro."),
        checks=lines("A finger drawn along the edge and round the tip feels no corner and nothing that bites.",
                     *(("No splinter lifts when you wipe along it with a cloth.",) if wood else ())),
        cautions=wood_dust("limits", "extraction") if wood else (),
    )  # fmt: skip


def _usual(knife: Knife) -> tuple[Line, ...]:
    """Return how the edge angle lies to what is usual for this type of knife."""
    family = knife.design.family.name
    if family not in TYPES or knife.single:
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
        short = "" if alike else f", {('right', 'left')[side]}"
        name = f"{short} side on the stone" if short else ""
        rows.append(Row(f"middle of the spine{name}", tuple(mm(lift) for lift, _ in figures), _RAISE,
                        card=f"raise{short}"))  # fmt: skip
        rows.append(Row(f"clear gap below it{name}", tuple(mm(gap) for _, gap in figures), _GAP))
    return rows


def _wooden_edge(knife: Knife) -> Stage:
    bevels = knife.ground.bevels
    return Stage(
        "edge",
        "Edge",
        (Row("Thickness behind the edge", (mm(bevels.behind_edge_mm, 2),), ASKED, card="behind the edge"),
         Row("Slope of the last bevel, each side", (deg(bevels.edge_angle_deg),), ASKED, card="last bevel, each side")),
        steps=lines("Shape the last bevel with a sanding block, both faces alike.",
                    "Take the last fibres off with a fine block, along the edge, until it catches nowhere."
                    if knife.scallops is None else
                    "Take the last fibres out of the scallops with fine paper round a dowel."),
        checks=lines("No splinter lifts when you wipe along it with a cloth."),
        cautions=wood_dust("limits", "extraction"),
    )  # fmt: skip


def sanding(kind: str) -> Table:
    """Return the papers for a handle, or a board: those for its kind of material."""
    name = kind if kind in ("laminate", "bone") else "wood"
    return grit_table(f"Paper for {name}", name)


def _kept(knife: Knife) -> list[Rule]:
    """Return how its blade is kept; what to know of that is said where the blade is finished."""
    return [rule for found in blade_care(knife.material.kind, blunt=knife.ground.bevels.blunt) for rule in found.rules]


def care(knife: Knife) -> Stage:
    """Return the last look and what to tell the one who gets it."""
    wooden = lines("Wash by hand, dry it standing, never in the machine.", "Oil it again when it looks grey.")
    steps = wooden if knife.start.wooden else to_do(_kept(knife))
    checks = lines("Write on this sheet what came out otherwise, and put it back with the pattern.")
    cautions = lines("Never leave it in the sink." if knife.ground.bevels.blunt else
                     "Hand it over handle first, and never leave it in the sink.")  # fmt: skip
    return Stage(
        "care",
        "Last look and care",
        _last_rows(knife),
        steps=tuple(steps),
        checks=checks,
        cautions=cautions,
    )


def _last_rows(knife: Knife) -> tuple[Row, ...]:
    """Return what a scale and a finger tell of the finished knife."""
    whole, balance = knife.weights.finished_knife, knife.weights.balance_mm
    rows = []
    if whole is not None:
        far_off = "far off means another thickness or material"
        rows.append(Row("Weight, finished", (grams(whole.mass_g),), WEIGHED, far_off, card=BESIDE))
    if balance is not None:
        where = "ahead of the heel" if balance >= 0 else "behind the heel"
        rows.append(Row("Balance", (mm(abs(balance)),), WEIGHED, where, card=f"balance, {where}"))
    return tuple(rows)
