"""A drawing that names no unit, or one that its size speaks against: what was taken is told, and why."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest

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
