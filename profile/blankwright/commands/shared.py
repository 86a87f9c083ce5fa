"""Options that several commands share, designs from words, and what is said at the end."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from blankwright.base.errors import RequestError

if TYPE_CHECKING:
    from blankwright.design.request import Design
    from blankwright.shop.services import Service

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
LayersOption = Annotated[
    str | None,
    typer.Option(
        "--with",
        metavar="LAYERS",
        help="Further layers of the cutting file: finished,grind,notes; ngc for one's own table.",
    ),
]
MoreOption = Annotated[
    str | None,
    typer.Option(
        "--with",
        metavar="WORDS",
        help="Further layers of the cutting file: finished,grind,notes; sections of the knife on its drawing; stl for "
        "solids to print and hold; ngc for one's own table.",
    ),
]
ServiceOption = Annotated[
    str | None,
    typer.Option(
        "--service",
        metavar="NAME|FILE",
        help="Write the cutting file as a shop wants it: jet, laser, plasma, own-table.",
    ),
]
QuantityOption = Annotated[int, typer.Option("--quantity", metavar="N", help="How many parts the cover note asks for.")]
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


def designs_from(sources: list[str], sets: list[str] | None, process: str | None) -> list[Design]:
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


def cut_by(designs: list[Design], service: Service | None) -> list[Design]:
    """Return designs cut the way a service cuts, where they do not ask for a way of their own."""
    from dataclasses import replace

    if service is None:
        return designs
    return [
        design
        if design.sources.get("cutting.process") == "asked"
        else replace(design, settings={**design.settings, "cutting.process": service.process})
        for design in designs
    ]


def service_of(words: str | None) -> Service | None:
    """Return the service that was named, if any."""
    from blankwright.shop.services import service

    return service(words) if words is not None else None


def shown_units(units: str) -> str:
    """Return the units of the report.

    Raises:
        RequestError: Neither mm nor in.
    """
    if units not in ("mm", "in"):
        raise RequestError(f"--units: '{units}' is unknown. Allowed: mm, in.")
    return units


def words_of(text: str | None) -> tuple[str, ...]:
    """Return the words of a list with commas."""
    return tuple(part.strip() for part in (text or "").split(",") if part.strip())


def print_json(reports: list[dict[str, Any]]) -> None:
    """Print one report as an object, several as a list."""
    from blankwright.report.data import dumps

    say(dumps(reports[0] if len(reports) == 1 else reports).rstrip("\n"))


def say(text: str) -> None:
    """Print a text to the reader."""
    sys.stdout.write(text + "\n")
