"""The sheet that several parts are laid out on, as their cover note tells it."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.cutting.order import PartFigures


@dataclass(frozen=True)
class OnSheet:
    """The sheet that the parts of a file are laid out on.

    Args:
        title: What the note is called after.
        thickness_mm: How thick it is [mm].
        grain: Which way it is rolled and how the parts lie in it, in words.
        names: What each part is called on the layout.
        masses_g: What each weighs as cut from it [g].
    """

    title: str
    thickness_mm: float
    grain: str
    names: tuple[str, ...]
    masses_g: tuple[float, ...]


def sheet_grain(figure: PartFigures, grain_deg: float | None, across_deg: float) -> str:
    """Return which way a sheet is rolled and how parts lie in it, in words.

    Args:
        figure: Figures of a part.
        grain_deg: Direction of rolling, or of the wood's grain, from x of the file [degrees]; None where nobody knows.
        across_deg: How far a part lies across it at most [degrees].
    """
    what = figure.direction
    if grain_deg is None:
        return f"{what} is not known here: where the sheet shows one that the parts lie across, call first."
    ways = {0.0: "along the length of the sheet (x in the file)", 90.0: "across the sheet (y in the file)"}
    way = ways.get(grain_deg % 180.0, f"{grain_deg:g} degrees from the length of the sheet (x in the file)")
    lie = "parts lie along it" if across_deg < 0.05 else f"parts lie within {across_deg:.1f} degrees of it"
    return f"{what} {way}; {lie}: do not turn them."
