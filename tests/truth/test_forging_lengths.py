"""How long a bar a forging takes: worked examples of textbooks and smiths, and the mesh of a whole forging."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from blankwright.design.request import read_design
from blankwright.geometry.outline import Outline
from blankwright.knife.forging import Forging, bar_of, heights, lump, scale_share
from blankwright.knife.knife import Knife, finish
from blankwright.shop.rough import ForgingLoss, forging_loss
from blankwright.solid.blade import Taper
from rooms.often import repeated, share

SOURCE = (
    "Shop Practice, a home-study textbook (about 1909), vol. 1 'Bolts' and vol. 2 'Weight of Forging'; two smiths; the "
    "Polish blacksmiths' trade examination; one example from memory"
)
REASON = "the books round to the figures they print; the smiths to a sixteenth of an inch"
TOLERANCE_OF_A_MESH = 0.01
IN = 25.4
LB_PER_IN3_IRON = 0.2779


def bare_loss() -> ForgingLoss:
    """Return a forging's losses with nothing lost, as the worked examples reckon."""
    loss = forging_loss()
    nothing = {"value": 0.0}
    return replace(
        loss, layer_mm=replace(loss.layer_mm, **nothing), layer_least_mm=0.0, layer_most_mm=0.0,
        kerf_mm=replace(loss.kerf_mm, **nothing),
    )  # fmt: skip


def length_in(net_in3: float, section_in2: float) -> float:
    """Return the length of a bar of a square section of so much area that holds a volume [in]."""
    forging = Forging(100.0, 20.0, 10.0, net_in3 * IN**3, 0.0, 0.0, 4, (), 7850.0, bare_loss())
    side = section_in2**0.5 * IN
    return bar_of(forging, side, side, 0.0).length_mm / IN


def test_the_head_of_a_bolt_is_upset_from_so_much_bar() -> None:
    """Vol. 1, 'Bolts': a 3/4 in bolt, its head 1 1/4 in square and 5/8 in deep, 0.9766 cubic inches, takes 2.22 in."""
    head = 0.625 * 1.25 * 1.25
    assert head == pytest.approx(0.9766, abs=5e-5)
    assert length_in(head, 0.44) == pytest.approx(2.22, abs=0.005)


def test_a_connecting_rod_weighs_what_its_volume_says() -> None:
    """Vol. 2, 'Weight of Forging': ends of 2 x 4 x 6 in, in all 171 3/7 cubic inches, 47.64 lb of wrought iron.

    The rod between, 75 3/7 cubic inches, is one of 2 in across and 24 in long with pi = 22/7.
    """
    ends, rod = 2 * 2 * 4 * 6, 22 / 7 * 24
    assert ends + rod == pytest.approx(171 + 3 / 7)
    assert (ends + rod) * LB_PER_IN3_IRON == pytest.approx(47.64, abs=0.005)
    drawn = length_in(ends + rod, 2 * 4)  # all of it from one bar of the ends' section
    assert drawn * 2 * 4 * LB_PER_IN3_IRON == pytest.approx(47.64, abs=0.005)


def test_round_bar_in_the_place_of_square() -> None:
    """A smith's published note of 2012 (common practice): 10 in of 3/8 in square is 7 1/8 in of 1/2 in round."""
    assert length_in(10 * 0.375**2, np.pi / 4 * 0.5**2) == pytest.approx(7.125, abs=1 / 16)


@pytest.mark.parametrize(("cm3", "across_mm", "long_mm"), [(565.2, 120.0, 50.0), (3140.0, 200.0, 100.0)])
def test_a_forging_from_round_bar(cm3: float, across_mm: float, long_mm: float) -> None:
    """Questions of the Polish blacksmiths' trade examination (MEC.02), answered: so long a bar is cut off."""
    found = length_in(cm3 * 1000 / IN**3, np.pi / 4 * (across_mm / IN) ** 2) * IN
    assert found == pytest.approx(long_mm, rel=1e-3)  # they take pi as 3.14


def test_a_peg_forged_on_a_flat_bar_with_a_tenth_burnt_off() -> None:
    """A German trade handbook's example, from memory: a peg of 24 mm across and 60 mm long on a bar of 50 x 30 mm.

    It adds 10 % of the peg for what burns off, and takes 20 mm of the bar. Our range, from few heats and a thin layer
    to many and a thick one, has to hold that.
    """
    peg = np.pi / 4 * 24**2 * 60
    told = peg * 1.1 / (50 * 30)
    assert told == pytest.approx(20.0, abs=0.1)
    loss = replace(forging_loss(), kerf_mm=replace(forging_loss().kerf_mm, value=0.0))
    forging = Forging(60.0, 24.0, 24.0, peg, 0.0, 0.0, round(loss.heats.value), (), 7850.0, loss)
    bar = bar_of(forging, 50.0, 30.0, 0.0)
    assert bar.least_mm < told < bar.most_mm


def test_a_wedge_takes_half_of_its_length() -> None:
    """A smith's published rules, 2002 (common practice): a 6 in wedge to an edge takes 3 in of its 1 in square bar."""
    long, side = 6 * IN, IN
    wedge = Outline(np.array([[0.0, 0.0, 0.0], [long, 0.0, 0.0], [long, side, 0.0], [0.0, side, 0.0]]))
    ground = knife("chef").ground
    thin = replace(ground, taper=Taper((0.0, long), (side, 1e-6)), bevels=replace(ground.bevels, height_mm=1e-9))
    held = lump(wedge, thin, -1.0, stock_mm=side, skin_mm=0.0, share=1.0)
    assert length_in(held.net_mm3 / IN**3, 1.0) == pytest.approx(3.0, rel=1e-3)
    assert held.tang_mm3 == 0.0


