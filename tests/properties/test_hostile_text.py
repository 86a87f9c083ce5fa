"""Some hundred hostile text files: an answer in words, nothing left over. Ten thousand: `bench/hostile_text.py`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from properties.hostile import KINDS, Maker, laid, wrong
from rooms.often import often, repeated

SEED, COUNT = 7, often(300, 90)


@repeated
def test_hostile_files_get_an_answer_in_words(
    tmp_path: Path, command: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    made, faults, codes, kinds = Maker(SEED), [], set(), set()
    monkeypatch.setenv("XDG_CONFIG_HOME", "config")
    for number in range(COUNT):
        hostile = made.file(number)
        folder = tmp_path / str(number)
        folder.mkdir()
        laid(hostile, folder)
        monkeypatch.chdir(folder)
        ran = command(*hostile.line)
        codes.add(ran.code)
        kinds.add(hostile.kind)
        said = wrong(hostile, folder, ran.code, ran.out, ran.err)
        if said:
            faults.append(f"Maker({SEED}).file({number}), {' '.join(hostile.line)}: {'; '.join(said)}\n{ran.err[:300]}")
    assert not faults, "\n".join(faults[:20])
    assert codes == {0, 1, 2}
    assert kinds == set(KINDS)
