"""From the stock to the profiled, drilled blank; how it is cut stands in a module of its own."""

from __future__ import annotations

from blankwright.base.said import Line
from blankwright.knife.knife import Knife
from blankwright.sheet import rough
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import ASKED, OUTLINE, WEIGHED, grams, lines, mm
from blankwright.sheet.tablelines import cautions_of, rule_line
from blankwright.shop.tables import process
from blankwright.shop.woodblades import wood_blade


def stock(knife: Knife) -> Stage:
    """Return what to look at before anything is cut."""
    start = knife.start
    if knife.forging is not None:
        return rough.bar(knife, knife.forging)
    size = knife.finished.size_mm if start.bought else knife.cut.size_mm
    rows = [
        Row("Material", (knife.material.title,), ASKED, "a mill's trade name" if knife.material.trade_name else ""),
        Row("Thickness", (mm(knife.stock_mm, 2),), ASKED, card=BESIDE),
        Row("Smallest piece" if not start.bought else "Outline of the blank", (mm(size[0]), mm(size[1])), OUTLINE,
            "no room for saw or cutter included" if not start.bought else ""),
    ]  # fmt: skip
    rows += _rod_rows(knife)
    rows += rough.found_rows(knife.found)
    if not start.bought:
        rows.append(Row("Weight of the cut blank", (grams(knife.cut_blank.mass_g),), WEIGHED))
    title = {"board": "Choose the board", "found": "What steel is it?"}.get(start.name, "The steel")
    if start.bought:
        title = "Look the blank over"
    steps, checks, cautions = _stock_words(knife)
    if knife.shape.there is not None:
        checks += tuple(found.line for found in knife.findings if found.code == "PIN-PLAY")
    facts = (rule_line(wood_blade().grain),) if start.wooden else rough.found_facts(knife.found)
    return Stage("stock", title, tuple(rows), facts=facts, steps=steps, checks=checks, cautions=cautions)


def _rod_rows(knife: Knife) -> list[Row]:
    """Return the holes that are there for pins, and the rod that goes through; of a blank that was lifted."""
    pins = knife.design.pins
    if knife.shape.there is None or pins is None:
        return []
    holes = tuple(mm(d, 2) for d in dict.fromkeys(made.hole.diameter_mm for made in knife.pins))
    why = "as asked" if knife.design.asked("pins.diameter") else "the largest usual one that goes through"
    return [
        Row("Holes for pins", holes, OUTLINE, "as lifted", sign=" and "),
        Row("Rod", (mm(pins.diameter_mm, 2),), ASKED, why, card="rod"),
    ]


def _stock_words(knife: Knife) -> tuple[tuple[Line, ...], tuple[Line, ...], tuple[Line, ...]]:
    start = knife.start
    if start.name == "wooden-blank":
        return (
            lines(_laid(knife)),
            lines("It is dry and flat: it does not rock on a level surface.", *_holes_there(knife),
                  "The wood is untreated and known to be fit for food."),
            lines("Some woods irritate skin and lungs: read its safety sheet first."),
        )  # fmt: skip
    if start.wooden:
        return (
            lines(
                "Choose a tight-grained, sound wood without knots where the blade will be thin.",
                "Lay the template so that the grain runs along the blade.",
            ),
            lines("The board is dry and flat: it does not rock on a level surface.",
                  "The wood is untreated and known to be fit for food."),
            lines("Some woods irritate skin and lungs: read its safety sheet first."),
        )  # fmt: skip
    if start.name == "found":
        return _found(knife)
    if start.name == "hardened-blank":
        return _hardened(knife)
    if start.name == "blank":
        return (
            lines("Ask the seller for the grade and the maker's data sheet, and whether the blank is annealed.",
                  _laid(knife),
                  *(("Finish the heel notch to its last polish before hardening: afterwards a hollow is slow work.",)
                    if start.heated else ())),
            lines("A file bites everywhere on it; where it skates, the blank is not soft.",
                  *_holes_there(knife),
                  "It is flat, and as thick as the figure above; otherwise change the design, not the steel."),
            lines("Bare metal only: if it is plated or coated, ask what with before any heat comes near it."),
        )  # fmt: skip
    return (
        lines("Mark the grade on the bar and on every piece that leaves it.",
              "Keep the maker's data sheet with this sheet: its figures go before any here."),
        lines("The bar is flat, and as thick as the figure above at every place the template covers.",
              "Annealed: a file bites easily."),
        lines("Bare metal only: if it is plated, galvanised or painted, ask what with before any heat comes near it."),
    )  # fmt: skip


