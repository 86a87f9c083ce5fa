"""Which family is it? Each is laid on the outline as it measures, the likelier are fitted, the best to the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from blankwright.base.errors import BlankwrightError
from blankwright.design.family import family_names, load_family, with_handle
from blankwright.design.pattern import handle_names
from blankwright.geometry.outline import Outline
from blankwright.lift.fits import Fit, Target
from blankwright.lift.fitting import QUICK_PLACES, at_once, fitted, quickly

LIKELY, LIKELIEST = 6, 2
"""So many families get a few steps, and so many are fitted to the end."""
FITS_HANDLE_MM = 0.25
"""A handle that is off by less than this on the root mean square is the one; else the others are tried too."""
STICK_MM = 16.0
"""A tang as low as this that narrows toward its end goes into a block; a handle's own tang is higher, or swells."""

Told = Callable[[str], None]


def nearest_families(outline: Outline, names: Sequence[str] | None = None, tell: Told | None = None) -> list[Fit]:
    """Return the families nearest to an outline, the nearest first; those fitted to the end lead.

    Args:
        outline: In the design's own coordinates.
        names: Families, or family files, to choose from; None for all shipped ones.
        tell: Told what is tried, before each of the steps that take seconds; None tells nobody.

    Raises:
        RequestError: A name that is no family.
    """
    construction = construction_of(outline)
    target, few = Target.of(outline), Target.of(outline, QUICK_PLACES)
    families = [load_family(name) for name in names or family_names()]
    families = [f for f in families if construction in f.curves]
    if len(families) > LIKELY:
        families = sorted(families, key=lambda f: at_once(few, f, construction))[:LIKELY]
    begun = []
    for family in families:
        _say(tell, f"family {family.name}, first steps")
        quick = quickly(few, family, construction)
        if quick is not None:
            begun.append((quick[0], family, quick[1]))
    begun.sort(key=lambda row: row[0])
    fits = []
    for _, family, numbers in begun[:LIKELIEST]:
        _say(tell, f"family {family.name}, to the end")
        fits.append(fitted(target, family, construction, numbers))
    found = _ranked([fit for fit in fits if fit is not None])
    return _ranked([best_handle(fit, tell) for fit in found[:1]] + found[1:])


def _say(tell: Told | None, what: str) -> None:
    if tell is not None:
        tell(what)


def construction_of(outline: Outline) -> str:
    """Return how a knife of this outline is made: with a tang as high as its handle, or a stick inside a block."""
    x0, _, _, _ = outline.bounds_mm
    front, rear = _height(outline, 0.3 * x0), _height(outline, 0.8 * x0)
    return "hidden" if rear < front < STICK_MM else "full"


def _height(outline: Outline, x_mm: float) -> float:
    from blankwright.design.check import chord  # noqa: PLC0415

    low, high = chord(outline, x_mm)
    return high.y_mm - low.y_mm


def _ranked(fits: Sequence[Fit]) -> list[Fit]:
    return sorted(fits, key=lambda fit: fit.robust_mm)


def best_handle(fit: Fit, tell: Told | None = None) -> Fit:
    """Return the fit with the handle that lies nearest; the family's own where it is near enough."""
    family, construction = fit.shape.family, fit.shape.construction
    if not family.patterns or fit.rms_mm <= FITS_HANDLE_MM:
        return fit
    best = fit
    for name in handle_names(construction):
        if name == family.patterns.get(construction):
            continue
        _say(tell, f"family {family.name}, handle {name}")
        try:
            other = fitted(fit.target, with_handle(family, name), construction)
        except BlankwrightError:  # this handle does not go with a blade as low as this one
            continue
        if other is not None and other.rms_mm < best.rms_mm:
            best = other
    return best
