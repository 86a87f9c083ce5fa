"""The command line: words in, a calm report out. Only the command that runs loads what it needs."""

from __future__ import annotations

import gc
import platform
import signal
import sys
from functools import cache
from typing import Annotated, Any

import typer
from typer.core import TyperCommand
from typer.main import get_command

from blankwright import __version__
from blankwright.base.errors import BlankwrightError
from blankwright.commands import checking, listing, making, printing, weighing


class Command(TyperCommand):
    """A command whose help names what to write, not of what type it becomes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for parameter in self.params:
            if parameter.param_type_name == "argument":
                # hidden on the instance: the library has no setting for it
                vars(parameter)["display_type_rich"] = lambda ctx: None


app = typer.Typer(
    name="blankwright",
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)

_COMMANDS = (
    (making.families, "blankwright families"),
    (listing.tables, "blankwright tables steels"),
    (making.new, "blankwright new chef my_chef.toml"),
    (
        making.make,
        "blankwright make chef --set blade.length=210mm --set blade.heel_height=48mm --process water-jet",
    ),
    (making.cut, "blankwright cut chef --process laser --out files"),
    (weighing.weigh, "blankwright weigh chef --set scales.material=beech"),
    (
        weighing.aim,
        "blankwright aim chef --weight 180g --balance 0mm --let heel_height --let scales.thickness",
    ),
    (making.template, "blankwright template chef --paper A4 --both-faces --dummy"),
    (making.sheet, 'blankwright sheet chef --paper A4 --hand "men 50"'),
    (checking.inspect, "blankwright inspect from_the_drawing_office.dxf --expect 345x60mm --picture faults.svg"),
    (printing.printer, 'blankwright printer "workshop laser" --measured-x 99.2mm --measured-y 100.4mm'),
)
for _command, _example in _COMMANDS:
    app.command(epilog=f"Example: {_example}", cls=Command)(_command)


def _show_version(wanted: bool) -> None:
    if wanted:
        sys.stdout.write(f"blankwright {__version__} (Python {platform.python_version()})\n")
        raise typer.Exit


@app.callback()
def _whole(
    _version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and exit."),
    ] = False,
) -> None:
    """Kitchen-knife outlines that can be cut: solved from a few dimensions, proven from the file."""


WRONG_LINE: type[Exception] = typer.BadParameter.__mro__[1]
"""What the library raises for a line it cannot read; its own name for it is not public in all releases."""


def _wrong_line(error: Any) -> tuple[str, int]:
    """Return what is wrong with a line, in our voice, and the exit code."""
    text = error.format_message().strip().rstrip(".")
    possible = getattr(error, "possibilities", None)
    if possible:
        text = f"{error.message.strip().rstrip('.')}. Did you mean {' or '.join(sorted(possible))}?"
    if not text.endswith("?"):
        text += "."
    path = error.ctx.command_path if error.ctx is not None else "blankwright"
    return f"{text[:1].lower()}{text[1:]} See: {path} --help", error.exit_code


@cache
def _commands() -> Any:
    """Return the commands with their options read, once for all lines run in a process."""
    return get_command(app)


def main() -> None:
    """Run the command line; every error is one calm paragraph on stderr."""
    gc.disable()  # a run lives for a second: looking for its garbage costs a tenth of it and frees nothing
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))  # unwinds, so that no half-written folder stays
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without the letter must not end the run
    try:
        code = _commands()(sys.argv[1:] or ["--help"], prog_name="blankwright", standalone_mode=False)
    except WRONG_LINE as error:
        said, code = _wrong_line(error)
        sys.stderr.write(f"blankwright: {said}\n")
    except BlankwrightError as error:
        sys.stderr.write(f"blankwright: {error}\n")
        code = error.exit_code
    except typer.Abort:
        sys.stderr.write("blankwright: stopped\n")
        code = 130
    except BrokenPipeError:
        sys.stderr.close()
        code = 0
    except Exception as error:
        sys.stderr.write(
            f"blankwright: internal error ({type(error).__name__}: {error}). Please report it with the command you "
            f"ran; this is blankwright {__version__}.\n"
        )
        code = 1
    sys.exit(code or 0)


if __name__ == "__main__":
    main()
