"""What a drawing leaves open: the unit that was taken and why, its faults, and frames that are no knife."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest
import svgwrite

from blankwright.lift.run import lift, request
from rooms.design.cases import solved


@pytest.mark.parametrize(
    ("unit", "share", "long", "told"),
    [
        (0, 1.0, 1.0, "The drawing names no unit; mm were taken. Check the length: {}."),
        (0, 1 / 25.4, 1.0, "The drawing names no unit; inches were taken, for in mm it would be {small} mm long, "
         "which no knife is. Check the length: {}."),
        (4, 1 / 25.4, 1 / 25.4, "The drawing names mm, and that stands; for a knife it is 25.4 times too small, as if "
         "inches and millimetres are mixed: it would be {large} long. Check the length: {}."),
        (6, 1.0, 1.0, "The drawing names metres; its numbers were taken 0.001 times as large, for by that it would be "
         "{small} mm long, which no knife is. Check the length: {}."),
        (1, 1 / 25.4, 1.0, None),
    ],
)  # fmt: skip
def test_the_unit_that_was_taken_is_told(tmp_path: Path, unit: int, share: float, long: float, told: str) -> None:
    """$INSUNITS 0 is no unit, 1 inches, 4 millimetres, 6 metres (DXF reference)."""
    ring = solved("paring", "full", "default").finished.flattened(0.02)
    file = ezdxf.new("R2000", units=unit)
    file.modelspace().add_lwpolyline((ring * share).tolist(), close=True)
    file.saveas(tmp_path / "card.dxf")
    done = lift(request(tmp_path / "card.dxf"))
    size = done.lifted.outline.size_mm[0]
    assert size == pytest.approx((ring[:, 0].max() - ring[:, 0].min()) * long, rel=1e-3)
    notes = [note.text() for note in done.notes if "unit" in note.text() or "names" in note.text()]
    if told is None:
        assert not notes
        return
    small = size * 1000 if unit == 6 else size / 25.4
    assert notes == [told.format(f"{size:.2f} mm", small=f"{small:.4g}", large=f"{size * 25.4:.2f} mm")]


def test_one_fault_is_one(tmp_path: Path) -> None:
    ring = solved("paring", "full", "default").finished.flattened(0.02)
    file = ezdxf.new("R2000", units=4)
    file.modelspace().add_lwpolyline(ring.tolist(), close=True)
    file.modelspace().add_line((-50, 12), (-40, 12))
    file.saveas(tmp_path / "card.dxf")
    notes = [note.text() for note in lift(request(tmp_path / "card.dxf")).notes]
    assert [note for note in notes if note.startswith("1 fault is in the drawing; ")], notes


@pytest.mark.parametrize("round_it", ["frame", "background and frame", "none"])
def test_a_frame_is_no_knife(tmp_path: Path, round_it: str) -> None:
    """svgwrite draws it as any plotting library draws a page: rectangles round the outline and its hole."""
    ring = solved("paring", "full", "default").finished.flattened(0.02)
    ring = (ring - ring.min(axis=0) + 20) * (1, -1) + (0, 100)
    page = svgwrite.Drawing(tmp_path / "card.svg", size=("300mm", "120mm"), viewBox="0 0 300 120")
    if "background" in round_it:
        page.add(page.rect((0, 0), (300, 120), fill="white"))
    if "frame" in round_it:
        page.add(page.rect((5, 5), (290, 110), fill="none", stroke="black"))
    page.add(page.polygon(ring.tolist(), fill="none", stroke="black"))
    page.add(page.circle((40, 72), 2.0, fill="none", stroke="black"))
    page.save()
    done = lift(request(tmp_path / "card.svg"))
    assert max(done.lifted.outline.size_mm) == pytest.approx(np.ptp(ring[:, 0]), abs=0.02)
    assert [hole.diameter_mm for hole in done.lifted.holes] == [pytest.approx(4.0, abs=1e-3)]
    notes = [note.text() for note in done.notes]
    told = [note for note in notes if "passed over" in note]
    assert len(told) == {"frame": 1, "background and frame": 2, "none": 0}[round_it]
    assert not told or "290.00 mm by 110.00 mm, is no knife" in told[-1]
    assert not [note for note in notes if "fault" in note or "parts" in note]


def test_a_plate_with_holes_is_no_frame(tmp_path: Path) -> None:
    """What lies in a rectangle is a hole of it, unless it is as large as a knife and long."""
    file = ezdxf.new("R2000", units=4)
    file.modelspace().add_lwpolyline([(0, 0), (180, 0), (180, 80), (0, 80)], close=True)
    file.modelspace().add_circle((120, 40), 34)
    file.modelspace().add_lwpolyline([(20, 20), (70, 20), (70, 28), (20, 28)], close=True)
    file.saveas(tmp_path / "plate.dxf")
    done = lift(request(tmp_path / "plate.dxf"))
    assert done.lifted.outline.size_mm == pytest.approx((180, 80), abs=1e-3)
    assert [hole.diameter_mm for hole in done.lifted.holes] == [pytest.approx(68.0, abs=1e-3)]
