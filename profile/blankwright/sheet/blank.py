"""From the stock to the profiled, drilled blank."""

from __future__ import annotations

from blankwright.base.said import Line, Standing, Status
from blankwright.knife.knife import Knife
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import ASKED, OUTLINE, WEIGHED, computed, grams, lines, mm, practice, published, said
from blankwright.sheet.quantities import standing as standing_of
from blankwright.sheet.tablelines import band_row, cautions_of, rule_line, rule_lines
from blankwright.shop.hardening import hardening
from blankwright.shop.services import Table as OwnTable
from blankwright.shop.stagecautions import cutting_cautions
from blankwright.shop.tables import process
from blankwright.shop.woodblades import wood_blade

_FIRE = published("29 CFR 1910.252(a), fire prevention when cutting and welding")


def stock(knife: Knife) -> Stage:
    """Return what to look at before anything is cut."""
    start = knife.start
    size = knife.finished.size_mm if start.bought else knife.cut.size_mm
    rows = [
        Row("Material", (knife.material.title,), ASKED, "a mill's trade name" if knife.material.trade_name else ""),
        Row("Thickness", (mm(knife.stock_mm, 2),), ASKED, card=BESIDE),
        Row("Smallest piece" if not start.bought else "Outline of the blank", (mm(size[0]), mm(size[1])), OUTLINE,
            "no room for saw or cutter included" if not start.bought else ""),
    ]  # fmt: skip
    if not start.bought:
        rows.append(Row("Weight of the cut blank", (grams(knife.cut_blank.mass_g),), WEIGHED))
    title = {"board": "Choose the board", "found": "What steel is it?"}.get(start.name, "The steel")
    if start.bought:
        title = "Look the blank over"
    steps, checks, cautions = _stock_words(knife)
    facts = (rule_line(wood_blade().grain),) if start.wooden else ()
    return Stage("stock", title, tuple(rows), facts=facts, steps=steps, checks=checks, cautions=cautions)


def _stock_words(knife: Knife) -> tuple[tuple[Line, ...], tuple[Line, ...], tuple[Line, ...]]:
    start = knife.start
    if start.name == "wooden-blank":
        return (
            lines("Lay the printed template on it: outline and handle front must agree."),
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
        lines(
            "First ask: is it plated, galvanised, painted or chromed? If it may be, or if nobody can say, do not heat, "
            "cut hot or grind it. Take another piece.",
            "Clean it, look for cracks, old welds and stamps, and lay the template clear of them.",
            "If a file skates on the piece it is hard: have it softened by someone with a furnace, or soften it and "
            "try the file again.",
        ),
        lines(
            "It was asked, and it is bare steel all over.",
            "It is as thick as the figure above wherever the template lies.",
        ),
        (
            *(
                lines("The grade is unknown: no temperature, soak, hardness or temper on any chart is meant for it.")
                if knife.start.heated
                else ()
            ),
            *(cautions_of("found-steel", 1, 2) if knife.start.heated else cautions_of("found-steel", 1)),
        ),
    )


