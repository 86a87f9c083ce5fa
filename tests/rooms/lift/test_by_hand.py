"""Points measured by hand: tables that are read, and slips that are told with their line."""

import numpy as np
import pytest

from blankwright.base.errors import RequestError
from blankwright.lift.byhand import measured_by_hand
from blankwright.lift.run import lift, request
from rooms.design.cases import solved
from rooms.every import cases


def table(outline, step=8.0, head="x mm, y mm", row="{x:.1f},{y:.1f}{c}"):
    """Return a table of points of an outline, corners marked, as a rule reads them."""
    points, piece = outline.sampled(step)
    corner = np.zeros(len(points), dtype=bool)
    starts = np.flatnonzero(np.diff(np.concatenate([[-1], piece])))
    corner[starts] = np.abs(outline.corner_angles_deg) > 20
    keep = np.zeros(len(points), dtype=bool)
    keep[::1] = True
    lines = [
        row.format(x=x, y=y, c=",corner" if c else "") for (x, y), c in zip(points[keep], corner[keep], strict=True)
    ]
    return head + "\n" + "\n".join(lines)


def test_a_table_gives_the_outline_back(tmp_path):
    truth = solved("chef", "full", "default").finished
    file = tmp_path / "card.csv"
    file.write_text(table(truth), encoding="utf-8")
    done = lift(request(file, reading="0.1mm"))
    assert done.lifted.outline.area_mm2 == pytest.approx(truth.area_mm2, rel=2e-3)
    assert np.subtract(done.lifted.outline.size_mm, truth.size_mm) == pytest.approx(0, abs=0.3)
    assert done.lifted.budget[0].mm == 0.1
    assert "2 corners" in done.notes[0].text()


def test_the_same_in_toml_with_holes_and_inches(tmp_path):
    file = tmp_path / "card.toml"
    rows = [
        ("0 in", "0 in", "corner"),
        ("4 in", "0 in", "corner"),
        ("4 in", "1 in"),
        ("2 in", "1.2 in"),
        ("0 in", "1 in"),
    ]
    text = ", ".join("[" + ", ".join(f'"{cell}"' for cell in row) + "]" for row in rows)
    file.write_text(f'points = [{text}]\nholes = [["1 in", "12 mm", "5 mm"]]\n', encoding="utf-8")
    seen = measured_by_hand(file, 0.5)
    assert seen.holes == ((25.4, 12.0, 5.0),)
    assert seen.outline.size_mm[0] >= 101.5


def test_semicolons_and_decimal_commas(tmp_path):
    """As a spreadsheet writes a table where the decimal sign is a comma: every line then has more commas."""
    tables = [tmp_path / "dots.csv", tmp_path / "commas.csv"]
    text = table(solved("paring", "full", "default").finished)
    tables[0].write_text(text, encoding="utf-8")
    tables[1].write_text("# by hand, twice\n" + text.replace(",", ";").replace(".", ","), encoding="utf-8")
    dots, commas = (measured_by_hand(file, 0.5).outline for file in tables)
    assert np.array_equal(dots.vertices, commas.vertices)


def test_points_may_go_round_the_other_way(tmp_path):
    truth = solved("paring", "full", "default").finished
    file = tmp_path / "card.csv"
    head, *rows = table(truth).split("\n")
    file.write_text("\n".join([head, *reversed(rows)]), encoding="utf-8")
    assert measured_by_hand(file, 0.5).outline.area_mm2 == pytest.approx(truth.area_mm2, rel=5e-3)


@cases(
    ("text", "told"),
    [
        ("0,0\n1,1\n", "line 1 x: '0' has no unit"),
        ("x mm,y mm\n0,0\n10,0\n10,zehn\n0,10", "line 4 y: 'zehn' is not a quantity"),
        ("x mm,y mm\n0,0\n10,0\n10,10,sharpish\n0,10", "'sharpish' is unknown. Allowed in the third column: corner"),
        ("x mm,y mm\n0,0\n10,0\n", "2 points. Allowed: 4 to 1000"),
        ("x mm,y mm\n0,0\n10,0\n10,0\n0,10\n", "points 2 and 3 are the same place"),
        ("x mm,y mm\n0,0,corner,4\n", "got 4 values"),
        (
            "x mm;y mm\n0;0\n7,0\n7;7\n",
            "line 3: expected x, y and perhaps 'corner', each a text, with commas between "
            "them or, in all lines, semicolons; got 1 value.",
        ),
        ("x mm,y mm\n0,0\n99999,0\n10,10\n0,10", "out of range. Allowed: within 5000 mm"),
        ('x mm,y mm\n"0,0\n', "is no comma table"),
    ],
)
def test_a_slip_is_told_with_its_line(tmp_path, text, told):
    file = tmp_path / "card.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(RequestError) as caught:
        measured_by_hand(file, 0.5)
    assert told in str(caught.value)
    assert "card.csv" in str(caught.value)
