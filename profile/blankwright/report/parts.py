"""Parts beside the blade in a report: as data, and as lines for a reader."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from blankwright.base.finding import Finding
from blankwright.base.said import Size
from blankwright.cutting.parts.part import CutPart
from blankwright.proof.part import PartProof

_DIGITS = 9


def parts_data(
    parts: Sequence[tuple[CutPart, str]], proofs: Sequence[PartProof], doubts: Sequence[Finding]
) -> list[dict[str, Any]]:
    """Return parts as data.

    Args:
        parts: Each part with the name of its file.
        proofs: The proof of each.
        doubts: What is in doubt of any of them; stands with the first.
    """
    return [
        {
            "name": part.name, "part": part.of, "file": name, "material": part.material,
            "thickness_mm": part.thickness_mm, "pieces": part.pieces,
            "size_mm": [round(v, _DIGITS) for v in part.outline.size_mm],
            "area_mm2": round(part.outline.area_mm2, _DIGITS),
            "holes": [
                {"x_mm": round(x, _DIGITS), "y_mm": round(y, _DIGITS), "diameter_mm": d} for x, y, d in part.holes
            ],
            "figures": [
                {"key": f.key, "value": f.value, "source": f.standing.source, "status": f.standing.status}
                for f in part.figures
            ],
            "words": [line.text() for line in part.lines],
            "checks": [
                {"code": f.code, "level": f.level, "message": f.message, "at_mm": list(f.at_mm) if f.at_mm else None}
                for f in (*proof.findings, *(doubts if number == 0 else ()))
            ],
        }
        for number, ((part, name), proof) in enumerate(zip(parts, proofs, strict=True))
    ]  # fmt: skip


def parts_lines(
    parts: Sequence[tuple[CutPart, str]], proofs: Sequence[PartProof], doubts: Sequence[Finding], units: str
) -> list[str]:
    """Return one line for each part, then what is in doubt.

    Args:
        parts: Each part with the name of its file.
        proofs: The proof of each.
        doubts: What is in doubt.
        units: "mm" or "in".
    """
    wide = max((len(part.title) for part, _ in parts), default=0)
    out = []
    for (part, _), proof in zip(parts, proofs, strict=True):
        size = Size((*part.outline.size_mm, part.thickness_mm)).shown(units)
        told = sum(f.level == "ok" for f in proof.findings)
        out.append(f"  {part.title:<{wide}}  {size}, {part.material}; {told} checks ok")
    return out + [f"  ! {f.code}: {f.text(units)}" for f in doubts]
