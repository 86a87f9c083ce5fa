"""Marks on the blank: where they stand, what is refused, and that the cut is the same with and without them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ezdxf
import ezdxf.path
import numpy as np
import pytest
import shapely

from blankwright.base.errors import ProofError, RequestError
from blankwright.cutting.dxf import dxf_text
from blankwright.cutting.etch import Etched, blade_marks, may_mark
from blankwright.design.request import Design, read_design
from blankwright.desk import make as making
from blankwright.desk.make import make
from blankwright.desk.ownmark import own_mark
from blankwright.geometry.chain import Chain, straight
from blankwright.knife.knife import Knife, finish
from blankwright.shop.services import Service, service, service_from, service_names
from blankwright.shop.tables import processes
from rooms.every import cases, every
from truth.services_by_hand import changed

Command = Callable[..., "object"]

MARK = {"mark.text": "GALLEY", "mark.height": "2 mm"}
LASER = {"cutting.process": "laser"}
WALL_MM, EDGE_MM = 2.0, 1.0
"""A mark keeps a hole's least wall from the edge, and every other mark 1 mm: common practice, no source."""


def design(family: str = "chef", **more: object) -> Design:
    return read_design(family, {**LASER, **MARK, **{key.replace("__", "."): v for key, v in more.items()}})


def finished(knife: Knife) -> shapely.Polygon:
    return shapely.Polygon(knife.finished.flattened(0.0005))


def lines(chains: tuple[Chain, ...]) -> shapely.MultiLineString:
    return shapely.MultiLineString([chain.flattened(0.001) for chain in chains])


def marks_of(knife: Knife) -> Etched:
    return blade_marks(knife, own_mark(knife.design))


def own(knife: Knife) -> shapely.MultiLineString:
    """Return the maker's own mark: what is there more than without it."""
    plain = replace(knife.design, settings={k: v for k, v in knife.design.settings.items() if k[:5] != "mark."})
    other = {c.vertices.tobytes() for c in marks_of(finish(plain)).chains}
    code = knife.code
    assert code  # its letters differ, for the design does; they stand behind the handle's front
    chains = [c for c in marks_of(knife).chains if c.vertices.tobytes() not in other]
    return lines(tuple(c for c in chains if c.vertices[:, 0].min() > knife.shape.front_x_mm))


@every(("paring", "utility", "chef"))
def test_marks_keep_inside_the_finished_outline_and_off_the_holes(family: str) -> None:
    knife = finish(design(family, mark__height="1.2 mm", grind__ricasso="8 mm", grind__height="15 mm"))
    shape, drawn = finished(knife), lines(marks_of(knife).chains)
    assert shape.contains(drawn)
    assert shape.exterior.distance(drawn) >= EDGE_MM - 1e-3
    for hole in knife.holes:
        rim = shapely.Point(hole.hole.x_mm, hole.hole.y_mm).buffer(hole.hole.diameter_mm / 2, quad_segs=64)
        if hole.made.made_by != "drill":
            assert rim.distance(drawn) >= 0.99


def test_the_maker_s_mark_stands_on_the_flat_a_wall_from_the_edge_and_behind_the_grind() -> None:
    knife = finish(design(grind__ricasso="6 mm", grind__height="30 mm"))
    mark = own(knife)
    assert finished(knife).exterior.distance(mark) >= WALL_MM - 1e-3
    x0, _, x1, _ = mark.bounds
    assert x0 > knife.shape.front_x_mm
    assert x1 < 6


def test_the_code_stands_under_the_handle() -> None:
    knife = finish(read_design("chef", LASER))
    behind = [c for c in marks_of(knife).chains if c.vertices[:, 0].max() < knife.shape.front_x_mm - 4]
    assert len(behind) >= 8  # a code has eight letters and a hyphen
    assert any(knife.code in line.text() for line in marks_of(knife).lines)


def test_a_mark_by_hand_stands_where_it_is_asked_and_reads_across_when_asked() -> None:
    along = own(finish(design(mark__at=["-7 mm", "38 mm"], mark__height="1.5 mm")))
    across = own(finish(design(mark__at=["-7 mm", "36 mm"], mark__height="1.5 mm", mark__reads="across")))
    for mark, y in ((along, 38.0), (across, 36.0)):
        x0, y0, x1, y1 = mark.bounds
        assert ((x0 + x1) / 2, (y0 + y1) / 2) == pytest.approx((-7, y), abs=0.01)
    wide, high = (along.bounds[2] - along.bounds[0], across.bounds[3] - across.bounds[1])
    assert wide == pytest.approx(high, abs=0.01)


