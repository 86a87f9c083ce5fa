"""The SVG library, loaded without its checker of attributes: what it would check is our own and tested."""

from __future__ import annotations

import importlib
import sys
from types import ModuleType

_CHECKER = "svgwrite.data.svgparser"
"""Compiles long patterns as it is loaded, half of the time that loading the library takes; they are used only with
`debug=True`, which no drawing of ours asks for."""


def svg_library() -> ModuleType:
    """Return svgwrite; its checker is loaded when it is first asked for anything."""
    if "svgwrite" not in sys.modules:
        stand_in = ModuleType(_CHECKER)
        for name in ("is_valid_transferlist", "is_valid_pathdata", "is_valid_animation_timing"):
            setattr(stand_in, name, lambda text, name=name: getattr(_checker(), name)(text))
        sys.modules[_CHECKER] = stand_in
        importlib.import_module("svgwrite")
        del sys.modules[_CHECKER]
    return sys.modules["svgwrite"]


def _checker() -> ModuleType:
    return importlib.import_module(_CHECKER)
