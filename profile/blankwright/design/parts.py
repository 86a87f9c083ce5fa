"""What a blade family is made of: curves with joints, dimensions with ranges, defaults with sources.

Glossary:
    curve       a control polygon, in mm at the family's default dimensions, run counter-clockwise:
                heel corner, edge, tip, spine, handle, heel notch, back to the heel corner at (0, 0)
    joint       how a curve meets the next: "sharp" (its last point is a corner, from which the next curve
                starts), "smooth" (both polygons make one spline), a radius in mm (a sharp corner, rounded) or the
                name of the dimension that is this radius
    frame       how a curve follows the dimensions: one of FRAMES (see layout.py)
    station     a place along x, between two named points: heel, tip, front (of the handle) and butt
    measure     how a dimension is read off the curves (see measure.py)
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import field
from functools import cached_property
from pathlib import Path
from typing import Any

from blankwright.base.errors import unknown
from blankwright.base.frozen import dataclass
from blankwright.base.library import families_dir

REGIONS = ("edge", "spine", "heel", "tang", "butt")
FRAMES = ("edge", "spine", "handle", "neck", "notch", "choil")
CONSTRUCTIONS = ("full", "hidden", "one-piece")
MEASURES = (
    "ahead",
    "above",
    "height",
    "drop",
    "thickness",
    "flat",
    "foremost",
    "foremost-height",
    "rearmost",
    "behind",
    "apart",
    "lean",
    "corner",
    "given",
)
NEEDED_DIMENSIONS = ("blade_length", "heel_height", "tip_height", "handle_gap", "handle_length")
LEAST_STEP_MM = 3.0
"""Our rule: the handle's underside begins so far above the edge at least, or no stone reaches the heel."""

SHAPE = "shape"
"""What a dimension follows that is only measured where nobody asks for it."""

LIFTED = "lifted"
"""The family of a blank that was lifted, as a design names it."""

OUTLINE_KEY = "outline"
"""Top key of a design with the file of a lifted outline, of family LIFTED."""

MEASURED = "measured"
"""What a dimension follows that cannot be asked for: the thing exists, and it is measured on its outline."""

NAMED_POINTS = ("heel", "tip", "front", "butt")

Point = tuple[float, float]


@dataclass(frozen=True)
class Station:
    """A place along x: a share of the way from one named point to another, or some mm toward it."""

    start: str
    toward: str
    share: float | None
    mm: float | None


@dataclass(frozen=True)
class Measure:
    """How a dimension is read off the curves; unused parts are None."""

    kind: str
    curve: str | None = None
    other: str | None = None
    station: Station | None = None
    second: Station | None = None


@dataclass(frozen=True)
class Dimension:
    """A dimension that a family offers.

    Args:
        key: Name in the design file, such as "blade.length".
        name: Name in scripts and results, such as "blade_length".
        default_mm: Value at which the control points are drawn [mm].
        least_mm: Smallest value offered [mm].
        greatest_mm: Largest value offered [mm].
        meaning: What is measured, in a maker's words.
        source: Where default and range come from.
        measure: How it is read off the curves.
        follows: (name of another dimension, power): the value when not asked, (SHAPE, 0) where it is only measured
            then, (MEASURED, 0) where it always is, or None to keep the default.
        constructions: Constructions that have this dimension.
    """

    key: str
    name: str
    default_mm: float
    least_mm: float
    greatest_mm: float
    meaning: str
    source: str
    measure: Measure
    follows: tuple[str, float] | None
    constructions: tuple[str, ...]

    @property
    def free(self) -> bool:
        """Whether it is what the shape makes it, where nobody asks for it."""
        return self.follows is not None and self.follows[0] == SHAPE

    @property
    def measured(self) -> bool:
        """Whether it is measured on a thing that exists, and nobody can ask for it."""
        return self.follows is not None and self.follows[0] == MEASURED


@dataclass(frozen=True)
class Curve:
    """One control polygon; joint is "sharp", "smooth", a radius [mm] or the name of the dimension that is it."""

    name: str
    region: str
    frame: str
    points: tuple[Point, ...]
    joint: str | float


@dataclass(frozen=True)
class Default:
    """A default of the design file and where it comes from.

    Args:
        value: The value, as in a design file.
        source: Where it comes from.
        least: Smallest value that makes a sensible knife of the family, as text; None for the setting's own.
        greatest: Largest such value.
    """

    value: Any
    source: str
    least: str | None = None
    greatest: str | None = None


