"""Aiming from the command line and in a script: files, ranges, counts, and what cannot be aimed with."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.desk.script import request, solve
from blankwright.knife.aim import aim
from blankwright.knife.knife import finish
from blankwright.knife.knobs import knob_of
from blankwright.knife.moves import what_moves_it
from rooms.every import cases


def run(arguments: list[str], monkeypatch: pytest.MonkeyPatch, folder: Path) -> int:
    from blankwright.commands import cli

    monkeypatch.chdir(folder)
    monkeypatch.setattr("sys.argv", ["blankwright", *arguments])
    with pytest.raises(SystemExit) as done:
        cli.main()
    return int(done.value.code or 0)


LET = ["--let", "heel_height", "--let", "scales.thickness"]


def test_the_new_file_holds_what_was_aimed_at(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert run(["aim", "chef", "--weight", "180g", "--balance", "0mm", *LET], monkeypatch, tmp_path) == 0
    assert "reached" in capsys.readouterr().out
    text = (tmp_path / "chef-aimed.toml").read_text(encoding="utf-8")
    assert "was 48 mm; changed to reach weight 180 g, balance 0 mm" in text
    assert "Before: weight 175.37 g" in text
    knife = solve(tmp_path / "chef-aimed.toml")
    assert knife.mass()["finished_knife"] == pytest.approx(180, abs=0.05)
    assert knife.balance_mm == pytest.approx(0, abs=0.05)
    assert run(["aim", "chef", "--weight", "175g", *LET], monkeypatch, tmp_path) == 0
    assert "chef-aimed-2.toml" in capsys.readouterr().out
    assert (tmp_path / "chef-aimed.toml").read_text(encoding="utf-8") == text
    assert run(["aim", "chef", "--weight", "175g", *LET, "--force"], monkeypatch, tmp_path) == 0
    assert "weight 175 g" in (tmp_path / "chef-aimed.toml").read_text(encoding="utf-8")
    assert len(list(tmp_path.iterdir())) == 2


def test_out_of_reach_is_an_answer_and_no_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    far = ["aim", "chef", "--balance", "60mm", "--let", "scales.thickness", "--out", str(tmp_path)]
    assert run(far, monkeypatch, tmp_path) == 1
    shown = capsys.readouterr().out
    assert "nearest" in shown
    assert "scales.thickness stands at 4 mm, its smallest value." in shown
    assert not list(tmp_path.iterdir())
    assert run([*far, "--nearest", "--json"], monkeypatch, tmp_path) == 1
    table = json.loads(capsys.readouterr().out)
    assert table["files"] == ["chef-aimed.toml"]
    assert solve(tmp_path / "chef-aimed.toml").balance_mm == pytest.approx(table["figures"]["balance_mm"], abs=1e-3)


def test_more_knobs_than_targets_come_to_the_least_change() -> None:
    """Of all that holds both targets the least is at the foot of a flat valley: 0.26167 by a scan along it."""
    let = ["heel_height", "scales.thickness", "material.thickness"]
    found = solve("chef").aim(let, weight_g=190, balance_mm=2)
    assert found.reached
    assert sum(change.share**2 for change in found.changes) == pytest.approx(0.26167, abs=2e-5)


def test_out_of_reach_is_told_to_the_digits_that_are_known() -> None:
    """About the nearest figures they hardly change: another processor's last digits move the place by 0.0004 mm."""
    let = ["heel_height", "scales.thickness", "material.thickness"]
    found = solve("chef").aim(let, weight_g=190, balance_mm=2, blade_area_mm2=7000)
    assert not found.reached
    assert found.changes
    for change in found.changes:
        assert change.value == round(change.value, 2 if change.knob.key == "blade.heel_height" else 3), change
    assert found.design.dimensions_mm["heel_height"] == found.changes[0].value
    assert solve(found).balance_mm == found.figures["balance_mm"]


