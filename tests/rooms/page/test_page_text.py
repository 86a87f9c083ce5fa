"""The text of a design through edits and steps: comments stay, undo comes back to the byte, values keep their unit."""

from __future__ import annotations

import json
import random
import tomllib

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.units import length_mm
from blankwright.page import protocol
from blankwright.page.edits import DesignText
from blankwright.page.history import History
from blankwright.page.typed import as_written, by_hand, exact, shown
from rooms.every import every
from rooms.often import often, repeated

TEXT = """# my knife
name = "Mine"   # as it stands on the tang
family = "chef"

[blade]
length = "210 mm"  # from the rack
# heel_height = "48 mm"

[pins]
count = 2
"""


def test_a_value_changes_and_every_comment_stays() -> None:
    text = DesignText(TEXT).change({"blade.length": "8 1/4 in", "pins.count": 3})
    assert text == TEXT.replace('"210 mm"', '"8 1/4 in"').replace("count = 2", "count = 3")


def test_a_new_key_goes_to_its_table_and_a_new_table_to_the_end() -> None:
    text = DesignText(TEXT).change({"blade.tip_height": "18 mm", "grind.ricasso": "3 mm"})
    assert tomllib.loads(text)["blade"] == {"length": "210 mm", "tip_height": "18 mm"}
    assert text.endswith('\n[grind]\nricasso = "3 mm"\n')
    assert all(line in text for line in TEXT.splitlines())


def test_a_key_that_goes_takes_its_line_alone_and_an_empty_table_its_head() -> None:
    text = DesignText(TEXT).change({"blade.length": None, "pins.count": None, "grind.ricasso": None})
    assert "length =" not in text.replace("# heel", "")
    assert "# heel_height" in text
    assert "[pins]" not in text
    assert "[grind]" not in text


@repeated
def test_undo_and_redo_come_back_to_the_byte() -> None:
    for seed in range(often(200, 20)):
        draw = random.Random(seed)
        history, texts = History(TEXT), [TEXT]
        for _ in range(30):
            text = history.text
            at = draw.randrange(len(text) + 1)
            text = (
                text[:at]
                + "".join(draw.choice('ab\n ="é') for _ in range(draw.randrange(4)))
                + text[at + draw.randrange(5) :]
            )
            if text != history.text:
                history.change("x", text)
                texts.append(text)
        for before in reversed(texts[:-1]):
            assert history.undo()
            assert history.text == before
        assert not history.undo()
        again = History.from_table(json.loads(history.as_json()))
        for after in texts[1:]:
            assert again.redo()
            assert again.text == after
        assert not again.redo()


def test_thousands_of_steps_cost_little_and_every_one_comes_back() -> None:
    history, texts = History(TEXT), [TEXT]
    for number in range(5000):
        texts.append(TEXT.replace("210", f"{211 + number % 80}.{number % 7}"))
        history.change("length", texts[-1])
    kept = history.as_json()
    assert len(kept) < 60_000
    history = History.from_table(json.loads(kept))
    assert history.as_json() == kept
    for text in reversed(texts[:-1]):
        assert history.undo_words == "length"
        assert history.undo()
        assert history.text == text
    for text in texts[1:701]:
        assert history.redo()
        assert history.text == text
    history.change("another way", TEXT)
    assert (history.count, history.redo_words) == (701, None)
    assert history.undo()
    assert history.text == texts[700]


def test_steps_that_do_not_belong_to_their_text_are_refused() -> None:
    table = json.loads(History(TEXT).as_json()) | {"steps": [["x", 5, "never there", "y"]], "here": 1}
    with pytest.raises(RequestError):
        History.from_table(table)
    for broken in (
        None,
        [],
        {"text": 3},
        {"text": "a", "here": 4},
        {"text": "a", "here": 0, "steps": [["x"]]},
        {"text": "a", "here": 0, "steps": ["x"]},
    ):
        with pytest.raises(RequestError):
            History.from_table(broken)


TYPED = (
    ("blade.length", "210", "mm", "210 mm"),
    ("blade.length", "8 1/4", "in", "8 1/4 in"),
    ("blade.length", "21 cm", "in", "21 cm"),
    ("blade.length", 210, "mm", "210 mm"),
    ("blade.length", '8.25"', "mm", '8.25"'),
    ("pins.count", "3", "mm", 3),
    ("grind.edge_angle", "15", "in", "15 deg"),
    ("grind.height", "full", "mm", "full"),
    ("scales.weighed", "85", "mm", "85 g"),
    ("pins.positions", "-40, -100", "mm", ["-40 mm", "-100 mm"]),
    ("material.grade", "80CrV2", "mm", "80CrV2"),
    ("grind.kind", "hollow", "mm", "hollow"),
    ("name", "Kombüse", "mm", "Kombüse"),
)


