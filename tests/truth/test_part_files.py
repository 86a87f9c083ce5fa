"""Files of parts beside the blade, read by two other libraries and measured by a third, in every style of a shop."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ezdxf
import ezdxf.path
import numpy as np
import pyogrio
import pytest
import shapely

from blankwright.base.library import templates_dir
from blankwright.design.request import read_design
from blankwright.desk.partfiles import PartFiles, part_files
from blankwright.knife.knife import Knife, finish
from blankwright.shop.services import service_from
from rooms.every import every
from rooms.often import repeated, share

SOURCE = (
    "ezdxf and GDAL's DXF driver by pyogrio: reference libraries for the open format; shapely (GEOS): distances and "
    "containment. That a slab holds the finished scale and a template is the finished outline is common practice."
)
TOLERANCE_MM = 0.02
REASON = "curves are flattened within 0.002 mm by us and by 0.2 degrees by GDAL; the parts lie 0.004 mm out"

STYLES: dict[str, dict[str, Any]] = {
    "plain": {},
    "old, single pieces": {"release": "R12", "contours": "exploded"},
    "inches": {"unit": "in", "release": "R2010"},
    "chords": {"curves": "chords", "deviation": "0.02 mm"},
    "own layer": {"cut_layer": "OUTSIDE", "mark_layer": "0"},
}


@dataclass(frozen=True, eq=False)
class Written:
    """Files of a knife's parts in a style."""

    knife: Knife
    files: PartFiles
    folder: Path
    layer: str
    factor: float


def written(folder: Path, design: str, style: str) -> Written:
    table = tomllib.loads((templates_dir() / "services" / "laser.toml").read_text(encoding="utf-8"))
    table["file"] |= STYLES[style]
    table["limits"] = [table["limits"][-1] | {"up_to": "20 mm"}]
    knife = finish(read_design(design))
    files = part_files(knife, (), service_from(table, "test.toml"))
    for name, content in files.files.items():
        (folder / name).write_text(str(content), encoding="utf-8")
    files.prove(folder)
    factor = 25.4 if table["file"]["unit"] == "in" else 1.0
    return Written(knife, files, folder, table["file"]["cut_layer"], factor)


def by_ezdxf(path: Path, layer: str, factor: float) -> tuple[shapely.Polygon, list[tuple[float, float, float]]]:
    """Return contour and circles of a file as ezdxf reads it [mm]."""
    space = ezdxf.readfile(path).modelspace()
    assert {e.dxf.layer for e in space} <= {layer, "ETCH"}
    rings, loose, circles = [], [], []
    for e in space.query(f'*[layer=="{layer}"]'):
        if e.dxftype() == "CIRCLE":
            circles.append((e.dxf.center.x * factor, e.dxf.center.y * factor, 2 * e.dxf.radius * factor))
            continue
        line = np.array([(v.x, v.y) for v in ezdxf.path.make_path(e).flattening(0.002 / factor)]) * factor
        (rings if np.hypot(*(line[0] - line[-1])) < 1e-6 else loose).append(line)
    if loose:
        lines = [shapely.LineString(np.round(v, 6)) for v in loose]
        rings += [np.array(p.exterior.coords) for p in shapely.polygonize(lines).geoms]
    assert rings
    return max((shapely.Polygon(ring) for ring in rings), key=lambda p: p.area), circles


