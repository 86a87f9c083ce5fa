"""A blank that exists as a design: its outline and its holes are those that were lifted, and nothing is solved.

Dimensions are measured on the outline and cannot be asked for. What is asked is what the blank leaves open: where the
handle begins, how long a handle around a hidden tang is, and every setting of grind and handle.
"""

from __future__ import annotations

import copyreg
import json
import math
from collections.abc import Collection, Mapping
from dataclasses import field, replace
from functools import cached_property, lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from blankwright.base.arrays import Array
from blankwright.base.errors import DesignError, GeometryError, RequestError
from blankwright.base.fields import Fields, read_toml
from blankwright.base.frozen import dataclass
from blankwright.base.reading import is_plain_file, why_no_file
from blankwright.base.units import length_mm, show_mm
from blankwright.design.blade import conventions, hand_for, usual_settings
from blankwright.design.check import measure
from blankwright.design.family import defaults_of
from blankwright.design.front import LEAST_HANDLE_MM, front_of, shoulder_mm
from blankwright.design.lifted import Lifted, lifted_of
from blankwright.design.parts import (
    CONSTRUCTIONS,
    LIFTED,
    MEASURED,
    OUTLINE_KEY,
    Curve,
    Default,
    Dimension,
    Family,
    Measure,
    Station,
)
from blankwright.design.pattern import check_construction, handle_name, load_handle_table, pattern_from_table
from blankwright.design.shape import Shape, Solved
from blankwright.design.sizes import TANG_COVER_MM, check_range
from blankwright.geometry.clip import upright_crossings
from blankwright.geometry.fairness import Fairness, along_run, fairness_of_arcs
from blankwright.geometry.outline import Outline

TITLE = "Kitchen knife"

_LONGER_MM = 40.0
_FLAT_LEAST_MM = 8.0
_TIP_MM = 0.3
LEAST_ERROR_MM = 0.005
"""Arcs of a drawing are known no better than those of a design."""
NEAR_SHARE = 0.1
"""A hidden tang's height near its shoulders is read at this share of its length, clear of the rounds at their foot."""
_HAND = "our drawing: of the hand that suits a blade of this height"
_PATTERN = {"full": "swell", "one-piece": "swell", "hidden": "oval"}
"""Handles whose settings a blank has that names none."""
_GONE = ("material.thickness", "pins.count", "pins.diameter")
"""Defaults of a knife that is to be made, which a blank has of its own: its stock and its holes are measured."""
_FIXED = ("tang.lightening_count", "tang.lightening_diameter", "pins.spacing")
"""Keys of holes that are still to be placed."""
_HARD = Default("hardened-blank", 'the cautious case, nothing is heated or drilled; "blank" for a soft one')
_SOFT = Default("blank", "a wooden blank, or steel that is still soft")
_GRADE = Default("unknown", "nobody said: ask the seller")


@dataclass(frozen=True, eq=False, repr=False)
class BoughtFamily(Family):
    """A family of one knife: the blank that was lifted.

    Args:
        lifted: Its outline and holes.
    """

    lifted: Lifted = field(kw_only=True)

    @property
    def path_or_name(self) -> str:
        """How a design names it, with the outline beside it."""
        return LIFTED

    @property
    def beside(self) -> dict[str, str]:
        """The key with the outline's file."""
        return {OUTLINE_KEY: self.path}

    def check_asked(self, settings: Collection[str], where: str) -> None:
        """Refuse a design without the thickness, which no outline shows.

        Raises:
            RequestError: It is not given.
        """
        if "material.thickness" not in settings:
            raise RequestError(
                f"{where} [material] thickness is missing: an outline shows none. Measure the blank with a caliper and "
                'write it, such as thickness = "3 mm".'
            )

    def stands(self, key: str) -> bool:
        """Whether it is about cutting, oversize, holes to make or a rough piece: a blank is past that."""
        table, word = key.split(".")
        rough = table == "start" and word not in ("from", "ground")
        return rough or key in _FIXED or table in ("cutting", "allowance", "mark")

    def refuse(self, key: str, construction: str, place: str) -> None:
        """Refuse a key that asks for what the blank has already.

        Raises:
            RequestError: It does; says what was measured.
        """
        for d in self.offered(construction):
            if d.key == key and d.measured:
                raise RequestError(
                    f"{place}: the blank is as it is: {show_mm(d.default_mm)} is measured on its outline "
                    f"({d.meaning}). Leave it out."
                )
        if key in _FIXED:
            raise RequestError(f"{place}: the blank is as it is: its holes are measured, not asked for. Leave it out.")
        if key.startswith("blade."):
            raise RequestError(f"{place}: the blank is as it is, and its outline stands. Leave it out.")


