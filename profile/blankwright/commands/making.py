"""Families, new design files, and what is made from a design: files to cut, draw and print."""

from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from blankwright.base.errors import ProofError, RequestError
from blankwright.commands.shared import (
    DesignsArg,
    JsonOption,
    LayersOption,
    MarginOption,
    MoreOption,
    OutOption,
    PaperOption,
    PrinterOption,
    ProcessOption,
    QuantityOption,
    ServiceOption,
    SetOption,
    UnitsOption,
    cut_by,
    designs_from,
    print_json,
    say,
    service_of,
    shown_units,
    words_of,
)

if TYPE_CHECKING:
    from blankwright.design.request import Design
    from blankwright.shop.services import Service
    from blankwright.template.scenes import Wishes


def families(
    file: Annotated[
        str | None, typer.Argument(metavar="[FILE]", help="A family file to judge; without one all are listed.")
    ] = None,
    units: UnitsOption = "mm",
    as_json: JsonOption = False,
) -> None:
    """List the families and the range of each dimension, or judge one: exit code 1 when it does not hold."""
    from blankwright.design.family import family_names, load_family
    from blankwright.report.families import families_json, families_text, judged_json, judged_text

    if file is None:
        loaded = [load_family(name) for name in family_names()]
        say(families_json(loaded) if as_json else families_text(loaded, shown_units(units)))
        return
    from blankwright.design.judge import judge

    family = load_family(file)
    faults = judge(family)
    say(judged_json(family, faults) if as_json else judged_text(family, faults))
    if faults:
        sys.exit(1)


