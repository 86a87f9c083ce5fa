"""The file of a lifted outline: read as it was written, and each slip of a hand told with its place."""

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.lifted import BudgetRow, Lifted, LiftedHole, lifted_text, read_lifted
from rooms.design.cases import solved
from rooms.every import cases

HOLES = (LiftedHole(-40, 20, 5), LiftedHole(-100, 18.25, 6.35))
BUDGET = (BudgetRow("scale", 0.03, 'Measure a length: "--measured-x".'), BudgetRow("contour", 0.04))


@pytest.fixture(scope="module")
def lifted():
    return Lifted('a "found" knife', "scan.png", solved("chef", "full", "default").finished, HOLES, BUDGET)


def test_it_is_read_as_it_was_written(lifted, tmp_path):
    file = tmp_path / "one_lifted.toml"
    file.write_text(lifted_text(lifted, ["a note"]), encoding="utf-8")
    again = read_lifted(file)
    assert again.outline.regions == lifted.outline.regions
    assert abs(again.outline.vertices - lifted.outline.vertices).max() <= 1e-6
    assert (again.name, again.source, again.holes, again.budget) == (lifted.name, "scan.png", HOLES, BUDGET)
    assert again.within_mm == pytest.approx(0.05)
    assert again.outline.max_error_mm == pytest.approx(lifted.outline.max_error_mm, abs=1e-4)


def test_a_thing_may_have_no_holes(lifted, tmp_path):
    file = tmp_path / "one_lifted.toml"
    file.write_text(lifted_text(Lifted("a", "b", lifted.outline)), encoding="utf-8")
    assert read_lifted(file).holes == ()


def test_clockwise_is_turned_round(lifted, tmp_path):
    file = tmp_path / "one_lifted.toml"
    lines = lifted_text(lifted).splitlines()
    first, last = lines.index("outline = [") + 1, lines.index("]")
    straight = [[*line.split(", ")[:2], "0.0", line.split(", ")[3]] for line in lines[first:last]]
    lines[first:last] = [", ".join(row) for row in reversed(straight)]
    file.write_text("\n".join(lines), encoding="utf-8")
    assert read_lifted(file).outline.area_mm2 > 0


@cases(
    ("old", "new", "told"),
    [
        ('"spine"]', '"spin"]', "Did you mean 'spine'"),
        ("format = 1", "format = 2", "format"),
        ("for =", "fr =", "Did you mean 'for'"),
        (' mm",', '",', "has no unit"),
        ('"edge"],', '"edge", 1],', "outline number 1: must be a list of x, y, bulge, region"),
        ("source =", "# source =", "'source' is missing"),
        ('["0.0 mm", "0.0 mm"', '["0.0 mm", "90.0 mm"', "crosses itself near x"),
        ('["0.0 mm", "0.0 mm"', '["0.0 mm", "9000.0 mm"', "out of range"),
        ('"5.0 mm"],', '"-5.0 mm"],', "holes number 1 diameter"),
    ],
)
def test_a_slip_is_told_with_its_place(lifted, tmp_path, old, new, told):
    file = tmp_path / "one_lifted.toml"
    text = lifted_text(lifted)
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(RequestError) as caught:
        read_lifted(file)
    assert told in str(caught.value)
    assert "one_lifted.toml" in str(caught.value)


def test_too_many_rows_are_refused_unread(tmp_path):
    file = tmp_path / "one_lifted.toml"
    file.write_text("outline = [" + "0," * 3000 + "]", encoding="utf-8")
    with pytest.raises(RequestError, match="3000 vertices; at most 2000"):
        read_lifted(file)


def test_regions_of_others_are_refused():
    with pytest.raises(RequestError, match="unknown region 'path'"):
        Lifted("a", "b", type(o := solved("chef", "full", "default").finished)(o.vertices, ("path",) * len(o)))
