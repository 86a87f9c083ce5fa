"""A design at work: drags end where the arcs say, limits hold, nothing is lost, nothing leaves the folder."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest

from blankwright.base.errors import BlankwrightError, RequestError
from blankwright.base.library import families_dir
from blankwright.design.check import measured
from blankwright.design.request import read_design
from blankwright.knife.knife import finish
from blankwright.page import draft, rest
from blankwright.page.answer import shape_answer
from blankwright.page.folder import Folder
from blankwright.page.form import form
from blankwright.page.grips import arrows_of, grips_of
from blankwright.page.opening import begun, opened
from blankwright.page.protocol import read, written
from blankwright.page.steer import grip_named
from blankwright.page.work import ELSEWHERE, TAKEN, Ask, Look, Work
from rooms.every import every
from rooms.often import often, repeated

FAMILIES = sorted(path.stem for path in families_dir().glob("*.toml"))
FIRST = [("chef", "full"), ("bread", "full"), ("spreader", "one-piece"), ("petty", "hidden")]
"""Of all kinds these are tried in the suite: every construction, and scallops."""


def kinds() -> list[tuple[str, str]]:
    """Return what is tried of all families in all their constructions, those of the suite first."""
    known = [(name, construction) for name in FAMILIES for construction in read_design(name).family.curves]
    assert set(FIRST) <= set(known)
    every_kind = [*FIRST, *(kind for kind in known if kind not in FIRST)]
    return every_kind[: often(len(every_kind), len(FIRST))]


MM = Look("mm", None)
STEP_MM = 0.4
UNMEASURED = {("handle.length", "hidden")}
"""Sizes that no arc of the steel has: a hidden tang ends before its handle."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Folder:
    (tmp_path / "knives").mkdir()
    monkeypatch.chdir(tmp_path / "knives")
    return Folder.here()


def ask(work: Work, look: Look = MM, **message: Any) -> None:
    work.change(read(json.dumps({"n": 1, **message})), look)


def size(work: Work, name: str) -> float:
    assert work.knife is not None
    return work.knife.shape.values_mm[name]


@repeated
def test_a_step_of_a_point_is_a_step_of_what_the_arcs_measure() -> None:
    """The arcs are measured by design/check.py, which knows neither points nor control points."""
    for family, construction in kinds():
        work = begun(Folder.here(), family, construction)
        assert work.knife is not None
        for name in [grip.name for grip in grips_of(work.knife.shape, arrows_of(work.knife.shape))]:
            for axis in (0, 1):
                step_of(work, name, axis)


def step_of(work: Work, name: str, axis: int) -> None:
    """Move a point a little along an axis and compare what came of it."""
    grip = grip_named(work.knife, name)  # type: ignore[arg-type]
    pull = (grip.x, grip.y)[axis]
    if pull is None:
        return
    before = size(work, pull.name)
    ask(work, do="drag", grip=name, to=[grip.at[0] + STEP_MM * (1 - axis), grip.at[1] + STEP_MM * axis])
    assert work.knife is not None
    found = next((m for m in measured(work.knife.shape) if m.key == pull.key), None)
    if found is None:  # placed, not drawn: no arc tells where a handle begins
        assert (pull.key, work.knife.construction) in UNMEASURED or pull.key == "handle.gap"
        return
    wanted = round(before + pull.slope * STEP_MM, 1)
    if work.limit is not None:  # some kinds stand near an end of what they can be
        assert work.limit.wanted_mm == pytest.approx(wanted)
        wanted = work.limit.reached_mm
        assert (wanted - before) * pull.slope >= -1e-9, "it stops on the way, not before where it stood"
    assert found.found_mm == pytest.approx(wanted, abs=found.within_mm + 1e-6), name


@every(FAMILIES)
def test_every_point_lies_where_the_drawing_has_it(family: str) -> None:
    """On the outline, or on the middle between its two sides; heights by upright lines through the arcs."""
    knife = finish(read_design(family))
    points, _ = knife.shape.plain.sampled(0.01)  # a scalloped edge is measured at the line of its points
    for grip in grips_of(knife.shape, arrows_of(knife.shape)):
        if grip.name in ("handle.gap", "handle.length"):
            continue
        off = ((points - grip.at) ** 2).sum(axis=1).min() ** 0.5
        assert off < 0.05, (grip.name, off)


