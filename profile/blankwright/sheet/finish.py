"""The finish of the blade, the edge on the stone, and what the knife needs afterwards."""

from __future__ import annotations

from blankwright.base.said import NOT_CHECKED, Line, Standing
from blankwright.knife.knife import Knife
from blankwright.sheet.blank import wood_dust
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import ASKED, PLACES, STATIONS, WEIGHED, computed, deg, grams, lines, mm, said
from blankwright.sheet.tablelines import cautions_of, to_do, to_know
from blankwright.shop.edges import TYPES, edge_angle, edge_remark
from blankwright.shop.finishes import blade_care
from blankwright.shop.grit import sequence

_RAISE = computed("height of the blade times the sine of the edge angle")
_GAP = computed("the same less half the spine's thickness times the cosine")
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
        rows = [Row(f"Edge angle, {sided} face only", (deg(angle),), ASKED, "to the stone; the other face stays flat",
                    card=f"edge, {sided} only")]  # fmt: skip
    elif abs(right - left) < 1e-6:
        rows = [
            Row(
                "Edge angle, each side",
                (deg(right),),
                ASKED,
                "to the stone; jig angle the same",
                card=BESIDE,
            )
        ]
    else:
        rows = [Row("Edge angle, right and left", (deg(right), deg(left)), ASKED, "to the stone", sign=" and ",
                    card="edge, right and left")]  # fmt: skip
    return Stage(
        "edge",
        "Edge",
        tuple(rows),
        (Table("Spine above the stone", tuple(s.place for s in knife.stations), tuple(_lifts(knife)), PLACES,
               STATIONS),),
        facts=(*_usual(knife), Line(_STONE)),
        steps=lines("Raise the spine by the figure, lay a wedge or a stack of coins of that height beside the stone, "
                   "and keep it all along." if not knife.single else
                   "Raise the spine of the ground face only; lay the flat face on the stone just to take the burr off.",
                   "One side until a burr runs from heel to tip, then the other; then lighter and finer in turn."
                   if not knife.single else "Work until a burr runs from heel to tip."),
        checks=lines("It cuts a sheet of paper cleanly from heel to tip.", "No light shines back from the edge."),
        cautions=cautions_of("sharpening"),
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
    share = knife.ground.bevels.right_share
    sides = (0,) if share == 1.0 else (1,) if share == 0.0 else (0, 1)
    pairs = [s.raise_mm for s in knife.stations]
    alike = len(sides) == 2 and all(abs(a - b) < 1e-6 for a, b in pairs)
    rows = []
    for side in sides[:1] if alike else sides:
        name = "" if alike or len(sides) == 1 else f", {('right', 'left')[side]}"
        rows.append(Row(f"middle of the spine{name}", tuple(mm(s.raise_mm[side]) for s in knife.stations), _RAISE,
                        card=f"raise{name}"))  # fmt: skip
        rows.append(Row(f"clear gap below it{name}", tuple(mm(s.gap_mm[side]) for s in knife.stations), _GAP))
    return rows


def _wooden_edge(knife: Knife) -> Stage:
    bevels = knife.ground.bevels
    return Stage(
        "edge",
        "Edge",
        (Row("Edge", (mm(bevels.behind_edge_mm, 2),), ASKED, "thick, then rounded", card="edge"),
         Row("Slope of the last bevel, each side", (deg(bevels.edge_angle_deg),), ASKED, card="last bevel, each side")),
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
    kept = [rule for found in blade_care(knife.material.kind) for rule in found.rules]
    steps = to_do(kept) if not knife.start.wooden else lines("Wash by hand, dry it standing, never in the machine.",
                                                      "Oil it again when it looks grey.")  # fmt: skip
    weighed = knife.weights.finished_knife
    checks = [Line("Write on this sheet what came out otherwise, and put it back with the pattern.")]
    if weighed is not None:
        checks.insert(0, said("It weighs near {}; far off means another thickness or material than the sheet's.",
                              computed("weight of the finished knife, from this sheet's head"),
                              f"{weighed.mass_g:.0f} g"))  # fmt: skip
    cautions = lines("Hand it over handle first, and never leave it in the sink.")
    facts = to_know(kept) if not knife.start.wooden else ()
    return Stage(
        "care",
        "Last look and care",
        _last_rows(knife),
        facts=facts,
        steps=tuple(steps),
        checks=tuple(checks),
        cautions=cautions,
    )


def _last_rows(knife: Knife) -> tuple[Row, ...]:
    """Return what a scale and a finger tell of the finished knife."""
    whole, balance = knife.weights.finished_knife, knife.weights.balance_mm
    rows = []
    if whole is not None:
        rows.append(Row("Weight, finished", (grams(whole.mass_g),), WEIGHED, card=BESIDE))
    if balance is not None:
        where = "ahead of the heel" if balance >= 0 else "behind the heel"
        rows.append(Row("Balance", (mm(abs(balance)),), WEIGHED, where, card=f"balance, {where}"))
    return tuple(rows)
