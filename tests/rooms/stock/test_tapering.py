"""Steel that tapers: weights against an integral by scipy over polygons of GEOS, and one thickness on all papers."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np
import pytest
import shapely
from scipy.integrate import quad

from blankwright.design.request import read_design
from blankwright.geometry.outline import Outline
from blankwright.geometry.pose import Pose
from blankwright.ink.papers import paper
from blankwright.knife.knife import finish
from blankwright.stock.blank import Blank, Job
from blankwright.stock.figures import Prices, sheet_figures
from blankwright.stock.forgedbar import ForgedTold
from blankwright.stock.layout import Laid, Layout, Sheet
from blankwright.stock.nest import Nested
from blankwright.stock.nestfiles import layout_files
from blankwright.stock.nestpicture import layout_pdf
from blankwright.stock.nestreport import Report
from blankwright.stock.offcuts import offcuts
from blankwright.stock.picture import placing_svg
from blankwright.stock.piece import Piece, box, round_zone
from blankwright.stock.place import Wish
from blankwright.stock.report import Told
from blankwright.stock.run import placed_on
from blankwright.stock.underneath import thick_in, volume_mm3
from rooms.every import every
from rooms.stock.jobs import random_outline

TABLE = ((0.0, 8.0), (300.0, 7.0), (460.0, 5.5))
SPRING = Piece("Spring", "found", box(460.0, 70.0), TABLE)


def integral_mm3(outline: Outline, table: tuple[tuple[float, float], ...]) -> float:
    """Return thickness times height of a polygon by GEOS, summed along x by scipy's adaptive quadrature."""
    area = shapely.Polygon(outline.flattened(1e-6))
    x0, y0, x1, y1 = area.bounds
    at, mm = zip(*table, strict=True)

    def slice_mm2(x: float) -> float:
        line = shapely.LineString([(x, y0 - 1), (x, y1 + 1)])
        return float(area.intersection(line).length * np.interp(x, at, mm))

    corners = np.unique([x0, x1, *(x for x in at if x0 < x < x1), *outline.starts[:, 0]])
    return sum(quad(slice_mm2, a, b, epsabs=1e-4, epsrel=1e-9, limit=200)[0] for a, b in pairwise(corners))


@every(range(3))
def test_the_volume_under_any_outline_is_the_integral(seed: int) -> None:
    rng = np.random.default_rng([seed, 8])
    outline = random_outline(rng).moved(float(rng.uniform(60, 400)), 35.0)
    assert volume_mm3(SPRING, outline) == pytest.approx(integral_mm3(outline, TABLE), rel=2e-6)


def test_the_volume_in_closed_form() -> None:
    """A box and a disc over a corner of the table, and one beyond its end, where it is level; by hand."""
    assert volume_mm3(SPRING, SPRING.outline) == pytest.approx(70 * (300 * 7.5 + 160 * 6.25), rel=1e-14)
    past = box(100.0, 10.0).moved(430.0, 0.0)
    assert volume_mm3(SPRING, past) == pytest.approx(10 * (30 * (5.5 + 5.78125) / 2 + 70 * 5.5), rel=1e-13)
    # a disc of radius r across a kink of slope change k adds k times the first moment of a half disc, 2/3 r^3
    disc = volume_mm3(SPRING, round_zone(300.0, 35.0, 20.0))
    left, right = -1 / 300, -1.5 / 160
    assert disc == pytest.approx(np.pi * 100 * 7.0 + (right - left) * 2 / 3 * 1000, rel=1e-12)
    assert (thick_in(SPRING, past).least_mm, thick_in(SPRING, past).most_mm) == (5.5, pytest.approx(5.78125))


def told() -> Report:
    """A chef of 5.5 mm steel, laid on the thicker half of the spring."""
    knife = finish(read_design("chef", {"material.thickness": "5.5 mm", "blade.length": "150 mm"}))
    blank = Blank("Chef", knife.cut, 1, 5.5, 1.0, knife=knife)
    layout = Layout(
        Job("Spring job", (SPRING,), (blank,), 4.0), (Sheet(0, 1, (Laid(0, Pose(170.0, 10.0, 0.0, False)),)),)
    )
    return Report(
        Nested(layout, 0.0, stopped=False, library=False, tried=1), Prices("EUR", (10.0, "kg"), None, "p.toml")
    )


def test_weights_and_costs_of_tapering_steel_are_integrals() -> None:
    """The plain mean of the table's values told 1727 g for a spring of 1786 g, and 580 g for a blank of 633 g."""
    report = told()
    layout = report.layout
    (sheet,), blank = layout.sheets, layout.job.blanks[0]
    assert blank.knife is not None
    per_mm3 = blank.knife.material.density_kg_m3.value * 1e-6
    figures = sheet_figures(layout, sheet, report.prices)
    assert figures.stock_g == pytest.approx(integral_mm3(SPRING.outline, TABLE) * per_mm3, rel=1e-6)
    holes = [h for h in blank.knife.holes if h.made.cut_diameter_mm is not None]
    solid = integral_mm3(layout.outline(sheet.laid[0]), TABLE)
    for h in holes:
        x, y = 170.0 + h.hole.x_mm, 10.0 + h.hole.y_mm
        solid -= integral_mm3(round_zone(x, y, h.made.cut_diameter_mm or 0.0), TABLE)
    assert holes
    assert figures.blanks_g == pytest.approx(solid * per_mm3, rel=1e-5)
    (saved,) = offcuts(layout, sheet)
    x0 = 460.0 - saved.outline.size_mm[0]
    assert figures.offcuts_g == pytest.approx(integral_mm3(saved.outline.moved(x0, 0.0), TABLE) * per_mm3, rel=1e-4)
    assert figures.cost == pytest.approx((figures.stock_g - figures.offcuts_g) / 1000 * 10.0)


