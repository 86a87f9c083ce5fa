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
    Asked,
    JsonOption,
    LayersOption,
    MoreOption,
    Order,
    OutOption,
    PartOption,
    Print,
    Shown,
    grouped,
    print_json,
    say,
    say_kept,
    say_notes,
    words_of,
)

if TYPE_CHECKING:
    from blankwright.design.request import Design
    from blankwright.shop.services import Service
    from blankwright.template.scenes import Wishes


@grouped
def families(
    file: Annotated[
        str | None,
        typer.Argument(metavar="FAMILY|FILE", help="A family, or a family file to judge; without one all are listed."),
    ] = None,
    *,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE.svg", help="Draw all to one scale, or one with its points and bends."),
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a picture that is there.")] = False,
    shown: Shown,
) -> None:
    """List the families and their ranges, or judge a family file. Exit code 1 when it does not hold."""
    from blankwright.design.family import family_names, load_family
    from blankwright.report.families import families_json, families_text, judged_json, judged_text
    from blankwright.report.silhouettes import bend_words, family_svg, silhouettes_svg

    loaded = [load_family(name) for name in family_names()] if file is None else [load_family(file)]
    if picture is not None:
        from blankwright.base.onefile import write_chosen

        drawn = silhouettes_svg(loaded) if file is None else family_svg(loaded[0])
        write_chosen(picture, drawn, force=force)
    if file is None:
        say(families_json(loaded) if shown.as_json else families_text(loaded, shown.in_words()))
        return
    from blankwright.design.judge import judge

    (family,) = loaded
    faults = judge(family)
    bends = [] if faults else bend_words(family)
    if shown.as_json:
        say(judged_json(family, faults, bends))
    else:
        say(f"{families_text(loaded, shown.in_words())}\n\n{judged_text(family, faults, bends)}")
    if faults:
        sys.exit(1)