def _found(knife: Knife) -> tuple[tuple[Line, ...], tuple[Line, ...], tuple[Line, ...]]:
    return (
        (
            *lines(
                "First ask: is it plated, galvanised, painted or chromed? If it may be, or if nobody can say, do not "
                "heat, cut hot or grind it. Take another piece.",
                "Clean it, look for cracks, old welds and stamps, and lay the template clear of them.",
                "If a file skates on the piece it is hard: have it softened by someone with a furnace, or soften it "
                "and try the file again.",
            ),
            *rough.found_steps(knife.found),
        ),
        lines(
            "It was asked, and it is bare steel all over.",
            "It is as thick as the figure above wherever the template lies."
            if knife.found is None
            else "Both faces are clean, and it is still as thick as the knife asks for wherever the template lies.",
        ),
        (
            *(
                lines("The grade is unknown: no temperature, soak, hardness or temper on any chart is meant for it.")
                if knife.start.heated
                else ()
            ),
            *(
                cautions_of("found-steel", "cracks", "unknown")
                if knife.start.heated
                else cautions_of("found-steel", "cracks")
            ),
        ),
    )


def _hardened(knife: Knife) -> tuple[tuple[Line, ...], tuple[Line, ...], tuple[Line, ...]]:
    return (
        lines(
            "Ask the seller for the grade, the hardness and the tempering it was given; keep the answer here.",
            _laid(knife),
            "An edge that is sharp already stays taped until the handle is on"
            + ("." if knife.start.ground else ", except while it is ground."),
        ),
        lines(
            *_holes_there(knife),
            "It is straight: sight along the spine against the light. A hardened blade is not bent cold.",
            "No crack shows, above all at the notch, the shoulders and the holes.",
        ),
        lines("From here on it must stay cool enough to hold in the bare hand: a coloured edge is a spoilt edge."),
    )  # fmt: skip


def _laid(knife: Knife) -> str:
    """Say how a bought blank is compared with the design."""
    if knife.shape.there is not None:
        both = "outline and holes" if knife.holes else "the outline"
        front = "" if knife.construction == "one-piece" else " Then mark the handle front on the blank."
        return f"Lay the printed template on it: {both} must agree, or the outline is lifted again.{front}"
    holes = ", holes" if knife.holes else ""
    return f"Lay the printed template on it: outline{holes} and handle front must agree."


def _holes_there(knife: Knife) -> tuple[str, ...]:
    """Say what to do with the holes of a bought blank: measure them, and let the design follow."""
    if not knife.holes:
        return ()
    if knife.shape.there is not None:
        if not knife.pins:
            return ()
        return ("The rod above goes through every pin hole by hand; if not, write the one that does into the design.",)
    text = "Every hole of the template is there, and a pin goes through it. If one is missing or narrow, change the "
    return (f"{text}pins in the design to suit the blank.",)


def profile(knife: Knife) -> Stage:
    """Return grinding to the line."""
    wood = knife.start.wooden
    size = knife.finished.size_mm
    rows = [Row("Finished outline", (mm(size[0]), mm(size[1])), OUTLINE, card=BESIDE)]
    if not knife.start.bought:
        rows.append(Row("Take off", (grams(knife.cut_blank.mass_g - knife.finished_blank.mass_g),), WEIGHED))
    hollows: tuple[Line, ...] = ()
    if knife.scallops is not None:
        from blankwright.sheet import scalloped  # noqa: PLC0415 - few edges have them

        rows += scalloped.shape_rows(knife.scallops)
        hollows = scalloped.shape_steps(wooden=wood)
    notch = (
        ()
        if wood or knife.construction == "one-piece"
        else ("Leave the heel notch its allowance: it is ground to the line after hardening.",)
        if knife.start.heated and knife.design.cutting.notch_after_hardening
        else ("Finish the heel notch to its last polish now: in hardened steel a hollow is slow work.",)
        if knife.start.heated
        else ()
    )
    return Stage(
        "profile",
        "Profile to the line",
        tuple(rows),
        steps=(
            *lines(
                "Saw close to the line, then plane or file down to its middle." if wood
                else "Grind or file to the line, square to the faces, the spine and the tang first, the edge last.",
            ),
            *hollows,
            *lines(*notch),
        ),
        checks=lines("Held on the template, no white of the paper and no steel outside it shows." if not wood else
                     "Held on the template, line and wood agree all round.",
                     "Faces are flat, edges square."),
        cautions=grind_cautions(knife),
    )  # fmt: skip


