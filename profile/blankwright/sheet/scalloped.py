"""What the papers say of scallops: how they are shaped and how they are sharpened, which no flat stone can do."""

from __future__ import annotations

from blankwright.base.said import Line
from blankwright.knife.knife import Knife
from blankwright.knife.scallops import Scallops, scallop_edge
from blankwright.sheet.model import BESIDE, Row, Stage
from blankwright.sheet.quantities import ASKED, PRACTICE, computed, deg, lines, mm, said
from blankwright.sheet.tablelines import cautions_of

_OWN_RADIUS = computed("twice the scallop's own radius: pitch squared over eight depths, and half the depth")
_AT_ANGLE = computed("circle through a scallop's points and bottom, seen along a tool held at the edge angle")


def shape_rows(found: Scallops) -> tuple[Row, ...]:
    """Return what the hollows of the edge measure, and how thick a tool may be in them."""
    return (
        Row("Scallops, from point to point and deep", (mm(found.pitch_mm), mm(found.depth_mm)), ASKED,
            f"{found.count} of them", sign=" and ", card="scallop pitch, depth"),
        Row("Round tool held square, across at most", (mm(found.tool_mm()),), _OWN_RADIUS, card="tool up to"),
    )  # fmt: skip


def shape_steps(*, wooden: bool) -> tuple[Line, ...]:
    """Return how scallops are brought to the line."""
    tool = "a round rasp or paper on a dowel" if wooden else "a round file, a drum or a belt on a small wheel"
    return lines(f"Shape the scallops with {tool}, square to the faces, and leave every point standing.")


def edge(knife: Knife, scallops: Scallops) -> Stage:
    """Return how a sharp edge of scallops is made, each by itself and from one face.

    Args:
        knife: The knife.
        scallops: Its scallops.
    """
    angle, face = scallop_edge(knife.ground.bevels)
    side = face.removeprefix("the ")
    coarse = "a round file" if knife.start.soft else "a round diamond file"
    return Stage(
        "edge",
        "Edge: scallops",
        (Row(f"Edge angle, {side} face only", (deg(angle),), ASKED, "between the rod and the middle of the blade",
             card=BESIDE),
         Row("Round tool at that angle, across at most", (mm(scallops.tool_mm(angle)),), _AT_ANGLE,
             "a wheel of just that size fills a scallop at one touch", card="round tool up to")),
        facts=(Line("Scallops are ground and sharpened from one face only; the other is left as it was ground.", (),
                    PRACTICE),
               Line("A flat stone cannot do it: it touches the points alone, takes them down, reaches no hollow.", (),
                    PRACTICE),
               said("A rod thinner than {} touches a scallop in one place and is rolled from point to point; a thicker "
                    "one rubs the points off.", _AT_ANGLE, mm(scallops.tool_mm(angle)))),
        steps=lines("Ink the scallops with a felt pen.",
                    f"Begin with {coarse} or a fine belt on a small wheel, cool; end with a fine round rod.",
                    "Lay the rod into a scallop, up the blade and at the edge angle. Stroke out over the edge, and "
                    "roll it from point to point.",
                    "As many strokes in each, until no ink is left and a fine burr stands on the other face.",
                    "Bring the short plain ends at heel and tip to the same angle with a small slip.",
                    "Wipe the burr off the other face with leather or hard felt. Do not chase it with a stone: laid "
                    "flat it thins the face, raised it takes the points."),
        checks=lines("It saws through a crust by its own weight and does not press the crumb.",
                     "No light shines back out of any scallop.",
                     "Laid on the template every point still stands on its line."),
        cautions=cautions_of("sharpening-scallops"),
    )  # fmt: skip
