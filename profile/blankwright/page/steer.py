"""From what a maker wants to what can be: solved as asked, or as far toward it as the rules of the knife allow."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from blankwright.base.errors import BlankwrightError, DesignError, GeometryError, RequestError
from blankwright.base.frozen import dataclass
from blankwright.base.units import length_mm
from blankwright.design.nearest import solve_quickly
from blankwright.design.others import taking
from blankwright.design.parts import Dimension, Family
from blankwright.design.request import Design
from blankwright.knife.knife import Knife, finish
from blankwright.page.edits import Written
from blankwright.page.grips import Grip, Place, Pull, arrows_of, grips_of, words_of
from blankwright.page.typed import by_hand, exact, shown

HELD_TRIES, LAST_TRIES = 3, 10
"""How often the way to what cannot be is halved: while a point is held, and when it is let go."""

_STILL_MM, _STILL_SHARE = 0.6, 0.15
"""A point that is moved along one axis stays on the other: a hand trembles."""

_IN_TANG_MM = 0.1

PINS, PIN = "pins.positions", "pin "

CANNOT = (DesignError, GeometryError)
"""What says that dimensions or holes do not go together."""

_SIZE_KEY = re.compile(r"\b(?:blade|handle|tang)\.[a-z_]+\b")

Build = Callable[[Mapping[str, Written | None]], Design]


@dataclass(frozen=True)
class Limit:
    """What was wanted and cannot be.

    Args:
        key: Key of the dimension.
        wanted_mm: What was wanted [mm].
        reached_mm: Where it stands instead [mm].
        why: What stands in the way, in words.
    """

    key: str
    wanted_mm: float
    reached_mm: float
    why: str


@dataclass(frozen=True)
class Settled:
    """What came of a wish.

    Args:
        knife: The knife.
        values: What is to be written in the design, by key; None takes a key out.
        limit: What could not be; None when all could.
    """

    knife: Knife
    values: Mapping[str, Written | None]
    limit: Limit | None


def solved(design: Design, before: Knife | None) -> Knife:
    """Solve a design, quickly and without looking for ways out.

    Args:
        design: The request.
        before: The knife before; its shape is taken where no dimension differs.

    Raises:
        RequestError: A value is out of its range.
        DesignError: Dimensions or holes do not go together.
        GeometryError: There is no outline to cut.
    """
    old = before.asked if before else None
    same = (
        old is not None
        and (old.family, old.construction, old.overall_mm) == (design.family, design.construction, design.overall_mm)
        and dict(old.dimensions_mm) == dict(design.dimensions_mm)
    )
    shape = before.shape if before and same else None
    if shape is None:
        shape = solve_quickly(design.family, design.construction, design.dimensions_mm, design.overall_mm)
    knife = finish(design, shape)
    _ = knife.cut, knife.face, knife.block  # what is drawn: what cannot be is told before anything changes
    return knife


def settle(build: Build, now: Knife | None, wanted: Mapping[str, Written | None], units: str, *, held: bool) -> Settled:
    """Return the knife as wanted, or the nearest on the way to it.

    Args:
        build: Makes the design with some keys changed.
        now: The knife as it stands; None for none.
        wanted: Values as they are to be written; None lets a key follow.
        units: mm or in, for what is written where a limit is met.
        held: Whether more is to come at once: then a limit is found roughly.

    Raises:
        RequestError: A value cannot be read, or one that is no dimension is out of its range.
        DesignError: It cannot be, and no dimension among the wanted ones could give way.
    """
    design = build(wanted)
    offered = {d.key: d for d in design.family.offered(design.construction)}
    goals = {key: length_mm(text, key) for key, text in wanted.items() if key in offered and isinstance(text, str)}
    values, limit = _in_range(design.family, design.construction, goals, wanted, units)
    try:
        return Settled(solved(design if values == wanted else build(values), now), values, limit)
    except CANNOT as error:
        if not goals or now is None or now.construction != design.construction or now.asked.family != design.family:
            raise
        return _toward(build, now, values, {k: offered[k] for k in goals}, goals, error, units, held=held)


def _in_range(
    family: Family, construction: str, goals: Mapping[str, float], wanted: Mapping[str, Written | None], units: str
) -> tuple[dict[str, Written | None], Limit | None]:
    """Return the wanted values, each dimension within the family's range, and the first that was not."""
    values, limit = dict(wanted), None
    offered = {d.key: d for d in family.offered(construction)}
    for key, goal_mm in goals.items():
        d = offered[key]
        end_mm = min(max(goal_mm, d.least_mm), d.greatest_mm)
        if end_mm != goal_mm:
            values[key] = exact(end_mm, units) if _exact_in(end_mm, units) else exact(end_mm, "mm")
            span = f"{shown(key, d.least_mm, units)} to {shown(key, d.greatest_mm, units)}"
            others = taking(family, construction, {d.name: goal_mm})
            take = f" Families that take it: {', '.join(others)}." if others else ""
            limit = limit or Limit(key, goal_mm, end_mm, f"This family's {words_of(key)} goes from {span}.{take}")
    return values, limit