@cases(
    ("more", "words"),
    [
        ({"mark__height": "12 mm"}, "has no room on the flat"),
        ({"mark__at": ["-7 mm", "45.5 mm"]}, "from the edge; it must keep 2 mm"),
        ({"mark__at": ["60 mm", "20 mm"]}, "ground away"),
        ({"mark__at": ["-38 mm", "35 mm"]}, "from the hole"),
        ({"mark__at": ["-300 mm", "35 mm"]}, "does not lie on the blank"),
        ({"mark__text": "ЖЖ"}, "not among the single-line letters"),
        ({"mark__file": "mark.svg"}, "give one of both"),
    ],
)
def test_a_mark_that_does_not_fit_is_refused_and_says_why(more: dict[str, object], words: str) -> None:
    with pytest.raises(RequestError, match="mark") as told:
        marks_of(finish(design(**more)))
    assert words in str(told.value)


def test_a_mark_needs_its_height() -> None:
    bare = read_design("chef", {**LASER, "mark.text": "GALLEY"})
    with pytest.raises(RequestError, match=r"\[mark\] height is missing"):
        marks_of(finish(bare))


def test_a_drawing_beside_the_design_file_is_taken(tmp_path: Path) -> None:
    (tmp_path / "m.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg"><circle cx="5" cy="5" r="5"/></svg>', encoding="utf-8"
    )
    file = tmp_path / "knife.toml"
    file.write_text('name = "x"\nfamily = "chef"\n[mark]\nfile = "m.svg"\nheight = "5 mm"\n', encoding="utf-8")
    mark = own(finish(read_design(file, LASER)))
    assert mark.bounds[3] - mark.bounds[1] == pytest.approx(5, abs=1e-3)
    assert mark.length == pytest.approx(np.pi * 5, rel=1e-3)


def test_centre_marks_lie_inside_the_holes_that_are_drilled() -> None:
    """Laser-cut holes below one thickness are drilled (cutting services' guides); their crosses go with the drill."""
    knife = finish(
        read_design("chef", {**LASER, "material.thickness": "5 mm", "pins.diameter": "4 mm", "mark.lines": "left out"})
    )
    drilled = [h.hole for h in knife.holes if h.made.made_by == "drill"]
    assert drilled
    chains = marks_of(knife).chains
    for hole in drilled:
        crosses = [c for c in chains if np.hypot(*(c.vertices[:, :2].mean(axis=0) - (hole.x_mm, hole.y_mm))) < 1e-6]
        assert len(crosses) == 2
        for cross in crosses:
            assert np.hypot(*(cross.vertices[:, :2] - (hole.x_mm, hole.y_mm)).T).max() < 0.4 * hole.diameter_mm


def test_bench_lines_are_the_knife_s_own_and_can_be_left_out() -> None:
    with_lines = finish(design(grind__ricasso="6 mm", grind__height="30 mm"))
    without = finish(design(grind__ricasso="6 mm", grind__height="30 mm", mark__lines="left out"))
    ahead = [c for c in marks_of(with_lines).chains if c.vertices[:, 0].max() > 20]
    assert ahead
    true = shapely.MultiLineString([c.flattened(0.001) for c in with_lines.face.chains])
    for chain in ahead:
        assert true.hausdorff_distance(true.intersection(shapely.LineString(chain.flattened(0.01)).buffer(0.02))) >= 0
        assert shapely.distance(true, shapely.points(chain.flattened(0.01))).max() < 0.03
    assert not [c for c in marks_of(without).chains if c.vertices[:, 0].max() > 20]


# Who can mark -------------------------------------------------------------------------------------------------


def test_only_what_can_mark_may_mark() -> None:
    """Of the ways in the table a laser alone marks without cutting through (common practice, no source)."""
    assert [p.name for p in processes() if p.marks] == ["laser"]
    assert [name for name in service_names() if service(name).marking == "etch"] == ["laser"]
    for process in processes():
        if "steel" in process.materials:
            knife = finish(read_design("chef", {"cutting.process": process.name, "material.thickness": "4 mm"}))
            assert (may_mark(knife) is None) == (process.name == "laser"), process.name


def test_a_shop_that_is_not_said_to_mark_is_refused(tmp_path: Path, command: Command) -> None:
    for shop in ("jet", "plasma", "own-table"):
        ran = command("cut", "chef", "--service", shop, "--with", "marks", "--out", tmp_path)
        assert ran.code == 2
        assert "not said to mark" in ran.err
    assert not list(tmp_path.rglob("*.dxf"))


def test_a_service_s_etch_layer_is_none_of_the_others() -> None:
    with pytest.raises(RequestError, match="etch_layer"):
        service_from(changed("laser", {"file.etch_layer": "CUT"}), "x.toml")
    with pytest.raises(RequestError, match="marking"):
        service_from(changed("laser", {"file.marking": "yes"}), "x.toml")


# The file -----------------------------------------------------------------------------------------------------