@dataclass(frozen=True, eq=False)
class BoughtShape(Shape):
    """The outline of a blank, its dimensions measured on it.

    Args:
        lifted: Outline and holes.
    """

    lifted: Lifted

    @property
    def smooth(self) -> Outline:
        """The outline as it was lifted."""
        return self.lifted.outline

    @property
    def plain(self) -> Outline:
        """The same: what scallops it has are in it."""
        return self.lifted.outline

    @property
    def there(self) -> Lifted:
        """The thing it was measured on."""
        return self.lifted

    @cached_property
    def edge_health(self) -> Fairness:
        """How fair the cutting edge is, by its arcs; what is within the lift's error is not told."""
        return fairness_of_arcs(self.lifted.outline, self._run("edge"), self.lifted.within_mm + self.tolerance_mm)

    def bend(self, curve: str, count: int) -> Array:
        """Return how a region bends, arc by arc."""
        run = self._run(curve)
        if not len(run):
            raise GeometryError(f"the outline has no region '{curve}'")
        outline = self.lifted.outline
        along = np.linspace(0.0, float(np.cumsum(outline.lengths[run])[-1]), count)
        points, at = along_run(outline, run, along)
        return np.column_stack([along, points, outline.curvatures[at]])

    def _run(self, region: str) -> NDArray[np.intp]:
        """Return the pieces of a region, as far as they follow each other."""
        which = np.flatnonzero(np.array(self.lifted.outline.regions) == region)
        return which[: 1 + int(np.argmin(np.append(np.diff(which) == 1, False)))] if len(which) else which


def is_lifted_table(table: Mapping[str, Any]) -> bool:
    """Whether a parsed file is a lifted outline, and no family or design."""
    return isinstance(table.get("outline"), list) and "source" in table


def load_bought(outline: str, beside: Path | None = None, where: str = "") -> BoughtFamily:
    """Return the family of a blank.

    Args:
        outline: File of its lifted outline.
        beside: Folder that a relative path is looked for in first, such as the design file's own.
        where: File that names it, for messages.

    Raises:
        RequestError: No such file, or one that is no outline of a knife.
    """
    path = Path(outline)
    if beside is not None and not path.is_absolute() and is_plain_file(beside / path):
        path = beside / path
    if not is_plain_file(path):
        told = f"{where}: " if where else ""
        raise RequestError(
            f"{told}{str(path)[:200]}: {why_no_file(path, 'lifted outline')}. Write one with: blankwright lift FILE"
        )
    table = read_toml(path)
    if not is_lifted_table(table):
        raise RequestError(f"{path}: this is no lifted outline. Write one with: blankwright lift FILE")
    return _family(json.dumps({"lifted": table, "names": {}, "handles": {}}, default=str), str(path))


def with_settings_of(family: BoughtFamily, handle: str, beside: Path | None = None) -> BoughtFamily:
    """Return a blank whose handle has the section, and the block, of a pattern; its outline stays what it is.

    Raises:
        RequestError: No such pattern.
    """
    table, name = load_handle_table(handle, "handle.pattern", beside), handle_name(handle, "handle.pattern", beside)
    pattern = pattern_from_table(table, Path(handle).name)
    own = json.loads(family.source)
    own["names"] |= dict.fromkeys(pattern.constructions, name)
    own["handles"] |= dict.fromkeys(pattern.constructions, table)
    return _family(json.dumps(own, default=str), family.path)


