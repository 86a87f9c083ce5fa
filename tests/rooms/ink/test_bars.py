"""The measuring bars: the main length, ticks of both units, and a length that the room allows."""

import pytest

from blankwright.ink.bars import MAIN_MM, level_bar, upright_bar
from blankwright.ink.marks import Marks
from rooms.every import cases

INCH_MM = 25.4  # exactly, by the international definition of 1959


def drawn(bar, room):
    marks = Marks()
    if bar == "level":
        level_bar(marks, 20.0, 30.0, room, "say")
    else:
        upright_bar(marks, 20.0, 30.0, room)
    flat = 0 if bar == "level" else 1
    (beam,) = [s for s in marks.segments if s.a[flat] != s.b[flat]]
    ticks = [s for s in marks.segments if s.a[flat] == s.b[flat]]
    zero = (20.0, 30.0)[flat]
    axis = (30.0, 20.0)[flat]
    return marks, beam, [(s.a[flat] - zero, sorted(e[1 - flat] - axis for e in (s.a, s.b))) for s in ticks]


CASES = [(bar, room) for bar in ("level", "upright") for room in (100.0, 101.0, 119.9, 120.0, 157.0, 253.4)]


@cases(("bar", "room"), CASES)
def test_the_bar_is_as_long_as_the_room_allows_in_tens(bar, room):
    _, beam, _ = drawn(bar, room)
    flat = 0 if bar == "level" else 1
    length = beam.b[flat] - beam.a[flat]
    assert length % 10 == 0
    assert room - 10 < length <= room


@cases(("bar", "room"), CASES)
def test_the_longest_ticks_are_zero_100_mm_and_the_end(bar, room):
    _, beam, ticks = drawn(bar, room)
    flat = 0 if bar == "level" else 1
    longest = max(b - a for _, (a, b) in ticks)
    main = sorted({at for at, (a, b) in ticks if b - a == longest})
    assert main[:2] == [0.0, MAIN_MM]
    assert MAIN_MM == 100
    length = beam.b[flat] - beam.a[flat]
    assert main[-1] == (length if length >= 120 else 100)
    assert all(-1e-9 <= at <= length + 1e-9 for at, _ in ticks)


@cases(("bar", "room"), CASES)
def test_ticks_of_mm_on_one_side_and_inches_on_the_other(bar, room):
    _, beam, ticks = drawn(bar, room)
    flat = 0 if bar == "level" else 1
    length = beam.b[flat] - beam.a[flat]
    one_sided = [(at, a, b) for at, (a, b) in ticks if a == 0 or b == 0]
    # an inch is on the side of the positive axis for a level bar's ticks, to the right for an upright one's
    inches = sorted(at for at, a, _ in one_sided if a == 0)
    tens = sorted(at for at, _, b in one_sided if b == 0)
    assert inches == pytest.approx([INCH_MM * i for i in range(int(length / INCH_MM) + 1)])
    assert tens == pytest.approx([10.0 * i for i in range(int(length / 10) + 1)])


@cases(("bar", "room"), CASES)
def test_the_numbers_stand_apart_and_say_what_is_measured(bar, room):
    marks, _, _ = drawn(bar, room)
    assert any(t.words.startswith("100") for t in marks.texts)
    for i, a in enumerate(marks.texts):
        assert not any(a.box.meets(b.box) for b in marks.texts[i + 1 :])
