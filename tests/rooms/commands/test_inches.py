"""With --units in no command leaves a length in mm, but for sentences that say both; and nothing is "-0.00"."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from rooms.design.cases import SOME_KINDS
from rooms.often import repeated, share

pytestmark = repeated
_MM = re.compile(r"\d ?mm\b|(?<![\d.])\d+ to 0\.\d+ in\b")
_NOTHING = re.compile(r"-0(?:\.0+)? (?:in|oz|mm|g)\b")
_BOTH = re.compile(r"^The part is .* mm .*\(.* in\)\.$|\d+ mm \([0-9.]+ in\)|^ +wrote .*")
"""What stands in both units, so that a wrong one is noticed, and the names of files."""


def left_in_mm(text: str) -> list[str]:
    """Return the lines that hold a length in mm alone, half a range in mm, or a minus before nothing."""
    lines = [_BOTH.sub("", line) for line in text.splitlines()]
    return [line for line in lines if _MM.search(line) or _NOTHING.search(line)]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@repeated
@pytest.mark.parametrize(
    ("family", "kind", "words"), share([(*k, words) for k in SOME_KINDS for words in ("weigh", "make", "cut")], 8)
)
def test_a_knife_in_inches(family: str, kind: str, words: str, folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    ran = command(words, family, "--set", f"handle.construction={kind}", "--units", "in")
    assert ran.code == 0
    assert "in" in ran.out.split()
    assert left_in_mm(ran.out) == []


@pytest.mark.parametrize("setting", [
    "grind.kind=hollow;grind.wheel=100 mm", "grind.edge_before_hardening=0.3 mm", "start.from=hardened-blank",
   "pins.diameter=3 mm",     "cutting.process=plasma-table", "cutting.process=laser",
])  # fmt: skip
def test_warnings_in_inches(setting: str, folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    ran = command("make", "chef", *(word for one in setting.split(";") for word in ("--set", one)), "--units", "in")
    assert ran.code == 0
    assert left_in_mm(ran.out) == []


def test_a_service_in_inches(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    for service in ("jet", "laser", "own-table"):
        ran = command("make", "chef", "--service", service, "--units", "in")
        assert ran.code == 0
        assert "for the maker" in ran.out
        assert left_in_mm(ran.out) == []


def test_families_and_sheets_in_inches(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    assert left_in_mm(command("families", "--units", "in").out) == []
    assert left_in_mm(command("sheet", "chef", "--units", "in").out) == []
    page = next(folder.glob("out/chef/*.html")).read_text(encoding="utf-8")
    assert "1.97 in before the tip" in page
    assert ">50 mm before the tip" not in page  # in the heads of tables; the drawing beside them is in mm


def test_aims_in_inches(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    met = command("aim", "chef", "--weight", "190 g", "--let", "scales.thickness", "--units", "in")
    assert "scales.thickness" in met.out
    assert left_in_mm(met.out) == []
    far = command("aim", "chef", "--weight", "50 g", "--let", "scales.thickness", "--units", "in")
    assert "its smallest value" in far.out
    assert left_in_mm(far.out) == []


def test_an_inspection_in_inches(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    assert command("cut", "chef").code == 0
    file = str(next(folder.glob("out/chef/*.dxf")))
    ran = command(
        "inspect", file, "--process", "plasma-table", "--thickness", "8 mm", "--expect", "90x30mm", "--units", "in"
    )  # fmt: skip
    assert "HOLE-SIZE" in ran.out
    assert [line for line in left_in_mm(ran.out) if " in)" not in line] == []  # sizes stand in both