@lru_cache(maxsize=32)
def _family(source: str, path: str) -> BoughtFamily:
    """Build the family of a blank from its parsed outline and handles as JSON text."""
    own = json.loads(source)
    lifted = lifted_of(Fields(own["lifted"], path))
    first = "hidden" if shoulder_mm(lifted.outline) is not None else "full"
    if own["names"] and first not in own["names"]:  # the construction that is meant by asking for this handle
        first = next(iter(own["names"]))
    order = (first, *(c for c in CONSTRUCTIONS if c != first))
    names = _PATTERN | own["names"]
    heel = _high_mm(lifted.outline, 0.0)
    hand = hand_for(heel)
    dimensions, defaults = [], {}
    for construction in order:
        table = own["handles"].get(construction) or load_handle_table(names[construction], "handle.pattern")
        pattern = pattern_from_table(table, f"handle {names[construction]}")
        check_construction(pattern, construction, "handle.pattern")
        dimensions += _dimensions(lifted, construction, hand)
        usual = usual_settings(hand, pattern, construction)
        rows = defaults_of(Fields(usual, "the usual settings"))
        rows |= {"start.from": _SOFT if construction == "one-piece" else _HARD}
        rows |= {} if construction == "one-piece" else {"material.grade": _GRADE}
        defaults[construction] = {key: row for key, row in rows.items() if key not in _GONE}
    family = BoughtFamily(
        name=LIFTED, title=TITLE, use="a blank that exists", degree=3, front_mm=(0.0, 0.0), butt_mm=(0.0, 0.0),
        dimensions=tuple(dimensions), curves=dict.fromkeys(order, _curves(lifted.outline)), defaults=defaults,
        path=path, source=source, patterns={c: names[c] for c in order}, lifted=lifted,
    )  # fmt: skip
    return replace(family, dimensions=_with_values(family, order))


def _as_text(family: BoughtFamily) -> tuple[Any, ...]:
    return _family, (family.source, family.path)


copyreg.pickle(BoughtFamily, _as_text)


def _curves(outline: Outline) -> tuple[Curve, ...]:
    """Return the regions that are there as curves of their vertices, for whoever lists or draws a family."""
    out = []
    for region in dict.fromkeys(outline.regions):
        which = np.array(outline.regions) == region
        points = tuple((x, y) for x, y in outline.starts[which].tolist())
        out.append(Curve(region, region, "edge", points, "sharp"))
    return tuple(out)


# Dimensions -------------------------------------------------------------------------------------------------


def _dimensions(lifted: Lifted, construction: str, hand: dict[str, Any]) -> list[Dimension]:
    """Return what is measured on a blank, and the little that may be asked, in the order in which it is measured."""
    outline, only = lifted.outline, (construction,)
    known = conventions()["dimension"]

    def fixed(key: str, name: str, words: str, measure: Measure) -> Dimension:
        return Dimension(key, name, 0.0, 0.0, 0.0, words, "measured on the outline", measure, (MEASURED, 0.0), only)

    tip = Measure("above" if _sharp_tip(outline) else "foremost-height", curve="edge")
    heel = Measure("height", curve="spine", station=Station("heel", "heel", 0.0, None))
    out = [
        fixed("blade.length", "blade_length", known["blade"]["length"]["meaning"], Measure("ahead", curve="edge")),
        fixed("blade.heel_height", "heel_height", known["blade"]["heel_height"]["meaning"], heel),
        fixed("blade.tip_height", "tip_height", known["blade"]["tip_height"]["meaning"], tip),
    ]
    if _flat_first(outline):
        flat = Measure("flat", curve="edge")
        out.append(fixed("blade.flat_length", "flat_length", known["blade"]["flat_length"]["meaning"], flat))
    front, why, least, most = front_of(lifted, construction)
    out.append(
        Dimension(
            "handle.gap",
            "handle_gap",
            front,
            least,
            most,
            known["handle"]["gap"]["meaning"],
            why,
            Measure("given"),
            None,
            only,
        )
    )
    words = known["handle"]["length"]["meaning"]
    if construction != "hidden":
        out.append(fixed("handle.length", "handle_length", words, Measure("rearmost", curve="edge")))
        for key, name in (("front", "tang_front"), ("middle", "tang_middle"), ("butt", "tang_butt")):
            row = known["tang"][key]
            at = Station(row["measure"]["at"]["from"], row["measure"]["at"]["toward"],
                         row["measure"]["at"].get("share"), row["measure"]["at"].get("mm"))  # fmt: skip
            measure = Measure("thickness", curve="edge", other="edge", station=at)
            out.append(fixed(f"tang.{key}", name, row["meaning"], measure))
        return out
    reach = math.ceil(10 * (-front - outline.bounds_mm[0])) / 10  # no finer than it is written
    length = max(length_mm(hand["length"]["default"], "hand"), reach + TANG_COVER_MM)
    longest = max(length_mm(hand["length"]["greatest"], "hand"), reach + _LONGER_MM)
    out.append(
        Dimension("handle.length", "handle_length", length, reach + TANG_COVER_MM, longest, words, _HAND,
                  Measure("given"), None, only)
    )  # fmt: skip
    out.append(
        fixed("tang.length", "tang_length", known["stick"]["length"]["meaning"], Measure("behind", curve="edge"))
    )
    near = Measure("thickness", curve="edge", other="edge", station=Station("front", "butt", NEAR_SHARE, None))
    out.append(fixed("tang.front", "tang_front", "height of the hidden tang near the shoulders", near))
    return out


