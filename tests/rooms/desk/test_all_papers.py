"""Every paper of a knife says the same of holes, sizes and code, and nothing against what the work starts from.

All papers are read as their reader gets them: the drawing's and the page's words, the text of the PDFs, the note, the
report and what the terminal prints.
"""

from __future__ import annotations

import html
import itertools
import json
import re
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from blankwright.base.said import Line, Standing
from blankwright.design.request import read_design
from blankwright.desk.papers import make_sheet
from blankwright.knife.heat import Heat
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife, finish
from blankwright.knife.words import part_words
from blankwright.sheet.files import SheetWishes, sheet_paper
from blankwright.sheet.model import Stage
from blankwright.sheet.stages import sheet_of
from blankwright.shop.services import service
from blankwright.shop.tables import materials
from rooms.often import EVERY_CASE, repeated, share
from rooms.written import in_folder

Command = Callable[..., Any]

FAMILIES = ("chef", "utility", "paring", "spreader")
CONSTRUCTIONS = ("full", "hidden", "one-piece")
STEELS = ("80CrV2", "AEB-L")
SHOPS = ("jet", "laser", "plasma", "own-table")
STARTS = ("bar", "found", "forged", "blank", "hardened-blank")
WOOD = "sugar-maple"
WAYS = ("water-jet", "plasma-table", "laser", "saw", "trace", "plasma-hand")

BOUGHT = (
    r"\bpunch", r"\bream", r"\bkerf\b", r"\ballowance\b", r"\bcut (?:by|to size|under)\b", r"where to cut", r"_cut_mm",
    r"\bsaw (?:out|the blank)", r"start at the butt",
)  # fmt: skip
"""No oversize, no cutting file, no hole to make."""
HARDENED = (
    r"\bdrill(?! chart)", r"\bharden(?:ing)?\b", r"\bquench", r"\btemper(?:ed)? (?:at|once|twice)",
    r"\bsoak (?:at|for|begins|starts)", r"\bnormalis", r"\banneal(?!ed)", r"\bforg(?:e|ing)\b", r"\boven\b",
    r"left on until",
)  # fmt: skip
"""Neither drilled nor heated."""
WOODEN = (r"\bharden", r"\bquench", r"\btemper\b", r"\bsteel\b(?!:)", r"\bannealed\b", r"\bcentre-punch", r"\bpunch",
          r"\bground (?:to the line|and sharpened)")  # fmt: skip
FOUND = (r"\b\d{3,4} °C\b(?=.*\bsoak)", r"\btemper at \d")
"""Unknown steel: nothing about its heat is known."""
PLANTED = Standing("planted by this test", "computed")
OF_THE_HANDLE = re.compile(r"\b(scales?|block|wood|handle|through the tang's)\b", re.IGNORECASE)
"""A sentence on the handle's own pieces may bore and oversize them."""


def sentences(text: str) -> Iterator[str]:
    yield from (part.strip() for part in re.split(r"(?<=[.;:])\s+|\n+|\s{3,}", text) if part.strip())


def plain(page: str) -> str:
    """Return a page's or a drawing's words, each element a line."""
    body = re.sub(r"<style.*?</style>", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]+>", "\n", body))


def pdf_words(data: bytes) -> str:
    document = pypdfium2.PdfDocument(data)
    try:
        return "\n".join(page.get_textpage().get_text_bounded() for page in document)
    finally:
        document.close()


def joined(text: str) -> str:
    return " ".join(text.split())


def papers(
    command: Command, out: Path, source: str, changes: dict[str, str], shop: str | None = None, *, printed: bool = False
) -> dict[str, str]:
    """Make a knife and return every paper as words, by name; in print the sheet says what its page says."""
    sets = [word for key, value in changes.items() for word in ("--set", f"{key}={value}")]
    with_shop = ["--service", shop] if shop else []
    ran = command("make", source, *sets, *with_shop, "--out", out)
    assert ran.code == 0, ran.err
    (folder,) = out.iterdir()
    words = {"terminal": ran.out}
    for path in sorted(in_folder(folder)):
        if path.suffix == ".pdf":
            words["template"] = pdf_words(path.read_bytes())
        elif path.suffix == ".json":
            report = json.loads(path.read_text(encoding="utf-8"))
            words["report"] = json.dumps(
                {k: report[k] for k in ("design_code", "holes", "checks", "cautions", "to_maker")}
            )
        elif path.suffix == ".dxf":
            words["cutting file"] = path.read_text(encoding="utf-8")
        else:
            words[path.stem.rsplit("_", 1)[-1] if path.suffix == ".html" else path.suffix[1:]] = plain(
                path.read_text(encoding="utf-8")
            )
    if printed:
        _, where, names, _ = make_sheet(read_design(source, changes), out / "sheets", SheetWishes(sheet_paper("A4")))
        words["sheet, printed"] = pdf_words((where / next(n for n in names if n.endswith(".pdf"))).read_bytes())
    return words


