"""What a face of the knife shows beside its outline: grind line, plunge line, the block on a hidden tang."""

from __future__ import annotations

from dataclasses import dataclass

from blankwright.design.block import has_block
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import Workpiece
from blankwright.knife.weights import ground_of, handle_outline
from blankwright.solid.grindline import grind_lines, plunge_line, shown_side


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


def face_lines(work: Workpiece) -> FaceLines:
    """Return the lines that grinding leaves on the face."""
    ground = ground_of(work)
    grind, plunge = grind_lines(work.finished, ground), plunge_line(work.finished, ground)
    return FaceLines(tuple(grind), plunge, shown_side(ground) == 1)


def grind_chains(work: Workpiece) -> tuple[Chain, ...]:
    """Return grind and plunge line for the cutting file."""
    return face_lines(work).chains


def block_of(work: Workpiece) -> Outline | None:
    """Return the block on a hidden tang seen from the side; None without one, or when it is not described."""
    return handle_outline(work) if has_block(work.design) else None
