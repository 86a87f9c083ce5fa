"""What is to be cut, what is a mark, and which unit stands: by name, by colour, as asked."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import pytest

from blankwright.base.errors import RequestError
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.roles import Choice, by_name, colour_named
from blankwright.inspection.sizing import WantedSize
from blankwright.inspection.verdict import Verdict, Wanted, judge
from rooms.every import cases
from truth import spoiled as s
from truth.careful import refusals

PLAIN = Wanted(None, None, None)
MARK = s.line(-60, 10, -50, 14)


def verdict_on(data: str, wanted: Wanted = PLAIN) -> Verdict:
    return judge(read_drawing(data.encode(), "from_anywhere.dxf"), wanted)


def told(verdict: Verdict) -> set[tuple[str, str]]:
    return {(f.code, f.level) for f in verdict.findings if f.level != "ok"}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@cases("name", ["ETCH", "Engraving", "score_lines", "BEND", "IV_BEND_DOWN", "laser-mark", "fold"])
def test_a_layer_named_for_marks_is_no_open_contour(name: str) -> None:
    """Etching, engraving, scoring and bending are what sheet shops do beside cutting (common practice)."""
    assert by_name(name) == "mark"
    verdict = verdict_on(s.sound(s.line(-60, 10, -50, 14, name), layers=("0", name)))
    assert told(verdict) == {("LAYERS", "warning")}
    (warning,) = verdict.of("warning")
    assert "marks, by its name" in warning.message


@cases("name", ["CUT", "0", "PROFILE", "KETCHUP", "BENDIX1", "OUTSIDE", "REMARKABLE", "FOLDER"])
def test_a_name_that_only_holds_such_a_word_says_nothing(name: str) -> None:
    assert by_name(name) == "cut"


def test_what_is_asked_goes_before_names_and_leaves_nothing_to_say() -> None:
    data = s.sound(s.line(-60, 10, -50, 14, "A"), layers=("0", "A"))
    assert ("CONTOUR-CLOSED", "error") in told(verdict_on(data))
    assert told(verdict_on(data, Wanted(None, None, None, choice=Choice(mark_layers=("a",))))) == set()
    other = s.sound(outline=s.light(s.BLADE, "ETCH"), drilled=s.holes(layer="ETCH"), layers=("0", "ETCH"))
    chosen = verdict_on(other + "", Wanted(None, None, None, choice=Choice(cut_layers=("ETCH",))))
    assert told(chosen) == set()
    assert [(u.layer, u.role, u.why) for u in chosen.lines.uses] == [("ETCH", "cut", "as asked")]


def test_only_what_is_named_to_be_cut_is_cut() -> None:
    data = s.sound(s.circle(0, 90, 10, "B"), layers=("0", "B"))
    verdict = verdict_on(data, Wanted(None, None, None, choice=Choice(cut_layers=("0",))))
    assert told(verdict) == {("LAYERS", "warning")}
    assert [(u.layer, u.role) for u in verdict.lines.uses] == [("0", "cut"), ("B", "aside")]


def test_colours_tell_by_the_entity_or_its_layer() -> None:
    """DXF reference, group code 62: an index, 256 by layer; 420 a true colour."""
    red, true = MARK.replace("8\n0\n", "8\n0\n62\n1\n"), MARK.replace("8\n0\n", "8\n0\n420\n16711680\n")
    for line, colour in ((red, "1"), (true, "#ff0000")):
        verdict = verdict_on(s.sound(line), Wanted(None, None, None, choice=Choice(mark_colours=(colour,))))
        assert told(verdict) == set()
        assert {(u.colour, u.role) for u in verdict.lines.uses} == {("7", "cut"), (colour, "mark")}
    by_layer = verdict_on(s.sound(MARK), Wanted(None, None, None, choice=Choice(cut_colours=("7",))))
    assert ("CONTOUR-CLOSED", "error") in told(by_layer), "the layer is white, and so is all of it"


@pytest.mark.parametrize("choice", [Choice(cut_layers=("CUTS",)), Choice(mark_colours=("5",))])
def test_a_name_that_is_not_in_the_file_is_a_wrong_request(choice: Choice) -> None:
    with pytest.raises(RequestError, match=r"unknown (layer|colour)"):
        verdict_on(s.sound(), Wanted(None, None, None, choice=choice))


@cases("text", ["0", "256", "red", "#ff", "", "-1", "1.0"])
def test_what_is_no_colour_is_refused(text: str) -> None:
    with pytest.raises(RequestError, match="--cut-colour"):
        colour_named(text, "--cut-colour")


def test_the_command_takes_and_lists_layers(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    Path("x.dxf").write_text(s.sound(s.line(-60, 10, -50, 14, "ETCH"), layers=("0", "ETCH"), box=s.box_of(s.BLADE)))
    ran = command("inspect", "x.dxf", "--cut-layer", "0", "--mark-layer", "etch")
    assert (ran.code, ran.out.splitlines()[0]) == (0, "inspect x.dxf: fit to cut")
    assert "ETCH, colour 7: a mark, not cut, as asked; 1 entity" in ran.out
    report = json.loads(command("inspect", "x.dxf", "--json").out)
    assert [(row["name"], row["role"]) for row in report["layers"]] == [("0", "cut"), ("ETCH", "mark")]
    assert command("inspect", "x.dxf", "--mark-layer", "EDGE").code == 2


def test_an_inches_slip_is_one_fault_and_the_rest_is_judged_in_the_right_unit() -> None:
    inches = s.document(s.light(s.scaled(s.BLADE, 1 / 25.4)) + s.holes(1 / 25.4), insunits=None, measurement=None)
    (fault,) = [f for f in verdict_on(inches).findings if f.level != "ok"]
    assert (fault.code, fault.level) == ("UNIT", "error")
    assert "say mm" not in fault.message.lower()
    assert "25.4 times too small" in fault.message


def test_what_the_header_names_stands_against_the_measurement_variable() -> None:
    size = WantedSize(260.0, 32.1, 0.5)
    assert told(verdict_on(s.sound(measurement=0))) == {("UNIT", "warning")}
    assert told(verdict_on(s.sound(measurement=0), Wanted(size, None, None))) == set()


def test_a_spline_that_other_readers_refuse_is_told() -> None:
    """Two weights for four points: ezdxf 1.4 drops it in its audit, GDAL 3.12 refuses the file. Wrong counts: GDAL."""
    points = [(150.0, 25.0), (90.0, 33.0), (30.0, 33.0), (-20.0, 30.0)]
    loose = "".join(s.pieces(s.BLADE)[k] for k in (0, 1, 3, 4))
    for spoil, word in ((s.tags(41, 1, 41, 1), "4 control points with 2 weights"), ("", "says 9 knots and has 8")):
        spline = s.spline(points) + spoil if spoil else s.spline(points).replace("72\n8\n", "72\n9\n")
        verdict = verdict_on(s.sound(outline=spline + loose))
        assert told(verdict) == {("SPLINE", "error")}, "the contour that stays open without it is no fault of its own"
        messages = [f.message for f in verdict.findings if f.code == "SPLINE"]
        assert any(word in m for m in messages), messages


def test_mending_calls_nothing_the_size_of_a_knife_that_is_not(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    square = [(0.0, 0.0, 0.0), (600.0, 0.0, 0.0), (600.0, 600.0, 0.0), (0.0, 600.0, 0.0)]
    data = s.document(s.heavy(square), insunits=None, measurement=None, release="AC1009")
    Path("x.dxf").write_text(data)
    refused = json.loads(command("inspect", "x.dxf", "--mend", "y.dxf", "--json").out)
    assert "Which unit is meant" in refused["not_mended"][0]
    done = json.loads(command("inspect", "x.dxf", "--mend", "y.dxf", "--expect", "600x600mm", "--json").out)
    assert done["mended"][0] == "unit written as mm, as which the size is the expected one"


def test_the_picture_shows_what_each_layer_is_for(folder: Path, command: Callable) -> None:  # type: ignore[type-arg]
    """Roles are told by the dashes of their lines and by words, not by colour alone."""
    extra = s.line(-60, 10, -50, 14, "ETCH") + s.line(-120, 15, 160, 15, "CENTER") + s.line(0, 50, 9, 50, "OLD")
    Path("x.dxf").write_text(s.sound(extra, layers=("0", "ETCH", "CENTER", "OLD"), off=("OLD",)))
    command("inspect", "x.dxf", "--picture", "x.svg")
    root = ElementTree.fromstring(Path("x.svg").read_text())
    space = "{http://www.w3.org/2000/svg}"
    samples = [line for line in root.iter(f"{space}line") if line.get("class") == "sample"]
    assert len({line.get("stroke-dasharray") for line in samples}) == 4
    words = {t.text for t in root.iter(f"{space}text")}
    assert {
        "to be cut: 0",
        "a mark, not cut: ETCH",
        "not to be cut: CENTER",
        "switched off, not to be cut: OLD",
    } <= words
    (contours,) = [g for g in root.iter(f"{space}g") if g.get("class") == "contours"]
    drawn = {p.get("stroke-dasharray") for p in contours.iter(f"{space}path")}
    assert {line.get("stroke-dasharray") for line in samples} <= drawn


BARRED_NAMES = ("a*b?<>", "CUT:1", "A/B", "A\\B")
NAMES = ("A|B", "*ADSK", "A B", "\\U+00C4")


@cases("name", [*BARRED_NAMES, *NAMES])
def test_names_that_no_layer_may_have_are_told(name: str, tmp_path: Path) -> None:
    """What ezdxf's audit says of the name."""
    outline, holes = s.light(s.BLADE, name), s.holes(layer=name)
    data = s.sound(outline=outline, drilled=holes, layers=("0", name), box=s.box_of(s.BLADE))
    (tmp_path / "x.dxf").write_text(data)
    assert (refusals(tmp_path / "x.dxf") == []) == (name in NAMES)
    assert verdict_on(data).level == ("ok" if name in NAMES else "warning")
