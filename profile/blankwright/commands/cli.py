"""The command line: words in, a calm report out. Only the command that runs loads what it needs."""

from __future__ import annotations

import atexit
import gc
import os
import platform
import re
import signal
import sys
from functools import cache
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperCommand
from typer.main import get_command

from blankwright import __version__
from blankwright.base.errors import BlankwrightError
from blankwright.base.plain import plain_text


class Command(TyperCommand):
    """A command whose help names what to write, not of what type it becomes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for parameter in self.params:
            if parameter.param_type_name == "argument":
                # hidden on the instance: the library has no setting for it
                vars(parameter)["display_type_rich"] = lambda ctx: None


_COMMANDS = {
    "families": ("making", "families"),
    "tables": ("listing", "tables steels"),
    "new": ("making", "new chef my_chef.toml"),
    "new-family": ("making", "new-family galley"),
    "make": (
        "making",
        "make chef --set blade.length=210mm --set blade.heel_height=48mm --process water-jet",
    ),
    "cut": ("making", "cut chef --process laser --out files"),
    "weigh": ("weighing", "weigh chef --set scales.material=beech"),
    "aim": ("weighing", "aim chef --weight 180g --balance 0mm --let heel_height --let scales.thickness"),
    "template": ("making", "template chef --paper A4 --both-faces --dummy"),
    "sheet": ("making", 'sheet chef --paper A4 --hand "men 50"'),
    "place": ("stocking", "place chef my_bar.toml --largest blade.length"),
    "nest": ("stocking", "nest galley_set.toml --seconds 60"),
    "inspect": ("checking", "inspect from_the_drawing_office.dxf --expect 345x60mm --picture faults.svg"),
    "frame": ("framing", "frame --paper A4"),
    "lift": ("lifting", "lift old_favourite.png --dpi 300 --measured-x 344.5mm --measured-y 48.2mm"),
    "compare": (
        "lifting",
        "compare my_chef.toml ground.png --dpi 300 --measured-x 344.5mm --measured-y 48.2mm",
    ),
    "page": ("paging", "page my_chef.toml"),
    "printer": ("printing", 'printer "workshop laser" --measured-x 99.2mm --measured-y 100.4mm'),
}
"""Name of a command -> the module that holds it, and an example of it."""


def _show_version(wanted: bool) -> None:
    if wanted:
        sys.stdout.write(f"blankwright {__version__} (Python {platform.python_version()})\n")
        raise typer.Exit


def _whole(
    _version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and exit."),
    ] = False,
) -> None:
    """Kitchen-knife outlines that can be cut: solved from a few dimensions, proven from the file."""


WRONG_LINE: type[Exception] = typer.BadParameter.__mro__[1]
"""What the library raises for a line it cannot read; its own name for it is not public in all releases."""

INTERRUPTED = 130
"""Exit code of a run that a key stopped, as shells tell it."""

_MOST_TOLD = 400
"""Letters of what is wrong with a line."""


def _wrong_line(error: Any) -> tuple[str, int]:
    """Return what is wrong with a line, in our voice, and the exit code."""
    text = error.format_message().strip().rstrip(".")
    possible = getattr(error, "possibilities", None)
    if possible:
        text = f"{error.message.strip().rstrip('.')}. Did you mean {' or '.join(sorted(possible))}?"
    if len(text) > _MOST_TOLD:  # the library repeats the wrong word, however long it is
        text = f"{text[: _MOST_TOLD // 2]} ... {text[-_MOST_TOLD // 2 :]}"
    if not text.endswith("?"):
        text += "."
    path = error.ctx.command_path if error.ctx is not None else "blankwright"
    return f"{text[:1].lower()}{text[1:]} See: {path} --help", error.exit_code


@cache
def app(*names: str) -> typer.Typer:
    """Return the command line with some of its commands, or all: a line runs one, and each loads what it asks for."""
    out = typer.Typer(
        name="blankwright",
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
    )
    out.callback()(_whole)
    for name in names or _COMMANDS:
        module, example = _COMMANDS[name]
        command = getattr(import_module(f"blankwright.commands.{module}"), name.replace("-", "_"))
        out.command(epilog=f"Example: blankwright {example}", cls=Command)(command)
    return out


@cache
def _commands(*names: str) -> Any:
    """Return commands with their options read, once for all lines run in a process."""
    return get_command(app(*names))


_LONG = re.compile(r"\S{240,}")
"""A word that nobody reads to its end, such as a path of thousands of letters."""


def _tell(text: str) -> None:
    """Say what went wrong; a terminal that is gone cannot be told."""
    shown = _LONG.sub(lambda word: f"{word[0][:200]}...", text)
    try:
        sys.stderr.write(f"blankwright: {shown}\n")
        sys.stderr.flush()
    except OSError:
        _hush(sys.stderr)


def _unprinted(error: OSError) -> None:
    _tell(f"the report cannot be printed ({error.strerror or error}). Files that are named in it are whole.")


def _hush(stream: Any) -> None:
    """Let what is left in a stream go nowhere, so that the end of the process does not stumble over it."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    except (OSError, ValueError):  # a stream in memory
        return


