"""The command line: words in, a calm report out. Only the command that runs loads what it needs."""

from __future__ import annotations

import gc
import signal
import sys

import typer

from blankwright.base.errors import BlankwrightError
from blankwright.commands import checking, listing, making, printing, weighing

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
    app.command(epilog=f"Example: {_example}")(_command)


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