def against(knife: Knife, words: dict[str, str]) -> list[str]:
    """Return the sentences that contradict the start."""
    start, forbidden = knife.start, []
    if start.bought:
        forbidden += BOUGHT
    if start.bought and not start.heated and not start.wooden:
        forbidden += HARDENED
    if start.wooden:
        forbidden += WOODEN
    if not start.known and start.heated:
        forbidden += FOUND
    found = []
    any_of_them = re.compile("|".join(forbidden) or r"(?!)", re.IGNORECASE)
    for paper, text in words.items():
        for sentence in dict.fromkeys(sentences(text)):
            own = sentence.replace(start.words, "")
            if any_of_them.search(own) and not OF_THE_HANDLE.search(own):
                hits = [pattern for pattern in forbidden if re.search(pattern, own, re.IGNORECASE)]
                found += [f"{paper}: «{sentence[:120]}» against {pattern}" for pattern in hits]
    return found


def hole_faults(knife: Knife, words: dict[str, str]) -> list[str]:
    """Return papers that list the holes and word one of them otherwise, or leave it out."""
    out = []
    listing = {"terminal", "template", "report", "svg", *(() if knife.start.bought else ("txt",))}
    for name, made in dict.fromkeys((h.name, h.words) for h in knife.holes):
        out += [f"{paper}: nothing of «{made}» for {name}" for paper in listing if made not in joined(words[paper])]
    if not knife.start.bought:  # the build sheet has the sizes in columns
        sizes = {f"{d:.2f} mm" for h in knife.holes for d in (h.hole.diameter_mm, h.made.cut_diameter_mm) if d}
        out += [f"sheet: nothing of a hole of {size}" for size in sizes if size not in joined(words["sheet"])]
    if knife.start.bought and "cutting file" in words:
        out.append("a bought blank has a cutting file")
    return out


def size_faults(knife: Knife, words: dict[str, str]) -> list[str]:
    size = part_words(knife).removeprefix("The part is ").rstrip(".")
    listing = ["terminal", "template", "svg", *([] if knife.start.bought else ["txt"])]
    return [f"{paper}: the part is not {size}" for paper in listing if size not in joined(words[paper])]


def code_faults(knife: Knife, words: dict[str, str]) -> list[str]:
    return [f"{paper}: no code {knife.code}" for paper, text in words.items() if knife.code not in text]


def judged(knife: Knife, words: dict[str, str]) -> list[str]:
    return [*against(knife, words), *hole_faults(knife, words), *size_faults(knife, words), *code_faults(knife, words)]


@repeated
@pytest.mark.parametrize("start", STARTS)
def test_no_paper_of_steel_speaks_against_its_start_or_another_paper(
    start: str, tmp_path: Path, command: Command
) -> None:
    wrong, printed = [], EVERY_CASE or start in ("found", "hardened-blank")
    cases = enumerate(itertools.product(FAMILIES, CONSTRUCTIONS, STEELS))
    for number, (family, construction, grade) in share(cases, 2, STARTS.index(start)):
        way = WAYS[number % len(WAYS)]
        changes = {
            "handle.construction": construction, "material.grade": grade, "material.thickness": "3 mm",
            "start.from": start, "cutting.process": way, "tang.lanyard_diameter": "5 mm",
        }  # fmt: skip
        if construction != "full" or number % 3:
            del changes["tang.lanyard_diameter"]
        words = papers(command, tmp_path / str(number), family, changes, printed=printed)
        printed = False
        knife = finish(read_design(family, changes))
        wrong += [f"{family}, {construction}, {grade}, {way}: {fault}" for fault in judged(knife, words)]
    assert not wrong, "\n".join(wrong)