def test_a_hold_is_one_step_of_undo_and_goes_back_to_the_byte(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    text, length = work.history.text, size(work, "blade_length")
    for i in range(1, 12):
        ask(work, do="drag", grip="blade.length", to=[210 + i, 18.0], held=True)
        assert work.history.text == text
        assert work.held
    ask(work, do="drag", grip="blade.length", to=[221, 18.0])
    assert size(work, "blade_length") == pytest.approx(221)
    assert (work.history.count, work.history.undo_words) == (1, "blade length")
    ask(work, do="undo")
    assert work.history.text == text
    assert size(work, "blade_length") == pytest.approx(length)


def test_a_trembling_hand_sets_one_size_and_not_two(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    for i in range(8):
        ask(work, do="drag", grip="blade.length", to=[210 + 2 * i, 18.0 + 0.1 * (i % 2)], held=True)
    ask(work, do="drag", grip="blade.length", to=[226, 18.1])
    assert "tip_height" not in work.history.text
    assert size(work, "blade_length") == pytest.approx(226)


def test_what_is_beyond_the_range_stops_at_its_end_and_says_so(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    ask(work, do="set", values={"blade.heel_height": "70"})
    assert work.limit is not None
    assert work.knife is not None
    most = work.knife.asked.family.dimension("heel_height", "full").greatest_mm
    assert (work.limit.wanted_mm, work.limit.reached_mm) == (70.0, most)
    assert f"to {most:g} mm" in work.limit.why
    assert "nakiri" in work.limit.why or "cleaver" in work.limit.why, "another family takes it"
    assert size(work, "heel_height") == pytest.approx(most)
    assert f'heel_height = "{most:g} mm"' in work.history.text


def test_what_cannot_hold_together_stops_where_it_still_does(folder: Folder) -> None:
    """Where it stops is good, and a hair further is refused by the command line's own solve."""
    work = begun(folder, "chef", None)
    ask(work, do="set", values={"handle.construction": "hidden", "handle.length": "105 mm"})
    ask(work, do="set", values={"tang.length": "115 mm"})
    assert work.limit is not None
    assert work.limit.key == "tang.length"
    reached = size(work, "tang_length")
    assert 101.5 <= reached <= 102.0 + 1e-6
    asked = {"handle.construction": "hidden", "handle.length": "105 mm"}
    finish(read_design("chef", asked | {"tang.length": f"{reached:.6f} mm"}))
    with pytest.raises(RequestError):
        finish(read_design("chef", asked | {"tang.length": f"{reached + 0.6:.6f} mm"}))


def test_a_way_out_of_a_limit_works(folder: Folder) -> None:
    work = begun(folder, "chef", "hidden")
    ask(work, do="set", values={"handle.length": "105 mm"})
    ask(work, do="set", values={"tang.length": "115 mm"})
    assert work.limit is not None
    assert work.wanted is not None
    assert work.knife is not None
    answers = [a for a in rest.more(work.knife, "mm", (work.limit, work.wanted), folder.root) if a]
    ways = answers[-1]["ways"]
    assert [way["key"] for way in ways] == ["handle.length"]
    ask(work, do="set", values=ways[0]["values"])
    assert work.limit is None
    assert size(work, "tang_length") == pytest.approx(115)


def test_a_pin_goes_along_the_handle_as_far_as_its_steel_allows(folder: Folder) -> None:
    """Where it stops, the command line's own check of holes still takes it, and refuses it a tenth further."""
    work = begun(folder, "chef", None)
    ask(work, do="drag", grip="pin 1", to=[-45.0, 0.0], held=True)
    ask(work, do="drag", grip="pin 1", to=[-47.3, 0.0])
    assert work.knife is not None
    assert [made.hole.x_mm for made in work.knife.pins] == pytest.approx([-47.3, -105.2], abs=0.01)
    assert work.history.count == 1
    ask(work, do="drag", grip="pin 1", to=[10.0, 0.0])
    assert work.limit is not None
    assert "handle front" in work.limit.why or "not in the tang" in work.limit.why
    first, second = (made.hole.x_mm for made in work.knife.pins)
    assert first > -47.3
    finish(read_design("chef", {"pins.positions": [f"{first} mm", f"{second} mm"]}))
    with pytest.raises(RequestError):
        finish(read_design("chef", {"pins.positions": [f"{first + 0.2} mm", f"{second} mm"]}))
    with pytest.raises(RequestError):
        ask(work, do="drag", grip="pin 9", to=[-40.0, 0.0])


def test_a_lock_writes_what_stands_and_letting_go_takes_it_out(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    text = work.history.text
    ask(work, do="lock", keys=["blade.tip_height", "scales.thickness"], on=True)
    assert 'tip_height = "18 mm"' in work.history.text
    assert 'thickness = "8 mm"' in work.history.text
    ask(work, do="set", values={"blade.heel_height": "52 mm"})
    assert size(work, "tip_height") == pytest.approx(18)
    ask(work, do="lock", keys=["blade.tip_height", "scales.thickness", "blade.heel_height"], on=False)
    assert [line for line in work.history.text.splitlines() if line] == text.splitlines()


def test_another_construction_or_family_leaves_out_what_it_has_not_got(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    ask(work, do="set", values={"tang.middle": "23 mm", "blade.length": "220 mm"})
    ask(work, do="set", values={"handle.construction": "hidden"})
    assert work.knife is not None
    assert work.knife.construction == "hidden"
    assert "middle" not in work.history.text
    assert size(work, "blade_length") == pytest.approx(220)
    ask(work, do="set", values={"family": "paring", "handle.construction": None})
    assert work.knife.asked.family.name == "paring"
    assert "220" not in work.history.text


WRONG = (
    {"blade.lenght": "200 mm"},
    {"blade.length": "long"},
    {"blade.length": "200 furlongs"},
    {"pins.count": "9"},
    {"pins.count": "many"},
    {"family": "nothing"},
    {"handle.construction": "none"},
    {"grind.kind": "wavy"},
    {"material.grade": "unobtainium"},
    {"name": ""},
    {"family": "../other.toml"},
    {"material.grade": "/etc/hostname.toml"},
    {"mark.file": "../../mark.svg"},
    {"family": "C:\\x.toml"},
)


def test_a_wrong_value_changes_nothing(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    text, knife = work.history.text, work.knife
    for values in WRONG:
        with pytest.raises(BlankwrightError):
            ask(work, do="set", values=values)
        assert work.history.text == text
        assert work.knife is knife


def test_a_text_is_taken_whole_or_not_at_all(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    before = work.history.text
    for bad in ("name = ", 'family = "chef"\n[blade]\nlength = "2 mm"\n', 'family = "../x.toml"\n'):
        with pytest.raises(BlankwrightError):
            ask(work, do="text", text=bad)
        assert work.history.text == before
    ask(work, do="text", text='family = "utility"\n# mine\n')
    assert work.history.text.endswith("# mine\n")
    ask(work, do="undo")
    assert work.history.text == before


def test_a_file_changed_elsewhere_is_never_written_over_unasked(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    assert work.save_as("mine.toml", over=False) == "wrote mine.toml"
    assert work.saved
    ask(work, do="set", values={"blade.length": "222 mm"})
    theirs = 'family = "chef"\n# by hand\n'
    Path("mine.toml").write_text(theirs, encoding="utf-8")
    assert work.look_elsewhere()
    with pytest.raises(Ask) as asked:
        work.save(over=False)
    assert asked.value.about == ELSEWHERE
    assert Path("mine.toml").read_text(encoding="utf-8") == theirs
    ask(work, do="reread")
    assert work.history.text == theirs
    assert work.saved
    ask(work, do="undo")
    assert "222 mm" in work.history.text
    work.save(over=True)
    assert "222 mm" in Path("mine.toml").read_text(encoding="utf-8")
    assert not list(folder.root.glob(".*"))


def test_a_name_that_is_taken_is_asked_about(folder: Folder) -> None:
    Path("theirs.toml").write_text("# theirs\n", encoding="utf-8")
    work = begun(folder, "chef", None)
    with pytest.raises(Ask) as asked:
        work.save_as("theirs.toml", over=False)
    assert asked.value.about == TAKEN
    assert Path("theirs.toml").read_text(encoding="utf-8") == "# theirs\n"
    work.save_as("theirs.toml", over=True)
    assert 'family = "chef"' in Path("theirs.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["chef", "mine.toml"])
def test_what_is_not_saved_is_there_again_with_all_its_steps(folder: Folder, name: str) -> None:
    Path("mine.toml").write_text('name = "Mine"\nfamily = "chef"\n', encoding="utf-8")
    work = opened(folder, name)
    before = work.history.text
    for length in (215, 220, 225):
        ask(work, do="set", values={"blade.length": f"{length} mm"})
    ask(work, do="undo")
    work.keep()
    again = opened(folder, name)
    assert size(again, "blade_length") == pytest.approx(220)
    assert not again.saved
    ask(again, do="redo")
    assert size(again, "blade_length") == pytest.approx(225)
    for _ in range(3):
        ask(again, do="undo")
    assert again.history.text == before
    again.keep()
    assert not draft.draft_path(again.name).exists(), "what is as it was leaves nothing behind"


def test_a_draft_that_is_damaged_leaves_the_file_standing(folder: Folder) -> None:
    text = 'name = "Mine"\nfamily = "chef"\n'
    Path("mine.toml").write_text(text, encoding="utf-8")
    for broken in ("", "{", "[]", '{"format": 1}', '{"format": 1, "base": "x", "text": "a", "here": 9, "steps": []}'):
        draft.draft_path("mine.toml").write_text(broken, encoding="utf-8")
        assert opened(folder, "mine.toml").history.text == text


NAMES = (
    "../out.toml",
    "/etc/passwd",
    "a/../../b.toml",
    "..\\x.toml",
    "C:x.toml",
    ".hidden.toml",
    "a/.git/config.toml",
    "con.toml",
    "x.txt",
    "",
    ".",
    "a\x00.toml",
    "a\nb.toml",
    "x" * 200 + ".toml",
    "sub/../../../x.toml",
    "~../x",
    "what?.toml",
)


def test_no_name_leads_out_of_the_folder(folder: Folder) -> None:
    (folder.root.parent / "out.toml").write_text('family = "chef"\n', encoding="utf-8")
    work = begun(folder, "chef", None)
    before = sorted(folder.root.parent.rglob("*"))
    for name in NAMES:
        with pytest.raises(BlankwrightError):
            opened(folder, name)
        with pytest.raises(BlankwrightError):
            work.save_as(name, over=True)
    assert sorted(folder.root.parent.rglob("*")) == before


@pytest.mark.skipif(not hasattr(os, "symlink"), reason="no links here")
def test_no_link_leads_out_of_the_folder(folder: Folder) -> None:
    outside = folder.root.parent / "outside"
    outside.mkdir()
    secret = outside / "secret.toml"
    secret.write_text('name = "secret"\nfamily = "chef"\n', encoding="utf-8")
    Path("linked.toml").symlink_to(secret)
    Path("sub").symlink_to(outside, target_is_directory=True)
    Path("out").symlink_to(outside, target_is_directory=True)
    work = begun(folder, "chef", None)
    for name in ("linked.toml", "sub/secret.toml"):
        with pytest.raises(RequestError):
            opened(folder, name)
        with pytest.raises(RequestError):
            work.save_as(name, over=True)
        with pytest.raises(RequestError):
            ask(work, do="set", values={"material.grade": name})
    with pytest.raises(RequestError):
        folder.out("chef")
    assert folder.designs() == []
    assert secret.read_text(encoding="utf-8").startswith('name = "secret"')


@repeated
def test_every_answer_can_be_written_and_names_only_what_the_form_has() -> None:
    for family, construction in kinds():
        work = begun(Folder.here(), family, construction)
        knife = work.knife
        assert knife is not None
        for units in ("mm", "in"):
            table = form(knife.asked, units)
            shape = shape_answer(knife, work.table, units, None)
            told = [a for a in rest.rest(knife, Look(units, None, "men 50"), None) if a]
            more = [a for a in rest.more(knife, units, None, Path.cwd()) if a]
            assert all(written(a) for a in (table, shape, *told, *more))
            keys = {f["key"] for group in table["groups"] for f in group["fields"]}
            moving = {g[axis] for g in shape["grips"] for axis in ("x", "y")} - {None}
            assert moving <= keys
            assert {a["key"] for a in shape["arrows"]} <= keys
            assert len(told) == len(more) == 1


def test_a_grind_that_cannot_be_is_refused_before_anything_changes(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    text, knife = work.history.text, work.knife
    for values in ({"grind.spine_heel": "20 mm"}, {"grind.tip_thickness": "9 mm"}, {"grind.right_share": "30 %"}):
        with pytest.raises(BlankwrightError):
            ask(work, do="set", values=values)
        assert (work.history.text, work.knife) == (text, knife)


def test_another_handle_is_a_choice_and_its_file_stays_in_the_folder(folder: Folder) -> None:
    work = begun(folder, "chef", None)
    ask(work, do="set", values={"handle.pattern": "straight", "blade.length": "220 mm"})
    assert work.knife is not None
    assert work.knife.asked.pattern == "straight"
    assert 'pattern = "straight"' in work.history.text
    ask(work, do="drag", grip="blade.length", to=[222.0, 18.0])
    assert size(work, "blade_length") == pytest.approx(222)
    fields = {f["key"]: f for group in form(work.knife.asked, "mm")["groups"] for f in group["fields"]}
    assert "straight" in fields["handle.pattern"]["choices"]
    for outside in ("../handle.toml", "/etc/handle.toml"):
        with pytest.raises(RequestError):
            ask(work, do="set", values={"handle.pattern": outside})


def test_a_family_that_names_a_file_outside_is_refused(folder: Folder) -> None:
    text = (families_dir() / "chef.toml").read_text(encoding="utf-8")
    Path("mine.toml").write_text(text, encoding="utf-8")
    assert begun(folder, "mine.toml", None).knife is not None
    named = 'swell = "../handle.toml"\n'
    Path("mine.toml").write_text(text + f"\n[elsewhere]\n{named}", encoding="utf-8")
    with pytest.raises(RequestError, match="leads out of the folder"):
        begun(folder, "mine.toml", None)