def _run(words: list[str]) -> int:
    """Run a line and return its exit code; every error is one calm paragraph on stderr."""
    try:
        for number, word in enumerate(words, start=1):
            plain_text(word, f"argument {number}")
        asked = [word for word in words[:1] if word in _COMMANDS]
        code = _commands(*asked)(words or ["--help"], prog_name="blankwright", standalone_mode=False)
        if code == INTERRUPTED:  # the library's word for a key, without one to the maker
            _tell("stopped")
        sys.stdout.flush()
    except WRONG_LINE as error:
        said, code = _wrong_line(error)
        _tell(said)
    except BlankwrightError as error:
        _tell(str(error))
        code = error.exit_code
    except (typer.Abort, KeyboardInterrupt):
        _tell("stopped")
        code = INTERRUPTED
    except SystemExit as end:
        # the library ends with 1 when the reader of a pipe is gone, which is no verdict
        code = 0 if type(sys.stdout).__name__ == "PacifyFlushWrapper" else end.code
    except BrokenPipeError:
        code = 0
    except OSError as error:
        if error.filename is None:
            _unprinted(error)
        else:
            _tell(f"{str(error.filename)[:200]}: cannot be used ({error.strerror or error}).")
        code = 2
    except Exception as error:
        _tell(
            f"internal error ({type(error).__name__}: {error}). Please report it with the command you ran; this is "
            f"blankwright {__version__}."
        )
        code = 1
    return code if isinstance(code, int) else 0


def _flushed(code: int) -> int:
    """Print what is left to be printed and return the exit code."""
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        _hush(sys.stdout)
    except OSError as error:
        _hush(sys.stdout)
        if code in (0, 1):
            _unprinted(error)
            return 2
    return code


def main() -> None:
    """Run the command line; a key that stops it unwinds what a command does, before and behind it the run just ends."""
    gc.disable()  # a run lives for a second: looking for its garbage costs a tenth of it and frees nothing
    atexit.register(gc.freeze)  # nor does looking for it at the end, which the interpreter does several times
    # its matrices are small: a second thread waits for the first, which costs a quarter of a fit and gains no time
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for name, code in (("SIGTERM", 143), ("SIGHUP", 129)):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) != signal.SIG_IGN:
            # unwinds, so that no half-written folder stays
            signal.signal(number, lambda *_, code=code: sys.exit(code))
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without the letter must not end the run
    if sys.stdout is None or sys.stderr is None:  # closed before the start
        nowhere = os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")
        sys.stdout, sys.stderr = sys.stdout or nowhere, sys.stderr or nowhere
    at_once = signal.getsignal(signal.SIGINT)
    try:
        if at_once != signal.SIG_IGN:
            signal.signal(signal.SIGINT, signal.default_int_handler)
        code = _run(sys.argv[1:])
    except KeyboardInterrupt:  # a second one, or one between the handlers
        _tell("stopped")
        code = INTERRUPTED
    signal.signal(signal.SIGINT, at_once)
    sys.exit(_flushed(code))


if __name__ == "__main__":
    main()
