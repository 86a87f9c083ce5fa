"""How much work may one file take? One budget for the whole reading; what can be multiplied draws from it."""

from __future__ import annotations

from dataclasses import dataclass, field

from blankwright.base.errors import GeometryError

WHOLE = 4_000_000
"""Steps, of a microsecond or so each; a knife takes ten thousand, a sheet of a hundred parts some hundred thousand."""
RECORD, ENTITY, COPY, SPAN, PAIR = 4, 60, 200, 60, 8
"""Steps for a record of any kind, an entity that is read, one that a block places, a span of a curve that is fitted,
two pieces compared."""


class TooMuchWorkError(GeometryError):
    """A drawing asks for more work than any cutting file needs."""


@dataclass
class Budget:
    """What is left of the work that a file may take."""

    left: float = field(default_factory=lambda: WHOLE)

    def spend(self, steps: float, on: str) -> None:
        """Take steps out.

        Args:
            steps: How many.
            on: What they are for, as it is told when they are not there.

        Raises:
            TooMuchWorkError: There are not so many left; then there are none at all.
        """
        self.left -= steps
        if self.left < 0:
            self.left = -1.0
            raise TooMuchWorkError(f"the drawing takes more work than any cutting file needs ({on})")
