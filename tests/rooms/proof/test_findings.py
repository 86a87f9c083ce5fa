"""A finding cannot be half-built, and every code is explained."""

from __future__ import annotations

import math

import pytest

from blankwright.base.errors import GeometryError
from blankwright.base.finding import Finding
from blankwright.proof.findings import CODES


@pytest.mark.parametrize("code", ["unit", "UNIT-", "", "UN IT", "1A"])
def test_malformed_code_is_refused(code: str) -> None:
    with pytest.raises(GeometryError, match="code"):
        Finding(code, "ok", "text", None)


def test_level_message_and_place_are_checked() -> None:
    with pytest.raises(GeometryError, match="level"):
        Finding("UNIT", "bad", "text", None)  # type: ignore[arg-type]
    with pytest.raises(GeometryError, match="nothing"):
        Finding("UNIT", "ok", " ", None)
    with pytest.raises(GeometryError, match="finite"):
        Finding("UNIT", "ok", "text", (0.0, math.nan))


def test_every_code_is_well_formed_and_explained() -> None:
    for code, meaning in CODES.items():
        assert Finding(code, "ok", meaning, None).code == code
        assert meaning.endswith(".")
