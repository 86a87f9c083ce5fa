"""The cutting file: a DXF with the cut outline, the holes, and nothing else unless asked for."""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

import numpy as np

from blankwright.base.arrays import Array
from blankwright.base.dxflibrary import drawing_library
from blankwright.base.frozen import dataclass
from blankwright.base.units import mm_per
from blankwright.cutting.style import PLAIN, FileStyle
from blankwright.geometry.chain import Chain
from blankwright.geometry.outline import Outline, circles

LAYERS = {"CUT": 7, "DRILL": 7, "FINISHED": 7, "GRIND": 7, "NOTES": 7}
"""Layer and its colour index; 7 is black or white, whichever shows. Layers are told apart by name."""

COLOUR = 7
INSUNITS = {"mm": 4, "in": 1}
MEASUREMENT = {"mm": 1, "in": 0}
TEXT_HEIGHT_MM = 3.5

_STRAIGHT_BULGE = 1e-12

_BOUNDS_MM = 0.001
"""How far a chord may leave its arc where the extents of a path are measured."""

_ANGLE_DIGITS = 12
"""Of an arc's angles in degrees: the last digit that every C library gives alike."""

_LIBRARY_APP, _LIBRARY_MARKS = "EZDXF", "EZDXF_META"


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
        contours: The outlines to cut, one for each part; none where the file holds a path.
        holes: Holes and drill spots.
        comment: One line for the head of the file; readers skip it (group code 999).
        strokes: The path of a cutter's middle, an open chain for each cut in the order they are run.
        finished: Finished outlines for layer FINISHED; empty to leave it out.
        notes: Lines of text for layer NOTES; empty to leave it out.
        grind: Grind and plunge lines for layer GRIND, open polylines; empty to leave it out.
        style: Release, unit, layers, and how contours are written.
        etch: What is marked and not cut, open chains for the style's layer of marks; empty to leave it out.
    """

    contours: tuple[Outline, ...]
    holes: tuple[CutHole, ...]
    comment: str
    strokes: tuple[Chain, ...] = ()
    finished: tuple[Outline, ...] = ()
    notes: tuple[str, ...] = ()
    grind: tuple[Chain, ...] = ()
    style: FileStyle = PLAIN
    etch: tuple[Chain, ...] = ()

    @property
    def bounds_mm(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of what is cut [mm]."""
        corners = [outline.bounds_mm for outline in self.contours]
        ways = [stroke.flattened(_BOUNDS_MM) for stroke in self.strokes]
        corners += [(*way.min(axis=0), *way.max(axis=0)) for way in ways]
        boxes = np.array(corners)
        return (*map(float, boxes[:, :2].min(axis=0)), *map(float, boxes[:, 2:].max(axis=0)))  # type: ignore[return-value]


def dxf_text(content: CutFile) -> str:
    """Return the DXF as text; the same content gives the same text.

    Closed polylines with bulges (open for a path and on layer GRIND), or their single LINE and ARC, CIRCLE, POINT only;
    header with unit, measurement and extents. Release R12 knows neither LWPOLYLINE nor $INSUNITS (DXF reference of that
    release): POLYLINE is written, and the unit stands in its header all the same where the style says so, for readers
    pass over variables that they do not know.
    """
    ezdxf = drawing_library()
    from ezdxf.lldxf.const import DXFValueError  # noqa: PLC0415

    style = content.style
    factor = 1 / mm_per(style.unit)
    fixed = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True  # no time stamps: same design, same bytes
    try:
        doc = ezdxf.new(style.release, setup=False)
        if style.release != "R12":
            doc.header["$INSUNITS"] = INSUNITS[style.unit]
            doc.header["$MEASUREMENT"] = MEASUREMENT[style.unit]
            doc.header["$PSVPSCALE"] = 1.0  # 0, "to fit", is read as a scale on paper by one program: it prints a dot
        space = doc.modelspace()
        pen = _Pen(doc, space, style, factor)
        for hole in content.holes:  # holes first: that is the order they are cut in
            place = (hole.x_mm * factor, hole.y_mm * factor)
            if hole.cut_diameter_mm is not None:
                space.add_circle(place, hole.cut_diameter_mm * factor / 2, dxfattribs=pen.on(style.cut_layer))
            elif style.marks:
                space.add_point(place, dxfattribs=pen.on(style.mark_layer))
        open_lines = ((style.cut_layer, content.strokes), ("GRIND", content.grind), (style.etch_layer, content.etch))
        for layer, chains in open_lines:
            for chain in chains:
                pen.chain(chain.vertices, layer)
        for layer, outlines in ((style.cut_layer, content.contours), ("FINISHED", content.finished)):
            for outline in outlines:
                pen.contour(outline, layer)
        if content.notes:
            pen.on("NOTES")
            _texts(space, content, factor)
        _extents(space, content, factor)
        _unsigned(doc)
        stream = io.StringIO()
        doc.write(stream)
    except DXFValueError as error:  # a bug of ours, not the maker's
        raise AssertionError(f"the DXF could not be written: {error}") from error
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = fixed
    tags = _without_names(stream.getvalue())
    _name_unit(tags, style)
    return f"999\n{content.comment}\n" + "".join(f"{code}\n{value}\n" for code, value in tags)


