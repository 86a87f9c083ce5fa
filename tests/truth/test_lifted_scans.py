"""Outlines lifted from scans with a known truth, drawn by PDFium: how far off they are, and that the budget says so."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import shapely

from bench.lifted_scans import BARS_MM, beside, best_fit, compared, looked_at, random_scan
from blankwright.base.errors import RequestError
from blankwright.geometry.outline import Outline
from blankwright.lift.bars import bars_in
from blankwright.lift.contour import contour
from blankwright.lift.pictures import read_picture
from blankwright.lift.run import lift, report_of, request
from rooms.design.cases import solved
from rooms.lift.scans import Scan, circle, drawn, saved
from rooms.often import elsewhere, repeated, seldom, share

SOURCE = (
    "Ellipse: area pi a b. Slot: a rectangle and two half circles. The same figures stand in a table of reference "
    "curves kept outside the project, when it lies beside it. The knives' own outlines are exact in arcs; PDFium draws."
)
TOLERANCE_MM = 0.1
TIP_MM, AREA = 0.15, 1e-3
REASON = (
    "The bars of the work order for a scan of 300 dots to the inch, both directions measured. A pixel is 0.085 mm; a "
    "blurred border is known to a twentieth of it, and a corner is where its sides meet."
)
TABLE = Path(__file__).resolve().parents[2].parent / "shared" / "data" / "curves" / "reference_curves.json"
KNIVES = (("chef", "full", "default"), ("utility", "hidden", "default"), ("paring", "one-piece", "default"))


@repeated
@pytest.mark.parametrize("case", share(KNIVES, 1), ids="-".join)
def test_a_scan_at_300_dots(case, tmp_path):
    how = Scan(scale=(1.012, 0.988), light=0.3, blur_px=1.0, noise=3.0, skew_deg=-2.0)
    one = looked_at(case, how, tmp_path)
    assert one.off <= TOLERANCE_MM
    assert one.tip is not None and one.tip <= TIP_MM
    assert one.area <= AREA
    assert one.holes <= TOLERANCE_MM
    assert one.off <= one.within


@repeated
@pytest.mark.parametrize("number", share((26, 5, 33, 53), 1))
def test_a_low_knife_is_as_large_as_it_is_by_what_it_measures_as_it_stands_lowest(number, tmp_path):
    """Across their board lines these came out up to 0.4 per cent too large or small."""
    case, how = random_scan(100_000 + number, 300.0)
    one = looked_at(case, how, tmp_path)
    assert one.area <= AREA
    assert one.off <= TOLERANCE_MM


@repeated
@elsewhere
@pytest.mark.parametrize(("number", "bars"), [(51, False), (8, True)])
def test_a_shoulder_with_a_fillet_a_millimetre_beside_it_is_where_its_sides_meet(number, bars, tmp_path):
    """A parabola along side and fillet carried the bend into the corner, and it stood out by 0.14 mm."""
    case, how = random_scan(100_000 + number, 300.0)
    assert looked_at(case, how, tmp_path, bars=bars).off <= 0.7 * TOLERANCE_MM


@repeated
def test_the_budget_covers_95_of_100(tmp_path):
    count = seldom(200, 4, 1)
    covered = placed = 0
    for number in range(count):
        case, how = random_scan(900_000 + number, 300.0)
        one = looked_at(case, how, tmp_path)
        covered += one.off <= one.within
        placed += one.placed <= one.within
        assert one.off <= 3 * one.within, (case, how)
    assert covered >= 0.95 * count
    assert placed >= 0.95 * count  # in the design's own coordinates, with the lean of the board line


def figure(name):
    """Return a curve of the table as places, re-computed here."""
    if name == "ellipse_100x20":
        a = np.linspace(0, 2 * np.pi, 4000, endpoint=False)
        return np.column_stack([100 * np.cos(a), 20 * np.sin(a)]), np.pi * 100 * 20
    slot = Outline(np.array([[-80, -20, 0], [80, -20, 1], [80, 20, 0], [-80, 20, 1.0]]))
    return slot.flattened(0.001), 160 * 40 + np.pi * 20**2


@repeated
@pytest.mark.parametrize("name", share(["ellipse_100x20", "stadium_L160_r20"], 1))
def test_curves_with_a_known_area(name, tmp_path):
    ring, area = figure(name)
    if TABLE.exists():
        assert json.loads(TABLE.read_text())[name]["area"] == pytest.approx(area, rel=1e-9)
    how = Scan(scale=(0.99, 1.01), skew_deg=0.0)
    file = saved(drawn([ring], how), tmp_path / "figure.png", 300)
    done = lift(request(file, measured_x="200.00mm", measured_y="40.00mm"))
    outline = done.lifted.outline
    assert outline.area_mm2 == pytest.approx(area, rel=AREA)
    assert outline.size_mm == pytest.approx((200, 40), abs=0.02)
    line = shapely.LinearRing(ring)
    moved = best_fit(outline.moved(*(-v for v in outline.centroid_mm)), line)(
        outline.flattened(0.001) - np.array(outline.centroid_mm)
    )
    assert shapely.distance(line, shapely.points(moved)).max() <= TOLERANCE_MM
    assert any("No heel" in note.text() for note in done.notes)
    if name.startswith("stadium"):
        assert outline.lengths[outline.bulges == 0].sum() == pytest.approx(320, abs=10)  # its lines are lines


def test_a_printed_page_by_its_own_bars(tmp_path):
    """A printed template page that came out at 99.2 and 100.4 per cent, lifted by its bars as they were measured."""
    import pypdfium2
    from PIL import Image
    from typer.testing import CliRunner

    from blankwright.commands.cli import app

    made = CliRunner().invoke(app(), ["template", "chef", "--paper", "420x297mm", "--out", str(tmp_path)])
    assert made.exit_code == 0, made.output
    (page,) = (tmp_path / "chef").glob("*.pdf")
    document = pypdfium2.PdfDocument(page)
    bitmap = document[0].render(scale=300 / 72, grayscale=True)
    pixels = np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width)
    document.close()
    wide, high = round(bitmap.width * 0.992), round(bitmap.height * 1.004)
    image = Image.fromarray(pixels).resize((wide, high), Image.Resampling.LANCZOS)
    image.save(tmp_path / "page.png", dpi=(300, 300))
    done = lift(request(tmp_path / "page.png", measured_x="100.0mm", measured_y="100.0mm"))
    assert sum("100 mm bar" in note.text() for note in done.notes) == 2
    one = compared(done.lifted, solved("chef", "full", "default").finished, [], "page", Scan(), 0.0)
    assert one.off <= TOLERANCE_MM
    assert one.area <= AREA


@repeated
@elsewhere
def test_points_of_a_row_that_are_not_seen_sharp_end_no_edge(tmp_path):
    """A bread knife of 150 mm at 150 dots: some points come out round, and none of them is taken for the heel."""
    _, how = random_scan(100_146)
    one = looked_at(("bread", "full", "all least"), how, tmp_path)
    assert how.dpi == 150
    assert one.placed <= one.within < 1.0


def test_nothing_says_how_large_a_pixel_is(tmp_path):
    ring, _ = figure("ellipse_100x20")
    file = saved(drawn([ring], Scan(dpi=100)), tmp_path / "figure.png")
    with pytest.raises(RequestError, match="--measured-x and --measured-y; or say --dpi 300"):
        lift(request(file))
    done = lift(request(file, measured_x="200.0mm", measured_y="40.0mm"))
    assert done.lifted.outline.size_mm == pytest.approx((200, 40), abs=0.05)


def test_what_nobody_measured_is_doubted(tmp_path):
    ring, _ = figure("ellipse_100x20")
    file = saved(drawn([ring], Scan(dpi=100, skew_deg=0.0)), tmp_path / "figure.png", 100)
    rows = report_of(lift(request(file)))["budget"]
    (x,) = (row for row in rows if row["for"] == "scale along x that nobody measured")
    assert x["mm"] == pytest.approx(2.0, abs=0.02)
    assert "--measured-x" in x["lessen"]


def test_a_length_that_fits_nothing_is_refused(tmp_path):
    ring, _ = figure("ellipse_100x20")
    file = saved(drawn([ring], Scan(dpi=100, skew_deg=0.0)), tmp_path / "figure.png", 100)
    with pytest.raises(RequestError, match="fits nothing in the picture along x"):
        lift(request(file, measured_x="180mm"))


def test_weak_contrast_is_told_where_it_is(tmp_path):
    ring, _ = figure("ellipse_100x20")
    pixels = drawn([ring], Scan(dpi=150, skew_deg=0.0, light=0.0, noise=1.0)).astype(float)
    wide = pixels.shape[1]
    veil = np.clip((np.arange(wide) / wide - 0.8) * 8, 0, 0.75)  # the thing is nearly as bright as the paper there
    bleached = pixels + veil * (232 - pixels)
    file = saved(np.clip(bleached, 0, 255).astype(np.uint8), tmp_path / "figure.png", 150)
    done = lift(request(file, measured_x="200.0mm", measured_y="40.0mm"))
    assert done.seen.backdrop.weak is not None and len(done.seen.backdrop.weak)
    assert done.seen.backdrop.weak[:, 0].min() > 0.7 * wide * 25.4 / 150
    assert any("hardly stand out" in note.text() for note in done.notes)
    assert any(row.what == "places that hardly stand out" for row in done.lifted.budget)


@repeated
@elsewhere
def test_holes_are_circles(tmp_path):
    ring = solved("chef", "full", "default").finished.flattened(0.002)
    holes = [circle(-40, 34, 5.0), circle(-100, 30, 6.4)]
    file = saved(drawn([ring, *holes], Scan()), tmp_path / "scan.png", 300)
    done = lift(request(file, measured_x="344.00mm", measured_y="48.20mm"))
    assert [round(h.diameter_mm, 1) for h in done.lifted.holes] == [5.0, 6.4]


def test_a_corner_that_was_rounded_has_a_row_of_how_far(monkeypatch):
    """A square corner is rounded where the outline would cross itself; here that is said of one that does not."""
    from blankwright.lift import trace

    places = iter([(0.0, 0.0), *[None] * 9])
    monkeypatch.setattr(trace, "crossing_place", lambda _: next(places))
    square = np.array([[0, 0], [120, 0], [120, 60], [0, 60]])
    t = np.linspace(0, 1, 600, endpoint=False)[:, None]
    ring = np.concatenate([a + t * (b - a) for a, b in zip(square, np.roll(square, -1, axis=0), strict=True)])
    found = trace.traced(trace.border(ring, np.zeros(len(ring), dtype=bool), 0.05))
    assert len(found.corners) == 3
    assert 0.01 < found.rounded_mm < 2.0


def test_plain_bars_beside_a_thing_are_measured_from_end_to_end(tmp_path):
    """Broad ones as a steel rule: the line along the middle of one has no border, and no tick stands at its ends."""
    thing = np.array([[0, 0], [130, 0], [130, 30], [0, 30.0]])
    how = Scan(dpi=150, skew_deg=5.0, scale=(0.99, 1.01), margin_mm=45.0)
    picture = read_picture(saved(drawn([thing, *beside(thing)], how), tmp_path / "bars.png", 150))
    found = bars_in(picture.pixels, contour(picture.pixels), 25.4 / 150)
    assert sorted(bar.axis for bar in found) == ["x", "y"] and not any(bar.ticked for bar in found)
    for bar in found:
        long = np.hypot(*(np.diff(bar.ends, axis=0)[0] * 25.4 / 150 / how.scale))
        assert long == pytest.approx(dict(zip("xy", BARS_MM, strict=True))[bar.axis], abs=0.03)
