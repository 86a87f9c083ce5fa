"""What every test shares: steady random cases, and the command line run inside the test process."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None, database=None, print_blob=True)
settings.load_profile("steady")


@dataclass(frozen=True)
class Ran:
    """One run of the command line."""

    code: int
    out: str
    err: str


@pytest.fixture
def command(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Iterator[Callable[..., Ran]]:
    """Run `blankwright ARGS...` in this process and return exit code, output and errors."""
    from blankwright.cli import main

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