def test_a_design_file_keeps_what_it_asked(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(
        'name = "Galley \\"one\\""\nfamily = "chef"\n[blade]\nlength = "200 mm"\n'
        '[pins]\npositions = ["-40 mm", "-90 mm"]\n'
        '[grind]\nright_share = "70 %"\nbevel = "uneven"\n[scales]\nweighed = "85 g"\n'
        'weighed_size = ["130 mm", "40 mm", "24 mm"]\n',
        encoding="utf-8",
    )
    from blankwright.knife.aimed import aimed_text

    design = read_design(file)
    found = aim(design, {"weight_g": 170.0}, ["scales.thickness"])
    new = tmp_path / "new.toml"
    new.write_text(aimed_text(found), encoding="utf-8")
    again = read_design(new)
    assert again.dimensions_mm == design.dimensions_mm
    same = set(design.settings) - {"scales.thickness"}
    assert {k: again.settings[k] for k in same} == {k: design.settings[k] for k in same}
    assert again.name == 'Galley "one" aimed'


def test_words_of_the_trade_and_script_names_are_understood() -> None:
    part = finish(request("chef"))
    assert knob_of(part, "spine_thickness").key == "material.thickness"
    assert knob_of(part, "scales_thickness").key == "scales.thickness"
    assert knob_of(part, "heel_height") == knob_of(part, "blade.heel_height")
    narrow = knob_of(part, "scales.thickness=5mm..1/4in")
    assert (narrow.least, narrow.greatest) == (5.0, 6.35)


@cases(("words", "says"), [
    ("scales.thicknes", "Did you mean 'scales.thickness'"),
    ("scales.material", "length, angle, share or count"),
    ("grind.wheel", "no value to start from"),
    ("scales.thickness=5mm", "Write it like scales.thickness=5mm..9mm"),
    ("scales.thickness=9mm..5mm", "from small to large"),
    ("scales.thickness=5..9", "no unit"),
    ("heel_height=10mm..50mm", "outside the family's"),
])  # fmt: skip
def test_what_cannot_be_aimed_with_says_why(words: str, says: str) -> None:
    with pytest.raises(RequestError, match=says):
        knob_of(finish(request("chef")), words)


def test_a_target_and_something_to_change_are_needed() -> None:
    with pytest.raises(RequestError, match="target"):
        aim(request("chef"), {}, ["scales.thickness"])
    with pytest.raises(RequestError, match="may change"):
        aim(request("chef"), {"weight_g": 180.0}, [])
    with pytest.raises(RequestError, match="different keys"):
        aim(request("chef"), {"weight_g": 180.0}, ["heel_height", "blade.heel_height"])


def test_holes_are_counted_and_their_worth_is_told() -> None:
    design = request("chef", settings={"tang.lightening_diameter": "8 mm"})
    found = aim(design, {"balance_mm": 5.0}, ["tang.lightening_count"])
    assert not found.reached
    text = " ".join(line.text() for line in found.limits)
    assert "worth -" in text
    assert "g and +" in text
    near = aim(design, {"weight_g": found.before["weight_g"] - 2.3}, ["tang.lightening_count", "grind.tip_thickness"])
    assert near.reached
    assert all(float(c.value).is_integer() for c in near.changes if c.knob.key == "tang.lightening_count")


def test_blade_area_is_aimed_at() -> None:
    found = aim(request("chef"), {"blade_area_mm2": 8000.0}, ["heel_height"])
    assert found.reached
    import shapely

    outline = solve(found.design).finished
    ahead = shapely.Polygon(outline.flattened(1e-4)).intersection(shapely.box(0, -10, 400, 100))
    assert ahead.area == pytest.approx(8000, abs=10)


def test_what_moves_it_is_what_a_new_solve_says() -> None:
    part = finish(request("chef"))
    moves = {m.change.text(): m for m in what_moves_it(part)}
    base, thicker = solve("chef"), solve("chef", settings={"material.thickness": "3.1 mm"})
    row = moves["stock 0.1 mm thicker"]
    assert row.grams == pytest.approx(thicker.mass()["finished_knife"] - base.mass()["finished_knife"])
    assert row.balance_mm == pytest.approx(thicker.balance_mm - base.balance_mm)
    heavy = moves["scales of African ebony"]
    assert heavy.grams > 10
    assert heavy.balance_mm < 0
    assert moves["tang tapered to 1.5 mm at its end"].balance_mm > 0
    hole = moves["one more lightening hole of 8 mm"]
    assert -2 < hole.grams < 0  # honest: a hole does little
    small = what_moves_it(finish(request("spreader")))
    assert any(m.why_not for m in small) or all(m.grams is not None for m in small)