@dataclass(frozen=True, eq=False, repr=False)
class Family:
    """A blade family as read from its file.

    Args:
        name: Name used on the command line.
        title: Name printed for a reader.
        use: What the knife is for.
        degree: Degree of the splines, 3 to 5.
        front_mm: Middle of the tang where the handle begins, at the default dimensions [mm].
        butt_mm: Rear end of the handle, at the default dimensions [mm].
        dimensions: What can be asked, in the order of the file.
        curves: Loop of curves for each construction.
        defaults: Design-file keys and their defaults for each construction.
        path: The file.
        source: The parsed file, or blade and handles, as JSON text.
        patterns: Name or file of the handle of each construction; empty where the family's own file draws it.
        step_mm: Height of the handle's underside above the board line at its front, for each construction [mm]; None
            where the family's own file draws it.
        top_mm: Height of the handle's top at its front; of meaning with step_mm only [mm].
    """

    name: str
    title: str
    use: str
    degree: int
    front_mm: Point
    butt_mm: Point
    dimensions: tuple[Dimension, ...]
    curves: dict[str, tuple[Curve, ...]]
    defaults: dict[str, dict[str, Default]]
    path: str
    source: str = field(repr=False)
    patterns: dict[str, str] = field(default_factory=dict)
    step_mm: dict[str, float] | None = None
    top_mm: float = 0.0

    @property
    def path_or_name(self) -> str:
        """How a design names the family: shipped ones by name, others by path."""
        shipped = Path(self.path).parent == families_dir()
        return self.name if shipped else self.path

    @property
    def beside(self) -> dict[str, str]:
        """Other top keys by which a design names it, such as the outline of a blank that was lifted."""
        return {}

    def refuse(self, key: str, construction: str, place: str) -> None:
        """Refuse a key of the design that this family does not let anyone ask for.

        Args:
            key: Dotted key.
            construction: full, hidden or one-piece.
            place: File, table and key for the message.

        Raises:
            RequestError: It is such a key; says why.
        """

    def check_asked(self, settings: Collection[str], where: str) -> None:
        """Refuse a design that leaves out what nobody but its maker can know.

        Args:
            settings: Keys that the design asks for.
            where: Its file, for the message.

        Raises:
            RequestError: Something is left out.
        """

    def stands(self, key: str) -> bool:
        """Whether a key of the design means nothing here, because what it asks for is there already."""
        return False

    def offered(self, construction: str) -> tuple[Dimension, ...]:
        """Return the dimensions that a construction has.

        Raises:
            RequestError: The family has no such construction.
        """
        if construction not in self.curves:
            raise unknown("construction", str(construction), self.curves, f"family {self.name}")
        return self._offered[construction]

    @cached_property
    def _offered(self) -> dict[str, tuple[Dimension, ...]]:
        return {c: tuple(d for d in self.dimensions if c in d.constructions) for c in self.curves}

    def dimension(self, name: str, construction: str) -> Dimension:
        """Return a dimension by its script name.

        Raises:
            RequestError: The family has no such dimension in this construction, or no such construction.
        """
        for d in self.offered(construction):
            if d.name == name:
                return d
        raise unknown("dimension", name, [d.name for d in self.offered(construction)], f"family {self.name}")

    def __eq__(self, other: object) -> bool:
        """Whether both were read from the same words in the same place."""
        if not isinstance(other, Family):
            return NotImplemented
        return self is other or (self.source, self.path) == (other.source, other.path)

    def __hash__(self) -> int:
        return hash((self.source, self.path))

    def __dask_tokenize__(self) -> tuple[str, str]:
        """Return what tells it from others on a cluster, which would walk through all curves for every design."""
        return self.source, self.path

    def __repr__(self) -> str:
        return f"<Family {self.name}: {', '.join(self.curves)}; {len(self.dimensions)} dimensions>"

    def _repr_svg_(self) -> str:
        """Return a picture for a notebook: the points of its first construction, as drawn."""
        from blankwright.geometry.picture import points_picture  # noqa: PLC0415 - lists of families need no arrays

        return points_picture([curve.points for curve in next(iter(self.curves.values()))])