_SOFT_GRINDING = ("guards", "rest", "ring-test", "sparks", "grab")
"""Cautions for grinding steel that is not hardened."""


def grind_cautions(knife: Knife, *which: str) -> tuple[Line, ...]:
    """Return the cautions for grinding: those of the table with these names, or all of soft steel."""
    if knife.start.wooden:
        return wood_dust(*(() if knife.start.bought else ("limits", "extraction")))
    dust = lines("Dust of stainless steel holds chromium and nickel: draw it off or grind wet.")
    found = cautions_of("grinding", *(which or _SOFT_GRINDING))
    return (*found, *(dust if knife.material.kind == "stainless" else ()))


def wood_dust(*which: str) -> tuple[Line, ...]:
    """Return the cautions for wood dust: those of the table with these names, or all."""
    return cautions_of("wood-dust", *which)


_MADE = {"cut": "cut to size", "ream": "cut, ream", "drill": "drill"}
"""How a hole is made, in the words of all papers; its sizes stand in the columns."""


def drill(knife: Knife, bits: tuple[Row, ...]) -> Stage:
    """Return drilling of the steel, which comes before any heat.

    Args:
        knife: The knife.
        bits: Drill sizes for its holes.
    """
    front = knife.shape.front_x_mm
    rows = []
    for made in knife.holes:
        hole, from_front = made.hole, front - made.hole.x_mm
        cut = mm(made.made.cut_diameter_mm, 2) if made.made.cut_diameter_mm else "not cut"
        shown = (mm(from_front), mm(hole.y_mm), cut, mm(hole.diameter_mm, 2))
        rows.append(Row(f"{hole.purpose}: {_MADE[made.made.made_by]}", shown, OUTLINE))
    heads = ("behind the handle front", "above the board line", "cut", "finished")
    places = Table("Hole", heads, tuple(rows))
    how = {made.made.made_by for made in knife.holes}
    word = "Drill" if "drill" in how else "Ream" if "ream" in how else "Clean the holes"
    return Stage(
        "drill",
        f"{word}, before any heat" if knife.start.heated else word,
        bits,
        (places,),
        steps=lines(*_hole_steps(knife, how)),
        checks=lines(
            _pin_tried(knife),
            "All holes of the sheet are there: count them against the template."
            + (" Hardened steel cannot be drilled." if knife.start.heated else ""),
        ),
        cautions=cautions_of("drilling") if knife.start.heated else cautions_of("drilling", "clamp"),
    )  # fmt: skip


def _pin_tried(knife: Knife) -> str:
    """Say how a pin goes through the tang: one that will be headed has room to swell into."""
    if knife.design.pins is not None and knife.design.pins.fit == "peened":
        return "A pin drops through every hole with room all round: it swells into that when it is headed."
    return "A pin goes through every hole by hand and stands square."


def marked(knife: Knife, what: str) -> str:
    """Say that the centres of holes are marked, and how: a punch splits wood."""
    return f"Prick {what} with an awl" if knife.start.wooden else f"Centre-punch {what}"


def cut_by_hand(knife: Knife) -> bool:
    """Return whether the maker cuts the blank beside a line, and so marks its holes before anything is cut."""
    on_table = knife.service is not None and knife.service.table is not None
    return not on_table and not process(knife.oversize.process).machine_cut


def _hole_steps(knife: Knife, how: set[str]) -> list[str]:
    """Return what is done to the holes: nobody punches or drills one that is cut already."""
    steps = []
    if "drill" in how:
        which = "the centres" if how == {"drill"} else "the centres of the holes that are not cut"
        steps.append("Start in the marked centres with a short stiff bit, the work clamped down." if cut_by_hand(knife)
                     else f"{marked(knife, which)}, start with a short stiff bit, clamp the work down.")  # fmt: skip
        if sum(made.made.made_by == "drill" for made in knife.pins) > 2:
            steps.append("Drill the two outermost pins first, peg them, then the rest.")
    if "ream" in how:
        steps.append("Ream what was cut under size from one side, slowly and with oil, the work clamped down.")
    if knife.start.wooden:
        return [*steps, "Back the board with scrap so that it does not break out."]
    rim = "a sharp rim starts a crack in the quench" if knife.start.heated else "a sharp rim cuts glue and cord"
    return [*steps, f"Countersink both sides a hair: {rim}."]
