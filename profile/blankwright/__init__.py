"""Blankwright: kitchen-knife outlines that can be cut, and the proof that the knife is inside the blank.

    import blankwright as bw
    knife = bw.solve("chef", blade_length_mm=210, heel_height_mm=48)
    knife.finished.area_mm2
    knife.write("out/")

Names are loaded when first used, so that a command that needs little starts at once.
"""

from __future__ import annotations

TYPE_CHECKING = False  # as checkers read it: a run must hear a key before it has loaded anything
if TYPE_CHECKING:
    from typing import Any

    from blankwright.base.errors import BlankwrightError, DesignError, ProofError, RequestError
    from blankwright.design.dimensions import Dimensions
    from blankwright.design.family import family_from_table, family_names, load_family
    from blankwright.design.newfamily import family
    from blankwright.design.parts import Family
    from blankwright.design.request import Design, read_design
    from blankwright.desk.script import Knife, request, solve, sweep
    from blankwright.desk.stocking import Nest, Placing, nest, place
    from blankwright.geometry.outline import Outline

__version__ = "0.1.0"

_HOMES = {
    "Family": "design.parts", "load_family": "design.family",
    "family": "design.newfamily", "family_from_table": "design.family", "family_names": "design.family",
    "Dimensions": "design.dimensions", "Design": "design.request", "read_design": "design.request",
    "BlankwrightError": "base.errors", "DesignError": "base.errors",
    "ProofError": "base.errors", "RequestError": "base.errors",
    "Outline": "geometry.outline",
    "Knife": "desk.script", "request": "desk.script", "solve": "desk.script", "sweep": "desk.script",
    "Nest": "desk.stocking", "Placing": "desk.stocking", "nest": "desk.stocking", "place": "desk.stocking",
}  # fmt: skip

__all__ = [
    "BlankwrightError",
    "Design",
    "DesignError",
    "Dimensions",
    "Family",
    "Knife",
    "Nest",
    "Outline",
    "Placing",
    "ProofError",
    "RequestError",
    "__version__",
    "family",
    "family_from_table",
    "family_names",
    "load_family",
    "nest",
    "place",
    "read_design",
    "request",
    "solve",
    "sweep",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'blankwright' has no attribute '{name}'")
    from importlib import import_module  # noqa: PLC0415

    value = getattr(import_module(f"blankwright.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
