"""Random knives on random tables of one's own: drawing and program are made and proven, or the reason is said."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from blankwright.base.errors import DesignError
from blankwright.design.family import load_family
from blankwright.design.request import read_design
from blankwright.desk.make import make
from blankwright.shop.services import Service, service_from
from rooms.design.cases import KINDS
from rooms.often import often, repeated
from truth.services_by_hand import changed

SEEDS = range(often(24, 6))


def table(rng: random.Random) -> Service:
    found = changed("own-table", {
        "process": rng.choice(["plasma-table", "water-jet", "laser"]), "file.unit": rng.choice(["mm", "in"]),
        "file.contours": rng.choice(["polyline", "polyline", "exploded"]),
        "file.release": rng.choice(["R12", "R2000", "R2010"]), "table.kerf": f"{rng.uniform(0.1, 2.5):.3f} mm",
        "table.lead": f"{rng.uniform(0.8, 9):.2f} mm", "table.enter": rng.choice(["butt", "spine"]),
        "table.outside": rng.choice(["clockwise", "counter-clockwise"]), "table.tabs": rng.choice([0, 1, 2, 3, 4]),
        "table.tab_width": f"{rng.uniform(0.4, 6):.2f} mm",
        "table.dialect": rng.choice(["rs274", "centres-from-zero", "plain-words"]),
    })  # fmt: skip
    for row in found["limits"]:
        row["smallest_hole"] = "0.5 mm"
    return service_from(found, "table.toml")


@repeated
@pytest.mark.parametrize("seed", SEEDS)
def test_a_random_knife_on_a_random_table(tmp_path: Path, seed: int) -> None:
    """What once went wrong: a bridge over a bend of the spine, arcs of 70 m run as lines a hair too far out."""
    rng = random.Random(seed)
    name, construction = rng.choice(KINDS)
    wishes: dict[str, object] = {"handle.construction": construction}
    for d in load_family(name).offered(construction):
        if rng.random() < 0.3:
            wishes[d.key] = f"{rng.uniform(d.least_mm, d.greatest_mm):.3f} mm"
    if construction == "one-piece":
        wishes |= {"material.grade": "80CrV2", "material.thickness": "3 mm"}
    shop, quantity = table(rng), rng.choice([1, 1, 2])
    print(seed, name, construction, wishes, shop.table, quantity)
    try:
        made = make(read_design(name, wishes), tmp_path / "out", ("program",), True, None, shop, quantity)
    except DesignError as error:
        assert any(word in str(error) for word in ("room", "does not", "go together", "fit", "works"))
        assert not (tmp_path / "out").exists()
        return
    assert made.proof is not None
    assert made.proof.ok
    assert len([n for n in made.report["files"] if "_path_" in n]) == 2