def test_scale_of_one_heat() -> None:
    """Makers find 2 to 3 % of the weight gone at each heat of a bar of 25 x 10 mm (common practice)."""
    assert 0.02 <= scale_share(1, forging_loss().layer_mm.value, [(25.0, 10.0)]) <= 0.03


def test_scale_of_a_whole_forging() -> None:
    """Lecture notes on estimating (common practice): 5 to 7.5 % of the net weight below 5 kg, in one to three heats."""
    for heats in (2, 3):
        share = scale_share(heats, forging_loss().layer_mm.value, [(40.0, 10.0), (50.0, 6.0)])
        of_net = share / (1 - share)
        assert 0.05 <= of_net <= 0.12, heats
    thin, thick = (scale_share(4, 0.1, [(30.0, t)]) for t in (4.0, 12.0))
    assert thin > 2 * thick, "a thin blade burns more of its weight away"


def knife(family: str, **settings: str) -> Knife:
    changes = {"start.from": "forged", "material.grade": "1095"} | {
        k.replace("__", "."): v for k, v in settings.items()
    }
    return finish(read_design(family, changes))


FORGED = [("chef", "full"), ("chef", "20 mm"), ("paring", "full")]


@repeated
@pytest.mark.parametrize(
    ("family", "height", "bevels"), share([(*one, part) for one in FORGED for part in ("0 %", "60 %", "100 %")], 3)
)
def test_the_volume_of_a_forging_is_that_of_its_mesh(family: str, height: str, bevels: str) -> None:
    """Within 1 % of a closed mesh of the whole forging, built from cells of its outline and not by the product."""
    one = knife(family, start__forged_bevels=bevels, grind__height=height)
    assert one.forging is not None
    mesh, tang = forged_mesh(one, float(bevels.split(maxsplit=1)[0]) / 100)
    assert mesh == pytest.approx(one.forging.net_mm3, rel=TOLERANCE_OF_A_MESH)
    assert tang == pytest.approx(one.forging.tang_mm3, rel=0.03)
    bar = one.forging.bars[0]
    assert bar.tang_mm < bar.length_mm


def forged_mesh(one: Knife, share: float) -> tuple[float, float]:
    """Return the volume of a forging's mesh and of what lies behind its shoulders [mm3]."""
    skin, stock, ground = forging_loss().skin_mm.value, one.stock_mm, one.ground
    cut = shapely.Polygon(one.cut.flattened(0.01))
    around = cut.buffer(skin, quad_segs=16)
    x0, y0, x1, y1 = around.bounds

    def thickness(points: np.ndarray) -> np.ndarray:
        x = points[:, 0]
        places, place = np.unique(np.clip(x, *cut.bounds[::2]), return_inverse=True)
        ends = np.array([[(v, y0 - 1), (v, y1 + 1)] for v in places])
        chords = shapely.bounds(shapely.intersection(cut, shapely.linestrings(ends)))
        low, high = np.nan_to_num(chords[:, [1, 3]]).T[:, place]
        spine, edge = ground.taper.at(x), ground.bevels.behind_edge_mm
        full = high - low if ground.bevels.height_mm is None else np.minimum(high - low, ground.bevels.height_mm)
        depth = np.clip((points[:, 1] - low) / np.maximum(full, 1e-9), 0.0, 1.0)
        begin = 0.0 if ground.plunge is None else ground.plunge.at_mm
        wedge = np.where(x > begin, np.maximum(spine - edge, 0.0) * (1 - depth), 0.0)
        result: np.ndarray = stock - share * (stock - spine + wedge) + 2 * skin
        return result

    corners = [(x, y) for x in np.arange(x0, x1, 4.0) for y in np.arange(y0, y1, 4.0)]
    square = trimesh.creation.extrude_polygon(shapely.box(0, 0, 4.0, 4.0), 1.0)
    cells: dict[bool, list[trimesh.Trimesh]] = {True: [], False: []}
    for x, y in corners:
        cell = around.intersection(shapely.box(x, y, x + 4.0, y + 4.0))
        for part in getattr(cell, "geoms", [cell]):
            if part.geom_type != "Polygon" or part.area < 1e-6:
                continue
            whole_cell = part.area > 16.0 - 1e-9
            mesh = square.copy() if whole_cell else trimesh.creation.extrude_polygon(part, 1.0)
            if whole_cell:
                mesh.apply_translation((x, y, 0.0))
            cells[bool(x + 2.0 < one.shape.front_x_mm)].append(mesh)
    volumes = {}
    for behind, meshes in cells.items():
        mesh = trimesh.util.concatenate(meshes)
        half = thickness(mesh.vertices) / 2
        mesh.vertices[:, 2] = np.where(mesh.vertices[:, 2] > 0.5, half, -half)
        volumes[behind] = float(mesh.volume)
    return sum(volumes.values()), volumes[True]


def test_heights_are_those_of_upright_chords() -> None:
    cut = knife("chef").cut
    area = shapely.Polygon(cut.flattened(0.001))
    x = np.linspace(cut.bounds_mm[0] + 1, cut.bounds_mm[2] - 1, 60)
    chords = [area.intersection(shapely.LineString([(v, -200), (v, 200)])).length for v in x]
    assert heights(cut, x) == pytest.approx(chords, abs=0.05)
