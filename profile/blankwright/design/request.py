"""What was asked: a family, dimensions and settings, from a design file, --set options or a script."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any, Unpack

from blankwright.base.doors import a_number, a_path, a_table
from blankwright.base.errors import RequestError, told, unknown
from blankwright.base.fields import read_toml
from blankwright.base.fixed import FixedTable
from blankwright.base.frozen import dataclass
from blankwright.base.plain import plain_text, plain_value, slug_of
from blankwright.base.reading import is_plain_file, why_no_file
from blankwright.base.units import length_mm, show_mm
from blankwright.design.dimensions import Dimensions
from blankwright.design.family import is_family, load_family, with_handle
from blankwright.design.keys import BY_KEY, read_value, with_units
from blankwright.design.parts import CONSTRUCTIONS, LIFTED, OUTLINE_KEY, REGIONS, Family
from blankwright.design.settings import Block, Cutting, GrindWish, Pins, Scales, Stock, Tang, Value, group_of

PATTERN_KEY = "handle.pattern"
"""Key of the handle that a family shall have instead of its own."""

_TOP = ("name", "family", OUTLINE_KEY)

OVERALL_KEY = "blade.overall_length"
"""Key of the overall length, which blade or handle gives way to."""


_OVERALL = "overall_length_mm"

MOST_NAME = 100
"""Longest name of a knife [characters]."""

BY_CUTTER = "decided by who cuts"
"""Source of a setting that a service or an own table decides."""

EDGE_ANGLES = ("grind.edge_angle", "grind.edge_angle_left")
"""Settings that a blunt edge has not."""

_TABLES = (
    "blade", "handle", "tang", "pins", "material", "grind", "scales", "block", "start", "cutting", "allowance", "mark",
    "parts",
)  # fmt: skip


@dataclass(frozen=True, eq=False, repr=False)
class Design:
    """A complete request: every dimension asked, and every setting with its standing.

    Args:
        name: Name of the knife; files are named after it.
        family: The family.
        construction: full, hidden or one-piece.
        dimensions_mm: Asked dimensions by script name [mm].
        overall_mm: Overall length when asked [mm].
        settings: Every setting that applies, by dotted key: mm, degrees, g, %, counts and words.
        folder: Folder of the design file, for files that it names; None without one.
        sources: For every setting, "asked", BY_CUTTER, or where the family's default comes from.
    """

    name: str
    family: Family
    construction: str
    dimensions_mm: dict[str, float]
    overall_mm: float | None
    settings: dict[str, Value]
    sources: dict[str, str]
    folder: Path | None = None

    def __post_init__(self) -> None:
        for field in ("dimensions_mm", "settings", "sources"):
            object.__setattr__(self, field, FixedTable(getattr(self, field)))

    def __eq__(self, other: object) -> bool:
        """Whether both ask for the same knife: name, family, construction, dimensions, settings and who gave them."""
        if not isinstance(other, Design):
            return NotImplemented
        return self is other or self._words == other._words

    def __hash__(self) -> int:
        return hash((self.name, self.family, self.construction, self.overall_mm, len(self.dimensions_mm)))

    def __dask_tokenize__(self) -> tuple[object, ...]:
        """Return what tells it from others on a cluster."""
        return tuple(dict(part) if isinstance(part, dict) else part for part in self._words)

    @property
    def _words(self) -> tuple[object, ...]:
        asked = (self.dimensions_mm, self.overall_mm, self.settings, self.sources, self.folder)
        return (self.name, self.family, self.construction, *asked)

    @property
    def slug(self) -> str:
        """The name in lower case with hyphens, safe as a file name."""
        return slug_of(self.name)

    @cached_property
    def stock(self) -> Stock:
        """Grade and thickness of the stock."""
        return group_of(Stock, "material", self.settings)

    @cached_property
    def pins(self) -> Pins | None:
        """The pins; None without any. Pins placed by hand are counted by hand."""
        by_hand = self.settings.get("pins.positions", ())
        count = self.settings.get("pins.count", 0)
        if isinstance(by_hand, tuple) and by_hand and self.sources.get("pins.count") != "asked":
            count = len(by_hand)
        return group_of(Pins, "pins", {**self.settings, "pins.count": count}) if count or by_hand else None

    @cached_property
    def tang(self) -> Tang:
        """Holes beside the pins, and the tang's taper."""
        return group_of(Tang, "tang", self.settings)

    @cached_property
    def grind(self) -> GrindWish:
        """What was asked of the grind."""
        return group_of(GrindWish, "grind", self.settings)

    @cached_property
    def scales(self) -> Scales:
        """The pair of scales."""
        return group_of(Scales, "scales", self.settings)

    @cached_property
    def block(self) -> Block | None:
        """The block on a hidden tang; None where it is not described."""
        needed = (f"block.{key}" for key in ("material", "width", "front_height", "butt_height", "section"))
        whole = self.construction == "hidden" and all(key in self.settings for key in needed)
        return group_of(Block, "block", self.settings) if whole else None

    @cached_property
    def cutting(self) -> Cutting:
        """How the blank is cut."""
        return group_of(Cutting, "cutting", self.settings)

    @cached_property
    def allowance_mm(self) -> dict[str, float]:
        """Oversize by region that the design gives instead of the process."""
        asked = {r: self.settings.get(f"allowance.{r}") for r in REGIONS}
        return {r: float(mm) for r, mm in asked.items() if isinstance(mm, (int, float))}

    @property
    def start(self) -> str | None:
        """What the work was asked to start from, one of STARTS, or None."""
        asked = self.settings.get("start.from")
        return asked if isinstance(asked, str) else None

    @property
    def pattern(self) -> str | None:
        """The handle's name, or its file where it is the maker's own; None where the family's file draws it."""
        return self.family.patterns.get(self.construction)

    @property
    def title(self) -> str:
        """What the knife is called: its name, or its family's title where nobody named it."""
        return self.family.title if self.name == self.family.name else self.name

    def asked(self, key: str) -> bool:
        """Whether a setting was asked for, not given by the family."""
        return self.sources.get(key) == "asked"

    def replace(
        self, settings: Mapping[str, object] | None = None, name: str | None = None, **dimensions_mm: Unpack[Dimensions]
    ) -> Design:
        """Return the same request with something changed; what was asked before stays asked.

        Args:
            settings: Values by dotted key as in a design file; a number is in mm, degrees, g or %, by its key.
            name: Another name.
            **dimensions_mm: Dimensions by name with _mm at the end, such as blade_length_mm=200.

        Raises:
            RequestError: An unknown key, name or dimension, or a value that cannot be.

        >>> read_design("chef").replace({"material.thickness": 2.5}, name="Thin", heel_height_mm=50)
        <Design Thin: chef, full; heel_height 50 mm, material.thickness 2.5>
        """
        changes = with_units(a_table(settings, "settings"))
        if not changes and name is None:
            return self.asking(dimensions_mm)
        construction = changes.get("handle.construction", self.construction)
        offered = {d.name: d.key for d in self.family.offered(str(construction))}
        asked: dict[str, object] = {"handle.construction": construction}
        asked |= {offered[n]: f"{mm!r} mm" for n, mm in self.dimensions_mm.items() if n in offered}
        asked |= {} if self.overall_mm is None else {OVERALL_KEY: f"{self.overall_mm!r} mm"}
        asked |= with_units({key: value for key, value in self.settings.items() if self.asked(key)})
        table = {"name": self.name if name is None else name}
        found = build_design(table, asked | changes, f"design {self.name}", None, self.family)
        return found.asking(dimensions_mm)

    def asking(self, dimensions_mm: Mapping[str, object]) -> Design:
        """Return the same request with some dimensions asked for, by name with _mm at the end [mm].

        Raises:
            RequestError: An unknown dimension, or no number.
        """
        known = {f"{d.name}_mm": d.name for d in self.family.offered(self.construction)}
        asked, overall = dict(self.dimensions_mm), self.overall_mm
        for key, value in dimensions_mm.items():
            if key not in known and key != _OVERALL:
                others = [d for d in self.family.dimensions if f"{d.name}_mm" == key]
                if others:
                    kinds = " or ".join(others[0].constructions)
                    raise RequestError(
                        f"{key} is a dimension of construction {kinds}; this knife is {self.construction}."
                    )
                raise unknown("dimension", key, [*known, _OVERALL], f"family {self.family.name}")
            number = a_number(value, f"{key}, a length in mm such as {key}=210")
            if key == _OVERALL:
                overall = number
            else:
                asked[known[key]] = number
        return dataclasses.replace(self, dimensions_mm=asked, overall_mm=overall)

    def __repr__(self) -> str:
        asked = [f"{key} {mm:g} mm" for key, mm in self.dimensions_mm.items()]
        asked += [f"{key} {value}" for key, value in self.settings.items() if self.asked(key)]
        return (
            f"<Design {self.name}: {self.family.name}, {self.construction}; {', '.join(asked) or 'all by the family'}>"
        )

    def by_family(self, key: str) -> bool:
        """Whether a setting is the family's own, neither asked for nor decided by who cuts."""
        return self.sources.get(key) not in ("asked", BY_CUTTER, None)


