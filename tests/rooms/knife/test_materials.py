"""Settings take materials of their kinds only; a refusal names the nearest and the command that lists them."""

from __future__ import annotations

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.keys import SETTINGS
from blankwright.design.request import read_design
from blankwright.knife.knife import finish
from blankwright.shop.records import KINDS
from rooms.every import cases


@cases(
    ("key", "name", "said"),
    [
        (
            "scales.material",
            "unknown",
            r"\[scales\] material: unknown is a blade steel. Allowed here: woods or laminates or bones",
        ),
        ("scales.material", "52100", "52100 is a blade steel"),
        ("scales.material", "brass", "brass is a metal"),
        ("pins.material", "teak", r"\[pins\] material: teak is a wood. Allowed here: metals or laminates."),
        ("material.grade", "brass", r"\[material\] grade: brass is a metal .*Allowed here: steels or woods."),
        ("material.grade", "G10", "glass-epoxy is a laminate"),
        ("scales.material", "sugar-mapel", "unknown material 'sugar-mapel'. Did you mean 'sugar-maple'"),
        ("pins.material", "bras", "Did you mean 'brass'"),
    ],
)
def test_a_material_of_the_wrong_kind_is_refused(key: str, name: str, said: str) -> None:
    with pytest.raises(RequestError, match=said) as caught:
        finish(read_design("chef", {key: name}))
    text = str(caught.value)
    assert "blankwright tables " in text
    assert len(text) < 330, "three names, not eighty"


def test_a_block_is_looked_at_too() -> None:
    with pytest.raises(RequestError, match=r"\[block\] material: O1 is a blade steel"):
        finish(read_design("chef", {"handle.construction": "hidden", "block.material": "O1"}))


def test_every_setting_that_names_a_material_says_its_kinds() -> None:
    others = {"cutting.process", "mark.text", "mark.file", "parts.template_material", "parts.sheath_material"}
    named = {s.key for s in SETTINGS if s.kind == "name"} - others  # a way, words, a file, and sheets of another table
    assert {s.key for s in SETTINGS if s.kinds} == named
    assert all(set(s.kinds) <= set(KINDS) for s in SETTINGS)