def _exact_in(value_mm: float, units: str) -> bool:
    """Whether a length loses nothing when it is written in the reader's units."""
    return units == "mm" or abs(length_mm(exact(value_mm, units)) - value_mm) < 1e-9


def _toward(
    build: Build, now: Knife, values: Mapping[str, Written | None], offered: Mapping[str, Dimension],
    goals: Mapping[str, float], error: BlankwrightError, units: str, *, held: bool,
) -> Settled:  # fmt: skip
    """Halve the way from where the dimensions stand to where they are wanted, to the furthest that still works."""
    start = {key: now.shape.values_mm[d.name] for key, d in offered.items()}

    def there(share: float) -> dict[str, Written | None]:
        on_way = {k: start[k] + share * (_mm(values[k]) - start[k]) for k in offered}
        return {**values, **{k: exact(round(mm, 2), "mm") for k, mm in on_way.items()}}

    knife, reached = _furthest(build, now, there, held=held) or _at_rest(build, now, values, offered, error)
    key = max(goals, key=lambda k: abs(goals[k] - knife.shape.values_mm[offered[k].name]))
    return Settled(knife, reached, Limit(key, goals[key], knife.shape.values_mm[offered[key].name], reason(error)))


def _furthest(
    build: Build, now: Knife, there: Callable[[float], dict[str, Written | None]], *, held: bool
) -> tuple[Knife, dict[str, Written | None]] | None:
    """Return the furthest share of a way that still makes a knife; None for none."""
    good, bad = 0.0, 1.0
    best: tuple[Knife, dict[str, Written | None]] | None = None
    for _ in range(HELD_TRIES if held else LAST_TRIES):
        share = (good + bad) / 2
        tried = there(share)
        if best is not None and tried == best[1]:
            break
        try:
            best, good = (solved(build(tried), now), tried), share
        except (RequestError, GeometryError):
            bad = share
    return best


def _at_rest(
    build: Build, now: Knife, values: Mapping[str, Written | None], offered: Mapping[str, Dimension],
    error: BlankwrightError,
) -> tuple[Knife, dict[str, Written | None]]:  # fmt: skip
    """Return the knife as it stands, with what was wanted beside its dimensions.

    Raises:
        DesignError: That cannot be either.
    """
    rest = {key: value for key, value in values.items() if key not in offered}
    try:
        return solved(build(rest), now), rest
    except CANNOT:
        raise error from None


def _mm(text: object) -> float:
    return length_mm(text)


def reason(error: BlankwrightError) -> str:
    """Return why something cannot be, without the advice that a command line gives."""
    text = str(error).removeprefix("These dimensions cannot hold together: ")
    text = text.removeprefix("These dimensions do not go together: ").split(" What works")[0]
    text = _SIZE_KEY.sub(lambda found: words_of(found[0]), text)
    return text[:1].upper() + text[1:]