def by_layer(path: Path) -> dict[str, list[str]]:
    """Return what lies on each layer, as ezdxf reads it: kind and points."""
    out: dict[str, list[str]] = {}
    for e in ezdxf.readfile(path).modelspace():
        if e.dxftype() == "POINT":
            points = [(round(e.dxf.location.x, 9), round(e.dxf.location.y, 9))]
        else:
            points = [(round(v.x, 9), round(v.y, 9)) for v in ezdxf.path.make_path(e).flattening(0.01)]
        out.setdefault(e.dxf.layer, []).append(f"{e.dxftype()} {points}")
    return out


SHOPS: dict[str, Service | None] = {
    "plain": None,
    "laser": service("laser"),
    "old, single pieces": service_from(
        changed("laser", {"file.release": "R12", "file.contours": "exploded", "file.etch_layer": "MARKING"}), "x.toml"
    ),
    "inches, layer 3": service_from(changed("laser", {"file.unit": "in", "file.etch_layer": "3"}), "x.toml"),
    "chords": service_from(changed("laser", {"file.curves": "chords", "file.deviation": "0.02 mm"}), "x.toml"),
}


@every(sorted(SHOPS))
def test_the_cut_and_its_proof_are_the_same_with_marks_and_without(name: str) -> None:
    import tempfile

    shop = SHOPS[name]
    with tempfile.TemporaryDirectory() as folder:
        knife = design(grind__ricasso="6 mm")
        plain = make(knife, Path(folder) / "plain", only_cut=True, service=shop)
        marked = make(knife, Path(folder) / "marked", ("marks",), only_cut=True, service=shop)
        file = plain.report["files"][0]
        one, other = (by_layer(made.folder / file) for made in (plain, marked))
        layer = shop.etch_layer if shop else "ETCH"
        assert layer in other
        assert {k: v for k, v in other.items() if k != layer} == one
        assert {text.split()[0] for text in other[layer]} <= {"LWPOLYLINE", "POLYLINE", "LINE", "ARC"}
        assert marked.proof is not None
        assert plain.proof is not None
        rest = [f for f in marked.proof.findings if f.code not in ("MARKS", "LAYERS")]
        assert rest == [f for f in plain.proof.findings if f.code != "LAYERS"]
        assert [f.level for f in marked.proof.findings if f.code == "MARKS"] == ["ok"]


def test_marks_are_off_by_default_and_said_to_shop_and_maker(tmp_path: Path, command: Command) -> None:
    file = tmp_path / "g.toml"
    file.write_text('name = "g"\nfamily = "chef"\n[mark]\ntext = "GALLEY"\nheight = "2 mm"\n', encoding="utf-8")
    assert command("make", file, "--process", "laser", "--out", tmp_path).code == 0
    assert set(by_layer(tmp_path / "g" / "g_cut_mm.dxf")) == {"CUT"}
    ran = command("make", file, "--process", "laser", "--with", "marks", "--out", tmp_path)
    assert "Maker's mark" in ran.out
    assert set(by_layer(tmp_path / "g" / "g_cut_mm.dxf")) == {"CUT", "ETCH"}
    assert "ETCH  mark  lines to mark, not to cut through" in (tmp_path / "g" / "g_note.txt").read_text(
        encoding="utf-8"
    )
    report = json.loads((tmp_path / "g" / "g.json").read_text(encoding="utf-8"))
    assert any("Maker's mark" in words for words in report["marks"])


SPOILED = {
    "beside the blank": straight((0.0, -5.0), (10.0, -5.0)),
    "over the edge": straight((20.0, 5.0), (20.0, -5.0)),
    "too near the edge": straight((20.0, 0.5), (40.0, 0.5)),
    "through a pin hole": straight((-45.0, 35.4), (-30.0, 35.4)),
}


@pytest.mark.parametrize("what", sorted(SPOILED))
def test_a_mark_in_the_wrong_place_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, what: str) -> None:
    def with_mark(content: object) -> str:
        return dxf_text(replace(content, etch=(*content.etch, SPOILED[what])))  # type: ignore[attr-defined, type-var]

    monkeypatch.setattr(making, "dxf_text", with_mark)
    with pytest.raises(ProofError, match="MARKS"):
        make(design(), tmp_path, ("marks",), only_cut=True)
    assert not list(tmp_path.rglob("*.dxf"))


def test_a_mark_on_the_cut_layer_leaves_no_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def on_cut(content: object) -> str:
        return dxf_text(replace(content, strokes=content.etch[:1], etch=content.etch[1:]))  # type: ignore[attr-defined, type-var]

    monkeypatch.setattr(making, "dxf_text", on_cut)
    with pytest.raises(ProofError, match="does not prove right"):
        make(design(), tmp_path, ("marks",), only_cut=True)


def test_marks_without_the_word_would_be_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def more(content: object) -> str:
        return dxf_text(replace(content, etch=(straight((20.0, 20.0), (30.0, 20.0)),)))  # type: ignore[type-var]

    monkeypatch.setattr(making, "dxf_text", more)
    with pytest.raises(ProofError, match="CONTENT"):
        make(design(), tmp_path, only_cut=True)