def test_all_papers_of_a_tapering_piece_say_the_same() -> None:
    """Note, picture, paper and screen: the range of the piece, that under the blank, and one weight."""
    report = told()
    made = layout_files(report, paper("A4"), "sheet")
    note = re.sub(r"\s+", " ", str(made["1_note.txt"]))
    assert ", 5.5 to 8.0 mm (0.217 to 0.315 in): it tapers, see each part." in note
    under = thick_in(SPRING, report.layout.outline(report.layout.sheets[0].laid[0]))
    between = f"{under.least_mm:.2f} to {under.most_mm:.2f}"
    assert 5.5 < under.least_mm < under.most_mm < 8.0
    assert f"high and {between} mm thick" in note
    assert "460 x 70 x 5.5 to 8.0 mm" in str(made["1_layout_mm.svg"])
    assert b"%PDF" in layout_pdf(report.layout, paper("A4"))
    grams = report.data["sheets"][0]["mass_g"]["blanks"]
    assert f"Weight {grams:.0f} g." in note
    words = [line.text() for line in report.lines()]
    assert (
        f"  to look at: Chef is drawn for 5.5 mm and is cut out of {between} mm: take other steel, or grind it down."
        in words
    )


def test_a_piece_that_is_too_thin_is_said_to_be_that() -> None:
    """A knife of 7.5 mm on steel of 8 to 5 mm was told to be 61 mm short at the edge, its picture an empty piece."""
    knife = finish(read_design("chef", {"material.thickness": "7.5 mm", "blade.length": "220 mm"}))
    piece = Piece("Tapered", "found", box(460.0, 70.0), ((0.0, 8.0), (460.0, 5.0)))
    told = placed_on(knife, [piece], Wish())
    assert isinstance(told, Told)
    placed = told.placed
    (limit,) = placed.verdict.lacking
    assert limit.kind == "thickness"
    assert limit.least_mm == pytest.approx(8.0 - 3.0 * limit.at_mm[0] / 460.0, abs=1e-9)
    assert shapely.box(0, 0, 460, 70).covers(shapely.Polygon(placed.pose.outline(placed.wanted.cut).flattened(0.01)))
    short = f"{7.5 - limit.least_mm:.2f} mm"
    first, second, *_ = [line.text() for line in told.lines()]
    assert first.startswith(f"Does not fit on Tapered, found, 460 mm x 70 mm: too thin by {short}, at ")
    assert f"7.50 mm needed, {short} short at " in second
    drawn = placing_svg(placed)
    assert f"too thin by {short} here" in drawn
    assert f"too thin by {short};" in drawn
    (offer, *_) = told.offers
    assert offer.settings == {"material.thickness": f"{np.floor(limit.least_mm * 10 + 1e-6) / 10:g} mm"}


@pytest.mark.parametrize(("ends", "heavier"), [((8.0, 5.0), "left"), ((5.0, 8.0), "right"), ((6.0, 6.0), "")])
def test_a_tapering_bar_is_cut_off_at_its_heavier_end(ends: tuple[float, float], heavier: str) -> None:
    """The length goes by the average section: of the thin end as long a piece holds less steel than is needed."""
    knife = finish(read_design("paring", {"start.from": "forged", "material.grade": "1095"}))
    bar = Piece("Spring", "found", box(460.0, 25.0), ((0.0, ends[0]), (460.0, ends[1])))
    told = placed_on(knife, [bar], Wish())
    assert isinstance(told, ForgedTold)
    assert told.fits
    said = [line.text() for line in told.lines() if "heavier" in line.text()]
    if not heavier:
        assert said == []
        return
    place = {"left": 0, "right": 460}[heavier]
    assert said[0].startswith(f"Cut it off at the {heavier} end of the sound stretch, {place} mm from the left: ")
    used = told.bar.length_mm
    needed_mm3 = used * told.stretch.width_mm * told.stretch.thickness_mm
    cut = box(used, 25.0).moved(0.0 if heavier == "left" else 460.0 - used, 0.0)
    other = box(used, 25.0).moved(0.0 if heavier == "right" else 460.0 - used, 0.0)
    assert integral_mm3(other, bar.thickness) < needed_mm3 < integral_mm3(cut, bar.thickness)


def test_a_cost_says_what_it_is_of() -> None:
    (cost,) = [line.text() for line in told().lines() if line.text().startswith("Cost")]
    assert cost.startswith("Cost of steel alone, no handle and no pins, at the prices in p.toml, offcuts not counted: ")
