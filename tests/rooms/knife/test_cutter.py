"""The machine that cuts decides: allowance, holes and worst case are its own, whatever the design asks for."""

from __future__ import annotations

from pathlib import Path

import pytest

from blankwright.base.errors import DesignError, RequestError
from blankwright.design.request import BY_CUTTER, read_design
from blankwright.desk.make import make
from blankwright.knife.knife import Knife, finish
from blankwright.shop.allowance import allowance
from blankwright.shop.services import service, service_names
from blankwright.shop.tables import process
from rooms.every import cases

THICK_MM = 3.0


def knife(shop: str | None, **settings: str) -> Knife:
    changes: dict[str, object] = {key.replace("__", "."): value for key, value in settings.items()}
    return finish(read_design("chef", changes), service=service(shop) if shop else None)


def loss_mm(name: str, size_mm: float) -> float:
    found = allowance(name, thickness_mm=THICK_MM, size_mm=size_mm, material_kind="steel", overrides={})
    return found.loss_mm["edge"]


@cases("asked", ["water-jet", "plasma-table", "laser"])
@cases("shop", service_names())
def test_every_figure_is_that_of_the_cutter(shop: str, asked: str) -> None:
    one, cuts_by = knife(shop, cutting__process=asked), service(shop).process
    assert one.oversize.process == one.design.cutting.process == cuts_by
    assert one.oversize.loss_mm["edge"] == loss_mm(cuts_by, max(one.finished.size_mm))
    alike = knife(shop)
    assert one.cut.vertices.tolist() == alike.cut.vertices.tolist()
    assert [h.made for h in one.holes] == [h.made for h in alike.holes]
    told = [f.message for f in one.findings if f.code == "SERVICE"]
    assert [f"asks for {asked}, but" in text and f"cuts by {cuts_by}" in text for text in told] == (
        [] if asked == cuts_by else [True]
    )


def test_the_source_of_the_process_is_said() -> None:
    assert knife("plasma").design.sources["cutting.process"] == BY_CUTTER
    assert knife("jet", cutting__process="water-jet").design.sources["cutting.process"] == "asked"
    assert knife(None).design.by_family("cutting.process")
    assert not knife("plasma").design.by_family("cutting.process")


@cases("asked", ["trace", "saw", "plasma-hand", "oxy-fuel"])
def test_work_by_hand_is_not_sent_to_a_machine(asked: str) -> None:
    if process(asked).machine_cut:
        assert knife("jet", cutting__process=asked).oversize.process == "water-jet"
        return
    with pytest.raises(RequestError, match=rf"'{asked}' is work by hand, but water-jet service.* cuts by water-jet"):
        knife("jet", cutting__process=asked)


def test_an_own_allowance_that_is_enough_is_kept() -> None:
    one = knife("plasma", allowance__edge="2 mm")
    assert one.oversize.regions_mm["edge"] == 2.0
    assert not [f for f in one.findings if f.code in ("SERVICE", "ALLOWANCE") and f.level != "ok"]


def test_more_than_the_cutter_needs_is_told() -> None:
    (told,) = [f for f in knife("jet", allowance__edge="2.3 mm").findings if f.code == "SERVICE"]
    assert "[allowance] edge: 2.30 mm is more than water-jet needs, which is 0.70 mm" in told.message
    assert told.level == "warning"


@pytest.mark.parametrize("asked", ["water-jet", "plasma-table"])
def test_less_than_the_cutter_may_take_is_refused(tmp_path: Path, asked: str) -> None:
    """An allowance that a jet would leave room in is not enough for a flame, whichever the design names."""
    design = read_design("chef", {"cutting.process": asked, "allowance.spine": "0.65 mm"})
    with pytest.raises(DesignError, match=r"\[allowance\] spine 0\.65 mm where the cut may take 1\.63 mm"):
        make(design, tmp_path / "out", only_cut=True, service=service("plasma"))
    assert not (tmp_path / "out").exists()
