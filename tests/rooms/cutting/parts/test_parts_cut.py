"""Cutting files of parts beside the blade: what is asked for is written and proven, what a knife has not is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from blankwright.base.errors import ProofError, RequestError
from blankwright.cutting.dxf import dxf_text
from blankwright.cutting.parts.catalogue import PARTS, all_parts, asked_parts
from blankwright.cutting.parts.guide import filing_guide
from blankwright.cutting.parts.part import CutPart, mirrored_in_x
from blankwright.cutting.parts.sent import part_file, part_style
from blankwright.design.keys import BY_KEY, read_value
from blankwright.design.partkeys import EXAMPLES
from blankwright.design.request import read_design
from blankwright.desk import partfiles
from blankwright.desk.partfiles import cut_parts, part_files
from blankwright.desk.partproving import expected_of_part, prove_part_file
from blankwright.geometry.offset import parallel
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import finish
from blankwright.proof.part import PartProof
from blankwright.shop.services import Service, service, service_from
from blankwright.shop.sheets import part_figures, sheet_stocks
from rooms.every import every
from rooms.often import repeated, share
from rooms.written import in_folder
from truth.services_by_hand import changed

Command = Callable[..., "object"]


@every(sorted(part_figures()))
def test_every_figure_of_the_table_is_a_key_of_the_design_file_and_in_its_range(key: str) -> None:
    setting = BY_KEY[f"parts.{key}"]
    assert read_value(setting, part_figures()[key].value, key) is not None


def test_every_key_of_parts_has_its_row() -> None:
    assert {key.removeprefix("parts.") for key in BY_KEY if key.startswith("parts.")} == set(part_figures())


def test_a_new_design_file_shows_what_stands_in_the_table() -> None:
    assert {key: row.value for key, row in part_figures().items()} == EXAMPLES


def test_scales_are_a_mirrored_pair_with_the_bores_of_their_pins(tmp_path: Path) -> None:
    made = cut_parts(read_design("chef"), tmp_path, ["scales"], None)
    right, left = (part for part, _ in made.files.parts)
    assert [name for _, name in made.files.parts] == ["chef_scale-right_mm.dxf", "chef_scale-left_mm.dxf"]
    assert np.allclose(left.outline.bounds_mm[0], -right.outline.bounds_mm[2])
    assert left.outline.area_mm2 == pytest.approx(right.outline.area_mm2, abs=1e-3)
    assert [(-x, y, d) for x, y, d in right.holes] == list(left.holes)
    assert {d for _, _, d in right.holes} == {5.1}
    assert all(proof.ok for proof in made.proofs)


def test_a_design_s_own_figure_goes_before_the_table_s(tmp_path: Path) -> None:
    wide = read_design("chef", {"parts.scale_oversize": "2.5 mm"})
    made = cut_parts(wide, tmp_path, ["scales"], None)
    asked = next(f for f in made.data["cut_parts"][0]["figures"] if f["key"] == "scale_oversize")
    assert asked["value"] == 2.5
    assert asked["status"] == "given by the design"
    other = next(f for f in made.data["cut_parts"][0]["figures"] if f["key"] == "scale_front")
    assert other["status"] in ("common practice", "published", "not checked against a source")


def test_what_the_cut_may_take_must_be_left(tmp_path: Path) -> None:
    thin = read_design("chef", {"parts.scale_oversize": "0.3 mm", "parts.cut_deviation": "0.5 mm"})
    with pytest.raises(ProofError, match="WORST-CASE"):
        cut_parts(thin, tmp_path, ["scales"], None)
    assert not list(tmp_path.rglob("*.dxf"))


def test_a_template_of_a_low_blade_has_no_finger_hole_and_says_so() -> None:
    (part,) = asked_parts(finish(read_design("paring")), ["template"])
    assert len(part.holes) == len(finish(read_design("paring")).holes)
    assert "too low for a finger hole" in " ".join(line.text() for line in part.lines)


def test_make_writes_every_part_that_a_knife_has_with_one_word(tmp_path: Path, command: Command) -> None:
    ran = command("make", "chef", "--with", "parts", "--out", tmp_path, "--json")
    report = json.loads(ran.out)
    written = {path.name for path in in_folder(tmp_path / "chef")}
    assert set(report["files"]) == written
    assert {part["file"] for part in report["cut_parts"]} <= written
    assert {part["part"] for part in report["cut_parts"]} >= {"scales", "liners", "template"}
    assert {"chef_parts_note.txt", "chef_parts_maker.txt"} <= written


def test_a_part_that_a_knife_has_not_is_refused_and_names_what_would_do(tmp_path: Path, command: Command) -> None:
    ran = command("cut", "chef", "--set", "handle.construction=hidden", "--part", "scales", "--out", tmp_path)
    assert ran.code == 2
    assert "has no scales" in ran.err
    assert command("cut", "chef", "--part", "scale", "--out", tmp_path).err.count("Did you mean 'scales'?") == 1
    assert not list(tmp_path.rglob("*.dxf"))


def test_the_shop_s_note_asks_for_the_quantity_and_the_maker_s_names_every_figure(
    tmp_path: Path, command: Command
) -> None:
    line = ["cut", "chef", "--part", "scales", "--part", "template", "--quantity", "3", "--out", tmp_path]
    assert command(*line).code == 0
    note = (tmp_path / "chef" / "chef_parts_note.txt").read_text(encoding="utf-8")
    assert note.count("3 x scale, ") == 2
    assert "3 x template" in note
    assert "[parts]" not in note, "what concerns the maker does not go to the shop"
    maker = (tmp_path / "chef" / "chef_parts_maker.txt").read_text(encoding="utf-8")
    for key in ("scale_oversize", "scale_front", "cut_deviation", "template_thickness", "finger_hole"):
        assert f"{key} =" in maker


def test_a_service_is_not_sent_what_its_process_spoils(tmp_path: Path, command: Command) -> None:
    ran = command("cut", "chef", "--part", "template", "--service", "jet", "--out", tmp_path)
    assert ran.code == 2
    assert "hardboard is not cut by water-jet" in ran.err
    ran = command("cut", "chef", "--part", "template", "--service", "own-table", "--out", tmp_path)
    assert ran.code == 2
    assert command("cut", "chef", "--part", "template", "--service", "laser", "--out", tmp_path).code == 0


def test_a_long_name_gives_way_to_the_shop_s_limit_part_and_unit_stay() -> None:
    short = service_from(changed("laser", {"file.longest_name": 24, "file.unit": "in"}), "x.toml")
    knife = finish(read_design("chef", {"name": "Chef's knife of the forward galley"}))
    names = [name for _, name in part_files(knife, ["scales", "template"], replace_limits(short)).parts]
    assert all(len(name) <= 24 for name in names)
    assert len(set(names)) == 3
    assert [name.split("_", 1)[1] for name in names] == [
        "scale-right_in.dxf", "scale-left_in.dxf", "template_in.dxf"
    ]  # fmt: skip


def replace_limits(shop: Service) -> Service:
    """Return a service that takes stock as thick as a scale."""
    return replace(shop, limits=(replace(shop.limits[-1], up_to_mm=20.0),))


def test_parts_that_a_shop_cannot_have_are_told_together_with_the_reason(tmp_path: Path, command: Command) -> None:
    ran = command("make", "chef", "--service", "own-table", "--with", "parts", "--out", tmp_path)
    assert ran.code == 0
    (line,) = [row for row in ran.out.splitlines() if "scale, right" in row]
    assert "scale, left" in line
    assert "path of the cutter's middle" in line
    assert not list(tmp_path.rglob("*scale*"))


def test_a_bought_blank_gets_its_parts(tmp_path: Path) -> None:
    made = cut_parts(read_design("utility", {"start.from": "blank"}), tmp_path, ["scales", "template"], None)
    assert all(proof.ok for proof in made.proofs)
    assert len(made.proofs) == 3


def test_every_way_named_in_the_sheets_suits_something() -> None:
    assert {"hardboard", "acrylic", "leather", "wood", "laminate", "metal", "steel"} <= set(sheet_stocks())
    assert "laser" not in sheet_stocks()["laminate"].cut_by, "resin and glass under a laser give off poisonous fume"


def spoiled(part: CutPart, how: str) -> CutPart:
    """Return a part with one thing wrong in it."""
    v = part.outline.vertices.copy()
    if how == "moved":
        return replace(part, outline=part.outline.moved(0.02, 0.0))
    if how in ("nearer", "further"):
        return replace(part, outline=parallel(part.outline, -0.006 if how == "nearer" else 0.006).outline)
    if how == "smaller":
        return replace(part, outline=Outline(v * np.array([0.999, 0.999, 1.0])))
    if how == "mirrored":
        return replace(part, outline=mirrored_in_x(part.outline))
    if how == "corner cut":
        return replace(part, outline=Outline(np.delete(v, 3, axis=0)))
    if how == "hole moved":
        (x, y, d), *rest = part.holes
        return replace(part, holes=((x + 0.01, y, d), *rest))
    if how == "hole wider":
        (x, y, d), *rest = part.holes
        return replace(part, holes=((x, y, d + 0.01), *rest))
    if how == "hole gone":
        return replace(part, holes=part.holes[1:])
    if how == "hole more":
        (x, y, d), *_ = part.holes
        return replace(part, holes=(*part.holes, (x + 12, y, d)))
    raise AssertionError(how)


FAULTS = (
    "moved",
    "nearer",
    "further",
    "smaller",
    "mirrored",
    "corner cut",
    "hole moved",
    "hole wider",
    "hole gone",
    "hole more",
)


def proven(folder: Path, part: CutPart, told: CutPart, shop: str | None = None) -> PartProof:
    """Write a part and prove it as another one."""
    knife = finish(read_design("chef"))
    named = service(shop) if shop else None
    path = folder / "part.dxf"
    path.write_text(dxf_text(part_file(part, part_style(named), knife.code)), encoding="utf-8")
    return prove_part_file(path, knife, told, named)


def test_every_fault_of_a_part_s_file_is_told(tmp_path: Path) -> None:
    wrong = []
    for part in asked_parts(finish(read_design("chef")), ["scales", "template"]):
        assert proven(tmp_path, part, part).ok
        for how in FAULTS:
            if part.of == "template" and how == "mirrored":
                continue  # no other one is asked for: it is the same fault as for a scale
            if proven(tmp_path, spoiled(part, how), part).ok:
                wrong.append(f"{part.name}: {how} is not seen")
    assert not wrong, "\n".join(wrong)


def test_a_spoiled_file_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plain = partfiles.part_file

    def shifted(part: CutPart, *rest: object) -> object:
        return plain(replace(part, outline=part.outline.moved(0.5, 0.0)), *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(partfiles, "part_file", shifted)
    with pytest.raises(ProofError, match="does not prove right"):
        cut_parts(read_design("chef"), tmp_path, ["template"], None)
    assert not list(tmp_path.iterdir())


def test_what_is_expected_comes_from_the_knife_not_from_the_part() -> None:
    knife = finish(read_design("chef"))
    for part in asked_parts(knife, ["scales", "liners"]):
        broken = replace(part, outline=part.outline.moved(50, 0), holes=())
        one, other = (expected_of_part(knife, p, None) for p in (part, broken))
        assert one.sides == other.sides
        assert one.holes == other.holes
        assert (one.outline.vertices == other.outline.vertices).all()


SENT = [
    (family, construction, shop)
    for family in ("paring", "utility", "chef", "spreader")
    for construction in read_design(family).family.curves
    for shop in ("", "jet", "laser", "plasma")
]


@repeated
@every(share(SENT, 10))
def test_every_family_s_parts_prove_in_every_service_s_style(family: str, construction: str, shop: str) -> None:
    import tempfile

    knife = finish(read_design(family, {"handle.construction": construction}))
    wanted = part_files(knife, (), service(shop) if shop else None)
    with tempfile.TemporaryDirectory() as folder:
        for name, content in wanted.files.items():
            (Path(folder) / name).write_text(str(content), encoding="utf-8")
        assert all(proof.ok for proof in wanted.prove(Path(folder)))


def test_the_catalogue_s_words_are_those_of_the_help(command: Command) -> None:
    said = command("cut", "--help").out
    for word in PARTS:
        assert word in said
    parts, without = all_parts(finish(read_design("spreader", {"handle.construction": "one-piece"})))
    assert "template" in [part.of for part in parts]
    assert any("has no scales" in why for why in without)


def test_no_word_means_all_and_an_unknown_one_nothing() -> None:
    with pytest.raises(RequestError, match="unknown part 'lid'"):
        asked_parts(finish(read_design("chef")), ["lid"])


def test_a_contour_a_hair_inside_the_finished_line_is_said_to_be_inside(tmp_path: Path) -> None:
    """The template has the finished line itself: what is lost there is lost of the knife's shape."""
    (part,) = asked_parts(finish(read_design("chef")), ["template"])
    small = replace(part, outline=parallel(part.outline, -0.02).outline)
    told = [f.message for f in proven(tmp_path, small, part).findings if f.level == "error"]
    assert any("The finished part reaches 0.0" in text and "out of the contour" in text for text in told)


def test_no_filing_guide_for_steel_that_is_hard() -> None:
    knife = finish(read_design("utility", {"start.from": "hardened-blank", "grind.ricasso": "5 mm"}))
    with pytest.raises(RequestError, match="no file bites"):
        filing_guide(knife)
