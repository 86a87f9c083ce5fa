"""Our own modules as syntax trees, read once for all tests of a process."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path


@cache
def nodes(path: Path) -> tuple[ast.AST, ...]:
    """Return every node of a module, the module itself first."""
    return tuple(ast.walk(ast.parse(path.read_text(encoding="utf-8"))))