def _unsigned(doc) -> None:  # type: ignore[no-untyped-def]
    """Take out what the library adds of its own: its marks, and a layer reserved for one drawing program."""
    if doc.dxfversion <= "AC1009":
        doc.modelspace().block_record.block.discard_xdata(_LIBRARY_APP)
    elif _LIBRARY_MARKS in doc.rootdict:
        marks = doc.rootdict[_LIBRARY_MARKS]
        doc.rootdict.discard(_LIBRARY_MARKS)
        doc.objects.delete_entity(marks)
    doc.ezdxf_metadata = dict  # the marks would be set once more while writing; this takes them and is dropped
    doc.layers.remove("Defpoints")
    for kind in sorted(doc.entitydb.dxf_types_in_use()):  # a set: its own order differs from run to run
        doc.classes.add_class(kind)


def _name_unit(tags: list[tuple[str, str]], style: FileStyle) -> None:
    """Put the unit into the header of an R12 file where the style says so; the library leaves it out."""
    if style.release != "R12" or not style.unit_in_header:
        return
    at = tags.index(("  9", "$ACADVER")) + 2
    variables = {"$INSUNITS": INSUNITS[style.unit], "$MEASUREMENT": MEASUREMENT[style.unit]}
    tags[at:at] = [tag for name, value in variables.items() for tag in (("  9", name), (" 70", f"{value:6d}"))]


def _without_names(text: str) -> list[tuple[str, str]]:
    """Return a DXF's tags without the library's name in header and applications, whose table says one less."""
    lines = text.split("\n")
    tags = list(zip(lines[0:-1:2], lines[1::2], strict=True))
    name = next((i for i, tag in enumerate(tags) if tag[1] == "$LASTSAVEDBY"), None)
    if name is not None:
        del tags[name : name + 2]
    table = tags.index(("  0", "TABLE"), 0)
    while tags[table + 1][1] != "APPID":
        table = tags.index(("  0", "TABLE"), table + 1)
    end = tags.index(("  0", "ENDTAB"), table)
    starts = [i for i in range(table, end) if tags[i] == ("  0", "APPID")]
    for first, last in zip(starts, [*starts[1:], end], strict=True):
        if ("  2", _LIBRARY_APP) in tags[first:last]:
            count = next(i for i in range(table, first) if tags[i][0] == " 70")
            tags[count] = (" 70", str(len(starts) - 1))
            del tags[first:last]
    return tags


class _Pen:
    """Writes contours and chains in one style."""

    def __init__(self, doc, space, style: FileStyle, factor: float) -> None:  # type: ignore[no-untyped-def]
        self._doc, self._space, self._style = doc, space, style
        self._scale = np.array([factor, factor, 1.0])

    def on(self, layer: str) -> dict[str, str]:
        """Return the attributes of an entity on a layer, which is declared when it is new."""
        if layer not in self._doc.layers:
            self._doc.layers.add(layer, color=COLOUR)
        return {"layer": layer}

    def contour(self, outline: Outline, layer: str) -> None:
        """Write a closed contour."""
        rows = outline.vertices * self._scale
        if self._style.exploded:
            self._pieces(np.vstack([rows, rows[:1]]), layer)
        else:
            self._polyline(rows, layer, close=True)

    def chain(self, vertices: Array, layer: str) -> None:
        """Write an open chain."""
        rows = vertices * self._scale
        if self._style.exploded:
            self._pieces(rows, layer)
        else:
            self._polyline(rows, layer, close=False)

    def _polyline(self, rows: Array, layer: str, *, close: bool) -> None:
        add = self._space.add_polyline2d if self._style.release == "R12" else self._space.add_lwpolyline
        add(rows.tolist(), format="xyb", close=close, dxfattribs=self.on(layer))

    def _pieces(self, rows: Array, layer: str) -> None:
        a, b, bulges = rows[:-1, :2], rows[1:, :2], rows[:-1, 2]
        bent = np.abs(bulges) > _STRAIGHT_BULGE
        centre, radius = circles(a, b, np.where(bent, bulges, 1.0))
        for i in range(len(a)):
            if not bent[i]:
                self._space.add_line(a[i].tolist(), b[i].tolist(), dxfattribs=self.on(layer))
                continue
            first, last = (a[i], b[i]) if bulges[i] > 0 else (b[i], a[i])  # an ARC runs counter-clockwise
            reach = [(p - centre[i]).tolist() for p in (first, last)]
            angles = [round(math.degrees(math.atan2(y, x)), _ANGLE_DIGITS) for x, y in reach]
            self._space.add_arc(centre[i].tolist(), float(radius[i]), *angles, dxfattribs=self.on(layer))


def _texts(space, content: CutFile, factor: float) -> None:  # type: ignore[no-untyped-def]
    x0, y0, _, _ = content.bounds_mm
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
    x0, y0, x1, y1 = content.bounds_mm
    lines: Sequence[str] = content.notes
    low = y0 - (len(lines) + 2) * 1.6 * TEXT_HEIGHT_MM if lines else y0
    x0, low, x1, y1 = (round(v, 6) for v in (x0, low, x1, y1))
    space.dxf.extmin = (x0 * factor, low * factor, 0)
    space.dxf.extmax = (x1 * factor, y1 * factor, 0)
    space.doc.header["$EXTMIN"] = space.dxf.extmin
    space.doc.header["$EXTMAX"] = space.dxf.extmax
