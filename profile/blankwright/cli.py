"""The command line: words in, a calm report out. Only the command that runs loads what it needs."""

from __future__ import annotations

import gc
import json
import signal
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from blankwright.errors import BlankwrightError, RequestError

if TYPE_CHECKING:
    from blankwright.design.request import Design
    from blankwright.printers import Printer
    from blankwright.template import Wishes

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
        metavar="DESIGN",
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
PaperOption = Annotated[
    str,
    typer.Option("--paper", metavar="NAME|WxH", help="A4, A3, Letter, Legal, Tabloid, or a size such as 300x420mm."),
]
MarginOption = Annotated[
    str, typer.Option("--margin", metavar="LENGTH", help="What the printer leaves white on each side.")
]
PrinterOption = Annotated[
    str | None, typer.Option("--printer", metavar="NAME", help="Correct for a printer that was measured.")
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
    construction: Annotated[
        str | None, typer.Option("--construction", metavar="NAME", help="full, hidden or one-piece.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Overwrite the file if it is there.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Write a commented design file to start from."""
    from blankwright.design.family import load_family
    from blankwright.emit.designfile import design_file
    from blankwright.make import write_new

    write_new(file, design_file(load_family(family), file.stem, construction), force=force)
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
    paper: PaperOption = "A4",
    margin: MarginOption = "6 mm",
    printer: PrinterOption = None,
    as_json: JsonOption = False,
) -> None:
    """Solve, check, write everything into DIR/<name>/ and prove the cutting file."""
    from blankwright.template import wishes

    wanted = wishes(paper, margin=margin, printer=printer)
    _make(_designs(designs, sets, process), out, _units(units), layers, as_json, wanted)


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
    _make(_designs(designs, sets, process), out, _units(units), layers, as_json, None)


@app.command(epilog="Example: blankwright weigh chef --set scales.material=beech")
def weigh(
    designs: DesignsArg,
    sets: SetOption = None,
    process: ProcessOption = None,
    units: UnitsOption = "mm",
    as_json: JsonOption = False,
) -> None:
    """Solve and weigh: areas, weights of every stage, balance. Writes no file."""
    from blankwright.document import document
    from blankwright.emit.report import weights_report
    from blankwright.workpiece import prepare

    reports = [document(prepare(design), None, []) for design in _designs(designs, sets, process)]
    shown = _units(units)
    if as_json:
        _print_json(reports)
        return
    _print("\n".join(weights_report(report, shown) for report in reports).rstrip("\n"))


@app.command(epilog="Example: blankwright template chef --paper A4 --both-faces --dummy")
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
    from blankwright.drawing import size_in_words
    from blankwright.make import make_template
    from blankwright.template import wishes

    wanted = wishes(paper, margin=margin, printer=printer, both_faces=both_faces, dummy=dummy)
    written = []
    for design in _designs(designs, sets, process):
        work, folder, names = make_template(design, out, wanted)
        written.append({"name": design.name, "files": names})
        if not as_json:
            _print(size_in_words(work.cut.size_mm, design.number("material.thickness")))
            _print("\n".join(f"  wrote {folder.as_posix()}/{name}" for name in names))
    if as_json:
        _print_json(written)
    else:
        _print("Print at actual size, then measure the bars; if they are off, see: blankwright printer --help")


@app.command(epilog="Example: blankwright inspect from_the_drawing_office.dxf --expect 345x60mm --picture faults.svg")
def inspect(
    file: Annotated[Path, typer.Argument(metavar="FILE.dxf", help="Any cutting file, ours or not.")],
    expect: Annotated[
        str | None, typer.Option("--expect", metavar="LxH", help="Size that the part should have, such as 345x60mm.")
    ] = None,
    process: ProcessOption = None,
    stock: Annotated[
        str | None,
        typer.Option("--thickness", metavar="LENGTH", help="Thickness of the stock: judges holes and walls."),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option("--picture", metavar="FILE.svg", help="Draw the contours, a number at each fault.")
    ] = None,
    mend: Annotated[
        Path | None, typer.Option("--mend", metavar="OUT.dxf", help="Write a mended copy, where that is safe.")
    ] = None,
    gap: Annotated[str, typer.Option("--gap", metavar="LENGTH", help="Widest gap that --mend closes.")] = "0.1mm",
    units: UnitsOption = "mm",
    as_json: JsonOption = False,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a picture or copy that is there.")] = False,
) -> None:
    """Judge a cutting file: fit to cut or not, what is wrong and where. Exit code 1 when it has faults."""
    from blankwright.inspection import inspect as inspect_file
    from blankwright.inspection import request

    shown = _units(units)
    asked = request(
        file, expect=expect, process=process, stock=stock, picture=picture, mended=mend, gap=gap, force=force
    )
    report = inspect_file(asked)
    if as_json:
        _print(json.dumps(report, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        from blankwright.emit.inspected import inspected_text

        _print(inspected_text(report, shown).rstrip("\n"))
    if report["verdict"] == "error" or report["not_mended"]:
        sys.exit(1)


@app.command(epilog='Example: blankwright printer "workshop laser" --measured-x 99.2mm --measured-y 100.4mm')
def printer(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="A name for the printer; without it all are listed.")
    ] = None,
    measured_x: Annotated[
        str | None, typer.Option("--measured-x", metavar="LENGTH", help="What the level 100 mm bar measures on paper.")
    ] = None,
    measured_y: Annotated[
        str | None,
        typer.Option("--measured-y", metavar="LENGTH", help="What the upright 100 mm bar measures on paper."),
    ] = None,
    forget: Annotated[bool, typer.Option("--forget", help="Remove the printer.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Keep, show or forget what a printer makes of the 100 mm bars; --printer NAME then corrects for it."""
    from blankwright import printers

    if name is None:
        shown = printers.all_printers()
    elif forget:
        printers.forget(name)
        _print(json.dumps({"forgotten": name}) if as_json else f"forgot {name}")
        return
    elif measured_x is None and measured_y is None:
        shown = (printers.recall(name),)
    else:
        shown = (_measured(name, measured_x, measured_y),)
        printers.remember(shown[0])
    if as_json:
        rows = [{"name": p.name, "measured_x_mm": p.measured_x_mm, "measured_y_mm": p.measured_y_mm} for p in shown]
        _print(json.dumps({"printers": rows}, indent=1, ensure_ascii=False))
    elif not shown:
        _print(
            "No printer is kept. Print a template, measure its bars, then: blankwright printer NAME --measured-x ..."
        )
    for p in () if as_json else shown:
        x, y = p.stretch
        _print(
            f"{p.name}: 100 mm printed as {p.measured_x_mm:g} x {p.measured_y_mm:g} mm; corrected by {x:.4f} x {y:.4f}"
        )


def _measured(name: str, x: str | None, y: str | None) -> Printer:
    from blankwright.printers import Printer
    from blankwright.units import length_mm

    if x is None or y is None:
        raise RequestError("printer: give both --measured-x and --measured-y; the two axes of a printer differ.")
    return Printer(name, length_mm(x, "--measured-x"), length_mm(y, "--measured-y"))


def _make(
    designs: list[Design], out: Path, units: str, layers: str | None, as_json: bool, wanted: Wishes | None
) -> None:
    from blankwright.drawing import size_in_words
    from blankwright.emit.report import text_report
    from blankwright.make import make as make_files

    extras = tuple(part.strip() for part in (layers or "").split(",") if part.strip())
    reports = []
    for number, design in enumerate(designs):
        made = make_files(design, out, extras, wanted is None, wanted)
        reports.append(made.report)
        if not as_json:
            words = size_in_words(made.work.cut.size_mm, design.number("material.thickness"))
            text = text_report(made.report, units, words, made.folder.as_posix())
            _print(("\n" if number else "") + text.rstrip("\n"))
            if made.older:
                _print(f"  note: {', '.join(made.older)} in the same folder may show another state of this design")
    if as_json:
        _print_json(reports)


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


def _print_json(reports: list[dict[str, Any]]) -> None:
    """Print one report as an object, several as a list."""
    from blankwright.document import dumps

    _print(dumps(reports[0] if len(reports) == 1 else reports).rstrip("\n"))


def _print(text: str) -> None:
    sys.stdout.write(text + "\n")


def main() -> None:
    """Run the command line; every error is one calm paragraph on stderr."""
    gc.disable()  # a run lives for a second: looking for its garbage costs a tenth of it and frees nothing
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # unwinds, so that no half-written folder stays
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
