"""Words beside their places: never on ink, never on each other, with a leader when far, returned when hopeless."""

import math

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from blankwright.ink.marks import HOLE, NARROW, Box, Marks, Ring, Segment, Text
from blankwright.template.labels import _cost, _legal, set_labels
from blankwright.template.scene import Label
from rooms.every import cases

WINDOW = Box(0, 0, 200, 150)
NONE = np.zeros((0, 2))
HEIGHT_MM = 2.2


def spot(x, y):
    return Label("a hole", (x, y), 5.0)


def test_one_label_stands_close_and_without_a_leader():
    marks = Marks()
    assert set_labels(marks, [Label("tip", (100, 70), 0.0)], WINDOW, NONE, HEIGHT_MM) == []
    (text,) = marks.texts
    assert text.words == "tip"
    assert marks.segments == []
    assert abs(text.x - 100) < 10
    assert abs(text.y - 70) < 10


@given(st.lists(st.tuples(st.floats(0, 200), st.floats(0, 150)), min_size=1, max_size=15))
def test_labels_never_meet_each_other_the_ink_or_the_window(places):
    ink = np.column_stack([np.linspace(0, 200, 600), 75 + 20 * np.sin(np.linspace(0, 9, 600))])
    marks = Marks()
    labels = [Label(f"label {i}", place, 3.0) for i, place in enumerate(places)]
    missed = set_labels(marks, labels, WINDOW, ink, HEIGHT_MM)
    assert len(marks.texts) + len(missed) == len(labels)
    for i, a in enumerate(marks.texts):
        b = a.box
        assert WINDOW.x0 <= b.x0 and b.x1 <= WINDOW.x1 and WINDOW.y0 <= b.y0 and b.y1 <= WINDOW.y1
        assert not any(b.meets(other.box) for other in marks.texts[i + 1 :])
        assert not ((ink[:, 0] > b.x0) & (ink[:, 0] < b.x1) & (ink[:, 1] > b.y0) & (ink[:, 1] < b.y1)).any()
        assert not any(s.share_inside(b) for s in marks.segments)


def test_words_keep_the_asked_distance_from_their_place():
    marks = Marks()
    set_labels(marks, [spot(100, 70)], WINDOW, NONE, HEIGHT_MM)
    b = marks.texts[0].box
    dx = max(b.x0 - 100, 0, 100 - b.x1)
    dy = max(b.y0 - 70, 0, 70 - b.y1)
    assert math.hypot(dx, dy) >= 5.0


def test_words_that_must_stand_away_get_a_leader_that_ends_near_their_place():
    # ink all round the place to 12 mm
    angle = np.linspace(0, 2 * np.pi, 400)
    ink = np.concatenate([np.column_stack([100 + r * np.cos(angle), 70 + r * np.sin(angle)]) for r in range(1, 13)])
    marks = Marks()
    assert set_labels(marks, [Label("far", (100, 70), 0.0)], WINDOW, ink, HEIGHT_MM) == []
    (leader,) = marks.segments
    assert min(math.dist(leader.a, (100, 70)), math.dist(leader.b, (100, 70))) < 1.5


@cases("seed", range(12))
def test_no_legal_leader_costs_less_than_the_one_that_is_taken(seed):
    """The search ends before it has seen them all."""
    dice = np.random.default_rng(seed)
    at = (100.0, 70.0)
    rings = [Ring(*dice.uniform((75, 50), (125, 90)), 4.0, HOLE) for _ in range(8)]
    angle, away = dice.uniform((0, 2), (7, 18), (160, 2)).T
    ink = at + (away * [np.cos(angle), np.sin(angle)]).T
    marks, label = Marks(rings=rings), Label("far", at, 0.0)
    others = [box for box in marks.solid if not (box.x0 <= at[0] <= box.x1 and box.y0 <= at[1] <= box.y1)]
    legal = [leader for _, leader in _legal(marks, marks.solid, label, WINDOW, ink, HEIGHT_MM) if leader is not None]
    assert set_labels(marks, [label], WINDOW, ink, HEIGHT_MM) == []
    assert len(marks.segments) == 1, "no words stand close"
    assert _cost(marks.segments[0], others, ink) == min(_cost(leader, others, ink) for leader in legal)


def test_no_room_returns_the_label_and_draws_nothing():
    marks = Marks()
    label = Label("words that are far too long for the window", (10, 5), 0.0)
    assert set_labels(marks, [label], Box(0, 0, 20, 10), NONE, HEIGHT_MM) == [label]
    assert marks.texts == []
    assert marks.segments == []


def test_words_keep_off_texts_and_lines_that_are_there():
    marks = Marks(texts=[Text(104, 69, "already here", 2.2, "start")], segments=[Segment((90, 66), (110, 66), NARROW)])
    there = marks.texts[0]
    assert set_labels(marks, [Label("new", (100, 70), 0.0)], WINDOW, NONE, HEIGHT_MM) == []
    new = marks.texts[1]
    assert not new.box.meets(there.box)
    assert marks.segments[0].share_inside(new.box) is None


@cases("angle", [0, 90, 180, 270])
def test_in_a_corner_the_words_go_inward(angle):
    at = {0: (198, 75), 90: (100, 148), 180: (2, 75), 270: (100, 2)}[angle]
    marks = Marks()
    assert set_labels(marks, [Label("board line", at, 0.0)], WINDOW, NONE, HEIGHT_MM) == []