def _with_values(family: BoughtFamily, order: tuple[str, ...]) -> tuple[Dimension, ...]:
    """Return the dimensions with what is measured while the handle begins where it was found."""
    out: list[Dimension] = []
    for construction in order:
        for s in _measured(family, construction, {}):
            d = s.dimension
            out.append(
                replace(d, default_mm=s.value_mm, least_mm=s.value_mm, greatest_mm=s.value_mm) if d.measured else d
            )
    return tuple(out)


def bought_shape(
    family: BoughtFamily, construction: str, asked_mm: Mapping[str, float], overall_mm: float | None
) -> BoughtShape:
    """Return the shape of a blank; nothing of it is solved.

    Args:
        family: The blank.
        construction: full, hidden or one-piece.
        asked_mm: Where the handle begins, how long a block is [mm].
        overall_mm: Overall length when asked [mm].

    Raises:
        RequestError: Something was asked for that the blank has already, or that is out of its range.
        DesignError: The outline is no knife: it does not reach behind the handle's front.
    """
    if overall_mm is not None:
        raise RequestError("blade.overall_length: the blank is as it is, and its outline stands. Leave it out.")
    for name, value in asked_mm.items():
        d = family.dimension(name, construction)
        family.refuse(d.key, construction, d.key)
        check_range(d, value, family, construction, asked_mm)
    return _shape(family, construction, _measured(family, construction, asked_mm))


def _shape(family: BoughtFamily, construction: str, solved: tuple[Solved, ...]) -> BoughtShape:
    outline = family.lifted.outline
    return BoughtShape(family, construction, solved, None, max(outline.max_error_mm, LEAST_ERROR_MM), family.lifted)


_FIRST = {"given": 0, "ahead": 1, "rearmost": 1, "behind": 1}
"""The turn in which dimensions are measured: a place between heel, tip, front and butt needs these."""


def _measured(family: BoughtFamily, construction: str, asked_mm: Mapping[str, float]) -> tuple[Solved, ...]:
    """Return every dimension of a blank; each is measured when those that it hangs on are known."""
    offered = family.offered(construction)
    known: dict[str, Solved] = {}
    for d in sorted(offered, key=lambda d: _FIRST.get(d.measure.kind, 2)):
        value = asked_mm.get(d.name, d.default_mm)
        if d.measured:
            found = measure(_shape(family, construction, tuple(known.values())), d)
            if found is None or math.isnan(found[0]):
                continue  # nothing stands there: a handle shorter than the place
            value = found[0]
        if d.name in ("handle_length", "tang_length") and value < LEAST_HANDLE_MM:
            raise DesignError(
                f"The outline reaches {show_mm(value)} behind the handle's front: no handle goes on it. Correct the "
                f"regions in {Path(family.path).name}, or ask for another handle.gap."
            )
        known[d.name] = Solved(d, value, asked_mm.get(d.name))
    return tuple(known[d.name] for d in offered if d.name in known)


def _high_mm(outline: Outline, x_mm: float) -> float:
    _, _, y = upright_crossings(outline, x_mm)
    if not len(y):
        raise GeometryError("the outline does not reach its origin, the heel")
    return float(y.max())


def _sharp_tip(outline: Outline) -> bool:
    """Whether the edge ends in the foremost place."""
    edge = np.flatnonzero(np.array(outline.regions) == "edge")
    return bool(len(edge)) and outline.bounds_mm[2] - float(outline.ends[edge[-1], 0]) < _TIP_MM


def _flat_first(outline: Outline) -> bool:
    """Whether the edge begins with a true straight."""
    edge = [k for k, region in enumerate(outline.regions) if region == "edge"]
    return bool(edge) and outline.bulges[edge[0]] == 0 and outline.chord_lengths[edge[0]] >= _FLAT_LEAST_MM
