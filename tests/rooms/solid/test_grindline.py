"""Grind and plunge line against the solid: upright heights, and where the ground surface meets the face."""

from __future__ import annotations

import io
from functools import cache

import ezdxf
import numpy as np
import pytest
import shapely

from blankwright.cutting.delivery import deliver
from blankwright.cutting.dxf import dxf_text
from blankwright.cutting.layout import column
from blankwright.design.request import read_design
from blankwright.design.tang import chord_at
from blankwright.desk.make import cut_file, make
from blankwright.desk.proving import prove_file
from blankwright.geometry.outline import points_on
from blankwright.knife.knife import finish
from blankwright.proof.reader import read_dxf
from blankwright.solid.blade import face_mm
from blankwright.solid.grindline import grind_lines, plunge_line
from blankwright.solid.section import faces
from blankwright.template.scenes import scenes
from rooms.every import cases

HEIGHT = {"grind.height": "20 mm"}
PLUNGE = {"grind.ricasso": "3 mm", "grind.plunge_radius": "5 mm"}
HOLLOW = {"grind.kind": "hollow", "grind.wheel": "400 mm", "grind.bevel": "single", "grind.height": "8 mm"}
CASES = {
    "chef": ("chef", HEIGHT),
    "chef, plunge": ("chef", {**HEIGHT, **PLUNGE}),
    "chef, full, plunge": ("chef", PLUNGE),
    "chef, convex": ("chef", {**HEIGHT, **PLUNGE, "grind.kind": "convex"}),
    "chef, small step": ("chef", {**HEIGHT, "grind.ricasso": "3 mm", "grind.plunge_radius": "1 mm"}),
    "utility, uneven": ("utility", {"grind.height": "15 mm", **PLUNGE, "grind.bevel": "uneven",
                                    "grind.right_share": "70 %"}),
    "paring, hollow": ("paring", {**HOLLOW, **PLUNGE}),
    "spreader": ("spreader", {"grind.height": "21 mm"}),
}  # fmt: skip


@cache
def knife(name):
    family, changes = CASES[name]
    work = finish(read_design(family, changes))
    return work, work.ground


def low_at(work, x):
    return chord_at(work.finished, float(x))


@cases("name", CASES)
def test_the_grind_line_lies_its_height_above_the_edge(name):
    work, ground = knife(name)
    height = ground.bevels.height_mm
    chains = grind_lines(work.finished, ground)
    assert bool(chains) == (height is not None)
    for chain in chains:
        points = chain.flattened(0.001)
        assert (np.diff(points[:, 0]) > 0).all()
        for x, y in points[::3]:
            chord = low_at(work, min(max(x, 0.001), work.finished.bounds_mm[2] - 0.001))
            assert y - chord[0] == pytest.approx(height, abs=0.01)
            assert y <= chord[1] + 0.01


@pytest.mark.parametrize("name", ["chef", "chef, plunge", "spreader"])
def test_the_grind_line_is_there_wherever_the_blade_is_higher(name):
    work, ground = knife(name)
    chains = grind_lines(work.finished, ground)
    begin = 0.0 if ground.plunge is None else ground.plunge.full_mm(face_mm(ground.plunge, ground.taper, ground.bevels))
    for x in np.linspace(begin + 0.1, work.finished.bounds_mm[2] - 0.1, 300):
        chord = low_at(work, x)
        there = any(c.vertices[0, 0] <= x <= c.vertices[-1, 0] for c in chains)
        if abs(chord[1] - chord[0] - ground.bevels.height_mm) > 0.1:
            assert there == (chord[1] - chord[0] > ground.bevels.height_mm), x


@pytest.mark.parametrize("name", [n for n in CASES if "," in n])
def test_the_plunge_line_is_where_the_ground_surface_meets_the_face(name):
    """Under the line the right face lies inside the stock's, over it they are one; looked for at 20 000 heights."""
    work, ground = knife(name)
    plunge = ground.plunge
    chain = plunge_line(work.finished, ground)
    assert chain.vertices[0, 0] == pytest.approx(plunge.at_mm, abs=1e-9)
    face = face_mm(plunge, ground.taper, ground.bevels)
    line = shapely.LineString(chain.flattened(0.0005))
    full, u = plunge.full_mm(face), np.linspace(0, 1, 20001)
    assert chain.vertices[-1, 0] == pytest.approx(full, abs=1e-6)
    for turn in np.linspace(0.01, 1, 80):
        x = full - (full - plunge.at_mm) * np.sin(turn * np.pi / 2) * 0.9999
        chord = low_at(work, x)
        height, spine = chord[1] - chord[0], float(ground.taper.at(np.array([x]))[0])
        same = np.full_like(u, height), np.full_like(u, spine)
        right, _ = faces(u * height, *same, ground.bevels, plunge.out_mm(np.full_like(u, x), face))
        ground_here = np.flatnonzero(right < spine / 2 - 1e-9)
        meets = height * u[ground_here[-1] + 1 if ground_here[-1] + 1 < len(u) else -1] if len(ground_here) else 0.0
        assert line.distance(shapely.Point(x, chord[0] + meets)) < 0.01, x