@repeated
@pytest.mark.parametrize("start", ["bar", "blank"])
def test_no_paper_of_wood_speaks_of_steel_or_against_another_paper(
    start: str, tmp_path: Path, command: Command
) -> None:
    wrong = []
    for number, family in share(enumerate(FAMILIES), 2, start == "blank"):
        changes = {
            "handle.construction": "one-piece", "material.grade": WOOD, "material.thickness": "8 mm",
            "start.from": start, "cutting.process": ("trace", "saw")[number % 2],
        }  # fmt: skip
        words = papers(command, tmp_path / str(number), family, changes, printed=EVERY_CASE and number == 0)
        knife = finish(read_design(family, changes))
        wrong += [f"{family}: {fault}" for fault in judged(knife, words)]
    assert not wrong, "\n".join(wrong)


@repeated
@pytest.mark.parametrize("shop", SHOPS)
def test_no_paper_of_a_service_speaks_against_another_paper(shop: str, tmp_path: Path, command: Command) -> None:
    """What the shop leaves to the drill is left to the drill on every paper."""
    wrong = []
    way = service(shop).process
    cases = enumerate(itertools.product(FAMILIES, CONSTRUCTIONS))
    for number, (family, construction) in share(cases, 1, SHOPS.index(shop)):
        changes = {
            "handle.construction": construction, "material.grade": "80CrV2", "material.thickness": "3 mm",
            "cutting.process": way, "name": f"k{number}",
        }  # fmt: skip
        words = papers(command, tmp_path / str(number), family, changes, shop)
        knife = finish(read_design(family, changes), service=service(shop))
        wrong += [f"{family}, {construction}: {fault}" for fault in judged(knife, words)]
    assert not wrong, "\n".join(wrong)


# What figures and steps say of each other ------------------------------------------------------------------

HOT = ("normalise", "harden", "cold", "temper")
"""Stages at which a blade is hot, or frozen."""
OILY = r"into the oil|flash point|extinguisher|foams over|off all oil|stopped smoking"
Pair = tuple[str, Callable[[Knife], bool], str, tuple[str, ...]]


def _heat(of: Callable[[Heat], bool]) -> Callable[[Knife], bool]:
    return lambda knife: knife.heat is not None and of(knife.heat)


AT_HAND: tuple[Pair, ...] = (
    ("plates or air", _heat(lambda h: h.medium.kind == "dry"),
     rf"{OILY}|\btank\b|straight down|brine|steam|\boil\b", ("harden", "temper")),
    ("water", _heat(lambda h: h.media[0] == "water"), rf"{OILY}|\boil\b|\bplates\b|clamp", ("harden", "temper")),
    ("oil", _heat(lambda h: h.medium.oily), r"\bplates\b|brine|steam|clamp", ("harden", "temper")),
    ("air", _heat(lambda h: h.media[0] == "air"), r"\bplates\b|clamp", ("harden",)),
)  # fmt: skip
"""What a blade is quenched in, and what hands then do not do; a fact may name what others quench it in."""
PAIRS: tuple[Pair, ...] = (
    ("frozen first", _heat(lambda h: h.cold_first), r"temper[^.]*\bat once\b|hand-warm|after the first temper", HOT),
    ("frozen later", _heat(lambda h: h.entry.cold is not None and not h.cold_first), r"^Temper next", ("cold",)),
    ("tempered from room temperature", _heat(lambda h: h.entry.temper_from == "room temperature"),
     r"hand-warm|Temper, at once", HOT),
    ("tempered hand-warm", _heat(lambda h: h.entry.temper_from == "hand-warm"),
     r"room temperature first, then temper", ("temper",)),
    ("foil", _heat(lambda h: h.foil), r"bare blade|coated blade|stop-off|\btorch\b|touch of the skin", ("harden",)),
    ("no foil", _heat(lambda h: not h.foil), r"\bfoil\b|\bpacket\b", HOT),
    ("no coat", _heat(lambda h: h.entry.protect.by != "coat"), r"stop-off|coated blade", ("harden",)),
    ("nothing known of its heat", lambda k: k.start.heated and k.heat is None,
     r"\b(?:harden|soak|temper|set point)\b[^.]*\d °C|\d HRC|chart below", HOT),
    ("wood", lambda k: k.start.wooden,
     r"\bpunch|\bharden(?!er\b)|\bquench|\btemper\b|\bburr\b|rolling direction|\brust", ()),
    ("blunt", lambda k: k.ground.bevels.blunt,
     r"\bburr\b(?! and dross)|cuts a sheet of paper|sharpen|edge angle|above the stone|whetstone|wire edge", ()),
    ("blunt edge's own stage", lambda k: k.ground.bevels.blunt, r"\bdeg\b|\d ?°(?!C)|\bpaper\b|\bjig\b", ("edge",)),
    ("soft", lambda k: k.start.soft,
     r"\bquench|(?<!not )\bharden(?:ing|ed)?\b|\btemper\b|\boven\b|\bblue steel", ()),
    ("single", lambda k: k.single, r"each side|both sides alike|then the other|two lines|turning sides",
     ("grind", "thin", "edge")),
)  # fmt: skip
"""What a knife is, and the words that then contradict it: in these stages, or anywhere on any paper."""