def new_family(
    name: Annotated[str, typer.Argument(metavar="NAME", help="What the family is called.")],
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE.toml", help="The file to write.  [default: NAME.toml]")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite the file if it is there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write a family file of a dozen points to start from."""
    from blankwright.base.onefile import write_new
    from blankwright.base.plain import plain_text
    from blankwright.design.blade import hands
    from blankwright.design.newfamily import new_family_text
    from blankwright.design.pattern import handle_names

    if not name.replace("-", "").isalnum() or len(name) > 60:
        raise RequestError(f"new-family: a name is letters, digits and hyphens, such as galley, got {name[:80]!r}.")
    plain_text(name, "new-family NAME")
    target = file or Path(f"{name}.toml")
    write_new(target, new_family_text(name, target.name, handle_names("full"), list(hands())), force=force)
    told = f"wrote {target}. Next: blankwright families {target} --picture {target.stem}.svg"
    say(json.dumps({"files": [target.name]}) if as_json else told)


def new(
    family: Annotated[
        str, typer.Argument(metavar="FAMILY", help="A family's name or file, or the lifted outline of a blank.")
    ],
    file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="The design file to write.")],
    construction: Annotated[
        str | None, typer.Option("--construction", metavar="NAME", help="full, hidden or one-piece.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite the file if it is there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write a commented design file to start from."""
    from blankwright.base.onefile import write_new
    from blankwright.design.designfile import design_file
    from blankwright.design.named import family_or_blank
    from blankwright.design.request import MOST_NAME

    kind = family_or_blank(family)
    name = file.stem.strip()[:MOST_NAME] or kind.name
    write_new(file, design_file(kind, name, construction, file.parent), force=force)
    first = "Write the blank's thickness in it, then" if kind.beside else "Next"
    say(json.dumps({"files": [file.name]}) if as_json else f"wrote {file}. {first}: blankwright make {file}")


@grouped
def make(
    asked: Asked,
    order: Order,
    printed: Print,
    *,
    out: OutOption = Path("out"),
    layers: MoreOption = None,
    shown: Shown,
) -> None:
    """Write everything into DIR/<name>/ and prove the cutting file."""
    wanted, shop = printed.wishes(), order.shop()
    if shop is not None and shop.parts == "together":
        raise RequestError(
            f"--service: {shop.name} wants all parts in one file, which only cut writes. Use blankwright cut DESIGN "
            f"--service {order.service}, and make without it for drawing and template."
        )
    _make(asked.designs(), out, shown, words_of(layers), wanted, shop, order.quantity)


@grouped
def cut(
    asked: Asked,
    order: Order,
    *,
    out: OutOption = Path("out"),
    layers: LayersOption = None,
    parts: PartOption = None,
    shown: Shown,
) -> None:
    """Write only cutting files, of the blade or other parts, proven."""
    shop, extras = order.shop(), words_of(layers)
    if parts:
        _cut_parts(asked.designs(), out, shown, parts, extras, shop, order.quantity)
        return
    designs = asked.designs()
    if shop is not None and shop.parts == "together":
        _cut_together(designs, out, shown, extras, shop, order.quantity)
        return
    _make(designs, out, shown, extras, None, shop, order.quantity)


def _cut_parts(
    designs: list[Design], out: Path, shown: Shown, parts: list[str], extras: tuple[str, ...],
    service: Service | None, quantity: int,
) -> None:  # fmt: skip
    from blankwright.desk.partfiles import cut_parts
    from blankwright.report.parts import parts_lines

    units = shown.in_words()
    for extra in extras:
        if extra != "marks":
            raise RequestError(f"--with: the file of a part has no layer for '{extra}'. Allowed with --part: marks.")
    all_made = [cut_parts(design, out, parts, service, marks=bool(extras), quantity=quantity) for design in designs]
    if shown.as_json:
        print_json([made.data for made in all_made])
        say_kept((words for made in all_made for words in made.kept), shown=False)
        return
    for made in all_made:
        knife = made.files.knife
        count = f"{len(made.proofs)} parts" if len(made.proofs) > 1 else "1 part"
        say(f"{knife.design.name}: {count} beside the blade  design {knife.code}")
        say("\n".join(parts_lines(made.files.parts, made.proofs, made.files.findings, units)))
        say("\n".join(f"  wrote {made.folder.as_posix()}/{name}" for name in made.names))
        say_kept(made.kept, shown=True)


def _cut_together(
    designs: list[Design], out: Path, shown: Shown, extras: tuple[str, ...], service: Service, quantity: int
) -> None:
    from blankwright.desk.several import cut_together
    from blankwright.report.text import text_report

    units = shown.in_words()
    try:
        made = cut_together(designs, out, service, quantity, extras)
    except ProofError as error:
        _show_refused(error, shown)
        raise
    if shown.as_json:
        print_json(list(made.reports))
        say_kept(made.kept, shown=False)
        return
    *first, last = made.shown
    told = [*(replace(one, files=()) for one in first), last]  # the one file is named once
    say("\n".join(text_report(one, units) for one in told).rstrip("\n"))
    say(f"  {len(made.parts)} parts in one file, each proven")
    say_notes(made.notes)


@grouped
def template(
    asked: Asked,
    printed: Print,
    out: OutOption = Path("out"),
    both_faces: Annotated[bool, typer.Option("--both-faces", help="Add the mirror image for the other face.")] = False,
    dummy: Annotated[bool, typer.Option("--dummy", help="Add a card dummy to cut out and hold.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write only the trace template: PDF to print, SVG to cut."""
    from blankwright.desk.papers import make_template
    from blankwright.knife.start import idle_words
    from blankwright.knife.words import part_words

    wanted = printed.wishes(both_faces=both_faces, dummy=dummy)
    written = []
    for design in asked.designs():
        knife, folder, names, kept = make_template(design, out, wanted)
        written.append({"name": design.name, "files": names})
        if not as_json:
            say(part_words(knife))
            say("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
            say_notes(idle_words(design))
        say_kept(kept, shown=not as_json)
    if as_json:
        print_json(written)
    else:
        say("Print at actual size, then measure the bars; if they are off, see: blankwright printer --help")


@grouped
def sheet(
    asked: Asked,
    *,
    out: OutOption = Path("out"),
    paper: Annotated[str, typer.Option("--paper", metavar="A4|Letter", help="The paper it is printed on.")] = "A4",
    hand: Annotated[
        str | None,
        typer.Option("--hand", metavar="HAND", help='Check the handle for a hand: "men 50", "women 5", or "88 mm".'),
    ] = None,
    prices: Annotated[
        Path | None, typer.Option("--prices", metavar="FILE.toml", help="Prices per kg, m or piece, for the costs.")
    ] = None,
    shown: Shown,
) -> None:
    """Write only the build sheet: every stage from blank to edge."""
    from blankwright.desk.papers import make_sheet
    from blankwright.knife.start import idle_words
    from blankwright.sheet.files import SheetWishes, sheet_paper
    from blankwright.sheet.handfit import hand_breadth
    from blankwright.sheet.model import sheet_table
    from blankwright.sheet.prices import read_prices
    from blankwright.sheet.stages import HEAT

    if hand is not None:
        hand_breadth(hand)  # a wrong word is told before anything is solved
    listed = read_prices(prices) if prices is not None else None
    wanted = SheetWishes(sheet_paper(paper), shown.in_words(), hand, listed)
    written = []
    for design in asked.designs():
        data, folder, names, kept = make_sheet(design, out, wanted)
        written.append(sheet_table(data) | {"files": names})
        if not shown.as_json:
            name = "" if data.subtitle.startswith(data.title) else f"{data.title}: "
            say(f"{name}{data.subtitle}  (design {data.code})")
            say("\n".join(f"  {n:>2}  {stage.title}" for n, stage in enumerate(data.stages[1:], start=1)))
            say("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
            say_notes(idle_words(design))
        say_kept(kept, shown=not shown.as_json)
    if shown.as_json:
        print_json(written)
    else:
        heated = any(stage["code"] in HEAT for one in written for stage in one["stages"])
        promise = "No hardness is promised: harden and break a test coupon. " if heated else ""
        say(f"{promise}Local rules and the makers' data sheets come first.")


def _make(
    designs: list[Design], out: Path, shown: Shown, extras: tuple[str, ...], wanted: Wishes | None,
    service: Service | None, quantity: int,
) -> None:  # fmt: skip
    from blankwright.desk.make import left_before
    from blankwright.desk.make import make as make_files
    from blankwright.report.text import text_report

    units = shown.in_words()
    reports: list[dict[str, Any]] = []
    taken: list[str] = []  # names of the files that go to the same shop
    for number, design in enumerate(designs):
        try:
            made = make_files(design, out, extras, wanted is None, wanted, service, quantity, taken)
        except ProofError as error:
            _show_refused(error, shown, reports)
            raise ProofError(f"{error} {left_before(design, out)}".rstrip(), error.shown) from None
        reports.append(made.report)
        taken += made.files_for_shop
        if not shown.as_json:
            say(("\n" if number else "") + text_report(made.shown, units).rstrip("\n"))
            say_notes(made.notes)
        else:
            say_kept(made.kept, shown=False)
    if shown.as_json:
        print_json(reports)


def _show_refused(error: ProofError, shown: Shown, before: list[dict[str, Any]] | None = None) -> None:
    """Print the reports of what was refused, with every finding and no file; why it was follows as an error."""
    from blankwright.report.data import Report
    from blankwright.report.text import text_report

    if shown.as_json:
        if before or error.shown:
            print_json([*(before or []), *error.reports])
        return
    for one in error.shown:  # a file that cannot be read has no report
        if isinstance(one, Report):
            say(text_report(one, shown.in_words()).rstrip("\n"))
