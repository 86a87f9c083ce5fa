"""The block on a hidden tang in the template: on the blade, and as a scene of its own to trace on the wood."""

from __future__ import annotations

import numpy as np
import pytest

from blankwright.design.block import block_outline
from blankwright.design.request import read_design
from blankwright.design.tang import chord_at
from blankwright.knife.handle import ROUND_MM
from blankwright.knife.knife import finish
from blankwright.template.scenes import scenes, template_pdf, wishes
from rooms.design.cases import family_table, write_family
from rooms.every import cases

FAMILIES = ("chef", "utility", "paring", "spreader")
HIDDEN = {"handle.construction": "hidden"}


def shown(source, **more):
    work = finish(read_design(source, {**HIDDEN, **more}))
    return work, {s.name: s for s in scenes(work, both_faces=False, dummy=False)}


def block(work):
    wish = work.design.block
    return block_outline(work.shape, wish.front_height_mm, wish.butt_height_mm)


@cases("family", FAMILIES)
def test_the_blade_shows_the_block(family):
    work, found = shown(family)
    scene = found["blade"]
    assert "handle block" in [label.text for label in scene.labels]
    ends = {tuple(np.round(p, 6)) for line in scene.lines for p in (line.a, line.b)}
    for corner in block(work).starts:
        assert tuple(np.round(corner, 6)) in ends


@cases("family", FAMILIES)
def test_the_block_s_own_scene(family):
    work, found = shown(family)
    scene = found["handle-block"]
    assert scene.title == "handle block"
    (solid,), (dashed, _) = scene.solid, scene.dashed
    assert solid.area_mm2 == pytest.approx(block(work).area_mm2, abs=1e-9)
    front = work.shape.front_x_mm
    assert solid.bounds_mm[2] == pytest.approx(front, abs=1e-9)
    around = np.array([-ROUND_MM, -ROUND_MM, ROUND_MM, ROUND_MM])  # at the front too: it is shaped before glue-up
    assert dashed.bounds_mm == pytest.approx(np.array(solid.bounds_mm) + around, abs=1e-6)
    words = " | ".join([*(t for t, _ in scene.texts), *(label.text for label in scene.labels)])
    assert "finish this face before glue-up" in words
    assert "grain" in words
    assert sum(line.kind == "arrow" for line in scene.lines) == 1


def test_the_slot_is_the_tang():
    work, found = shown("chef")
    scene = found["handle-block"]
    slot = scene.dashed[1]
    assert slot.bounds_mm[0] == pytest.approx(work.shape.tang_end_x_mm, abs=1e-6)
    assert slot.bounds_mm[2] == pytest.approx(work.shape.front_x_mm, abs=0.05)
    for x in np.linspace(work.shape.tang_end_x_mm + 0.5, work.shape.front_x_mm - 0.5, 30):
        assert chord_at(slot, float(x)) == pytest.approx(chord_at(work.finished, float(x)), abs=1e-6)
    depth = work.shape.front_x_mm - work.shape.tang_end_x_mm
    assert any(f"{depth:.1f} mm deep" in label.text for label in scene.labels)


def test_a_pin_through_the_block_is_shown():
    _, found = shown("chef", **{"pins.count": "1"})
    assert len(found["handle-block"].holes) == 1


def test_no_block_without_its_settings_and_none_on_a_full_tang(tmp_path):
    table = family_table("chef")
    del table["construction"]["hidden"]["defaults"]["block"]
    file = write_family(tmp_path, table, "mine.toml")
    work, found = shown(str(file))
    assert set(found) == {"blade"}
    assert template_pdf(work, wishes())
    full = finish(read_design("chef"))
    assert "handle-block" not in {s.name for s in scenes(full, both_faces=False, dummy=False)}
