"""What a fit becomes: a design file, a family file of its own where the rest is more than asked, and sentences."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

import numpy as np

from blankwright.base.arrays import Place
from blankwright.base.errors import BlankwrightError, RequestError, unknown
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line, mm, said
from blankwright.base.units import length_mm, show_mm
from blankwright.design.designfile import design_text
from blankwright.design.family import family_from_table, family_names, load_family
from blankwright.design.request import Design, build_design
from blankwright.design.sizes import brought_in
from blankwright.design.solve import solve_shape
from blankwright.geometry.outline import Outline
from blankwright.lift.fits import Fit
from blankwright.lift.nearest import Told, nearest_families
from blankwright.lift.ownfamily import OwnFamily, own_family
from blankwright.lift.stretches import differences, place_words
from blankwright.lift.tables import table_text

ANY = "any"
WITHIN_LEAST_MM, WITHIN_MOST_MM = 0.02, 20.0
TELLS_MM = 0.5
"""A dimension that the outline tells no closer than this is named: the maker measures it on the thing."""
_DIGITS = 2


@dataclass(frozen=True)
class Behind:
    """Where a design is furthest off what was lifted, behind the heel: no family of its own draws the handle.

    Args:
        mm: How far [mm].
        at_mm: The place on the design [mm].
        region: Its region.
    """

    mm: float
    at_mm: Place
    region: str

    @property
    def line(self) -> Line:
        """A sentence."""
        where, values = place_words(self.at_mm[0], self.region, None)
        words = "Behind the heel the handle's pattern stays, off by {} at worst, "
        return said(words + where + ".", mm(self.mm), *values)


@dataclass(frozen=True, eq=False)
class Fitted:
    """A design that a lifted outline came to.

    Args:
        name: Name of the knife.
        fits: The families that were laid on it, the nearest first.
        asked_mm: Dimensions of the design, rounded as its file has them, by name [mm].
        own: A family file of its own, or None.
        notes: What the maker should know.
    """

    name: str
    fits: tuple[Fit, ...]
    asked_mm: Mapping[str, float]
    own: OwnFamily | None
    notes: tuple[Line, ...]

    @property
    def best(self) -> Fit:
        """The nearest family."""
        return self.fits[0]

    @cached_property
    def behind(self) -> Behind | None:
        """How far the design of the family of its own is off behind the heel; None without one."""
        if self.own is None:
            return None
        design = design_of(self, "own_family.toml")
        shape = solve_shape(design.family, design.construction, design.dimensions_mm)
        found = differences(shape.finished, self.best.target.outline)
        rows = np.flatnonzero(found.points[:, 0] < 0)
        worst = int(rows[np.abs(found.off_mm[rows]).argmax()])
        x, y = found.points[worst].tolist()
        return Behind(abs(float(found.off_mm[worst])), (x, y), found.regions[worst])


def fit_within_mm(text: str | None) -> float | None:
    """Read how near a family of its own shall come [mm].

    Raises:
        RequestError: No length, or out of range.
    """
    if text is None:
        return None
    within = length_mm(text, "--within")
    if not WITHIN_LEAST_MM <= within <= WITHIN_MOST_MM:
        raise RequestError(f"--within: {text} is out of range. Allowed: {WITHIN_LEAST_MM:g} to {WITHIN_MOST_MM:g} mm.")
    return within


def families_of(word: str) -> list[str] | None:
    """Return the families that --fit names; None for all.

    Raises:
        RequestError: No family of that name, and no family file.
    """
    if word == ANY:
        return None
    if not word.endswith(".toml") and word not in family_names():
        raise unknown("family", word, [ANY, *family_names()], "--fit")
    load_family(word)
    return [word]


def fit_outline(
    outline: Outline, name: str, word: str, within_mm: float | None = None, tell: Told | None = None
) -> Fitted:
    """Lay a family on an outline.

    Args:
        outline: In the design's own coordinates, with its regions.
        name: Name of the knife.
        word: A family's name or file, or "any".
        within_mm: How near a family of its own shall come [mm]; None for none.
        tell: Told what is tried, before each of the steps that take seconds; None tells nobody.

    Raises:
        RequestError: No family can be laid on it.
    """
    fits = nearest_families(outline, families_of(word), tell)
    if not fits:
        what = "no family has" if word == ANY else f"the family {word} has no"
        raise RequestError(
            f"--fit {word}: {what} shape that could be laid on this outline. Look at the picture: are heel, tip and "
            "handle where they are on the thing?"
        )
    best = fits[0]
    own, notes = None, list[Line]()
    if within_mm is not None and best.worst_mm > within_mm:
        if tell is not None:
            tell("a family of its own")
        try:
            own = own_family(best, name, within_mm)
        except RequestError as error:
            notes.append(said("No family file of its own: " + _braceless(str(error))))
    return Fitted(name, tuple(fits), rounded_mm(best), own, tuple(notes))


def rounded_mm(fit: Fit) -> dict[str, float]:
    """Return the dimensions found as a file has them: to the hundredth where that holds, else to the end [mm]."""
    family, construction, found = fit.shape.family, fit.shape.construction, fit.asked_mm
    near = {}
    for name, value in found.items():
        d = family.dimension(name, construction)
        near[name] = round(min(max(value, d.least_mm), d.greatest_mm), _DIGITS)
    near = {name: _down(near[name], most) for name, most in brought_in(family, construction, near).items()}
    try:
        _ = solve_shape(family, construction, near).finished
    except BlankwrightError:
        return {name: round(value, 9) for name, value in found.items()}
    return near


def _down(value: float, most: float) -> float:
    """Return a value that is at most another one, rounded down where that is what holds it."""
    return value if value <= most + 1e-9 else math.floor(most * 10**_DIGITS) / 10**_DIGITS


def design_of(done: Fitted, family_file: str | None = None) -> Design:
    """Return the design that a fit comes to.

    Args:
        done: The fit.
        family_file: Name of the family file of its own, which the design then names.
    """
    fit = done.best
    construction = fit.shape.construction
    if family_file is not None and done.own is not None:
        family = replace(family_from_table(dict(done.own.table), family_file), path=family_file)
        offered = {d.name: d for d in family.offered(construction)}
        asked = {n: v for n, v in done.asked_mm.items() if n in offered and n.startswith(("handle_", "tang_"))}
        asked = {n: v for n, v in asked.items() if offered[n].least_mm <= v <= offered[n].greatest_mm}
    else:
        family, asked = fit.shape.family, dict(done.asked_mm)
    table = {"name": done.name[:100], "family": family.name, "handle": {"construction": construction}}
    keys = {d.key: f"{asked[d.name]:.12g} mm" for d in family.offered(construction) if d.name in asked}
    return build_design(table, keys, "fit", None, family)


def files_of(done: Fitted, slug: str) -> dict[str, str | bytes]:
    """Return the files of a fit by name: a design, and a family of its own where there is one."""
    fit = done.best
    known = fit.known_to_mm
    design = design_of(done)
    head = [
        f"Family {fit.shape.family.name} laid on what was lifted: {_off_line(fit).text()}.",
        "Dimensions are what the outline tells; behind each stands how closely it tells it. Delete a line to let it",
        "follow. Material, grind and cutting are the family's own: say yours.",
    ]
    notes = {
        d.key: f"told to within {show_mm(max(known[d.name], 0.01))}"
        for d in fit.shape.family.offered(fit.shape.construction)
        if d.name in known
    }
    handle = fit.shape.family.patterns.get(fit.shape.construction)
    usual = load_family(fit.shape.family.path_or_name).patterns.get(fit.shape.construction)
    text = design_text(design, head, notes)
    if handle is not None and handle != usual:
        text = text.replace("[handle]\n", f"[handle]\npattern = {json.dumps(handle)}\n", 1)
    files: dict[str, str | bytes] = {f"{slug}.toml": text}
    if done.own is not None and done.behind is not None:
        name = f"{slug}_family.toml"
        files[name] = table_text(
            done.own.table,
            [
                f"A blade of its own, drawn along what was lifted; nearest to {fit.shape.family.name}.",
                f"Its blade is within {show_mm(done.own.worst_mm)} of it. Points are [x, y] in mm on the line.",
            ],
        )
        own = design_text(
            design_of(done, name),
            [f"The family file {name} beside this one, with the handle that was found.", done.behind.line.text()],
            {},
        )
        files[f"{slug}_own.toml"] = _named(own, name)
    return files


def _named(text: str, family_file: str) -> str:
    """Name the family by its file beside the design: the whole path of where it is written is nobody's."""
    rows = [f"family = {json.dumps(family_file)}" if r.startswith("family = ") else r for r in text.splitlines()]
    return "\n".join(rows) + "\n"