def by_gdal(path: Path, layer: str, factor: float) -> float:
    """Return the area of the largest contour as GDAL reads it [mm2]."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.2"})
    frame = pyogrio.raw.read(path, columns=["Layer"])
    shapes = [shapely.from_wkb(w) for w, name in zip(frame[2], frame[3][0], strict=True) if name == layer]
    lines = [s if s.geom_type == "LineString" else s.exterior for s in shapes]
    closed = [shapely.Polygon(line) for line in lines if line.is_closed]
    loose = [
        shapely.LineString(np.round(np.array(line.coords)[:, :2] * factor, 6)) for line in lines if not line.is_closed
    ]
    areas = [p.area * factor**2 for p in closed] + [p.area for p in shapely.polygonize(loose).geoms]
    return float(max(areas))


def finished_polygon(knife: Knife) -> shapely.Polygon:
    return shapely.Polygon(knife.finished.flattened(0.001))


@repeated
@every(share([(design, style) for design in ("chef", "utility") for style in STYLES], 4))
def test_other_readers_find_the_same_contours_and_holes(design: str, style: str) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        made = written(Path(name), design, style)
        for part, file in made.files.parts:
            polygon, circles = by_ezdxf(made.folder / file, made.layer, made.factor)
            spare = 0.0 if style != "chords" else 0.04 * part.outline.perimeter_mm
            assert polygon.area == pytest.approx(part.outline.area_mm2, rel=2e-4, abs=spare)
            assert by_gdal(made.folder / file, made.layer, made.factor) == pytest.approx(polygon.area, rel=1e-4)
            assert np.allclose(sorted(circles), sorted(part.holes), atol=1e-6)


def test_a_slab_holds_the_finished_scale_with_its_allowance_and_no_more(tmp_path: Path) -> None:
    made = written(tmp_path, "chef", "plain")
    front = made.knife.shape.front_x_mm
    scale = finished_polygon(made.knife).intersection(shapely.box(-1000, -1000, front, 1000))
    for part, file in made.files.parts:
        if part.of != "scales":
            continue
        slab, holes = by_ezdxf(made.folder / file, made.layer, made.factor)
        sign = -1.0 if part.name.endswith("left") else 1.0
        mine = shapely.affinity.scale(scale, sign, 1.0, origin=(0, 0))
        assert slab.contains(mine)
        behind = [p for p in np.array(mine.exterior.coords) if p[0] * sign < front - 2.5]
        away = shapely.distance(slab.exterior, shapely.points(behind))
        assert away.min() == pytest.approx(1.5, abs=TOLERANCE_MM)
        assert away.max() == pytest.approx(1.5, abs=TOLERANCE_MM)
        edge = max(x * sign for x, _ in slab.exterior.coords)
        assert edge == pytest.approx(front + 0.5, abs=1e-5)
        assert {d for _, _, d in holes} == {5.1}  # a 5 mm pin, glued: 0.1 mm of room (common practice)
        for x, y, d in holes:
            assert mine.contains(shapely.Point(x, y).buffer(d / 2))


def test_a_template_is_the_finished_outline_with_holes_that_keep_their_wall(tmp_path: Path) -> None:
    made = written(tmp_path, "chef", "plain")
    finished = finished_polygon(made.knife)
    file = next(file for part, file in made.files.parts if part.name == "template")
    board, holes = by_ezdxf(made.folder / file, made.layer, made.factor)
    assert board.symmetric_difference(finished).area < 0.003 * finished.length  # as both are flattened
    assert shapely.hausdorff_distance(board.exterior, finished.exterior) < TOLERANCE_MM
    knife_s = {(round(h.hole.x_mm, 6), round(h.hole.y_mm, 6), h.hole.diameter_mm) for h in made.knife.holes}
    fingers = [c for c in holes if (round(c[0], 6), round(c[1], 6), c[2]) not in knife_s]
    assert len(fingers) == 2
    assert len(holes) == 2 + len(made.knife.holes)
    for x, y, d in fingers:
        assert board.exterior.distance(shapely.Point(x, y)) - d / 2 >= 6 - 1e-6
        assert x > 0, "a finger hole stands in the blade: the handle is narrow and holds the pins"


def test_a_spacer_s_slot_lets_the_tang_through_and_no_more(tmp_path: Path) -> None:
    knife = finish(read_design("chef", {"handle.construction": "hidden"}))
    files = part_files(knife, ["spacers"], None)
    (tmp_path / "s.dxf").write_text(str(files.files["chef_spacer_mm.dxf"]), encoding="utf-8")
    space = ezdxf.readfile(tmp_path / "s.dxf").modelspace()
    rings = [shapely.Polygon([(v.x, v.y) for v in ezdxf.path.make_path(e).flattening(0.001)]) for e in space]
    plate, slot = sorted(rings, key=lambda p: -p.area)
    assert plate.contains(slot)
    blade, front = finished_polygon(knife), knife.shape.front_x_mm
    tang = blade.intersection(shapely.box(-1000, -1000, front - 2.5, 1000))
    # the section that slides through: the tang's greatest height behind its shoulders, the stock's thickness
    uprights = [
        tang.intersection(shapely.LineString([(x, -99), (x, 99)])) for x in np.arange(tang.bounds[0], front - 2.5, 0.2)
    ]
    tall = max(u.length for u in uprights)
    low, high = uprights[-1].bounds[1], uprights[-1].bounds[3]
    half = knife.stock_mm / 2
    section = shapely.box(-half, (low + high - tall) / 2, half, (low + high + tall) / 2)
    assert slot.contains(section)
    assert slot.exterior.distance(section) == pytest.approx(0.1, abs=0.01)
    x0, y0, x1, y1 = slot.bounds
    assert x1 - x0 == pytest.approx(knife.stock_mm + 0.2, abs=0.001)
    assert y1 - y0 == pytest.approx(tall + 1.0, abs=0.02)  # half a millimetre beyond each end, for the corners
    wish = knife.design.block
    assert wish is not None
    assert plate.bounds[2] - plate.bounds[0] == pytest.approx(wish.width_mm + 2.0, abs=TOLERANCE_MM)
    assert files.parts[0][0].thickness_mm == 3.0


def test_a_filing_guide_s_edge_is_the_plunge_line_and_its_bolts_clear_the_blank(tmp_path: Path) -> None:
    """A tapping hole for M5 is 4.2 mm, its clearance hole 5.5 mm: ISO 2306 and ISO 273, from memory."""
    knife = finish(read_design("chef", {"grind.ricasso": "6 mm"}))
    files = part_files(knife, ["filing-guide"], None)
    ((part, _),) = files.parts
    (tmp_path / "g.dxf").write_text(str(files.files["chef_filing-guide_mm.dxf"]), encoding="utf-8")
    plate, holes = by_ezdxf(tmp_path / "g.dxf", "CUT", 1.0)
    assert part.pieces == 2
    assert plate.bounds[2] == pytest.approx(6.0, abs=1e-6)
    assert plate.bounds[2] - plate.bounds[0] == pytest.approx(25.0, abs=1e-6)
    assert plate.area == pytest.approx(shapely.box(*plate.bounds).area)
    blank = shapely.Polygon(knife.cut.flattened(0.001))
    assert len(holes) == 2
    for x, y, d in holes:
        assert d == pytest.approx(4.2)
        assert blank.distance(shapely.Point(x, y)) - d / 2 >= 2.0
        assert blank.distance(shapely.Point(x, y)) >= 5.5 / 2
        assert plate.exterior.distance(shapely.Point(x, y)) >= 1.5 * 5.5  # one and a half diameters (common practice)
    assert blank.intersection(plate).bounds[1] > plate.bounds[1]
    assert blank.intersection(plate).bounds[3] < plate.bounds[3]


@every(("paring", "utility", "chef"))
def test_a_sheath_s_side_covers_the_blade_with_room_for_the_welt(family: str) -> None:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        knife = finish(read_design(family))
        files = part_files(knife, ["sheath"], None, marks=True)
        for file, content in files.files.items():
            (Path(name) / file).write_text(str(content), encoding="utf-8")
        files.prove(Path(name))
        blade = finished_polygon(knife).intersection(shapely.box(0, -1000, 1000, 1000))
        sides = [by_ezdxf(Path(name) / file, "CUT", 1.0) for _, file in files.parts]
        (right, ((x, y, d),)), (left, _) = sides
        assert shapely.affinity.scale(left, -1, 1, origin=(0, 0)).symmetric_difference(right).area < 0.01
        assert right.contains(blade)
        away = shapely.distance(right.exterior, shapely.points([p for p in blade.exterior.coords if p[0] > 12]))
        assert away.min() == pytest.approx(12.0, abs=TOLERANCE_MM)
        assert right.bounds[0] == pytest.approx(-3.0, abs=1e-5)
        hole = shapely.Point(x, y)
        assert blade.distance(hole) - d / 2 == pytest.approx(1.0, abs=0.02)
        assert x > blade.bounds[2]
        seam = max(
            (shapely.LineString([(v.x, v.y) for v in ezdxf.path.make_path(e).flattening(0.001)])
             for e in ezdxf.readfile(Path(name) / files.parts[0][1]).modelspace().query('*[layer=="ETCH"]')),
            key=lambda line: line.length,
        )  # fmt: skip
        assert not seam.is_closed
        assert right.contains(seam)
        off = shapely.distance(blade, shapely.points([p for p in seam.coords if p[0] > 0]))
        assert off.min() == pytest.approx(8.0, abs=TOLERANCE_MM)
        assert off.max() == pytest.approx(8.0, abs=TOLERANCE_MM)
        assert seam.distance(hole) > d


def test_a_second_reader_finds_every_mark_on_its_layer_and_the_cut_untouched(tmp_path: Path) -> None:
    """GDAL reads each stroke as a line of its own: as many on ETCH as ezdxf counts, all inside what is on CUT."""
    knife = finish(read_design("chef", {"grind.ricasso": "5 mm"}))
    files = part_files(knife, (), None, marks=True)
    marked = [file for part, file in files.parts if part.marks]
    assert len(marked) >= 6
    for file in marked:
        (tmp_path / file).write_text(str(files.files[file]), encoding="utf-8")
        pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.2"})
        frame = pyogrio.raw.read(tmp_path / file, columns=["Layer"])
        shapes = [(str(name), shapely.from_wkb(w)) for w, name in zip(frame[2], frame[3][0], strict=True)]
        assert {name for name, _ in shapes} == {"CUT", "ETCH"}
        strokes = [s for name, s in shapes if name == "ETCH"]
        by_other = len(ezdxf.readfile(tmp_path / file).modelspace().query('*[layer=="ETCH"]'))
        assert len(strokes) == by_other
        rings = [shapely.Polygon(s if s.geom_type == "LineString" else s.exterior) for n, s in shapes if n == "CUT"]
        outer, *inner = sorted(rings, key=lambda p: -p.area)
        part = outer.difference(shapely.union_all(inner))
        marks = shapely.union_all(strokes)
        assert part.contains(marks)
        assert part.boundary.distance(marks) >= 1.0 - 1e-3  # a mark keeps 1 mm from rims (common practice)
