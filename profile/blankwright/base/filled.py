"""Filling a folder that the tool keeps for itself, once: whole or not at all."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path


def filled_once(place: Path, fill: Callable[[Path], Path], before: str) -> None:
    """Fill a folder that the tool keeps for itself, whole or not at all; older ones of its kind go.

    Args:
        place: The folder; one that is there meanwhile stays.
        fill: Makes its content in a folder that is given, and returns the folder to keep.
        before: How the names of its kind begin.

    Raises:
        OSError: It cannot be written.
    """
    place.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=".building-", dir=place.parent) as work:
        made = fill(Path(work))
        if not place.exists():
            made.replace(place)
    for old in place.parent.glob(f"{before}*"):
        if old != place:
            shutil.rmtree(old, ignore_errors=True)
