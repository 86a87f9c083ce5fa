"""How the blank is cut: by a shop, on one's own table, beside a line, or with a torch along a guide."""

from __future__ import annotations

from itertools import groupby

from blankwright.base.said import Line, Standing
from blankwright.knife.knife import Knife
from blankwright.knife.torch import Guide
from blankwright.sheet.blank import marked, wood_dust
from blankwright.sheet.model import BESIDE, Row, Stage, Table
from blankwright.sheet.quantities import OUTLINE, WEIGHED, computed, grams, lines, mm, said
from blankwright.sheet.quantities import standing as standing_of
from blankwright.sheet.tablelines import rule_lines
from blankwright.shop.allowance import Allowance, Part
from blankwright.shop.services import Table as OwnTable
from blankwright.shop.stagecautions import cutting_cautions
from blankwright.shop.tables import process


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
    made_of = Table("Made up of", ("amount",), tuple(_made_up(knife, oversize)))
    rows = []
    size = knife.cut.size_mm
    rows.append(Row("Cut outline", (mm(size[0]), mm(size[1])), OUTLINE, card=BESIDE))
    rows.append(Row("Steel to remove down to the line" if not start.wooden else "Wood to remove down to the line",
                    (grams(knife.cut_blank.mass_g - knife.finished_blank.mass_g),), WEIGHED))  # fmt: skip
    rows.append(Row("Kerf, not part of the allowance", (mm(way.kerf_mm.value, 2),), standing_of(way.kerf_mm)))
    if knife.guide is not None:
        rows += _guide_rows(knife.guide)
    checks = [
        Line("The part has the size of the cut outline, and the printed template lies inside it all round."),
    ]
    return Stage(
        "cut",
        f"Cut the blank: {way.title}",
        tuple(rows),
        (left, made_of),
        facts=_guide_facts(knife),
        ready=lines(*(_GUIDE_READY if knife.guide else ())),
        steps=_cut_steps(knife),
        checks=tuple(checks),
        cautions=_cut_cautions(knife),
    )


_GUIDE_READY = (
    "A steel bar as a fence along the straight stretches; for the curves a frame of sheet metal with the guide's "
    "outline as its opening; clamps; scriber or soapstone.",
)


def _guide_rows(guide: Guide) -> tuple[Row, ...]:
    away = computed("half the kerf and the nozzle's radius")
    return (
        Row("Nozzle, radius", (mm(guide.nozzle.value, 2),), standing_of(guide.nozzle)),
        Row("Guide outside the cut line", (mm(guide.distance_mm, 2),), away, card="guide outside the cut"),
    )


def _guide_facts(knife: Knife) -> tuple[Line, ...]:
    if knife.guide is None or knife.guide.follows:
        return ()
    return lines("The nozzle does not reach into every hollow of the line: what is left there is sawn or ground away.")


def _cut_steps(knife: Knife) -> tuple[Line, ...]:
    """Return what is done to cut the blank: on one's own table, by a shop, under a torch, or by hand beside a line."""
    way = process(knife.oversize.process)
    if knife.service is not None and knife.service.table is not None:
        return lines(*_on_own_table(knife.service.table))
    if way.machine_cut:
        return lines(
            "Send the cutting file with its cover note; the note says what is cut and what is only marked.",
            "Say that the part starts at the butt or on the spine, never at the tip, heel or edge.",
        )
    bars = "Measure the template's bars first: a print at another scale is a knife of another size."
    punched = (f"{marked(knife, 'the holes')} before anything is cut.",) if knife.holes else ()
    if knife.guide is None:
        return (
            *lines(bars, "Glue or tape the printed template on, or trace it, and scribe the dashed cut line.", *punched,
                   "Cut outside the dashed line, never on it."),
            *rule_lines(way.by_hand),
        )  # fmt: skip
    return (
        *lines(
            bars,
        ),
        *rule_lines(way.by_hand[:1]),
        *lines(
            "Cut the template out, lay it on the bare steel, and scribe or soapstone the cut line and the guide.",
            *punched,
            "Take every bit of paper and glue off the steel: under an arc or a flame it burns.",
            "Clamp the guide on the scrap's side, its inner side on the guide's line, and run the nozzle along it. "
            "Stop only in the scrap, and move the guide then.",
        ),
        *rule_lines(way.by_hand[1:]),
        *lines(
            "Let the part cool by itself, never in water.",
        ),
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


def _made_up(knife: Knife, oversize: Allowance) -> list[Row]:
    """Return what the allowance is the sum of: one row for all that has one name and one standing."""
    rows = []
    for (name, status), group in groupby(oversize.parts, key=lambda part: (part.name, part.status)):
        parts = list(group)
        low, high = min(part.mm for part in parts), max(part.mm for part in parts)
        held = [region for part in parts for region in part.regions]
        where = "" if len(held) == len(oversize.regions_mm) else f": {', '.join(_region(knife, r) for r in held)}"
        source = parts[0].source if len(parts) == 1 else "; ".join(_with_its_regions(knife, part) for part in parts)
        amount = mm(low, 3, high if high > low else None)
        rows.append(Row(f"{name}{where}", (amount,), Standing(source, status)))
    return rows


def _with_its_regions(knife: Knife, part: Part) -> str:
    return f"{', '.join(_region(knife, region) for region in part.regions)} {part.mm:g} mm, {part.source}"


def _region(knife: Knife, name: str) -> str:
    """Return a region's name in words: a board has a handle where steel has its tang."""
    return "handle" if name == "tang" and knife.construction == "one-piece" else name


def _cut_cautions(knife: Knife) -> tuple[Line, ...]:
    way = process(knife.oversize.process)
    if knife.start.wooden:
        return (*lines("Clamp the board, keep both hands behind the saw, and wear eye protection."), *wood_dust())
    found = [*rule_lines(cutting_cautions(way, chromium=knife.chromium))]
    if way.burnt_layer_mm.value > 0:
        found.append(said("The cut edge is hard for about {}: file and drill skate on it. Grind it off first.",
                          standing_of(way.burnt_layer_for(knife.material.kind)),
                          mm(way.burnt_layer_for(knife.material.kind).value, 2)))  # fmt: skip
    return tuple(found)