def read_design(
    source: str | Path, changes: Mapping[str, object] | None = None, *, told_as: str = "settings"
) -> Design:
    """Read a design.

    Args:
        source: A family's name, a family file, or a design file (.toml).
        changes: Values by dotted key that replace the file's, such as {"blade.length": "210 mm"}.
        told_as: What the changes are called in a message.

    Raises:
        RequestError: An unknown name or key, a missing or bad value, an unreadable file.
    """
    a_path(source, "a family's name or a design file")
    text = str(source)
    if not text.strip():
        raise RequestError("Name a family, such as chef, or a design file (.toml).")
    if not text.endswith(".toml"):
        return build_design({"family": text}, changes or {}, text, None, told_as=told_as)
    path = Path(text)
    if not is_plain_file(path):
        raise RequestError(f"{text[:200]}: {why_no_file(path, 'design file')}.")
    table = read_toml(path)
    if isinstance(table.get(OUTLINE_KEY), list):  # a lifted outline, and all else by default
        return build_design({"family": LIFTED, OUTLINE_KEY: text}, changes or {}, path.name, None, told_as=told_as)
    if is_family(table):
        return build_design({"family": text}, changes or {}, path.name, None, told_as=told_as)
    return build_design(table, changes or {}, path.name, path.parent, told_as=told_as)


