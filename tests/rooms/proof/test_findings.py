"""A finding cannot be half-built, and every code is explained."""

from __future__ import annotations

import math

import pytest

from blankwright.base.errors import GeometryError
from blankwright.base.finding import Figure, Finding, finding
from blankwright.base.said import Line, mm, said
from blankwright.proof.findings import CODES
from rooms.every import cases


@cases("code", ["unit", "UNIT-", "", "UN IT", "1A"])
def test_malformed_code_is_refused(code: str) -> None:
    with pytest.raises(GeometryError, match="code"):
        Finding(code, "ok", Line("text"), None)
    with pytest.raises(GeometryError, match="code"):
        Figure(code, Line("text"))


def test_level_message_and_place_are_checked() -> None:
    with pytest.raises(GeometryError, match="level"):
        Finding("UNIT", "bad", Line("text"), None)  # type: ignore[arg-type]
    with pytest.raises(GeometryError, match="nothing"):
        finding("UNIT", " ")
    with pytest.raises(GeometryError, match="finite"):
        finding("UNIT", "text", (0.0, math.nan))


def test_every_code_is_well_formed_and_explained() -> None:
    for code, meaning in CODES.items():
        assert finding(code, meaning).code == code
        assert meaning.endswith(".")


def test_a_length_follows_the_reader_and_a_name_stays_as_it_is() -> None:
    """25.4 mm to the inch, exactly (international yard and pound agreement, 1959)."""
    one = finding("WALL", said("Layer '{}' is {} from the edge; {} is usual.", "{} 3 mm", mm(25.4), mm(20, 0, upto=25)))
    assert one.message == "Layer '{} 3 mm' is 25.40 mm from the edge; 20 to 25 mm is usual."
    assert one.text("in") == "Layer '{} 3 mm' is 1.000 in from the edge; 0.79 to 0.98 in is usual."


def test_nothing_has_no_sign() -> None:
    assert finding("WALL", said("{}", mm(-0.0001))).text("in") == "0.000 in"
