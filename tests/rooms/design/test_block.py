"""The block on a hidden tang from the side, and how much of it stands round the tang."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from blankwright.base.errors import DesignError
from blankwright.design.block import block_outline, wood_around_mm
from blankwright.design.solve import SolvedShape
from blankwright.geometry.outline import Outline
from rooms.design.cases import FAMILIES, solved
from rooms.every import cases


@cases("name", FAMILIES)
def test_the_block_is_a_trapezoid_about_the_tangs_middle(name: str) -> None:
    shape = solved(name, "hidden", "default")
    block = block_outline(shape, 26.0, 30.0)
    low, _, high, _ = block.bounds_mm
    assert (low, high) == pytest.approx((shape.butt_x_mm, shape.front_x_mm))
    assert block.area_mm2 == pytest.approx((high - low) * 28.0)
    corners = block.vertices[:, :2]
    assert corners[2, 1] - corners[1, 1] == pytest.approx(26.0)
    assert corners[3, 1] - corners[0, 1] == pytest.approx(30.0)
    # a tang of half the height sits in the middle, within what its own taper leaves
    around = wood_around_mm(shape, block)
    assert 0 < around < 13.0


def plain(tang_end: float = -90.0) -> SolvedShape:
    """A knife of which a block needs no more: a straight tang 12 mm high between y = 20 and 32."""
    outline = Outline(np.array([[tang_end, 20.0, 0], [80, 20, 0], [80, 32, 0], [tang_end, 32, 0]]))
    return cast(
        SolvedShape, SimpleNamespace(finished=outline, front_x_mm=-10.0, tang_end_x_mm=tang_end, butt_x_mm=-130.0)
    )


def test_wood_around_a_straight_tang() -> None:
    shape = plain()
    block = block_outline(shape, 24.0, 24.0)
    assert wood_around_mm(shape, block) == pytest.approx(6.0)
    assert block.centroid_mm == pytest.approx((-70.0, 26.0))
    assert wood_around_mm(shape, block_outline(shape, 10.0, 10.0)) == pytest.approx(-1.0)
    assert wood_around_mm(shape, block_outline(shape, 24.0, 34.0)) == pytest.approx(6.0, abs=0.1)


def test_a_tang_too_short_for_its_middle() -> None:
    for end in (-22.0, -15.0):
        with pytest.raises(DesignError, match=r"tang\.length longer"):
            block_outline(plain(end), 26.0, 30.0)