def build_design(
    table: Mapping[str, Any],
    changes: Mapping[str, object],
    where: str,
    beside: Path | None,
    family: Family | None = None,
    *,
    told_as: str = "settings",
) -> Design:
    """Build a design from a parsed design file and changes to it.

    Args:
        table: The design file as a table.
        changes: Values by dotted key that replace it.
        where: File name for messages.
        beside: Folder of the design file, for a family named by a relative path.
        family: A family made in a script, instead of the one named in the table.
        told_as: What the changes are called in a message.

    Raises:
        RequestError: As read_design.
    """
    flat = _flattened(table, where)
    changes = a_table(changes, "settings")
    for key in changes:
        if key not in _TOP and (key.count(".") != 1 or key.split(".")[0] not in _TABLES):
            known = [*BY_KEY, *_TOP, "handle.construction", PATTERN_KEY, "blade.length"]
            raise unknown(
                "key", key, known, told_as, "All of them stand in a file of: blankwright new FAMILY FILE.toml."
            )
        plain_value(changes[key], f"{told_as} {key}")
    flat.update(changes)
    if family is not None and changes.get("family", family.name) != family.name:
        raise RequestError(f"{told_as} family: this is a knife of family {family.name}; start anew from another one.")
    if family is None:
        family = _named(flat.get("family"), flat.get(OUTLINE_KEY), beside, where)
    name = flat.get("name", family.name)
    if not isinstance(name, str) or not name.strip() or len(name) > MOST_NAME:
        raise RequestError(f"{where}: 'name' must be a text of 1 to {MOST_NAME} characters.")
    plain_text(name, f"{where} name")
    pattern = flat.get(PATTERN_KEY)
    if pattern is not None:
        if not isinstance(pattern, str) or not pattern.strip():
            raise RequestError(f"{where} [handle] pattern: expected a handle's name, got {told(pattern)}.")
        family = _with_pattern(family, pattern.strip(), beside)
    construction = flat.get("handle.construction", next(iter(family.curves)))
    if not isinstance(construction, str) or construction not in family.curves:
        raise unknown("handle.construction", str(construction), [c for c in CONSTRUCTIONS if c in family.curves], where)
    rest = {k: v for k, v in flat.items() if k not in (*_TOP, "handle.construction", PATTERN_KEY)}
    dimensions, overall, settings = _sorted_values(rest, family, str(construction), where)
    settings = {key: _beside(key, value, beside) for key, value in settings.items()}
    family.check_asked(settings, where)
    defaults = family_settings(family, str(construction))
    defaults = _edge_of({**defaults}, settings, where)
    merged = {key: value for key, (value, _) in defaults.items()} | settings
    sources = {key: source for key, (_, source) in defaults.items()} | dict.fromkeys(settings, "asked")
    order = [key for key in BY_KEY if key in merged]  # that of a design file, whoever gave the value
    merged, sources = {key: merged[key] for key in order}, {key: sources[key] for key in order}
    return Design(name.strip(), family, str(construction), dimensions, overall, merged, sources, beside)


