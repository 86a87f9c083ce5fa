"""What a knife weighs and where it balances, and aiming at it."""

from __future__ import annotations

import itertools
import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from blankwright.base.errors import unknown
from blankwright.commands.shared import (
    Asked,
    OutOption,
    ProcessOption,
    SetOption,
    Shown,
    designs_from,
    grouped,
    print_json,
    say,
    say_kept,
    say_notes,
    words_of,
)


@grouped
def weigh(
    asked: Asked,
    *,
    out: OutOption = Path("out"),
    wanted: Annotated[
        str | None, typer.Option("--with", metavar="sections", help="Write the drawing with the knife in section.")
    ] = None,
    shown: Shown,
) -> None:
    """Weigh: areas, weights of every stage, balance. Writes no file unless asked for the sections."""
    from blankwright.desk.papers import make_drawing
    from blankwright.desk.proving import refuse
    from blankwright.knife.knife import finish
    from blankwright.knife.moves import what_moves_it
    from blankwright.knife.start import idle_words
    from blankwright.report.data import document, moves_table
    from blankwright.report.text import head_line
    from blankwright.report.weights import weights_report

    units, designs = shown.in_words(), asked.designs()
    reports, written, kept = [], [], list[str]()
    extras = words_of(wanted)
    for extra in extras:
        if extra != "sections":
            raise unknown("word", extra, ("sections",), "--with")
    knives, texts = [finish(design) for design in designs], []
    for knife in knives:
        folder, names, edited = make_drawing(knife, out) if extras else (out, [], [])
        kept += edited
        moves = what_moves_it(knife)
        reports.append(document(knife, None, names) | {"what_moves_it": moves_table(moves)})
        texts.append(weights_report(knife, moves, units, head_line(knife, units)))
        written += [f"  wrote {folder.as_posix()}/{name}" for name in names]
    if shown.as_json:
        print_json(reports)
    else:
        say("\n".join(texts).rstrip("\n"))
        if written:
            say("\n" + "\n".join(written))
        say_notes(words for design in designs for words in idle_words(design))
    say_kept(kept, shown=not shown.as_json)
    refuse([finding for knife in knives for finding in knife.findings], [])


@grouped
def aim(
    source: Annotated[
        str, typer.Argument(metavar="DESIGN", help="A family's name, or a design or family file (.toml).")
    ],
    *,
    let: Annotated[
        list[str] | None,
        typer.Option(
            "--let",
            metavar="KEY[=LO..HI]",
            help="What may change: a length, angle or count of the design file, such as scales.thickness. Repeatable.",
        ),
    ] = None,
    weight_words: Annotated[
        str | None, typer.Option("--weight", metavar="MASS", help="Weight of the finished knife.")
    ] = None,
    balance: Annotated[
        str | None, typer.Option("--balance", metavar="LENGTH", help="Balance ahead of the heel; negative behind it.")
    ] = None,
    blade_area: Annotated[
        str | None, typer.Option("--blade-area", metavar="AREA", help="Blade ahead of the heel, seen from the side.")
    ] = None,
    sets: SetOption = None,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the new design file.")] = Path(),
    nearest: Annotated[
        bool, typer.Option("--nearest", help="Write the nearest design when the target is out of reach.")
    ] = False,
    force: Annotated[
        bool, typer.Option("--force", help="Overwrite NAME-aimed.toml instead of writing NAME-aimed-2.toml.")
    ] = False,
    process: ProcessOption = None,
    shown: Shown,
) -> None:
    """Reach a weight or balance by changing only what you allow. Writes a new design file."""
    from blankwright.base.onefile import write_new
    from blankwright.base.units import area_mm2, length_mm, mass_g
    from blankwright.knife.aim import aim as aim_at
    from blankwright.knife.aimed import aimed_table, aimed_text
    from blankwright.report.weights import aim_report

    asked = {
        key: read(text, option)
        for key, read, text, option in (
            ("weight_g", mass_g, weight_words, "--weight"),
            ("balance_mm", length_mm, balance, "--balance"),
            ("blade_area_mm2", area_mm2, blade_area, "--blade-area"),
        )
        if text is not None
    }
    units, design = shown.in_words(), designs_from([source], sets, process)[0]
    found = aim_at(design, asked, let or [])
    table = aimed_table(found)
    file = _free(out, f"{design.slug}-aimed", force)
    if found.reached or nearest:
        write_new(file, aimed_text(found, file.parent), force=force, new_folder=True)
        table["files"] = [file.name]
    if shown.as_json:
        say(json.dumps(table, indent=1, ensure_ascii=False))
    else:
        say(aim_report(found, units).rstrip("\n"))
        if table["files"]:
            say(f"\nwrote {file}. Next: blankwright make {file}")
    if not found.reached:
        sys.exit(1)


def _free(folder: Path, name: str, force: bool) -> Path:
    """Return a file name that is not taken: "chef-aimed.toml", then "chef-aimed-2.toml"; forced, the first."""
    numbered = (folder / f"{name}{'' if i == 1 else f'-{i}'}.toml" for i in itertools.count(1))
    return next(path for path in numbered if force or not path.exists())
