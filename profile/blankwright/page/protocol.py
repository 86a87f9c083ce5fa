"""What page and server say to each other over one web socket: texts of JSON, one object each.

Lengths in numbers are in mm with x from butt to tip and y up from the board line; `d` is an SVG path in mm with y
turned down. Whatever has words is text to be shown as it stands, in the units that were asked for. Keys are
those of a design file.

The page asks (`do`), with a number `n` of its own that comes back with what it brought about:

    {"do": "set", "n": 2, "values": {"blade.length": "8 1/4 in", "pins.count": 3, "grind.ricasso": null}}
        values as typed; a bare number is in the units shown, null lets the key follow again (its line goes). With
        "held": true more is to come, as of a slider that is moved: all of it is one step of undo.
    {"do": "lock", "n": 3, "keys": ["blade.heel_height"], "on": true}
        on writes the present value into the design, so that it stays; off lets it follow.
    {"do": "drag", "n": 4, "grip": "tip", "to": [208.4, 19.1], "held": true}
        a point, the end of an arrow ("arrow blade.length") or a pin ("pin 1") is moved; held until it is let go, which
        makes one step of undo. Of drags that wait the newest is answered. An arrow key is a drag that is not held.
    {"do": "undo", "n": 5}    {"do": "redo", "n": 6}
    {"do": "begin", "n": 7, "family": "chef", "construction": "full"}
        a new design, not yet a file. A construction may be left out.
    {"do": "open", "n": 8, "name": "galley_chef.toml"}
    {"do": "save", "n": 9, "over": false}
        over writes although the file was changed elsewhere.
    {"do": "save_as", "n": 10, "name": "my_chef.toml", "over": false}
    {"do": "reread", "n": 11}
        takes the file as it is on disk; what was not saved stays one step of undo away.
    {"do": "text", "n": 12, "text": "name = ..."}
        the whole design file as text; an empty one asks for it.
    {"do": "look", "n": 13, "units": "in", "section_mm": 60.0, "hand": "men 50"}
        how answers are shown to this page: units mm or in, the station of the section, whose hand is drawn (also a
        breadth, "88 mm", or "" for none). What is left out stays.
    {"do": "families", "n": 14}
    {"do": "choices", "n": 15, "key": "material.grade"}
    {"do": "folder", "n": 16}
    {"do": "write", "n": 17, "what": "all", "paper": "A4", "margin": "6 mm", "printer": null, "service": null,
     "quantity": 1, "with": ["sections", "stl"], "both_faces": false, "dummy": false}
        what is all, cut, template or sheet: the files of that command, from the design as it stands. All but `what`
        may be left out.
    {"do": "preview", "n": 18, "what": "template", "paper": "A4"}
        what is template, card, sheet, drawing or check: the pages as they will print, nothing is written.
    {"do": "behind", "n": 19, "name": "old_blade.dxf", "long": "344 mm", "high": null}
        the outline that a file of the folder shows: a drawing, a scan, measured points, or one that was lifted. long
        and high are for a picture that does not say how large it is: of the thing as it stands lowest on a flat board.
    {"do": "fit", "n": 20, "name": "old_blade.dxf"}
        takes the sizes of the design's own family that come nearest to it; one step of undo.

The server tells (`say`):

    {"say": "hello", "version": "0.1.0", "folder": "knives", "families": [{"name", "title", "use", "constructions"}],
     "papers": ["A4", ...], "processes": [{"name", "title"}], "services": [...], "printers": [...], "with": [{"word",
     "words"}], "files": [{"name", "title"}], "unsaved": [...], "outlines": ["old_blade.dxf"]}
    {"say": "form", "family": "chef", "construction": "full", "groups": [{"name": "blade", "words": "Blade", "fields":
     [{"key": "blade.length", "words": "blade length", "meaning": "heel to tip along the board line",
       "kind": "length", "least": 150.0, "greatest": 300.0, "unit": "mm", "choices": []}]}]}
        what can be set; again whenever family, construction or units change. Kinds are those of design/keys.py.
    {"say": "shape", "edit": 41, "answers": [4, 5], "held": true, "doc": DOC, "frame": [-134.7, -1.0, 210.7, 49.2],
     "finished": {"d": "M0,0 ..."}, "cut": {"d": "..."} or null, "lines": [{"name": "grind line", "d": "..."}],
     "holes": [{"at": [-38.0, 35.37], "mm": 5.1, "purpose": "pin"}], "front_mm": -14.0, "butt_mm": -134.0,
     "values": {"blade.length": {"value": 210.0, "shown": "210 mm", "asked": true, "from": "asked"}},
     "grips": [{"id": "tip", "words": "tip", "at": [210.0, 18.0], "x": "blade.length", "y": "blade.tip_height"}],
     "arrows": [{"key": "blade.length", "words": "blade length", "shown": "210 mm", "grip": "tip", "axis": "x",
                 "row": 1, "a": [0.0, 0.0], "b": [210.0, 18.0]}],
     "limit": LIMIT or null}
        the first answer to whatever changes the design. edit grows by one with each; answers are the n that it
        covers. DOC is {"id": "galley_chef.toml" or "~chef", "title", "fault": "" or why the text makes no knife,
        "name": "Galley chef", "file": "galley_chef.toml" or null, "slug": "galley-chef", "saved": true,
        "elsewhere": false, "undo": "blade length" or null, "redo": ... or null, "steps": 3}.
        LIMIT is {"key": "blade.heel_height", "wanted": "62 mm", "reached": "58 mm", "why": "..."}: what was wanted
        cannot be, the design stands at what was reached.
    {"say": "rest", "edit": 41, "weight": {"knife": "177.9 g", "balance": "7.9 mm behind the heel",
     "balance_mm": -7.9, "parts": [{"words", "weight", "balance"}], "why_not": ""}, "area": "...",
     "findings": [{"code", "level", "text", "at"}], "figures": [{"code", "text", "at"}],
     "pins": [{"at", "words", "how", "why"}], "stations": [{"place", "at_mm", "rows"}],
     "section": SECTION, "size": "The part is ...", "start": "...", "cautions": "...", "code": "6756-SPA6",
     "hand": {"words": "men 50", "breadth_mm": 88.0, "text": "..."} or null, "before": {"d": "..."} or null}
        before is the outline as it was opened or saved last, where it differs.
        SECTION is {"x_mm": 60.0, "d": "...", "rows": [["spine", "2.41 mm"]], "frame": [..]} or null, seen from the
        handle toward the tip, in mm of its own with the edge at the origin.
    {"say": "more", "edit": 41, "moves": [{"change", "weight", "balance", "why_not"}], "needs": [["stock: ...", ...]],
     "costs": [["stock, 9.80 per kg", "..."]], "costs_why_not": "", "ways": [{"key", "words", "values"}]}
        what is dear: what moves weight and balance, what to buy, costs where the folder has a prices.toml. ways says,
        when a limit was hit, which other size would have to follow and where it would go; values are for a set.
    {"say": "section", "n": 13, "edit": 41, "section": SECTION}
    {"say": "doc", "n": 9, "doc": DOC, "text": "wrote my_chef.toml"}
    {"say": "asks", "n": 9, "about": "elsewhere", "text": "galley_chef.toml was changed elsewhere ..."}
        nothing was written; about is elsewhere (save: over, reread or save_as) or taken (save_as: over or another
        name).
    {"say": "wrong", "n": 2, "text": "...", "key": "blade.length" or null}
        the request cannot be taken; the design stands as it was.
    {"say": "text", "n": 12, "text": "name = ..."}
    {"say": "families", "n": 14, "families": [{"name", "title", "construction", "d", "frame", "length": "344 mm"}]}
    {"say": "choices", "n": 15, "key": "material.grade", "choices": [{"name", "words", "more"}]}
    {"say": "folder", "n": 16, "files": [...], "unsaved": [...], "outlines": [...]}
    {"say": "made", "n": 17, "folder": "out/chef", "files": [{"name", "words",
     "get": "made/out/chef/chef_cut_mm.dxf"}], "checks": [{"level", "text"}], "notes": [...]}
        get is an address below the page's own.
    {"say": "preview", "n": 18, "what": "template", "pages": [{"get": "seen/7/1.png", "wide_mm": 210,
     "high_mm": 297}]}
    {"say": "behind", "n": 19, "name": "old_blade.dxf", "d": "...", "frame": [...], "holes": [{"at", "mm"}],
     "told": ["344.00 mm long and 48.60 mm high."]}
    {"say": "fitted", "n": 20, "told": ["Nearest family: chef, handle swell (full)."]}
        how near the family comes; the shape with the sizes follows.

Two pages that show the same design edit one design: both are told each shape. What a page only looks at (units,
section, choices, previews) is told to it alone.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping
from typing import Any

from blankwright.base.errors import RequestError, unknown
from blankwright.base.frozen import dataclass

MOST_BYTES = 300_000
"""Longest message that is read: a design file, with room."""

MOST_TEXT = 200_000
_MOST_WORD = 400
_MOST_ITEMS = 60
_FAR = 1e6


@dataclass(frozen=True)
class Asked:
    """A message of the page, read and checked.

    Args:
        do: What is asked for, one of DOES.
        n: The page's own number for it.
        rest: What else the message says, checked by its kind.
    """

    do: str
    n: int
    rest: Mapping[str, Any]

    def __getitem__(self, key: str) -> Any:
        return self.rest[key]


def _word(value: object) -> bool:
    return isinstance(value, str) and len(value) <= _MOST_WORD


def _maybe_word(value: object) -> bool:
    return value is None or _word(value)


def _text(value: object) -> bool:
    return isinstance(value, str) and len(value) <= MOST_TEXT


def _yes_no(value: object) -> bool:
    return isinstance(value, bool)


def _number(value: object) -> bool:
    return (
        isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value) and abs(value) < _FAR
    )


def _maybe_number(value: object) -> bool:
    return value is None or _number(value)


def _place(value: object) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(_number, value))


def _words(value: object) -> bool:
    return isinstance(value, list) and len(value) <= _MOST_ITEMS and all(map(_word, value))


def _values(value: object) -> bool:
    return (
        isinstance(value, dict)
        and 0 < len(value) <= _MOST_ITEMS
        and all(len(key) <= 60 and (each is None or _one(each)) for key, each in value.items())
    )


def _one(value: object) -> bool:
    return _word(value) or _number(value) or _words(value)


def _whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**53


Check = Callable[[object], bool]

_PRINTED: dict[str, tuple[Check, Any]] = {
    "paper": (_word, "A4"),
    "margin": (_word, "6 mm"),
    "printer": (_maybe_word, None),
}
_NONE = object()

DOES: dict[str, dict[str, tuple[Check, Any]]] = {
    "set": {"values": (_values, _NONE), "held": (_yes_no, False)},
    "lock": {"keys": (_words, _NONE), "on": (_yes_no, _NONE)},
    "drag": {"grip": (_word, _NONE), "to": (_place, _NONE), "held": (_yes_no, False)},
    "undo": {},
    "redo": {},
    "begin": {"family": (_word, _NONE), "construction": (_maybe_word, None)},
    "open": {"name": (_word, _NONE)},
    "save": {"over": (_yes_no, False)},
    "save_as": {"name": (_word, _NONE), "over": (_yes_no, False)},
    "reread": {},
    "text": {"text": (_text, _NONE)},
    "look": {"units": (_maybe_word, None), "section_mm": (_maybe_number, None), "hand": (_maybe_word, None)},
    "families": {},
    "choices": {"key": (_word, _NONE)},
    "folder": {},
    "write": {
        "what": (_word, "all"), **_PRINTED, "service": (_maybe_word, None), "quantity": (_whole, 1),
        "with": (_words, ()), "both_faces": (_yes_no, False), "dummy": (_yes_no, False),
    },
    "preview": {
        "what": (_word, _NONE), **_PRINTED, "both_faces": (_yes_no, False), "dummy": (_yes_no, False),
        "service": (_maybe_word, None), "with": (_words, ()),
    },
    "behind": {"name": (_word, _NONE), "long": (_maybe_word, None), "high": (_maybe_word, None)},
    "fit": {"name": (_word, _NONE), "long": (_maybe_word, None), "high": (_maybe_word, None)},
}  # fmt: skip
"""What can be asked for, and of each what the message may hold: how it is checked, and what stands for it when left
out."""


def read(message: str) -> Asked:
    """Read a message of the page.

    Args:
        message: The text.

    Raises:
        RequestError: It is no such message; the words say what is wrong with it.
    """
    if len(message) > MOST_BYTES:
        raise RequestError(f"a message is longer than {MOST_BYTES // 1000} kB.")
    try:
        table = json.loads(message)
    except (ValueError, RecursionError):
        raise RequestError("a message is no JSON.") from None
    if not isinstance(table, dict):
        raise RequestError("a message is no object.")
    do, n = table.pop("do", None), table.pop("n", None)
    if not isinstance(do, str) or do not in DOES:
        raise unknown("request", str(do), DOES)
    if not _whole(n):
        raise RequestError(f"{do}: 'n' must be a whole number.")
    fields = DOES[do]
    for key in table:
        if key not in fields:
            raise unknown("key", str(key), fields or ["none"], do)
    found = {}
    for key, (check, default) in fields.items():
        value = table.get(key, default)
        if value is _NONE:
            raise RequestError(f"{do}: '{key}' is missing.")
        if key in table and not check(value):
            raise RequestError(f"{do}: '{key}' cannot be this.")
        found[key] = value
    return Asked(do, int(n), found)


def written(said: Mapping[str, Any]) -> str:
    """Return a message of the server as text.

    Raises:
        ValueError: A number in it is not finite.
    """
    return json.dumps(said, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
