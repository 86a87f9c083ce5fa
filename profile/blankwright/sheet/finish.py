"""The finish of the blade, the edge on the stone, and what the knife needs afterwards."""

from __future__ import annotations

from blankwright.sheet.blank import wood_dust
from blankwright.sheet.context import Knife
from blankwright.sheet.model import Line, Row, Stage, Table
from blankwright.sheet.words import ASKED, computed, deg, lines, mm, practice, said

_GRAINS = {60: 269, 80: 201, 120: 125, 180: 82, 240: 60, 320: 46, 400: 35, 600: 26, 800: 22, 1000: 18, 2000: 10}
"""Mean grain size of FEPA P papers by number [µm], rounded as two tables print them."""
STEEL_GRITS, WOOD_GRITS = (120, 240, 400, 800), (80, 120, 240, 400)
EDGE_GRITS = (400, 1000, 2000)

_GRAIN = practice("FEPA P sizes as printed in two sandpaper tables")
_RAISE = computed("height of the blade times the sine of the edge angle")
_GAP = computed("the same less half the spine's thickness times the cosine")
_STONE = "Stone numbers are other scales than paper numbers: go by the grain size."


def grit_table(title: str, numbers: tuple[int, ...]) -> Table:
    """Return papers with their mean grain size."""
    row = Row("mean grain", tuple(f"{_GRAINS[n]} µm" for n in numbers), _GRAIN)
    return Table(title, tuple(f"P{n}" for n in numbers), (row,))


def blade(knife: Knife) -> Stage:
    """Return the hand finish of the blade, before the handle goes on."""
    return Stage(
        "finish",
        "Hand finish the blade",
        tables=(grit_table("Paper for steel", STEEL_GRITS),),
        steps=lines(
            "One grit after the other, each across the one before, until no line of the last is left.",
            "Last strokes from heel to tip, all one way, over a hard flat block.",
            "Keep this paper for steel: grains of steel in wood turn black.",
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
        (Table("Spine above the stone", tuple(s.name for s in knife.stations), tuple(_lifts(knife))),
         grit_table("Grain of the stone", EDGE_GRITS)),
        (
            *lines("Raise the spine by the figure, lay a wedge or a stack of coins of that height beside the stone, "
                   "and keep it all along." if not knife.single else
                   "Raise the spine of the ground face only; lay the flat face on the stone just to take the burr off.",
                   "One side until a burr runs from heel to tip, then the other; then lighter and finer in turn."
                   if not knife.single else "Work until a burr runs from heel to tip.",
                   _STONE),
        ),
        lines("It cuts a sheet of paper cleanly from heel to tip.", "No light shines back from the edge."),
        lines("It is sharp from now on: sheath it, and tell whoever you hand it to."),
    )  # fmt: skip


def _lifts(knife: Knife) -> list[Row]:
    share = knife.ground.bevels.right_share
    sides = (0,) if share == 1.0 else (1,) if share == 0.0 else (0, 1)
    pairs = [s.raise_mm for s in knife.stations]
    alike = len(sides) == 2 and all(abs(a - b) < 1e-6 for a, b in pairs)
    rows = []
    for side in sides[:1] if alike else sides:
        name = "" if alike or len(sides) == 1 else f", {('right', 'left')[side]}"
        rows.append(Row(f"middle of the spine{name}", tuple(mm(s.raise_mm[side]) for s in knife.stations), _RAISE))
        rows.append(Row(f"clear gap below it{name}", tuple(mm(s.gap_mm[side]) for s in knife.stations), _GAP))
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
        cautions=wood_dust(),
    )  # fmt: skip


def sand_wood(knife: Knife) -> Table:
    """Return the papers for wood."""
    return grit_table("Paper for wood", WOOD_GRITS)


def care(knife: Knife) -> Stage:
    """Return the last look and what to tell the one who gets it."""
    if knife.start.wooden:
        steps = lines("Wash by hand, dry standing, never in the machine; oil it when it looks grey.")
    elif knife.stainless:
        steps = lines("Wash and dry by hand. Stainless means slower to stain: salt, acid and chlorine still pit it.")
    else:
        steps = lines("Wash and dry it at once. It will darken with use; red rust is wiped off with oil.",
                      "Put it away dry, with a film of food-grade oil when it lies for long.")  # fmt: skip
    weighed = knife.weights.finished_knife
    checks = [Line("Write on this sheet what came out otherwise, and put it back with the pattern.")]
    if weighed is not None:
        checks.insert(0, said("It weighs near {}; far off means another thickness or material than the sheet's.",
                              computed("weight of the finished knife, from this sheet's head"),
                              f"{weighed.mass_g:.0f} g"))  # fmt: skip
    cautions = lines("A knife is not a toy: hand it over handle first, and never leave it in the sink.")
    return Stage("care", "Last look and care", steps=steps, checks=tuple(checks), cautions=cautions)
