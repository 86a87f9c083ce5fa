"""What an inspection came to, as it is told to a script, at a terminal and on the picture."""

from __future__ import annotations

from collections import Counter
from typing import Any

from blankwright.base.finding import Finding
from blankwright.base.frozen import dataclass
from blankwright.base.said import Line
from blankwright.inspection.drawing import Drawing
from blankwright.inspection.lines import lengths_of
from blankwright.inspection.parts import Part, parts_of
from blankwright.inspection.sizing import UNIT_NAMES
from blankwright.inspection.texture import shortest_mm
from blankwright.inspection.verdict import Verdict

RELEASES = {
    "AC1006": "R10", "AC1009": "R12", "AC1012": "R13", "AC1014": "R14", "AC1015": "R2000", "AC1018": "R2004",
    "AC1021": "R2007", "AC1024": "R2010", "AC1027": "R2013", "AC1032": "R2018",
}  # fmt: skip
"""$ACADVER and the release it stands for (DXF reference, header variables)."""


@dataclass(frozen=True, eq=False)
class Inspected:
    """What an inspection came to.

    Args:
        name: Name of the file.
        verdict: What was found in it.
        mended: What was done to mend it, one clause each; empty where nothing was written.
        not_mended: Why it was not mended, one sentence each.
        files: The files that were written.
    """

    name: str
    verdict: Verdict
    mended: tuple[Line, ...] = ()
    not_mended: tuple[Line, ...] = ()
    files: tuple[str, ...] = ()

    @property
    def told(self) -> tuple[Finding, ...]:
        """Errors, then warnings: they are numbered from 1 in text and picture."""
        return (*self.verdict.of("error"), *self.verdict.of("warning"))

    @property
    def parts(self) -> list[Part]:
        """The parts that the file holds, the largest first."""
        return parts_of(self.verdict.shapes, self.told)

    @property
    def unit(self) -> str | None:
        """The unit as the file names it; None when it names none."""
        return self.verdict.drawing.unit_words or _unit(self.verdict.drawing)

    @property
    def release(self) -> str | None:
        """The release of the file format; None when it is not named."""
        named = self.verdict.drawing.release
        return None if named is None else RELEASES.get(named, named)


def counts_of(verdict: Verdict) -> dict[str, Any]:
    """Return how much of what stands in a file."""
    return {
        "entities": len(verdict.drawing.items),
        "closed": sum(r.closed for r in verdict.runs),
        "open": sum(not r.closed for r in verdict.runs),
        "holes": sum(s.depth == 1 for s in verdict.shapes),
        "spots": sum(i.kind == "POINT" and i.layer.upper() == "DRILL" for i in verdict.drawing.items),
        "pieces": sum(r.drawn for r in verdict.runs),
        "shortest_mm": shortest_mm(verdict.runs) if verdict.runs else None,
        "pierces": verdict.path.cuts if verdict.path else len(verdict.runs),
        "cut_length_mm": cut_length_mm(verdict),
    }


def cut_length_mm(verdict: Verdict) -> float:
    """Return the length of all that is cut, a path's ways in and out with it [mm]."""
    if verdict.path is not None:
        return verdict.path.length_mm
    return float(sum(lengths_of(r.vertices, r.closed).sum() for r in verdict.runs))


def layers_of(verdict: Verdict) -> list[dict[str, Any]]:
    """Return every layer of a file, or every colour on it, with what its lines were taken for and why."""
    rows: list[dict[str, Any]] = [
        {"name": use.layer, "colour": use.colour or None, "role": use.role, "why": use.why, "entities": len(use.items)}
        for use in verdict.lines.uses
    ]
    named = {use.layer.upper() for use in verdict.lines.uses}
    others = (i for i in verdict.drawing.items if not i.on_paper and i.layer.upper() not in named and i.insert is None)
    bare = Counter(i.layer for i in others)
    return rows + [
        {"name": layer, "colour": None, "role": "no lines", "why": "", "entities": n} for layer, n in bare.items()
    ]


def _unit(drawing: Drawing) -> str | None:
    return {1: "in", 4: "mm"}.get(drawing.insunits or 0) or UNIT_NAMES.get(drawing.insunits or 0)