def told(stage: Stage) -> list[str]:
    """Return everything a stage says, each sentence, label and note by itself."""
    rows = [*stage.rows, *(row for table in stage.tables for row in table.rows)]
    shown = [f"{r.label}: {' '.join(str(v if isinstance(v, str) else v.shown()) for v in r.values)}" for r in rows]
    out = [stage.title, *shown, *(r.note for r in rows), *(t.title for t in stage.tables)]
    return [*out, *(line.text() for line in stage.lines)]


def at_hand(stage: Stage) -> list[str]:
    """Return what hands do, have ready, look at and mind at a stage."""
    return [line.text() for line in (*stage.ready, *stage.steps, *stage.checks, *stage.cautions)]


def contradictions(knife: Knife, stages: Iterable[Stage]) -> list[str]:
    """Return the sentences of a sheet that its own figures contradict."""
    out = []
    for pairs, read in ((AT_HAND, at_hand), (PAIRS, told)):
        for name, holds, words, codes in pairs:
            against_it = re.compile(words if holds(knife) else r"(?!)", re.IGNORECASE)
            out += [
                f"{name}, {stage.code}: «{sentence[:120]}»"
                for stage in stages
                if not codes or stage.code in codes
                for sentence in read(stage)
                if against_it.search(sentence)
            ]
    return out


def order_faults(knife: Knife, stages: Iterable[Stage]) -> list[str]:
    """Return what is done in another turn than the steel wants it."""
    codes = [stage.code for stage in stages]
    if knife.heat is None or knife.heat.entry.cold is None:
        return ["it is frozen, and no table says so"] if "cold" in codes else []
    turn = codes.index("cold") < codes.index("temper")
    return [] if turn == knife.heat.cold_first else ["frozen on the wrong side of the temper"]


def sheet_faults(knife: Knife) -> list[str]:
    stages = sheet_of(knife).stages
    return [*contradictions(knife, stages), *order_faults(knife, stages)]


def test_no_stage_names_what_its_own_figures_contradict() -> None:
    """Every steel, thin and thick, and every other kind of knife, each stage read sentence by sentence."""
    cases: list[tuple[str, dict[str, str]]] = [
        (family, {"material.grade": steel.name, "material.thickness": thick, **more})
        for number, steel in enumerate(materials("steels"))
        for family, thick, more in (
            ("paring", "2 mm", {}),
            ("utility", "6 mm", {"handle.construction": "hidden", "block.width": "24 mm"}),
            (("chef", "spreader")[number % 2], "2.5 mm", {"start.from": ("forged", "blank", "found")[number % 3]}),
        )
    ]
    cases += [("chef", {"grind.bevel": "single", "material.grade": grade}) for grade in ("1084", "AEB-L")]
    cases += [
        ("utility", {"grind.bevel": "single", "material.grade": "AEB-L", **more})
        for more in ({"start.from": "hardened-blank"}, {"material.hardened": "no"})
    ]
    cases += [
        (family, {"material.grade": grade, "material.hardened": "no", "start.from": start})
        for family in ("spreader", "chef")
        for grade, start in (("1075", "bar"), ("AEB-L", "blank"), ("unknown", "found"))
    ]
    cases += [
        (family, {"material.grade": WOOD, "handle.construction": build})
        for family in FAMILIES
        for build in CONSTRUCTIONS
    ]
    wrong = []
    for family, changes in cases:
        wrong += [f"{family} {changes}: {fault}" for fault in sheet_faults(finish(read_design(family, changes)))]
    assert len(cases) > 60
    assert not wrong, "\n".join(wrong)