def test_without_a_radius_the_plunge_line_is_upright_up_to_the_grind_line():
    work = finish(read_design("chef", {**HEIGHT, "grind.ricasso": "4 mm"}))
    chain = plunge_line(work.finished, work.ground)
    assert chain.vertices.ravel().tolist() == pytest.approx([4, 0, 0, 4, 20, 0])
    plain, ground = knife("chef")
    assert plunge_line(plain.finished, ground) is None


def dxf_rows(text):
    doc = ezdxf.read(io.StringIO(text))
    return [e for e in doc.modelspace() if e.dxf.layer == "GRIND"]


@cases("name", CASES)
def test_the_layer_grind_read_back_is_edge_plus_height(name, tmp_path):
    work, ground = knife(name)
    found = dxf_rows(dxf_text(cut_file(column([deliver(work)], 1), ("finished", "grind", "notes"))))
    assert {e.dxftype() for e in found} == {"LWPOLYLINE"}
    assert not any(e.closed for e in found)
    assert len(found) == len(grind_lines(work.finished, ground)) + (ground.plunge is not None)
    for entity in found[: len(found) - (ground.plunge is not None)]:
        rows = np.array(entity.get_points("xyb"))
        n = len(rows) - 1
        for t in (0.0, 0.3, 0.7):
            for x, y in points_on(rows[:-1, :2], rows[1:, :2], rows[:-1, 2], np.full(n, t)):
                chord = low_at(work, max(x, 0.001))
                assert y - chord[0] == pytest.approx(ground.bevels.height_mm, abs=0.01)
    if ground.plunge is not None:
        assert found[-1].get_points("xy")[0][0] == pytest.approx(ground.plunge.at_mm, abs=1e-6)


def test_the_proof_takes_the_layer_and_a_plain_file_has_none(tmp_path):
    design = read_design("chef", {**HEIGHT, **PLUNGE})
    made = make(design, tmp_path, ("finished", "grind", "notes"))
    file = made.folder / "chef_cut_mm.dxf"
    assert made.proof.ok
    parts = column([deliver(made.knife)], 1)
    assert [proof.ok for proof in prove_file(file, parts)] == [True]
    assert {c.layer for c in read_dxf(file).contours} == {"CUT", "FINISHED", "GRIND"}
    assert "GRIND" not in dxf_text(cut_file(parts))


def test_the_template_shows_heel_and_plunge_line_where_they_are():
    work, ground = knife("chef, plunge")
    scene = scenes(work, both_faces=False, dummy=False)[0]
    words = [label.text for label in scene.labels]
    assert "heel" in words
    assert "plunge line" in words
    assert "heel, plunge line" not in words
    ends = {line.a for line in scene.lines} | {line.b for line in scene.lines}
    start = plunge_line(work.finished, ground).vertices[0]
    assert any(p == pytest.approx((start[0], start[1]), abs=1e-6) for p in ends)
    plain = scenes(knife("chef")[0], both_faces=False, dummy=False)[0]
    assert "heel, plunge line" in [label.text for label in plain.labels]


def test_the_template_s_grind_line_follows_the_upright_height():
    work, _ = knife("chef")
    scene = scenes(work, both_faces=False, dummy=False)[0]
    pieces = [
        line for line in scene.lines
        if line.kind == "narrow" and line.a[0] >= 0 and 19 < line.a[1] - low_at(work, max(line.a[0], 0.001))[0] < 21
    ]  # fmt: skip
    assert len(pieces) > 10
    for line in pieces:
        x, y = (line.a[0] + line.b[0]) / 2, (line.a[1] + line.b[1]) / 2
        assert y - low_at(work, x)[0] == pytest.approx(20.0, abs=0.01)
