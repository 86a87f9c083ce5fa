"""Some hostile stock files, placed on: an answer in words, nothing left over. Two thousand: `bench/hostile_text.py`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from properties.hostile import STOCK_KINDS, Maker, laid, wrong
from rooms.often import EVERY_CASE

SEED = 5
NUMBERS = [51, 142, *(range(200) if EVERY_CASE else (0, 12, 159))]
"""The first two once showed faults; the suite takes one of each outcome."""


@pytest.mark.repeated
def test_hostile_stock_files_get_an_answer_in_words(
    tmp_path: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    made, faults, codes = Maker(SEED, STOCK_KINDS), [], set()
    monkeypatch.setenv("XDG_CONFIG_HOME", "config")
    for number in NUMBERS:
        hostile = made.file(number)
        folder = tmp_path / f"{number} {len(codes)}"
        folder.mkdir(exist_ok=True)
        if (folder / "x.toml").exists():
            continue
        laid(hostile, folder)
        monkeypatch.chdir(folder)
        ran = command(*hostile.line)
        codes.add(ran.code)
        said = wrong(hostile, folder, ran.code, ran.out, ran.err)
        if said:
            faults.append(f"Maker({SEED}).file({number}), {' '.join(hostile.line)}: {'; '.join(said)}\n{ran.err[:300]}")
    assert not faults, "\n".join(faults[:20])
    assert codes == {0, 1, 2}
