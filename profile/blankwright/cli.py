"""The command line: words in, a calm report out. Only the command that runs loads what it needs."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from blankwright.errors import BlankwrightError, RequestError

if TYPE_CHECKING:
    from blankwright.design.request import Design

app = typer.Typer(
    name="blankwright",
    help="Kitchen-knife outlines that can be cut: solved from a few dimensions, written with the right oversize, "
    "proven from the file.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)

DesignsArg = Annotated[
    list[str],
    typer.Argument(
        metavar="DESIGN...",
        help="A family's name, or a design or family file (.toml). Several are made in turn.",
    ),
]
SetOption = Annotated[
    list[str] | None,
    typer.Option("--set", metavar="KEY=VALUE", help="Change a value, such as blade.length=210mm. Repeatable."),
]
OutOption = Annotated[Path, typer.Option("--out", metavar="DIR", help="Folder for the files.")]
ProcessOption = Annotated[str | None, typer.Option("--process", metavar="NAME", help="How the blank is cut.")]
UnitsOption = Annotated[
    str, typer.Option("--units", metavar="mm|in", help="Units of the printed report; files stay in mm.")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the report as JSON.")]
WithOption = Annotated[
    str | None,
    typer.Option("--with", metavar="LAYERS", help="Further layers of the cutting file: finished,notes."),
]


@app.command(epilog="Example: blankwright families")
def families(units: UnitsOption = "mm", as_json: JsonOption = False) -> None:
    """List the families and the range of each dimension."""
    from blankwright.design.family import family_names, load_family
    from blankwright.emit.families import families_json, families_text

    loaded = [load_family(name) for name in family_names()]
    _print(families_json(loaded) if as_json else families_text(loaded, _units(units)))


@app.command(epilog="Example: blankwright new chef my_chef.toml")
def new(
    family: Annotated[str, typer.Argument(metavar="FAMILY", help="A family's name or file.")],
    file: Annotated[Path, typer.Argument(metavar="FILE.toml", help="The design file to write.")],
    force: Annotated[bool, typer.Option("--force", help="Overwrite the file if it is there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write a commented design file to start from."""
    from blankwright.design.family import load_family
    from blankwright.emit.designfile import design_file
    from blankwright.make import write_new

    write_new(file, design_file(load_family(family), file.stem), force=force)
    _print(json.dumps({"files": [file.name]}) if as_json else f"wrote {file}. Next: blankwright make {file}")


@app.command(
    epilog="Example: blankwright make chef --set blade.length=210mm --set blade.heel_height=48mm --process water-jet"
)
def make(
    designs: DesignsArg,
    sets: SetOption = None,
    out: OutOption = Path("out"),
    process: ProcessOption = None,
    units: UnitsOption = "mm",
    layers: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Solve, check, write everything into DIR/<name>/ and prove the cutting file."""
    _make(_designs(designs, sets, process), out, _units(units), layers, as_json, only_cut=False)


@app.command(epilog="Example: blankwright cut chef --process laser --out files")
def cut(
    designs: DesignsArg,
    sets: SetOption = None,
    out: OutOption = Path("out"),
    process: ProcessOption = None,
    units: UnitsOption = "mm",
    layers: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Solve, check, write only the cutting file and prove it."""
    _make(_designs(designs, sets, process), out, _units(units), layers, as_json, only_cut=True)


def _make(designs: list[Design], out: Path, units: str, layers: str | None, as_json: bool, *, only_cut: bool) -> None:
    from blankwright.document import dumps
    from blankwright.drawing import size_in_words
    from blankwright.emit.report import text_report
    from blankwright.make import make as make_files

    extras = tuple(part.strip() for part in (layers or "").split(",") if part.strip())
    reports = []
    for number, design in enumerate(designs):
        made = make_files(design, out, extras, only_cut)
        reports.append(made.report)
        if not as_json:
            words = size_in_words(made.work.cut.size_mm, design.number("material.thickness"))
            text = text_report(made.report, units, words, made.folder.as_posix())
            _print(("\n" if number else "") + text.rstrip("\n"))
    if as_json:
        _print(dumps(reports[0] if len(reports) == 1 else reports).rstrip("\n"))


def _designs(sources: list[str], sets: list[str] | None, process: str | None) -> list[Design]:
    """Read all designs before the first is made, so that a slip in the last one stops all."""
    from blankwright.design.request import read_design

    changes: dict[str, object] = {}
    for item in sets or []:
        key, sign, value = item.partition("=")
        if not sign or not key.strip() or not value.strip():
            raise RequestError(f"--set: '{item}' is not KEY=VALUE, such as blade.length=210mm.")
        changes[key.strip()] = value.strip()
    if process is not None:
        changes["cutting.process"] = process
    designs = [read_design(source, changes) for source in sources]
    seen: dict[str, str] = {}
    for source, design in zip(sources, designs, strict=True):
        if design.slug in seen:
            raise RequestError(
                f"{source} and {seen[design.slug]} would both be written to {design.slug}/. Give one another name."
            )
        seen[design.slug] = source
    return designs


def _units(units: str) -> str:
    if units not in ("mm", "in"):
        raise RequestError(f"--units: '{units}' is unknown. Allowed: mm, in.")
    return units


def _print(text: str) -> None:
    sys.stdout.write(text + "\n")


def main() -> None:
    """Run the command line; every error is one calm paragraph on stderr."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without the letter must not end the run
    try:
        app()
    except BlankwrightError as error:
        sys.stderr.write(f"blankwright: {error}\n")
        sys.exit(error.exit_code)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except Exception as error:
        kind = type(error).__name__
        sys.stderr.write(
            f"blankwright: a fault of ours ({kind}: {error}). Please report it with the command you ran.\n"
        )
        sys.exit(1)


if __name__ == "__main__":
    main()
