"""The check print as it comes out of a printer: rendered by others at 600 dpi, laid on the cutting file and measured.

Where a line has to be comes from the DXF as ezdxf reads it; where it is, from the pixels. What is known from inside is
only how a page is turned and shifted.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pypdf
import pypdfium2
import pytest
from ezdxf import path as ezpath

from blankwright.base.library import templates_dir
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.names import file_name
from blankwright.desk.make import make
from blankwright.desk.readback import check_print, sent_file
from blankwright.shop.services import Service, service, service_from
from blankwright.template.checkprint import CheckPrint, check_pdf, check_plan, check_scene
from blankwright.template.scenes import Wishes, wishes
from rooms.every import every
from rooms.often import repeated, share
from truth.services_by_hand import changed, demo_design
from truth.test_template_rendered import check_bar, drawn, level_ticks, upright_ticks

pytestmark = repeated

SOURCE = (
    "PDFium (through pypdfium2) draws the pages, pypdf reads their words, ezdxf the cutting file. The length of a bar "
    "is the 100 mm of the SI; the inch is 25.4 mm exactly."
)
TOLERANCE_MM = 0.1
REASON = (
    "A steel rule shows 0.1 mm at best; a pixel at 600 dpi is 0.042 mm and a line's centre is found to a third of it."
)
REACH_MM = 0.8
"""How far beside its place a line is looked for: dimension lines keep 1 mm off."""
STEP_MM = 0.02
WIDEST_MM = 0.5
"""What is drawn is 0.35 mm wide; a wider stretch of ink is two lines that touch."""

DESIGNS = sorted(p.stem for p in (templates_dir() / "designs").glob("*.toml"))
SHOPS: dict[str, Service] = {name: service(name) for name in ("jet", "laser", "plasma", "own-table")}
SHOPS["in"] = service_from(changed("jet", {"file.unit": "in"}), "inches.toml")

Case = tuple[str, str]
CASES: list[Case] = share([(d, s) for d in DESIGNS for s in SHOPS], 6)


@dataclass(frozen=True, eq=False)
class Printed:
    """A cutting file and its check print."""

    shop: Service
    dxf: Path
    sent: Delivery
    pdf: bytes
    code: str

    @property
    def mm(self) -> float:
        return 1.0 if self.shop.unit == "mm" else 25.4

    def shown(self, path: Path | None = None) -> CheckPrint:
        here = path or self.dxf
        return check_print(here, sent_file(here, file_name(self.sent), self.sent), self.sent, "knife", self.code)

    def lines(self) -> list[np.ndarray]:
        """Everything that is cut, flattened by ezdxf [mm]."""
        space = ezdxf.readfile(self.dxf).modelspace()
        kept = [e for e in space if e.dxf.layer == self.shop.cut_layer and e.dxftype() != "POINT"]
        paths = [ezpath.make_path(e).flattening(0.002 / self.mm) for e in kept]
        return [np.array([(p.x, p.y) for p in points]) * self.mm for points in paths]


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Case], Printed]:
    """A demonstration design sent to a shop, once for all tests of it."""

    @cache
    def one(case: Case) -> Printed:
        design, name = case
        shop = SHOPS[name]
        asked = demo_design(design, shop)
        made = make(asked, tmp_path_factory.mktemp("printed"), (), True, None, shop)
        (dxf,), (pdf,) = made.folder.glob("*.dxf"), made.folder.glob("*_check_mm.pdf")
        return Printed(shop, dxf, deliver(made.knife), pdf.read_bytes(), made.knife.code)

    return one


def beside(line: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return places every 3 mm or so along a line, clear of its ends, and the unit normals there."""
    steps = np.diff(line, axis=0)
    size = np.hypot(*steps.T)
    along = np.concatenate([[0.0], np.cumsum(size)])
    if along[-1] < 2.5:
        return np.zeros((0, 2)), np.zeros((0, 2))
    at = np.linspace(1.0, along[-1] - 1.0, max(1, int(along[-1] / 3)))
    which = np.clip(np.searchsorted(along, at) - 1, 0, len(steps) - 1)
    share = (at - along[which]) / size[which]
    across = np.stack([-steps[which, 1], steps[which, 0]], axis=1) / size[which, None]
    return line[which] + share[:, None] * steps[which], across


def measured(sheet: Any, places: np.ndarray, across: np.ndarray) -> np.ndarray:
    """Return how far the ink lies beside places on a page [mm]; nan where there is none or more than one line."""
    reach = np.arange(-REACH_MM, REACH_MM + 1e-9, STEP_MM)
    dark = sheet.at(places[:, None, :] + reach[None, :, None] * across[:, None, :])
    strong = dark > 0.3
    runs = (np.diff(strong.astype(int), axis=1) == 1).sum(axis=1) + strong[:, 0]
    total = dark.sum(axis=1)
    centre = (dark * reach).sum(axis=1) / np.where(total > 0, total, 1.0)
    alone = (runs == 1) & (strong.sum(axis=1) * STEP_MM < WIDEST_MM)
    return np.where(alone, centre, np.nan)


