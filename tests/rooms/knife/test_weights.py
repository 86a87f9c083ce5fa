"""Weights of the whole knife: stages, balance, and what is not weighed yet."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from blankwright.desk.script import solve
from rooms.design.cases import FAMILIES, family_table, write_family
from rooms.every import cases

PUBLISHED_G = 225.0
"""Common practice (one maker's own figure): chef's knife of 240 mm edge, with its handle."""


@cases(("name", "least", "most"), [("chef", 150, 260), ("utility", 70, 130), ("paring", 40, 80)])
def test_the_defaults_weigh_what_such_knives_weigh(name: str, least: float, most: float) -> None:
    """Common practice: the usual mass of each kind, with handle."""
    finished = solve(name).mass()["finished_knife"]
    assert finished is not None
    assert least <= finished <= most


def test_a_published_knife() -> None:
    """240 mm edge, 3.25 mm over the heel, 1.85 mm at 50 mm from the tip, 0.127 mm behind the edge, about 225 g.

    Assumed here: heel 50 mm high, walnut scales, a straight taper from 3.25 mm (1.48 mm at the tip).
    """
    settings = {
        "material.thickness": "3.25 mm",
        "grind.tip_thickness": f"{3.25 - (3.25 - 1.85) * 240 / 190:.3f} mm",
        "grind.behind_edge": "0.127 mm",
    }
    finished = solve("chef", blade_length_mm=240, heel_height_mm=50, settings=settings).mass()["finished_knife"]
    assert finished == pytest.approx(PUBLISHED_G, rel=0.15)


def test_a_chef_balances_near_the_heel() -> None:
    """Common practice: within a few centimetres of the heel, where a pinch grip holds it."""
    balance = solve("chef").balance_mm
    assert balance is not None
    assert -15 <= balance <= 30


@cases("name", FAMILIES)
def test_every_stage_is_lighter_than_the_one_before(name: str) -> None:
    mass = solve(name).mass()
    assert mass["cut_blank"] > mass["finished_blank"] > mass["ground_blade"]
    assert mass["finished_knife"] == pytest.approx(mass["ground_blade"] + mass["handle"])


def test_nothing_ground_is_the_plate() -> None:
    """A blade left as thick at its edge as at its spine weighs what the flat blank weighs, but for the edge bevel."""
    settings = {"grind.behind_edge": "2.9999 mm", "grind.tip_thickness": "3 mm", "grind.edge_angle": "45 deg"}
    knife = solve("chef", settings=settings)
    plate, ground = knife.mass()["finished_blank"], knife.mass()["ground_blade"]
    bevel = 1.5 * 3.0 / 2 * knife.dimensions_mm["blade_length"] * 7850e-6  # triangles taken off along the edge
    assert ground == pytest.approx(plate - bevel, rel=0.01)


def test_brass_pins_and_dense_wood_move_the_balance_back() -> None:
    light = solve("chef", settings={"scales.material": "spanish-cedar"})
    dense = solve("chef", settings={"scales.material": "cocobolo"})
    assert light.balance_mm > dense.balance_mm
    volume = math.pi * 25 / 4 * (3 + 16)
    without = solve("chef", settings={"pins.count": 0})
    pins = solve("chef").core.weights.handle.mass_g - without.core.weights.handle.mass_g
    walnut = 2 * 2 * math.pi * 5.1**2 / 4 * 8 * 616e-6
    assert pins == pytest.approx(2 * volume * 8530e-6 - walnut, rel=0.01)


def test_a_block_that_is_not_described_says_so(tmp_path: Path) -> None:
    """A family of one's own may have a hidden tang and say nothing of its block."""
    table = family_table("chef")
    del table["construction"]["hidden"]["defaults"]["block"]
    file = write_family(tmp_path, table, "mine.toml")
    report = solve(str(file), construction="hidden").report()
    assert report["mass_g"]["ground_blade"] > 0
    assert report["mass_g"]["finished_knife"] is None
    assert report["balance_mm"] is None
    assert "[block]" in report["not_weighed"]


def test_a_wooden_knife_is_its_own_handle() -> None:
    mass = solve("spreader", construction="one-piece").mass()
    assert mass["handle"] == 0
    assert mass["finished_knife"] == mass["ground_blade"]


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    from blankwright.commands import cli

    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.argv", ["blankwright", "weigh", "chef", "--json"])
    with pytest.raises(SystemExit) as done:
        cli.main()
    assert done.value.code == 0
    report = json.loads(capsys.readouterr().out)
    assert report["mass_g"]["finished_knife"] > 0
    assert report["files"] == []
    assert not list(tmp_path.iterdir())