def new(
    family: Annotated[str, typer.Argument(metavar="FAMILY", help="A family's name or file.")],
    file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="The design file to write.")],
    construction: Annotated[
        str | None, typer.Option("--construction", metavar="NAME", help="full, hidden or one-piece.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite the file if it is there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write a commented design file to start from."""
    from blankwright.base.files import write_new
    from blankwright.design.designfile import design_file
    from blankwright.design.family import load_family

    write_new(file, design_file(load_family(family), file.stem, construction), force=force)
    say(json.dumps({"files": [file.name]}) if as_json else f"wrote {file}. Next: blankwright make {file}")


def make(
    designs: DesignsArg,
    sets: SetOption = None,
    out: OutOption = Path("out"),
    process: ProcessOption = None,
    units: UnitsOption = "mm",
    layers: MoreOption = None,
    service: ServiceOption = None,
    quantity: QuantityOption = 1,
    paper: PaperOption = "A4",
    margin: MarginOption = "6 mm",
    printer: PrinterOption = None,
    as_json: JsonOption = False,
) -> None:
    """Solve, check, write everything into DIR/<name>/ and prove the cutting file."""
    from blankwright.template.scenes import wishes

    wanted = wishes(paper, margin=margin, printer=printer)
    shop = service_of(service)
    if shop is not None and shop.parts == "together":
        raise RequestError(
            f"--service: {shop.name} wants all parts in one file, which only cut writes. Use blankwright cut DESIGN "
            f"--service {service}, and make without it for drawing and template."
        )
    asked = cut_by(designs_from(designs, sets, process), shop)
    _make(asked, out, shown_units(units), layers, as_json, wanted, shop, quantity)


def cut(
    designs: DesignsArg,
    sets: SetOption = None,
    out: OutOption = Path("out"),
    process: ProcessOption = None,
    units: UnitsOption = "mm",
    layers: LayersOption = None,
    service: ServiceOption = None,
    quantity: QuantityOption = 1,
    as_json: JsonOption = False,
) -> None:
    """Solve, check, write only the cutting file and prove it."""
    shop = service_of(service)
    asked = cut_by(designs_from(designs, sets, process), shop)
    if shop is not None and shop.parts == "together":
        _cut_together(asked, out, shown_units(units), layers, as_json, shop, quantity)
        return
    _make(asked, out, shown_units(units), layers, as_json, None, shop, quantity)


def _cut_together(
    designs: list[Design], out: Path, units: str, layers: str | None, as_json: bool, service: Service, quantity: int
) -> None:
    from blankwright.desk.several import cut_together
    from blankwright.report.text import text_report

    if words_of(layers):
        raise RequestError("--with: a file of several parts holds what is cut and marked, no further layers.")
    try:
        made = cut_together(designs, out, service, quantity)
    except ProofError as error:
        _show_refused(error, units, as_json)
        raise
    if as_json:
        print_json(list(made.reports))
        return
    *first, last = made.shown
    shown = [*(replace(one, files=()) for one in first), last]  # the one file is named once
    say("\n".join(text_report(one, units) for one in shown).rstrip("\n"))
    say(f"  {len(made.parts)} parts in one file, each proven")


def template(
    designs: DesignsArg,
    sets: SetOption = None,
    out: OutOption = Path("out"),
    process: ProcessOption = None,
    paper: PaperOption = "A4",
    margin: MarginOption = "6 mm",
    printer: PrinterOption = None,
    both_faces: Annotated[bool, typer.Option("--both-faces", help="Add the mirror image for the other face.")] = False,
    dummy: Annotated[bool, typer.Option("--dummy", help="Add a card dummy to cut out and hold.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write only the trace template: PDF to print at actual size, SVG to cut from board."""
    from blankwright.desk.make import make_template
    from blankwright.knife.words import part_words
    from blankwright.template.scenes import wishes

    wanted = wishes(paper, margin=margin, printer=printer, both_faces=both_faces, dummy=dummy)
    written = []
    for design in designs_from(designs, sets, process):
        knife, folder, names = make_template(design, out, wanted)
        written.append({"name": design.name, "files": names})
        if not as_json:
            say(part_words(knife))
            say("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
    if as_json:
        print_json(written)
    else:
        say("Print at actual size, then measure the bars; if they are off, see: blankwright printer --help")


def sheet(
    designs: DesignsArg,
    sets: SetOption = None,
    out: OutOption = Path("out"),
    process: ProcessOption = None,
    units: UnitsOption = "mm",
    paper: Annotated[str, typer.Option("--paper", metavar="A4|Letter", help="The paper it is printed on.")] = "A4",
    hand: Annotated[
        str | None,
        typer.Option("--hand", metavar="HAND", help='Check the handle for a hand: "men 50", "women 5", or "88 mm".'),
    ] = None,
    prices: Annotated[
        Path | None, typer.Option("--prices", metavar="FILE.toml", help="Prices per kg, m or piece, for the costs.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Write only the build sheet: every stage from blank to edge, as a page (HTML) and to print (PDF)."""
    from blankwright.desk.make import make_sheet
    from blankwright.sheet.files import SheetWishes, sheet_paper
    from blankwright.sheet.hand import hand_breadth
    from blankwright.sheet.model import sheet_table
    from blankwright.sheet.prices import read_prices
    from blankwright.sheet.stages import HEAT

    if hand is not None:
        hand_breadth(hand)  # a wrong word is told before anything is solved
    listed = read_prices(prices) if prices is not None else None
    wanted = SheetWishes(sheet_paper(paper), shown_units(units), hand, listed)
    written = []
    for design in designs_from(designs, sets, process):
        data, folder, names = make_sheet(design, out, wanted)
        written.append(sheet_table(data) | {"files": names})
        if not as_json:
            name = "" if data.subtitle.startswith(data.title) else f"{data.title}: "
            say(f"{name}{data.subtitle}  (design {data.code})")
            say("\n".join(f"  {n:>2}  {stage.title}" for n, stage in enumerate(data.stages[1:], start=1)))
            say("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
    if as_json:
        print_json(written)
    else:
        heated = any(stage["code"] in HEAT for one in written for stage in one["stages"])
        promise = "No hardness is promised: harden and break a test coupon. " if heated else ""
        say(f"{promise}Local rules and the makers' data sheets come first.")


def _make(
    designs: list[Design], out: Path, units: str, layers: str | None, as_json: bool, wanted: Wishes | None,
    service: Service | None, quantity: int,
) -> None:  # fmt: skip
    from blankwright.desk.make import make as make_files
    from blankwright.report.text import text_report

    extras = words_of(layers)
    reports: list[dict[str, Any]] = []
    for number, design in enumerate(designs):
        try:
            made = make_files(design, out, extras, wanted is None, wanted, service, quantity)
        except ProofError as error:
            _show_refused(error, units, as_json, reports)
            raise
        reports.append(made.report)
        if not as_json:
            say(("\n" if number else "") + text_report(made.shown, units).rstrip("\n"))
            if made.older:
                say(f"  note: {', '.join(made.older)} in the same folder may show another state of this design")
    if as_json:
        print_json(reports)


def _show_refused(error: ProofError, units: str, as_json: bool, before: list[dict[str, Any]] | None = None) -> None:
    """Print the reports of what was refused, with every finding and no file; why it was follows as an error."""
    from blankwright.report.data import Report
    from blankwright.report.text import text_report

    if as_json:
        if before or error.shown:
            print_json([*(before or []), *error.reports])
        return
    for shown in error.shown:  # a file that cannot be read has no report
        if isinstance(shown, Report):
            say(text_report(shown, units).rstrip("\n"))
