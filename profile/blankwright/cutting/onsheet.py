"""The sheet that several parts are laid out on, as their cover note tells it."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.base.said import range_mm
from blankwright.cutting.order import PartFigures


@dataclass(frozen=True)
class Thick:
    """How thick the steel is within an outline.

    Args:
        least_mm: Where it is thinnest [mm].
        most_mm: Where it is thickest [mm].
    """

    least_mm: float
    most_mm: float

    @property
    def tapers(self) -> bool:
        """Whether it is not as thick everywhere."""
        return self.most_mm - self.least_mm > 1e-6

    def shown(self, units: str = "mm") -> str:
        """Return it with its unit, mm or in.

        >>> Thick(5.5, 8.0).shown(), Thick(5.5, 8.0).shown("in"), Thick(3.175, 3.175).shown()
        ('5.5 to 8.0 mm', '0.217 to 0.315 in', '3.175 mm')
        """
        return range_mm(self.least_mm, self.most_mm).shown(units)


@dataclass(frozen=True)
class OnSheet:
    """The sheet that the parts of a file are laid out on.

    Args:
        title: What the note is called after.
        thick: How thick it is.
        grain: Which way it is rolled and how the parts lie in it, in words.
        names: What each part is called on the layout.
        under: How thick it is under each, under all that are alike together.
        masses_g: What each weighs as cut from it, on average of those that are alike [g].
    """

    title: str
    thick: Thick
    grain: str
    names: tuple[str, ...]
    under: tuple[Thick, ...]
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
