"""What a cutting file is called: by the rule of its shop, shortened where it must be, never the same twice."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from blankwright.base.errors import RequestError
from blankwright.base.library import templates_dir
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.names import file_name, name_by_rule
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.shop.services import Service, service, service_from
from rooms.every import cases
from truth.services_by_hand import changed

GALLEY = ("galley_chef", "galley_paring", "galley_utility")


def work(**changes: object) -> Knife:
    wishes = {"cutting.process": "water-jet"} | {k.replace("__", "."): v for k, v in changes.items()}
    return finish(read_design("chef", wishes))


def at(one: Knife, shop: Service | None, quantity: int = 1) -> Delivery:
    return deliver(replace(one, service=shop), quantity)


def test_the_name_follows_its_rule() -> None:
    one = work(material__thickness="2.5 mm")
    rule = {"file.name": "{code} {slug}_{quantity}x{thickness}_{process}_{unit}", "file.longest_name": 45}
    shop = service_from(changed("jet", rule), "x.toml")
    name = file_name(at(one, shop, 3))
    assert name.name == f"{one.code}-chef_3x2-5_water-jet_mm.dxf"
    assert not name.shortened
    assert file_name(at(one, None)).name == "chef_cut_mm.dxf"


def test_only_the_slug_gets_shorter_where_the_code_stands_in_the_rule() -> None:
    one = work(material__thickness="2.5 mm")
    rule = {"file.name": "{code} {slug}_{quantity}x{thickness}_{process}_{unit}", "file.longest_name": 36}
    name = file_name(at(one, service_from(changed("jet", rule), "x.toml"), 3))
    assert name.name == f"{one.code}-che_3x2-5_water-jet_mm.dxf"
    assert name.full == f"{one.code}-chef_3x2-5_water-jet_mm.dxf"


@cases(
    ("longest", "slug"),
    [
        (60, "captains-long-galley-chef-knife"),
        (45, "captains-long-galley-chef-ABCD"),
        (35, "captains-long-ABCD"),
        (30, "captains-ABCD"),
        (27, "captain-ABCD"),  # no word is short enough
        (24, "capt-ABCD"),
        (20, "ABCD"),
        (19, "ABCD"),
    ],
)
def test_a_name_is_cut_at_a_word_then_at_a_letter_then_is_the_code_alone(longest: int, slug: str) -> None:
    shop = replace(service("plasma"), longest_name=longest)
    name = name_by_rule(work(), shop, 1, "captains-long-galley-chef-knife", "ABCD-EFGH")
    assert name.name == f"{slug}_3mm_cut_mm.dxf"
    assert len(name.name) <= longest
    assert name.shortened == (longest < 60)


def test_a_rule_that_leaves_no_room_at_all_is_refused() -> None:
    shop = replace(service("plasma"), longest_name=18)
    words = r"^chef_3mm_cut_mm.dxf: plasma service, in general takes .* at most 18 characters, .* has 19\."
    with pytest.raises(RequestError, match=words):
        name_by_rule(work(), shop, 1, "chef", "ABCD-EFGH")


def test_all_names_of_many_designs_at_a_narrow_shop_differ() -> None:
    """Words of a set, and codes of which some begin alike: no two files of one run may have one name."""
    one, shop = work(), service("plasma")
    taken: list[str] = []
    for i, slug in enumerate(("galley-chef", "galley-chef-long", "galley", "galley", "g", "gall-ABCD")):
        for code in (f"ABCD-EFG{i}", f"A{i}CD-EFGH"):
            taken.append(name_by_rule(one, shop, 1, slug, code, taken).name)
    assert len({name.casefold() for name in taken}) == len(taken)
    assert all(len(name) <= 24 for name in taken)
    assert all(name.endswith("_3mm_cut_mm.dxf") for name in taken)


def test_two_designs_of_one_name_and_code_are_refused() -> None:
    shop = service("jet")
    name = name_by_rule(work(), shop, 1, "chef", "ABCD-EFGH").name
    more = [name_by_rule(work(), shop, 1, "chef", "ABCD-EFGH", [name]).name]
    while len(more) < 4:
        more.append(name_by_rule(work(), shop, 1, "chef", "ABCD-EFGH", [name, *more]).name)
    with pytest.raises(RequestError, match="another design of this run has the same name"):
        name_by_rule(work(), shop, 1, "chef", "ABCD-EFGH", [name, *more])


def test_the_galley_set_goes_to_the_plasma_shop_in_one_run(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    files = [str(templates_dir() / "designs" / f"{name}.toml") for name in GALLEY]
    ran = command("cut", *files, "--service", "plasma", "--out", tmp_path)
    assert (ran.code, ran.err) == (0, "")
    names = sorted(p.name for p in tmp_path.glob("*/*.dxf"))
    assert len(set(names)) == 3
    assert all(len(name) <= 24 and name.endswith("_3mm_cut_mm.dxf") for name in names)
    for folder in tmp_path.iterdir():
        (dxf,), (note,) = folder.glob("*.dxf"), folder.glob("*_note.txt")
        assert f"{dxf.name}, short for {folder.name}_3mm_cut_mm.dxf" in ran.out
        said = " ".join(note.read_text(encoding="ascii").split())
        assert f"File {dxf.name}: DXF R12" in said
        assert f"Its name is short for {folder.name}_3mm_cut_mm.dxf." in said
