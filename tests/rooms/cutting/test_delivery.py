"""What goes to a shop: holes by policy and limit, corners, walls, names, quantity, the note, the options."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import pytest

from blankwright.base.errors import RequestError
from blankwright.cutting.covernote import cover_note
from blankwright.cutting.delivery import Delivery, deliver
from blankwright.cutting.note import NoteRow, note_text
from blankwright.cutting.order import LayerUse, SentFile
from blankwright.design.request import read_design
from blankwright.knife.knife import Knife, finish
from blankwright.shop.services import Policy, Service, service, service_from
from rooms.every import cases
from rooms.written import in_folder
from truth.services_by_hand import changed


def work(**changes: object) -> Knife:
    wishes = {"cutting.process": "water-jet"} | {k.replace("__", "."): v for k, v in changes.items()}
    return finish(read_design("chef", wishes))


def at(one: Knife, shop: Service | None, quantity: int = 1) -> Delivery:
    return deliver(finish(one.asked, one.shape, shop), quantity)


def sent_as(name: str) -> SentFile:
    return SentFile(name, name, (LayerUse("CUT", "cut", "1 closed contour"),), (348.4, 52.4))


def jet(changes: dict[str, Any] | None = None, **limits: str):  # type: ignore[no-untyped-def]
    table = changed("jet", changes or {})
    table["limits"][0] |= limits
    return service_from(table, "x.toml")


@cases("policy", get_args(Policy))
def test_what_happens_to_a_hole_by_policy(policy: str) -> None:
    sent = at(work(), jet({"holes.policy": policy}))
    cut = [h.made.cut_diameter_mm for h in sent.knife.holes]
    assert all(d == pytest.approx(4.85) for d in cut) if policy.startswith("cut") else cut == [None, None]
    assert sent.style.marks == (policy in ("cut and mark", "mark only"))
    if not policy.startswith("cut"):
        assert all("not asked to cut holes" in h.made.reason and h.made.made_by == "drill" for h in sent.knife.holes)


@pytest.mark.parametrize(("smallest", "is_cut"), [("4.85 mm", True), ("4.86 mm", False)])
def test_a_hole_below_the_limit_is_drilled_and_says_why(smallest: str, is_cut: bool) -> None:
    sent = at(work(), jet(smallest_hole=smallest))
    assert [h.made.cut_diameter_mm is not None for h in sent.knife.holes] == [is_cut] * 2
    if not is_cut:
        assert "the smallest hole of water-jet service, in general here is 4.86 mm" in sent.knife.holes[0].made.reason


def test_the_room_for_slot_and_lead_counts_on_a_table() -> None:
    """4.85 mm less a slot of 1.7 leaves 3.15 mm for two arcs of 0.8 mm radius, which want 3.2."""
    for kerf, is_cut in (("1.6 mm", True), ("1.7 mm", False)):
        table = changed("own-table", {"process": "water-jet", "table.kerf": kerf, "table.lead": "3 mm"})
        table["limits"][0]["smallest_hole"] = "1 mm"
        sent = at(work(), service_from(table, "x.toml"))
        assert [h.made.cut_diameter_mm is not None for h in sent.knife.holes] == [is_cut] * 2


@pytest.mark.parametrize(("least", "told"), [("5 mm", False), ("12 mm", True)])
def test_inner_corners_are_compared_with_the_shops(least: str, told: bool) -> None:
    found = [f for f in at(work(), jet(smallest_corner=least)).findings if f.code == "SERVICE-CORNER"]
    assert bool(found) == told
    assert not told or ("makes no less than 12 mm" in found[0].message and found[0].at_mm is not None)


@pytest.mark.parametrize(("least", "told"), [("3 mm", 0), ("20 mm", 2)])
def test_walls_are_compared_with_the_shops(least: str, told: int) -> None:
    found = [f for f in at(work(), jet(smallest_wall=least)).findings if f.code == "SERVICE-WALL"]
    assert len(found) == told
    assert all("wants 20 mm" in f.message for f in found)


def test_stock_that_is_thicker_than_every_row_is_refused() -> None:
    with pytest.raises(RequestError, match=r"jet: its file has limits for stock up to 3\.5 mm, not for 5 mm"):
        at(
            work(material__thickness="5 mm"),
            service_from({**changed("jet", {}), "limits": changed("jet", {})["limits"][:1]}, "x.toml"),
        )


@cases("quantity", [0, -1, 1000])
def test_a_quantity_that_cannot_be_is_refused(quantity: int) -> None:
    with pytest.raises(RequestError, match=f"--quantity: {quantity} is out of range. Allowed: 1 to 999"):
        at(work(), None, quantity)


@cases("name", [None, "jet", "laser", "plasma", "own-table"])
def test_the_note_says_all_that_a_shop_asks_back_for(name: str | None) -> None:
    shop = service(name) if name else None
    one = work(cutting__process=shop.process if shop else "water-jet")
    sent = at(one, shop, 7)
    text = cover_note([sent], sent_as("chef.dxf"))
    plain = " ".join(text.split())
    for fact in (
        f"chef.dxf: DXF {sent.style.release}, numbers are millimetres.", "80CrV2", "3 mm (0.118 in)", "Quantity 7.",
        "The part is {:.1f} mm long, {:.1f} mm high".format(*one.cut.size_mm), one.code,
        "2 x pin 5.1 mm: ", sent.knife.holes[0].words,
    ):  # fmt: skip
        assert fact in plain
    assert ("do not compensate again" in plain) == (name == "own-table")
    assert ("please compensate for your kerf" in plain) == (name != "own-table")
    assert ("never at the tip" in plain) == (name != "own-table")
    assert text.isascii()
    assert max(map(len, text.splitlines())) <= 80
    assert text.endswith(".\n")


def test_holes_that_are_not_in_the_file_stand_in_the_note_with_their_places() -> None:
    one = work()
    plain = " ".join(cover_note([at(one, jet({"holes.policy": "none"}))], sent_as("x.dxf")).split())
    for h in one.holes:
        assert f"({h.hole.x_mm:.1f}, {h.hole.y_mm:.1f})" in plain
    assert "not in the file; we drill. Centres in mm from the heel" in plain


def test_a_note_is_ascii_and_narrow_whatever_the_maker_called_the_knife() -> None:
    text = note_text("Käsemesser für Zoë " * 9, [NoteRow("File", "Müßig µ " * 30), NoteRow("Long", "x" * 200)], "…")
    assert text.isascii()
    assert max(map(len, text.splitlines())) <= 80


@cases(
    ("words", "said"),
    [
        (("cut", "chef", "--service", "plazma"), "Did you mean 'plasma'?"),
        (("cut", "chef", "--with", "program"), "--with program: a program needs a table"),
        (("cut", "chef", "--with", "program", "--service", "jet"), "--with program: a program needs a table"),
        (("make", "chef", "--with", "program"), "--with program: a program needs a table"),
        (("cut", "chef", "--service", "jet", "--quantity", "0"), "--quantity: 0 is out of range"),
        (("make", "chef", "--quantity", "1000"), "--quantity: 1000 is out of range"),
        (("cut", "chef", "--service", "nowhere.toml"), "nowhere.toml: there is no such service file"),
    ],
)
def test_the_line_refuses_what_cannot_be(tmp_path: Path, command, words: tuple[str, ...], said: str) -> None:  # type: ignore[no-untyped-def]
    ran = command(*words, "--out", tmp_path / "out")
    assert ran.code == 2
    assert said in ran.err
    assert not (tmp_path / "out").exists()


def test_a_service_by_relative_path(tmp_path: Path, command, monkeypatch: pytest.MonkeyPatch) -> None:  # type: ignore[no-untyped-def]
    from blankwright.base.library import templates_dir

    (tmp_path / "shops").mkdir()
    text = (templates_dir() / "services" / "jet.toml").read_text(encoding="utf-8")
    (tmp_path / "shops" / "mine.toml").write_text(text.replace('unit = "mm"', 'unit = "in"'), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    ran = command("cut", "chef", "--service", "shops/mine.toml", "--quantity", "4")
    assert (ran.code, ran.err) == (0, "")
    assert sorted(p.name for p in in_folder(Path("out/chef"))) == [
        "chef_3mm_cut_in.dxf", "chef_check_mm.pdf", "chef_note.txt",
    ]  # fmt: skip
    assert "Quantity    4." in Path("out/chef/chef_note.txt").read_text(encoding="ascii")


def test_a_program_is_written_where_it_is_asked_for(tmp_path: Path, command) -> None:  # type: ignore[no-untyped-def]
    ran = command("cut", "chef", "--service", "own-table", "--with", "program", "--out", tmp_path)
    assert ran.code == 0
    names = {p.name for p in in_folder(tmp_path / "chef")}
    assert names == {"chef_3mm_path_mm.dxf", "chef_path_mm.nc", "chef_note.txt", "chef_check_mm.pdf"}
