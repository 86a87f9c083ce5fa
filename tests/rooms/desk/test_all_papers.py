"""Every paper of a knife says the same of holes, sizes and code, and nothing against what the work starts from.

All papers are read as their reader gets them: the drawing's and the page's words, the text of the PDFs, the note, the
report and what the terminal prints.
"""

from __future__ import annotations

import html
import itertools
import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from blankwright.design.request import read_design
from blankwright.desk.make import make_sheet
from blankwright.knife.holes import MadeHole
from blankwright.knife.knife import Knife, finish
from blankwright.knife.words import part_words
from blankwright.sheet.files import SheetWishes, sheet_paper
from blankwright.shop.services import service
from rooms.written import in_folder

Command = Callable[..., Any]

FAMILIES = ("chef", "utility", "paring", "spreader")
CONSTRUCTIONS = ("full", "hidden", "one-piece")
STEELS = ("80CrV2", "AEB-L")
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


@pytest.mark.parametrize("start", STARTS)
def test_no_paper_of_steel_speaks_against_its_start_or_another_paper(
    start: str, tmp_path: Path, command: Command
) -> None:
    wrong = []
    for number, (family, construction, grade) in enumerate(itertools.product(FAMILIES, CONSTRUCTIONS, STEELS)):
        way = WAYS[number % len(WAYS)]
        changes = {
            "handle.construction": construction, "material.grade": grade, "material.thickness": "3 mm",
            "start.from": start, "cutting.process": way, "tang.lanyard_diameter": "5 mm",
        }  # fmt: skip
        if construction != "full" or number % 3:
            del changes["tang.lanyard_diameter"]
        words = papers(command, tmp_path / str(number), family, changes, printed=number == 0)
        knife = finish(read_design(family, changes))
        wrong += [f"{family}, {construction}, {grade}, {way}: {fault}" for fault in judged(knife, words)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("start", ["bar", "blank"])
def test_no_paper_of_wood_speaks_of_steel_or_against_another_paper(
    start: str, tmp_path: Path, command: Command
) -> None:
    wrong = []
    for number, family in enumerate(FAMILIES):
        changes = {
            "handle.construction": "one-piece", "material.grade": WOOD, "material.thickness": "8 mm",
            "start.from": start, "cutting.process": ("trace", "saw")[number % 2],
        }  # fmt: skip
        words = papers(command, tmp_path / str(number), family, changes, printed=number == 0)
        knife = finish(read_design(family, changes))
        wrong += [f"{family}: {fault}" for fault in judged(knife, words)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("shop", ["jet", "laser", "plasma", "own-table"])
def test_no_paper_of_a_service_speaks_against_another_paper(shop: str, tmp_path: Path, command: Command) -> None:
    """What the shop leaves to the drill is left to the drill on every paper."""
    wrong = []
    way = service(shop).process
    for number, (family, construction) in enumerate(itertools.product(FAMILIES, CONSTRUCTIONS)):
        changes = {
            "handle.construction": construction, "material.grade": "80CrV2", "material.thickness": "3 mm",
            "cutting.process": way, "name": f"k{number}",
        }  # fmt: skip
        words = papers(command, tmp_path / str(number), family, changes, shop)
        knife = finish(read_design(family, changes), service=service(shop))
        wrong += [f"{family}, {construction}: {fault}" for fault in judged(knife, words)]
    assert not wrong, "\n".join(wrong)


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