def _hardened(knife: Knife) -> tuple[tuple[Line, ...], tuple[Line, ...], tuple[Line, ...]]:
    return (
        lines(
            "Ask the seller for the grade, the hardness and the tempering it was given; keep the answer here.",
            _laid(knife),
            "Tape the edge until the handle is on.",
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
    holes = ", holes" if knife.holes else ""
    return f"Lay the printed template on it: outline{holes} and handle front must agree."


def _holes_there(knife: Knife) -> tuple[str, ...]:
    """Say what to do with the holes of a bought blank: measure them, and let the design follow."""
    if not knife.holes:
        return ()
    text = "Every hole of the template is there, and a pin goes through it. If one is missing or narrow, change the "
    return (f"{text}pins in the design to suit the blank.",)


def cut(knife: Knife) -> Stage:
    """Return how the blank is cut, with the oversize left at every region."""
    start = knife.start
    oversize, way = knife.oversize, process(knife.oversize.process)
    by_part = computed("sum of the parts of the allowance, for this process and thickness")
    regions = oversize.regions_mm
    left = Table(
        "Left outside the line",
        ("allowance",),
        tuple(Row(_region(knife, r), (mm(v, 2),), by_part, card=_region(knife, r)) for r, v in regions.items()),
        standing=by_part,
        card={0: "leave outside"},
    )
    parts = tuple(
        Row(
            p.name
            if len(p.regions) == len(regions)
            else f"{p.name}: {', '.join(_region(knife, r) for r in p.regions)}",
            (mm(p.mm, 3),),
            _part(knife, p.source, p.status),
        )
        for p in oversize.parts
    )
    made_of = Table("Made up of", ("amount",), parts)
    rows = []
    size = knife.cut.size_mm
    rows.append(Row("Cut outline", (mm(size[0]), mm(size[1])), OUTLINE, card=BESIDE))
    rows.append(Row("Steel to remove down to the line" if not start.wooden else "Wood to remove down to the line",
                    (grams(knife.cut_blank.mass_g - knife.finished_blank.mass_g),), WEIGHED))  # fmt: skip
    rows.append(Row("Kerf, not part of the allowance", (mm(way.kerf_mm.value, 2),), standing_of(way.kerf_mm)))
    served = way.machine_cut
    steps = (
        lines(*_on_own_table(knife.service.table))
        if knife.service is not None and knife.service.table is not None
        else lines("Send the cutting file with its cover note; the note says what is cut and what is only marked.",
                   "Say that the part starts at the butt or on the spine, never at the tip, heel or edge.")
        if served
        else lines("Glue or tape the printed template on, or trace it, and scribe the dashed cut line.",
                   "Measure the template's bars first: a print at another scale is a knife of another size.",
                   *((f"{_marked(knife, 'the holes')} before anything is cut.",) if knife.holes else ()),
                   "Cut outside the dashed line, never on it.")
    )  # fmt: skip
    checks = [
        said("The part measures {} by {}.", by_part, mm(knife.cut.size_mm[0]), mm(knife.cut.size_mm[1])),
        Line("The printed template lies inside the part all round."),
    ]
    return Stage(
        "cut",
        f"Cut the blank: {way.title}",
        tuple(rows),
        (left, made_of),
        steps=steps,
        checks=tuple(checks),
        cautions=_cut_cautions(knife),
    )


def _on_own_table(table: OwnTable) -> list[str]:
    """Return how a path is run on one's own table."""
    steps = [
        "Run the path once with the cutter off: it must stay on the stock, clear of clamps.",
        "Then cut: holes first, the outline last. The kerf is in the path; switch the controller's compensation off.",
    ]
    if table.tabs:
        many = "bridge holds" if table.tabs == 1 else f"{table.tabs} bridges hold"
        steps.append(
            f"{many[:1].upper()}{many[1:]} the part: cut through them with a thin disc and grind the stubs flush."
        )
    return steps


def _marked(knife: Knife, what: str) -> str:
    """Say that the centres of holes are marked, and how: a punch splits wood."""
    return f"Prick {what} with an awl" if knife.start.wooden else f"Centre-punch {what}"


def _part(knife: Knife, source: str, status: Status) -> Standing:
    """Return the standing of a part of the allowance; what its source says of hard steel is said of that alone."""
    ours = not knife.start.heated and status == "common practice"
    return practice("left to clean up by hand after the cut") if ours else Standing(source, status)


def _region(knife: Knife, name: str) -> str:
    """Return a region's name in words: a board has a handle where steel has its tang."""
    return "handle" if name == "tang" and knife.construction == "one-piece" else name


def _cut_cautions(knife: Knife) -> tuple[Line, ...]:
    way = process(knife.oversize.process)
    if knife.start.wooden:
        return (*lines("Clamp the board, keep both hands behind the saw, and wear eye protection."), *wood_dust())
    found = [*rule_lines(cutting_cautions(way))]
    if way.burnt_layer_mm.value > 0:
        found.append(said("The cut edge is hard for about {}: file and drill skate on it. Grind it off first.",
                          standing_of(way.burnt_layer_for(knife.material.kind)),
                          mm(way.burnt_layer_for(knife.material.kind).value, 2)))  # fmt: skip
    return tuple(found)


def _normalised(knife: Knife) -> tuple[Row, ...]:
    entry = hardening(knife.material.name) if knife.start.known else None
    return (
        ()
        if entry is None or entry.normalise is None
        else (band_row("Normalise at", entry.normalise, card="normalise"),)
    )


def forge(knife: Knife) -> Stage:
    """Return how forging goes before the rest, without figures that the design does not hold."""
    return Stage(
        "forge",
        "Forge to shape",
        rows=(
            Row("Weight of the finished blank", (grams(knife.finished_blank.mass_g),), WEIGHED,
                "the least there must be; scale and grinding come on top", card="blank weighs"),
            *_normalised(knife),
        ),
        steps=lines(
            "Heat evenly and stop before the steel sparks; the steel maker's data sheet says how hot and how often.",
            "Forge tang and shoulders first, then the point, then draw out the blade.",
            "Leave it thicker and wider than the cut line everywhere: scale and the skin below it go.",
            "Normalise and anneal as the data sheet says, until a file bites again.",
        ),
        checks=lines(
            "The printed template lies inside the forging all round, with room for the skin to be ground off.",
            "No crack or cold shut shows after a file has cleaned the notch, the shoulders and the spine.",
        ),
        cautions=(
            Line("Hot steel looks like cold steel: quench or mark every piece you lay down."),
            said("Keep what burns {} away, and keep watch for {} after the fire is out.", _FIRE,
                 "10.7 m (35 ft)", "half an hour"),
            *cautions_of("heat", 0, 1, 2),
        ),
    )  # fmt: skip


def profile(knife: Knife) -> Stage:
    """Return grinding to the line."""
    wood = knife.start.wooden
    size = knife.finished.size_mm
    rows = [Row("Finished outline", (mm(size[0]), mm(size[1])), OUTLINE, card=BESIDE)]
    if not knife.start.bought:
        rows.append(Row("Take off", (grams(knife.cut_blank.mass_g - knife.finished_blank.mass_g),), WEIGHED))
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
        steps=lines(
            "Saw or plane down to the line, then to the middle of it." if wood
            else "Grind or file to the line, square to the faces, the spine and the tang first, the edge last.",
            *notch,
        ),
        checks=lines("Held on the template, no white of the paper and no steel outside it shows." if not wood else
                     "Held on the template, line and wood agree all round.",
                     "Faces are flat, edges square."),
        cautions=grind_cautions(knife, 0, 1, 2, 3, 4),
    )  # fmt: skip


_SOFT_GRINDING = (0, 1, 2, 3, 4)
"""Cautions for grinding steel that is not hardened."""


def grind_cautions(knife: Knife, *which: int) -> tuple[Line, ...]:
    """Return the cautions for grinding: those at some places of the table's list, or all."""
    if knife.start.wooden:
        return wood_dust(*(() if knife.start.bought else (0, 2)))
    dust = lines("Dust of stainless steel holds chromium and nickel: draw it off or grind wet.")
    found = cautions_of("grinding", *(which or _SOFT_GRINDING))
    return (*found, *(dust if knife.material.kind == "stainless" else ()))


def wood_dust(*which: int) -> tuple[Line, ...]:
    """Return the cautions for wood dust: those at some places of the table's list, or all."""
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
            "A pin goes through every hole by hand and stands square.",
            "All holes of the sheet are there: count them against the template."
            + (" Hardened steel cannot be drilled." if knife.start.heated else ""),
        ),
        cautions=cautions_of("drilling") if knife.start.heated else cautions_of("drilling", 0),
    )  # fmt: skip


def _hole_steps(knife: Knife, how: set[str]) -> list[str]:
    """Return what is done to the holes: nobody punches or drills one that is cut already."""
    steps = []
    if "drill" in how:
        which = "the centres" if how == {"drill"} else "the centres of the holes that are not cut"
        steps.append(f"{_marked(knife, which)}, start with a short stiff bit, clamp the work down.")
        if sum(made.made.made_by == "drill" for made in knife.pins) > 2:
            steps.append("Drill the two outermost pins first, peg them, then the rest.")
    if "ream" in how:
        steps.append("Ream what was cut under size from one side, slowly and with oil, the work clamped down.")
    if knife.start.wooden:
        return [*steps, "Back the board with scrap so that it does not break out."]
    rim = "a sharp rim starts a crack in the quench" if knife.start.heated else "a sharp rim cuts glue and cord"
    return [*steps, f"Countersink both sides a hair: {rim}."]