@every(CASES, "printed")
def test_every_line_of_the_file_is_printed_where_it_is(one: Printed) -> None:
    scene = check_scene(one.shown())
    plan = check_plan(scene, wishes())
    places, across = (np.concatenate(parts) for parts in zip(*map(beside, one.lines()), strict=True))
    seen = np.full(len(places), np.nan)
    pdf = pypdfium2.PdfDocument(one.pdf)
    assert len(pdf) == len(plan.tiles)
    for page, tile in zip(pdf, plan.tiles, strict=True):
        c, s = np.cos(np.radians(tile.angle_deg)), np.sin(np.radians(tile.angle_deg))
        turn = np.array([[c, s], [-s, c]])
        on_page = places @ turn + [tile.dx_mm, tile.dy_mm]
        w = tile.window
        inside = (on_page > [w.x0 + 1, w.y0 + 1]).all(axis=1) & (on_page < [w.x1 - 1, w.y1 - 1]).all(axis=1)
        off = measured(drawn(page), on_page[inside], across[inside] @ turn)
        assert np.nanmax(np.abs(off)) <= TOLERANCE_MM
        seen[inside] = np.where(np.isnan(off), seen[inside], off)
    pdf.close()
    assert np.isnan(seen).mean() <= 0.06, "only where a join, a lead or a dimension stands in the way"


@every(CASES, "printed")
def test_dimensions_diameters_name_and_code_are_written(one: Printed) -> None:
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(one.pdf)).pages]
    words = "\n".join(pages)
    points = np.concatenate(one.lines())
    for size in points.max(axis=0) - points.min(axis=0):
        texts = {f"{v:.2f} mm" for v in (size - 0.005, size, size + 0.005)}
        inches = {f"{v / 25.4:.3f} in" for v in (size - 0.005, size, size + 0.005)}
        assert any(text in words for text in (texts if one.shop.unit == "mm" else inches)), size
    space = ezdxf.readfile(one.dxf).modelspace()
    for circle in space.query("CIRCLE"):
        wide = 2 * circle.dxf.radius
        assert f"Ø {wide:.2f} mm" in words if one.shop.unit == "mm" else f"Ø {wide:.3f} in" in words
    assert words.count("Ø") >= len(space.query("CIRCLE"))
    assert all(one.code in page for page in pages)
    assert one.dxf.name in pages[0]
    assert "Print at 100 %" in pages[0]
    assert all("measure both bars" in page for page in pages)
    for layer in {e.dxf.layer for e in space}:
        assert re.search(rf"^{layer}: (cut|mark|lead)", words, re.MULTILINE)


@pytest.mark.parametrize("name", ["A4", "A3", "Letter"])
def test_bars_are_true_in_both_axes(printed: Callable[[Case], Printed], name: str) -> None:
    one = printed(("galley_chef", "jet"))
    wanted = wishes(name)
    plan = check_plan(check_scene(one.shown()), wanted)
    pdf = pypdfium2.PdfDocument(check_pdf(one.shown(), wanted))
    for page in pdf:
        words = page.get_textpage().get_text_bounded()
        check_bar(level_ticks(drawn(page, (0, 0, plan.width_mm, 50))), plan.frame.width - 16, words)
        check_bar(upright_ticks(drawn(page, (0, 0, 40, plan.height_mm))), plan.upright_mm[2], words)
    pdf.close()


def test_what_is_printed_is_the_file_and_not_the_design(printed: Callable[[Case], Printed], tmp_path: Path) -> None:
    """A hole made larger by hand in the file is larger on the print."""
    one = printed(("galley_chef", "jet"))
    doc = ezdxf.readfile(one.dxf)
    for circle in doc.modelspace().query("CIRCLE"):
        circle.dxf.radius = 3.21
    doc.saveas(tmp_path / "edited.dxf")
    words = pypdf.PdfReader(io.BytesIO(check_pdf(one.shown(tmp_path / "edited.dxf"), wishes()))).pages[0].extract_text()
    assert words.count("Ø 6.42 mm") == 2
    assert "4.85" not in words


def test_what_needs_too_many_sheets_is_one_large_page(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    text = (templates_dir() / "services" / "jet.toml").read_text(encoding="utf-8")
    (tmp_path / "shop.toml").write_text(text.replace('parts = "one"', 'parts = "together"'), encoding="utf-8")
    ran = command("cut", "chef", "--service", tmp_path / "shop.toml", "--quantity", "30", "--out", tmp_path)
    assert (ran.code, ran.err) == (0, "")
    (pdf,) = (tmp_path / "together").glob("*_check_mm.pdf")
    (page,) = pypdf.PdfReader(pdf).pages
    (dxf,) = (tmp_path / "together").glob("*.dxf")
    header = ezdxf.readfile(dxf).header
    wide, high = (header["$EXTMAX"][i] - header["$EXTMIN"][i] for i in (0, 1))
    box = page.mediabox
    assert float(box.width) * 25.4 / 72 > wide
    assert float(box.height) * 25.4 / 72 > high
    assert f"{high:.2f} mm" in page.extract_text()


def test_the_same_file_gives_the_same_print(printed: Callable[[Case], Printed]) -> None:
    one = printed(("galley_paring", "plasma"))
    wanted: Wishes = wishes()
    assert check_pdf(one.shown(), wanted) == check_pdf(one.shown(), wanted)