def _named(named: object, outline: object, beside: Path | None, where: str) -> Family:
    """Return the family that a design names."""
    if not isinstance(named, str) or not named.strip():
        raise RequestError(f"{where}: the key 'family' is missing. Write family = \"chef\" or a path to a family file.")
    if named.strip() != LIFTED and outline is None:
        return load_family(named.strip(), beside)
    from blankwright.design.named import named_blank  # noqa: PLC0415 - few knives begin with a blank

    return named_blank(named.strip(), outline, beside, where)


def _with_pattern(family: Family, handle: str, beside: Path | None) -> Family:
    if family.name != LIFTED:
        return with_handle(family, handle, beside)
    from blankwright.design.named import blank_with  # noqa: PLC0415 - as above

    return blank_with(family, handle, beside)


def _beside(key: str, value: Value, folder: Path | None) -> Value:
    """Return where a table of one's own lies that a setting names: beside the design file, or as it is written."""
    if BY_KEY[key].kind != "name" or not isinstance(value, str) or not value.endswith(".toml") or folder is None:
        return value
    return (folder / value).as_posix() if is_plain_file(folder / value) else value


def _edge_of(
    defaults: dict[str, tuple[Value, str]], asked: Mapping[str, Value], where: str
) -> dict[str, tuple[Value, str]]:
    """Return a family's defaults as the edge wants them: who asks for an angle wants it sharp, a blunt one has none."""
    angles = [key for key in EDGE_ANGLES if key in asked]
    if angles and asked.get("grind.edge") == "blunt":
        raise RequestError(
            f"{where} [grind] {angles[0].split('.')[1]}: a blunt edge has no angle. Leave it out, or write edge = "
            '"sharp".'
        )
    if angles and "grind.edge" in defaults:
        defaults["grind.edge"] = ("sharp", "an edge angle was asked for")
    edge = asked.get("grind.edge") or defaults.get("grind.edge", ("sharp", ""))[0]
    return {key: value for key, value in defaults.items() if edge == "sharp" or key not in EDGE_ANGLES}


@lru_cache(maxsize=64)
def family_settings(family: Family, construction: str) -> Mapping[str, tuple[Value, str]]:
    """Return the family's own settings for a construction: the value and where it comes from."""
    found, file = {}, Path(family.path).name
    for key, default in family.defaults[construction].items():
        table, word = key.split(".")
        if key not in BY_KEY:
            same = [k.split(".")[1] for k in BY_KEY if k.startswith(f"{table}.")]
            raise unknown("key", word, same or BY_KEY, f"{file} [defaults.{table}]")
        found[key] = (read_value(BY_KEY[key], default.value, f"{file} [defaults.{table}] {word}"), default.source)
    return FixedTable(found)


def _flattened(table: Mapping[str, Any], where: str) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for key, value in table.items():
        if key in _TOP:
            flat[key] = value
        elif key in _TABLES:
            if not isinstance(value, dict):
                raise RequestError(f"{where}: '{key}' must be a table, headed [{key}].")
            flat.update({f"{key}.{k}": v for k, v in value.items()})
        else:
            raise unknown("table", key, [*_TABLES, *_TOP], where)
    return flat


def _sorted_values(
    rest: Mapping[str, Any], family: Family, construction: str, where: str
) -> tuple[dict[str, float], float | None, dict[str, Value]]:
    by_key = {d.key: d for d in family.offered(construction)}
    dimensions: dict[str, float] = {}
    settings: dict[str, Value] = {}
    overall = None
    for key, value in rest.items():
        place = f"{where} [{key.split('.')[0]}] {key.split('.')[1]}"
        family.refuse(key, construction, place)
        if key in by_key:
            dimensions[by_key[key].name] = length_mm(value, place)
        elif key == OVERALL_KEY:
            overall = length_mm(value, place)
            if not 0 < overall < 2000:
                raise RequestError(f"{place}: {show_mm(overall)} is out of range. Allowed: 0 mm to 2000 mm.")
        elif key in BY_KEY:
            settings[key] = read_value(BY_KEY[key], value, place)
        else:
            table = key.split(".")[0]
            same = [
                k.split(".")[1]
                for k in (*by_key, *BY_KEY, OVERALL_KEY, "handle.construction", PATTERN_KEY)
                if k.startswith(table + ".")
            ]
            raise unknown("key", key.split(".")[1], same, f"{where} [{table}]")
    return dimensions, overall, settings