def test_no_paper_of_a_soft_or_blunt_blade_speaks_of_heat_or_a_burr(tmp_path: Path, command: Command) -> None:
    wrong = []
    for number, (family, changes) in enumerate(
        (
            ("spreader", {"material.hardened": "no", "start.from": "found", "handle.construction": "full"}),
            ("spreader", {"material.hardened": "no", "material.grade": "AEB-L", "start.from": "blank"}),
            ("chef", {"material.hardened": "no", "material.grade": "1084", "cutting.process": "saw"}),
            ("spreader", {"material.grade": "1084"}),
            ("paring", {"material.grade": WOOD, "handle.construction": "full"}),
        )
    ):
        knife = finish(read_design(family, changes))
        words = papers(command, tmp_path / str(number), family, changes, printed=number == 0)
        for name, holds, pattern, codes in PAIRS:
            if codes or not holds(knife):
                continue
            for paper, text in words.items():
                found = [
                    s for s in sentences(text.replace(knife.start.words, "")) if re.search(pattern, s, re.IGNORECASE)
                ]
                wrong += [
                    f"{family} {changes}, {name}, {paper}: «{sentence[:120]}»" for sentence in dict.fromkeys(found)
                ]
    assert not wrong, "\n".join(wrong)


def test_the_pairs_can_fail() -> None:
    """Each pair is broken once: a sentence that its figures contradict is found, and nothing else is."""
    plain: dict[str, str] = {"material.grade": "1084"}
    planted = {
        "plates or air": ({"material.grade": "AEB-L"}, "harden", "Then go straight down into the oil."),
        "water": ({"material.grade": "1095", "material.thickness": "6 mm"}, "harden", "Clamp it between the plates."),
        "oil": (plain, "harden", "Close the plates at once."),
        "frozen first": ({"material.grade": "AEB-L"}, "temper", "Temper it at once, hand-warm."),
        "frozen later": ({"material.grade": "D2"}, "cold", "Temper next."),
        "tempered from room temperature": ({"material.grade": "14C28N"}, "temper", "Temper, at once"),
        "tempered hand-warm": (plain, "temper", "Let it come to room temperature first, then temper."),
        "foil": ({"material.grade": "D2"}, "harden", "Counted for the bare blade."),
        "no foil": (plain, "harden", "Leave the packet closed."),
        "no coat": (plain, "harden", "Brush a stop-off coat on."),
        "nothing known of its heat": ({"start.from": "found"}, "temper", "Temper at 200 °C."),
        "wood": ({"material.grade": WOOD}, "cut", "Centre-punch the holes."),
        "blunt": ({"grind.edge": "blunt"}, "edge", "Work until a burr runs along it."),
        "blunt edge's own stage": ({"grind.edge": "blunt"}, "edge", "Set the jig to it."),
        "soft": ({**plain, "material.hardened": "no"}, "thin", "Quench it."),
        "single": ({"grind.bevel": "single"}, "edge", "One side until it is done, then the other."),
    }
    never = {"air"}  # no steel of the tables is quenched in air first
    assert {name for name, *_ in (*AT_HAND, *PAIRS)} == set(planted) | never
    for name, (changes, code, sentence) in planted.items():
        knife = finish(read_design("chef", changes))
        found = contradictions(knife, [Stage(code, "Stage", steps=(Line(sentence, (), PLANTED),))])
        assert any(fault.startswith(f"{name}, {code}: ") for fault in found), name


def test_the_check_itself_can_fail() -> None:
    knife = finish(read_design("utility", {"start.from": "hardened-blank"}))
    assert isinstance(knife.holes[0], MadeHole)
    said = dict.fromkeys(("terminal", "template", "report", "svg"), f"in the blank {knife.code}")
    assert not hole_faults(knife, said)
    assert hole_faults(knife, said | {"svg": "drill"})
    assert against(knife, {"svg": "pin: punch, drill 5.1 mm"})
    assert against(knife, {"txt": "Temper at 200 °C, twice."})
    assert not against(knife, {"template": "Drill through the tang's holes, one scale at a time."})
    assert code_faults(knife, {"svg": "no code"})
