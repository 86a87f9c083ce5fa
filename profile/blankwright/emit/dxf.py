"""The cutting file: a DXF with the cut outline, the holes, and nothing else unless asked for."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline
from blankwright.units import MM_PER_INCH

LAYERS = {"CUT": 7, "DRILL": 7, "FINISHED": 7, "GRIND": 7, "NOTES": 7}
"""Layer and its colour index; 7 is black or white, whichever shows. Layers are told apart by name."""

INSUNITS = {"mm": 4, "in": 1}
MEASUREMENT = {"mm": 1, "in": 0}
TEXT_HEIGHT_MM = 3.5


@dataclass(frozen=True)
class CutHole:
    """A hole as the file shows it: a circle of cut_diameter_mm, or a drill spot when that is None."""

    x_mm: float
    y_mm: float
    cut_diameter_mm: float | None


@dataclass(frozen=True)
class CutFile:
    """Everything a cutting file holds.

    Args:
        cut: The outline to cut.
        holes: Holes and drill spots.
        finished: The finished outline for layer FINISHED, or None to leave it out.
        notes: Lines of text for layer NOTES; empty to leave it out.
        unit: "mm" or "in".
        comment: One line for the head of the file; readers skip it (group code 999).
        grind: Grind and plunge lines for layer GRIND, open polylines; empty to leave it out.
    """

    cut: Outline
    holes: tuple[CutHole, ...]
    finished: Outline | None
    notes: tuple[str, ...]
    unit: str
    comment: str
    grind: tuple[Chain, ...] = ()


def dxf_text(content: CutFile) -> str:
    """Return the DXF (release R2000) as text; the same content gives the same text.

    LWPOLYLINE with bulges (closed but for layer GRIND), CIRCLE and POINT only; header with unit, measurement and
    extents.
    """
    import ezdxf  # noqa: PLC0415 - heavy, needed only here
    from ezdxf.lldxf.const import DXFValueError  # noqa: PLC0415

    factor = 1.0 if content.unit == "mm" else 1 / MM_PER_INCH
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no time stamps: same design, same bytes
    try:
        doc = ezdxf.new("R2000", setup=False)
        doc.header["$INSUNITS"] = INSUNITS[content.unit]
        doc.header["$MEASUREMENT"] = MEASUREMENT[content.unit]
        space = doc.modelspace()
        _layer(doc, "CUT")
        _polyline(space, content.cut, factor, "CUT")
        for hole in content.holes:
            place = (hole.x_mm * factor, hole.y_mm * factor)
            if hole.cut_diameter_mm is None:
                _layer(doc, "DRILL")
                space.add_point(place, dxfattribs={"layer": "DRILL"})
            else:
                space.add_circle(place, hole.cut_diameter_mm * factor / 2, dxfattribs={"layer": "CUT"})
        if content.finished is not None:
            _layer(doc, "FINISHED")
            _polyline(space, content.finished, factor, "FINISHED")
        for chain in content.grind:
            _layer(doc, "GRIND")
            rows = chain.vertices * np.array([factor, factor, 1.0])
            space.add_lwpolyline(rows.tolist(), format="xyb", close=False, dxfattribs={"layer": "GRIND"})
        if content.notes:
            _layer(doc, "NOTES")
            _texts(space, content, factor)
        _extents(space, content, factor)
        stream = io.StringIO()
        doc.write(stream)
    except DXFValueError as error:  # a bug of ours, not the maker's
        raise AssertionError(f"the DXF could not be written: {error}") from error
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    return f"999\n{content.comment}\n" + stream.getvalue()


def _layer(doc, name: str) -> None:  # type: ignore[no-untyped-def]
    if name not in doc.layers:
        doc.layers.add(name, color=LAYERS[name])


def _polyline(space, outline: Outline, factor: float, layer: str) -> None:  # type: ignore[no-untyped-def]
    rows = outline.vertices * np.array([factor, factor, 1.0])
    space.add_lwpolyline(rows.tolist(), format="xyb", close=True, dxfattribs={"layer": layer})


def _texts(space, content: CutFile, factor: float) -> None:  # type: ignore[no-untyped-def]
    x0, y0, _, _ = content.cut.bounds_mm
    for i, line in enumerate(content.notes):
        y = y0 - (i + 2) * 1.6 * TEXT_HEIGHT_MM
        space.add_text(
            _plain(line),
            height=TEXT_HEIGHT_MM * factor,
            dxfattribs={"layer": "NOTES", "insert": (x0 * factor, y * factor)},
        )


def _plain(text: str) -> str:
    """Return a text in plain ASCII; other characters as the format's own escapes, whatever code page a reader takes."""
    return "".join(c if c.isascii() else (f"\\U+{ord(c):04X}" if ord(c) < 0x10000 else "?") for c in text)


def _extents(space, content: CutFile, factor: float) -> None:  # type: ignore[no-untyped-def]
    """Set the extents from the exact bounds of what is cut: readers open on them, people read sizes off them."""
    x0, y0, x1, y1 = content.cut.bounds_mm
    lines: Sequence[str] = content.notes
    low = y0 - (len(lines) + 2) * 1.6 * TEXT_HEIGHT_MM if lines else y0
    space.dxf.extmin = (x0 * factor, low * factor, 0)
    space.dxf.extmax = (x1 * factor, y1 * factor, 0)
    space.doc.header["$EXTMIN"] = space.dxf.extmin
    space.doc.header["$EXTMAX"] = space.dxf.extmax