@every(TYPED)
def test_what_is_typed_gets_the_unit_that_is_shown(key: str, typed: object, units: str, stands: object) -> None:
    assert as_written(key, typed, units) == stands


def test_a_point_stops_at_tenths_or_at_parts_of_an_inch_that_read_back_exactly() -> None:
    for hundredths in range(-5000, 30000, 37):
        text, mm = by_hand(hundredths / 100, "in")
        assert length_mm(text) == pytest.approx(mm, abs=1e-12)
        assert abs(mm - hundredths / 100) <= 25.4 / 128 + 1e-9
        text, mm = by_hand(hundredths / 100, "mm")
        assert length_mm(text) == mm


def test_a_value_is_shown_as_it_was_typed_where_it_is_in_the_readers_unit() -> None:
    assert shown("blade.length", 209.55, "in", "8 1/4 in") == "8 1/4 in"
    assert shown("blade.length", 209.55, "mm", "8 1/4 in") == "209.55 mm"
    assert shown("blade.length", 209.55, "in") == "8.25 in"
    assert shown("pins.positions", (-40.0, -100.0), "mm") == "-40 mm, -100 mm"
    assert shown("pins.count", 2, "in") == "2"
    assert exact(209.55, "in") == "8.25 in"


GOOD = {
    "set": {"values": {"blade.length": "8 1/4 in", "pins.count": 3, "grind.ricasso": None}},
    "lock": {"keys": ["blade.length"], "on": True},
    "drag": {"grip": "blade.length", "to": [208.4, 19], "held": True},
    "undo": {},
    "redo": {},
    "begin": {"family": "chef"},
    "open": {"name": "a.toml"},
    "save": {},
    "save_as": {"name": "a.toml", "over": True},
    "reread": {},
    "text": {"text": "x"},
    "look": {"units": "in"},
    "families": {},
    "choices": {"key": "material.grade"},
    "folder": {},
    "write": {"what": "all"},
    "preview": {"what": "card"},
    "behind": {"name": "a.dxf", "long": "344 mm"},
    "fit": {"name": "a.dxf"},
}


def test_every_request_is_read_with_what_stands_for_what_was_left_out() -> None:
    assert set(GOOD) == set(protocol.DOES)
    for do, rest in GOOD.items():
        asked = protocol.read(json.dumps({"do": do, "n": 7, **rest}))
        assert (asked.do, asked.n) == (do, 7)
        assert set(asked.rest) == set(protocol.DOES[do])


BAD = (
    "",
    "{",
    "[]",
    "null",
    "3",
    '{"do": "set"}',
    '{"n": 1}',
    '{"do": ["set"], "n": 1}',
    '{"do": "set", "n": 1}',
    '{"do": "set", "n": -1, "values": {"a": "b"}}',
    '{"do": "set", "n": 1, "values": {}}',
    '{"do": "set", "n": 1, "values": {"a": {"b": 1}}}',
    '{"do": "drag", "n": 1, "grip": "x", "to": [1]}',
    '{"do": "drag", "n": 1, "grip": "x", "to": [1, NaN]}',
    '{"do": "drag", "n": 1, "grip": "x", "to": [1, 1e999]}',
    '{"do": "drag", "n": 1, "grip": 3, "to": [1, 2]}',
    '{"do": "undo", "n": 1, "more": 1}',
    '{"do": "undo", "n": true}',
    '{"do": "save", "n": 1, "over": "yes"}',
    "[" * 100_000,
    '{"do": "text", "n": 1, "text": "' + "a" * 250_000 + '"}',
    "x" * 400_000,
)


def test_what_is_no_request_is_refused_in_words() -> None:
    for text in BAD:
        with pytest.raises(RequestError):
            protocol.read(text)


@repeated
def test_damaged_requests_are_read_or_refused_and_nothing_else() -> None:
    draw = random.Random(1)
    whole = [json.dumps({"do": do, "n": 7, **rest}) for do, rest in GOOD.items()]
    for _ in range(often(20_000, 2000)):
        text = draw.choice(whole)
        at = draw.randrange(len(text))
        text = (
            text[:at] + draw.choice(['"', "{", "]", "null", "1e400", "\x00", "é", ""]) + text[at + draw.randrange(4) :]
        )
        try:
            asked = protocol.read(text)
        except RequestError:
            continue
        assert asked.do in protocol.DOES
