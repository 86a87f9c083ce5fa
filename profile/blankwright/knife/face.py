"""What a face of the knife shows beside its outline: grind line and plunge line."""

from __future__ import annotations

from blankwright.base.frozen import dataclass
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.solid.grindline import grind_lines, plunge_line, shown_side
from blankwright.solid.ground import Ground


@dataclass(frozen=True, eq=False)
class FaceLines:
    """The lines on the face.

    Args:
        grind: The grind line, in pieces where it leaves the blade.
        plunge: The plunge line, or None for ground through to the heel.
        behind: Whether both lie on the face turned away: nothing is ground on the one that is seen.
    """

    grind: tuple[Chain, ...]
    plunge: Chain | None
    behind: bool

    @property
    def chains(self) -> tuple[Chain, ...]:
        """All lines, the plunge line last."""
        return self.grind + ((self.plunge,) if self.plunge else ())

    @property
    def words(self) -> str:
        """What they are, in words; empty for none."""
        names = [name for name, there in (("grind line", self.grind), ("plunge line", self.plunge)) if there]
        return ", ".join(names) + (" (other face)" if names and self.behind else "")


def face_lines(finished: Outline, measured: Outline, ground: Ground) -> FaceLines:
    """Return the lines that grinding leaves on the face.

    Args:
        finished: The finished outline.
        measured: The same with the edge that heights are measured from: of scallops the line of their points.
        ground: How it is ground.
    """
    return FaceLines(tuple(grind_lines(measured, ground)), plunge_line(finished, ground), shown_side(ground) == 1)