def report_of(done: Fitted) -> dict[str, Any]:
    """Return a fit as data."""
    fit = done.best
    return {
        "family": fit.shape.family.name,
        "construction": fit.shape.construction,
        "handle": fit.shape.family.patterns.get(fit.shape.construction),
        "dimensions_mm": {**fit.dimensions_mm, **done.asked_mm},
        "known_to_mm": fit.known_to_mm,
        "worst_mm": fit.worst_mm,
        "at_mm": list(fit.at_mm),
        "region": fit.at_region,
        "rms_mm": fit.rms_mm,
        "turned_deg": fit.laid.turn_deg,
        "shifted_mm": [fit.laid.x_mm, fit.laid.y_mm],
        "others": [{"family": f.shape.family.name, "worst_mm": f.worst_mm, "rms_mm": f.rms_mm} for f in done.fits[1:]],
        "own": None if done.own is None else _own_report(done.own, done.behind),
    }


def _own_report(own: OwnFamily, behind: Behind | None) -> dict[str, Any]:
    out: dict[str, Any] = {"worst_mm": own.worst_mm}
    if behind is not None:
        out |= {"behind_heel_mm": behind.mm, "at_mm": list(behind.at_mm), "region": behind.region}
    return out


def fit_lines(done: Fitted) -> list[Line]:
    """Return a fit in sentences."""
    fit = done.best
    handle = fit.shape.family.patterns.get(fit.shape.construction)
    off = _off_line(fit)
    with_handle = f", handle {handle}" if handle is not None else ""
    out = [
        said(f"Nearest family: {fit.shape.family.name}{with_handle} ({fit.shape.construction})."),
        said("Off by {} on the root mean square; ", mm(fit.rms_mm)).then(off.words + ".", *off.values),
    ]
    for d in fit.shape.family.offered(fit.shape.construction):
        known = fit.known_to_mm.get(d.name)
        if known is not None and known > TELLS_MM:
            out.append(
                said(
                    f"{d.key}: {{}}, but the outline tells it only to within {{}}. Measure it on the thing.",
                    mm(fit.dimensions_mm[d.name]),
                    mm(known, 1),
                )
            )
    out += [said(f"Next: {f.shape.family.name}, off by {{}} at worst.", mm(f.worst_mm)) for f in done.fits[1:]]
    if done.own is not None:
        out.append(said("A family file of its own: its blade is within {} of what was lifted.", mm(done.own.worst_mm)))
    if done.behind is not None:
        out.append(done.behind.line)
    return [*out, *done.notes]


def _off_line(fit: Fit) -> Line:
    side = "outside" if fit.worst_off_mm > 0 else "inside"
    region = fit.at_region
    where, values = place_words(fit.at_mm[0], region, fit.dimensions_mm["blade_length"])
    return said(f"{{}} {side} at worst, {where}", mm(fit.worst_mm), *values)


def _braceless(text: str) -> str:
    return text.replace("{", "(").replace("}", ")")