def pin_grips(knife: Knife) -> tuple[Grip, ...]:
    """Return the pins as points that can be moved along the handle."""
    pull = Pull(PINS, "", 1.0)
    return tuple(
        Grip(f"{PIN}{number}", f"pin {number}", (made.hole.x_mm, made.hole.y_mm), pull, None)
        for number, made in enumerate(knife.pins, start=1)
        if not knife.start.bought
    )


def pin_moved(build: Build, knife: Knife, name: str, to_mm: float, units: str, *, held: bool) -> Settled:
    """Return the knife with a pin moved along the handle, or as far toward it as the steel around it allows.

    Args:
        build: Makes the design with some keys changed.
        knife: The knife as it stands.
        name: The pin's point.
        to_mm: Where it is wanted along x [mm].
        units: mm or in, for the step.
        held: Whether more is to come at once.

    Raises:
        RequestError: There is no such pin.
    """
    places = [made.hole.x_mm for made in knife.pins]
    index = next((i for i, grip in enumerate(pin_grips(knife)) if grip.name == name), None)
    if index is None:
        raise RequestError(f"'{name[:60]}' is no point that can be moved.")

    least_mm, most_mm = knife.shape.tang_end_x_mm + _IN_TANG_MM, knife.shape.front_x_mm - _IN_TANG_MM
    goal_mm = min(max(to_mm, least_mm), most_mm)

    def there(share: float) -> dict[str, Written | None]:
        mm = places[index] + share * (goal_mm - places[index])
        return {PINS: [by_hand(mm, units)[0] if i == index else exact(round(x, 2), "mm") for i, x in enumerate(places)]}

    try:
        return Settled(solved(build(there(1.0)), knife), there(1.0), None)
    except (RequestError, GeometryError) as error:
        why = reason(error)
    reached, values = _furthest(build, knife, there, held=held) or (knife, {})
    at_mm = min((made.hole.x_mm for made in reached.pins), key=lambda x: abs(x - to_mm), default=to_mm)
    return Settled(reached, values, Limit(PINS, to_mm, at_mm, why))


def grip_named(knife: Knife, name: str) -> Grip:
    """Return a point, or the end of an arrow, that can be moved.

    Raises:
        RequestError: There is none of that name.
    """
    arrows = arrows_of(knife.shape)
    ends = [a.grip for a in arrows if a.grip is not None]
    found = next((g for g in (*grips_of(knife.shape, arrows), *ends) if g.name == name), None)
    if found is None:
        raise RequestError(f"'{name[:60]}' is no point that can be moved.")
    return found


def moved(
    knife: Knife, grip: Grip, since: Place, to: Place, moving: frozenset[str], units: str
) -> dict[str, Written | None]:
    """Return what moving a point asks for.

    Args:
        knife: The knife as it stands.
        grip: The point.
        since: Where it was taken hold of [mm]: a point also moves by itself, where it follows another size.
        to: Where it is wanted [mm].
        moving: Keys that this hold has changed already.
        units: mm or in, for the step.
    """
    dx, dy = abs(to[0] - since[0]), abs(to[1] - since[1])
    both = grip.x is not None and grip.y is not None
    wanted: dict[str, Written | None] = {}
    for axis, pull, far_mm, other_mm in ((0, grip.x, dx, dy), (1, grip.y, dy, dx)):
        if pull is None:
            continue
        trembles = both and far_mm < other_mm and far_mm < max(_STILL_MM, _STILL_SHARE * other_mm)
        still = far_mm == 0 or trembles
        if pull.key in moving or not still:
            wanted[pull.key] = _stepped(knife, pull, to[axis] - grip.at[axis], units)
    return wanted


def _stepped(knife: Knife, pull: Pull, step_mm: float, units: str) -> str:
    """Return a dimension after a step of its point, as it is written."""
    return by_hand(knife.shape.values_mm[pull.name] + pull.slope * step_mm, units)[0]
