"""Options that several commands share, in groups; designs from words, and what is said at the end."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Iterable
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, get_type_hints

import typer

from blankwright.base.errors import RequestError, told
from blankwright.base.frozen import dataclass

if TYPE_CHECKING:
    from blankwright.design.request import Design
    from blankwright.shop.services import Service
    from blankwright.template.scenes import Wishes

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
        "--with", metavar="WORDS", help="Extras: finished, grind, notes, marks (layers); program (for your own table)."
    ),
]
PartOption = Annotated[
    list[str] | None,
    typer.Option(
        "--part",
        metavar="NAME",
        help="Instead of the blade: scales, liners, spacers, template, filing-guide, sheath. Repeatable.",
    ),
]
MoreOption = Annotated[
    str | None,
    typer.Option(
        "--with",
        metavar="WORDS",
        help="Extras: finished, grind, notes, marks (layers); sections (in the drawing); stl (solids); program (for "
        "your own table); parts (files of scales, template and what else is cut beside the blade).",
    ),
]


@dataclass(frozen=True)
class Asked:
    """The designs of a command, and what is changed in them."""

    sources: Annotated[
        list[str],
        typer.Argument(
            metavar="DESIGN", help="A family's name, or a design or family file (.toml). Several are made in turn."
        ),
    ]
    sets: SetOption = None
    process: ProcessOption = None

    def designs(self) -> list[Design]:
        """Read all designs before the first is made, so that a slip in the last one stops all.

        Raises:
            RequestError: As read_design; or two would be written to one folder.
        """
        return designs_from(self.sources, self.sets, self.process)


def _quantity(text: object) -> int:
    """Read how many parts are asked for; the range is the note's own."""
    try:
        return int(str(text))
    except ValueError:
        raise RequestError(f"--quantity: {told(text)} is not a whole number. Example: --quantity 4") from None


@dataclass(frozen=True)
class Order:
    """Who cuts the blank, and how many."""

    service: Annotated[
        str | None,
        typer.Option(
            "--service",
            metavar="NAME|FILE",
            help="Write the cutting file as a shop wants it: jet, laser, plasma, own-table.",
        ),
    ] = None
    quantity: Annotated[
        int,
        typer.Option("--quantity", metavar="N", parser=_quantity, help="How many parts the cover note asks for."),
    ] = 1

    def shop(self) -> Service | None:
        """Return the service that was named, if any."""
        from blankwright.shop.services import service

        return service(self.service) if self.service is not None else None


@dataclass(frozen=True)
class Print:
    """On what a template is printed."""

    paper: Annotated[
        str,
        typer.Option(
            "--paper", metavar="NAME|WxH", help="A4, A3, Letter, Legal, Tabloid, or a size such as 300x420mm."
        ),
    ] = "A4"
    margin: Annotated[str, typer.Option("--margin", metavar="LENGTH", help="Unprintable margin of your printer.")] = (
        "6 mm"
    )
    printer: Annotated[
        str | None, typer.Option("--printer", metavar="NAME", help="Correct for a printer that was measured.")
    ] = None

    def wishes(self, *, both_faces: bool = False, dummy: bool = False) -> Wishes:
        """Return what the printed template shall be.

        Raises:
            RequestError: As wishes of the template.
        """
        from blankwright.template.scenes import wishes

        return wishes(self.paper, margin=self.margin, printer=self.printer, both_faces=both_faces, dummy=dummy)


@dataclass(frozen=True)
class Shown:
    """How a report is printed."""

    units: UnitsOption = "mm"
    as_json: JsonOption = False

    def in_words(self) -> str:
        """Return the units of the report.

        Raises:
            RequestError: Neither mm nor in.
        """
        if self.units not in ("mm", "in"):
            raise RequestError(f"--units: '{self.units}' is unknown. Allowed: mm, in.")
        return self.units


def grouped(function: Callable[..., None]) -> Callable[..., None]:
    """Return a command whose groups of options are taken apart, as the command line's library wants them.

    Args:
        function: A command; a parameter that is one of the groups above stands for all of the group's options.
    """
    hints = get_type_hints(function, include_extras=True)
    groups: dict[str, tuple[type, list[str]]] = {}
    flat: list[inspect.Parameter] = []
    for name, parameter in inspect.signature(function).parameters.items():
        group = hints[name]
        if not (isinstance(group, type) and is_dataclass(group)):
            flat.append(parameter.replace(annotation=group, kind=inspect.Parameter.KEYWORD_ONLY))
            continue
        kinds = get_type_hints(group, include_extras=True)
        groups[name] = (group, [f.name for f in fields(group)])
        for field in fields(group):
            default = inspect.Parameter.empty if field.default is MISSING else field.default
            flat.append(
                inspect.Parameter(
                    field.name, inspect.Parameter.KEYWORD_ONLY, default=default, annotation=kinds[field.name]
                )
            )

    def command(**given: Any) -> None:
        for name, (group, keys) in groups.items():
            given[name] = group(**{key: given.pop(key) for key in keys})
        function(**given)

    command.__name__, command.__doc__ = function.__name__, function.__doc__
    command.__annotations__ = {parameter.name: parameter.annotation for parameter in flat}
    command.__signature__ = inspect.Signature(flat)  # type: ignore[attr-defined]
    return command


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
    designs = [read_design(source, changes, told_as="--set") for source in sources]
    seen: dict[str, str] = {}
    for source, design in zip(sources, designs, strict=True):
        if design.slug in seen:
            raise RequestError(
                f"{source} and {seen[design.slug]} would both be written to {design.slug}/. Give one another name."
            )
        seen[design.slug] = source
    return designs


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


def say_kept(kept: Iterable[str], shown: bool) -> None:
    """Say which edited files were kept; where the report is data, beside it.

    Args:
        kept: The remarks.
        shown: Whether the report is printed in words, and they have their place in it.
    """
    for text in kept:
        (sys.stdout if shown else sys.stderr).write(f"  note: {text}\n" if shown else f"blankwright: note: {text}\n")


def say_notes(notes: Iterable[str]) -> None:
    """Print remarks: what was asked for and not used, or what else lies in the folder."""
    for text in notes:
        say(f"  note: {text}")
