"""What every test shares: steady random cases, and the command line run inside the test process."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None, database=None, print_blob=True)
settings.load_profile("steady")

sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
"""Tests start some hundred processes: what is compiled for the first is read by the others, and by the next run."""

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""Two processes of tests on two cores: threads of the linear algebra would wait for each other, at a fifth of a fit."""


DEAREST = (
    "test_page_browser.py", "test_placing.py", "test_sheet_pdf.py", "test_every_row.py", "test_photo.py",
    "test_lifted_scans.py", "test_all_papers.py", "test_solving.py", "test_printed_solids.py",
    "test_whole_knives_meshes.py", "test_template_rendered.py", "test_lift_fitting.py", "test_make.py",
    "test_script.py", "test_nest_strip.py", "test_tools.py", "test_cli.py", "test_parts_cut.py", "test_inspect_fuzz.py",
    "test_hostile_stock.py", "test_inspect_mend.py", "test_requests.py", "test_sheet_command.py", "test_sheet_html.py",
    "test_hostile_text.py", "test_part_files.py", "test_sections_drawn.py", "test_manual.py",
)  # fmt: skip
"""Files that take longest, the longest first: no process works on one of them alone at the end."""


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put the dearest files first, after the order was drawn; the rest stays as drawn."""
    turn = {name: number for number, name in enumerate(DEAREST)}
    items.sort(key=lambda item: turn.get(item.path.name, len(DEAREST)))


def pytest_collection_finish() -> None:
    """Let the collector of rubbish look at what tests make, and that seldom: modules stay until the end anyway."""
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say how the order was drawn: its own line stands in a header that -q leaves out."""
    seed = config.getoption("randomly_seed", None)
    if isinstance(seed, int):
        terminalreporter.write_line(f"order drawn with --randomly-seed={seed}")


@dataclass(frozen=True)
class Ran:
    """One run of the command line."""

    code: int
    out: str
    err: str


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Callable[..., Ran]]:
    """Run `blankwright ARGS...` in this process and return exit code, output and errors."""
    from blankwright.commands.cli import main

    def run(*args: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["blankwright", *map(str, args)])
        capsys.readouterr()
        code: object = 0
        try:
            main()
        except SystemExit as end:
            code = end.code
        said = capsys.readouterr()
        return Ran(code if isinstance(code, int) else 0 if code is None else 1, said.out, said.err)

    return run


@pytest.fixture(autouse=True)
def collector_stays_on() -> Iterator[None]:
    """The command line switches the collector off for its short life; the suite lives longer."""
    yield
    gc.enable()
