"""Lists for the page: families side by side at one scale, papers, processes, services, materials to choose from."""

from __future__ import annotations

from functools import cache
from typing import Any

from blankwright.base.errors import BlankwrightError, unknown
from blankwright.base.units import show_mm
from blankwright.design.family import family_names, load_family
from blankwright.design.keys import BY_KEY
from blankwright.design.request import Design, build_design
from blankwright.ink.papers import papers
from blankwright.knife.knife import Knife
from blankwright.page.answer import silhouette
from blankwright.page.form import CHOSEN
from blankwright.page.steer import solved
from blankwright.shop.services import service, service_names
from blankwright.shop.tables import materials, processes

EXTRAS = {
    "finished": "layer of the finished line in the cutting file",
    "grind": "layer of grind line and plunge line",
    "notes": "layer of notes",
    "marks": "marks to be etched",
    "sections": "sections on the drawing",
    "stl": "solids to print and hold",
    "parts": "cutting files of scales, template and what else is cut beside the blade",
}
"""Words that a set of files can be asked for with, and what each adds."""


@cache
def offers() -> dict[str, Any]:
    """Return what a page can choose from, wherever it is started."""
    return {
        "families": [
            {"name": f.name, "title": f.title, "use": f.use, "constructions": list(f.curves)}
            for f in map(load_family, family_names())
        ],
        "papers": [p.name for p in papers()],
        "processes": [{"name": p.name, "title": p.title} for p in processes()],
        "services": [
            {"name": name, "title": service(name).title}
            for name in service_names()
            if service(name).parts != "together"
        ],
        "printers": _printers(),
        "with": [{"word": word, "words": words} for word, words in EXTRAS.items()],
    }


def _printers() -> list[str]:
    from blankwright.template.printers import all_printers  # noqa: PLC0415

    try:
        return [p.name for p in all_printers()]
    except BlankwrightError:  # a file of printers that cannot be read is told by who prints with it
        return []


@cache
def _knives() -> tuple[tuple[Design, Knife], ...]:
    found = []
    for name in family_names():
        design = build_design({"family": name}, {}, name, None)
        found.append((design, solved(design, None)))
    return tuple(found)


def silhouettes(units: str) -> list[dict[str, Any]]:
    """Return every family in its first construction, as drawn.

    Args:
        units: mm or in.
    """
    return [
        {
            "name": design.family.name, "title": design.family.title, "use": design.family.use,
            "construction": design.construction, "constructions": list(design.family.curves),
            **silhouette(knife.finished),
            "length": show_mm(knife.shape.overall_length_mm, units, 0),
            "blade": show_mm(knife.shape.values_mm["blade_length"], units, 0),
        }
        for design, knife in _knives()
    ]  # fmt: skip


def choices(key: str) -> list[dict[str, Any]]:
    """Return what a key can be chosen from.

    Args:
        key: A key of a design whose value is a name.

    Raises:
        RequestError: It is chosen from no table.
    """
    if key not in CHOSEN:
        raise unknown("key", key, CHOSEN)
    if key == "cutting.process":
        return [{"name": p.name, "words": p.title, "more": p.note} for p in processes()]
    kinds = BY_KEY[key].kinds
    return [
        {"name": m.name, "words": m.title, "more": f"{m.density_kg_m3.value / 1000:g} g/cm³"}
        for m in materials()
        if m.kind in kinds
    ]
