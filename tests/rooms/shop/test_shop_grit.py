"""Grits and edge angles."""

import itertools

import pytest

from blankwright.base.errors import RequestError
from blankwright.shop.edges import TYPES, edge_angle, edge_remark
from blankwright.shop.grit import SCALES, Grit, Sequence, grit, grits, sequence, sequences
from rooms.every import cases


@pytest.mark.parametrize("scale", SCALES)
def test_a_scale_runs_from_coarse_to_fine(scale):
    sizes = [entry.size_um for entry in grits(scale)]
    assert sizes == sorted(sizes, reverse=True)
    assert len(set(sizes)) == len(sizes)


def test_no_step_of_a_sequence_is_too_long():
    # Common practice: each grit should be no finer than about a half of the one before (2.2 x at the coarse end).
    for entry in sequences():
        sizes = [step.size_um for step in entry.grits]
        assert all(a / b <= 2.2 for a, b in itertools.pairwise(sizes)), entry.name


def test_steel_and_wood_have_a_sequence():
    assert sequence("wood").grits[0].number == 80
    assert sequence("steel, hand").status == "common practice"
    with pytest.raises(RequestError, match="unknown sequence of grits 'leather'"):
        sequence("leather")


def test_unknown_grits_are_refused():
    with pytest.raises(RequestError, match=r"unknown grit 'P121'.*'P12"):
        grit("P", 121)
    with pytest.raises(RequestError, match="unknown scale of grit 'J'"):
        grits("J")


def test_a_grit_or_a_sequence_cannot_be_half_built():
    with pytest.raises(RequestError):
        Grit("P", 120, 0.0, "s", "published")
    with pytest.raises(RequestError, match="coarse to fine"):
        Sequence("x", "P", "y", (120, 60), "t", "s", "published")


def test_every_type_has_a_range():
    assert all(5 <= edge_angle(name).low <= edge_angle(name).high <= 30 for name in TYPES)
    with pytest.raises(RequestError, match="unknown type of knife 'sword'"):
        edge_angle("sword")


@cases(
    ("knife_type", "angle_deg", "words"),
    [
        ("chef", 15, "is usual for a chef's knife: 12 to 18"),
        ("chef", 10, "thinner"),
        ("paring", 20, "stouter"),
        ("spreader", 17, "a kitchen knife: 15 to 20"),
    ],
)
def test_an_angle_is_set_beside_what_is_usual(knife_type, angle_deg, words):
    assert words in edge_remark(knife_type, angle_deg)


def test_an_angle_that_is_none_is_refused():
    with pytest.raises(RequestError, match="5 to 45"):
        edge_remark("chef", 90)
