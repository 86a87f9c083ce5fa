"""SVG drawings: unit, transforms, shapes, path commands, what is hidden or only filled, and files that mean harm."""

from __future__ import annotations

import json
import math
import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import BPoly

from blankwright.inspection import budget
from blankwright.inspection.entities import read_drawing
from blankwright.inspection.sizing import WantedSize
from blankwright.inspection.verdict import Verdict, Wanted, judge
from properties.damage import cut_short, flip_bytes
from rooms.counting import calls_in
from rooms.every import cases

SOURCE = (
    "SVG 1.1 (W3C): chapters 7 coordinate systems, 8 paths, 9 basic shapes, appendix F.6 arcs; CSS Values and Units: "
    "96 px to the inch; areas in closed form, of Beziers by scipy's Bernstein polynomials"
)
PLAIN = Wanted(None, None, None)
LINE = 'fill="none" stroke="#f00"'


def svg(inside: str, *, size: str = 'width="300mm" height="100mm" viewBox="0 0 300 100"', head: str = "") -> str:
    return f'<?xml version="1.0"?>{head}<svg xmlns="http://www.w3.org/2000/svg" {size}>{inside}</svg>'


def path(d: str, more: str = LINE) -> str:
    return f'<path d="{d}" {more}/>'


def verdict_on(data: str | bytes, wanted: Wanted = PLAIN) -> Verdict:
    return judge(read_drawing(data.encode() if isinstance(data, str) else data, "x.svg"), wanted)


def told(verdict: Verdict) -> set[tuple[str, str]]:
    return {(f.code, f.level) for f in verdict.findings if f.level != "ok"}


def areas(data: str) -> list[float]:
    return [s.area_mm2 for s in verdict_on(data).shapes]


PLATE = "M10 10H210V60H10z"


@cases(
    ("size", "wide_mm", "sure"),
    [
        ('width="300mm" height="100mm" viewBox="0 0 300 100"', 200.0, True),
        ('width="30cm" height="10cm" viewBox="0 0 300 100"', 200.0, True),
        ('width="6in" height="2in" viewBox="0 0 300 100"', 200 / 300 * 152.4, True),
        ('width="216pt" viewBox="0 0 300 100"', 200 / 300 * 76.2, True),
        ('width="300mm" height="200mm" viewBox="0 0 300 100"', 200.0, True),  # meet: the smaller scale
        ('width="300" height="100"', 200 * 25.4 / 96, False),
        ('width="300px" height="100px" viewBox="0 0 300 100"', 200 * 25.4 / 96, False),
        ('viewBox="0 0 300 100"', 200 * 25.4 / 96, False),
        ('width="100%" viewBox="0 0 300 100"', 200 * 25.4 / 96, False),
    ],
)
def test_the_unit_comes_from_size_and_view_and_pixels_are_unsure(size: str, wide_mm: float, sure: bool) -> None:
    verdict = verdict_on(svg(path(PLATE), size=size))
    assert verdict.size_mm is not None
    assert verdict.size_mm[0] == pytest.approx(wide_mm, rel=1e-9)
    assert (("UNIT", "warning") in told(verdict)) is not sure
    known = WantedSize(wide_mm, wide_mm / 4, 0.1)
    assert told(verdict_on(svg(path(PLATE), size=size), Wanted(known, None, None))) == set()


@cases(
    ("shape", "area"),
    [
        ('<rect x="5" y="5" width="40" height="20" fill="none" stroke="red"/>', 800.0),
        ('<rect x="5" y="5" width="40" height="20" rx="4" fill="none" stroke="red"/>', 800 - (4 - math.pi) * 16),
        ('<rect x="5" y="5" width="40" height="20" rx="4" ry="6" fill="none" stroke="red"/>', 800 - (4 - math.pi) * 24),
        ('<circle cx="50" cy="50" r="7" fill="none" stroke="red"/>', math.pi * 49),
        ('<ellipse cx="50" cy="50" rx="20" ry="7" fill="none" stroke="red"/>', math.pi * 140),
        ('<polygon points="0,0 40,0 40,30" fill="none" stroke="red"/>', 600.0),
        ('<polyline points="0 0,40 0,40 30,0 0" fill="none" stroke="red"/>', 600.0),
        (path("M10 10h40v30l-40 0z"), 1200.0),
        (path("m10,10,40,0,0,30-40,0z"), 1200.0),
        (path("M10 10a20 20 0 1 0 40 0a20 20 0 1 0-40 0"), math.pi * 400),
        (path("M10 10A20 20 0 0150 10z"), math.pi * 200),  # flags without a blank between
        (path("M0 0A5 5 0 0 1 40 0z"), math.pi * 200),  # radii that are too small are made larger
        (path("M10 50A30 15 30 1 1 10 50.001z"), math.pi * 450),
        (path("M0 0Q20 40 40 0T80 0L80 -30H0z"), 80 * 30.0),
    ],
)
def test_shapes_and_paths_have_their_area(shape: str, area: float) -> None:
    assert areas(svg(f'<g transform="translate(60,50)">{shape}</g>'))[0] == pytest.approx(area, rel=1e-4)


@pytest.mark.filterwarnings("error")
def test_a_shape_that_is_too_far_away_is_left_out_in_words() -> None:
    verdict = verdict_on(svg(path(PLATE) + "<circle cx='1e308' cy='9' r='1e308'/>"))
    assert [s.area_mm2 for s in verdict.shapes] == pytest.approx([200 * 50])
    assert any("further away than" in f.message for f in verdict.findings if f.code == "FILE")


@cases("seed", range(4))
def test_cubic_curves_have_the_area_of_their_polynomials(seed: int) -> None:
    print("seed", seed)
    rng = np.random.default_rng(seed)
    turns = np.linspace(0, 2 * math.pi, 7)[:-1]
    knots = np.stack([100 + 60 * np.cos(turns), 50 + 30 * np.sin(turns)], axis=1)
    ends = np.roll(knots, -1, axis=0)
    out = rng.uniform(-6, 6, (6, 2))
    a, b = knots + (ends - knots) / 3 + out, ends - (ends - knots) / 3 + out
    d = f"M{knots[0, 0]!r} {knots[0, 1]!r}".replace("np.float64(", "").replace(")", "")
    d += "".join("C" + " ".join(f"{v:.17g}" for v in (*a[k], *b[k], *ends[k])) for k in range(6))
    whole = 0.0
    for k in range(6):
        x, y = (BPoly(np.array([[knots[k, i]], [a[k, i]], [b[k, i]], [ends[k, i]]]), [0, 1]) for i in (0, 1))
        t, w = np.polynomial.legendre.leggauss(6)
        t = (t + 1) / 2
        whole += float((w / 2 * (x(t) * y.derivative()(t) - y(t) * x.derivative()(t))).sum()) / 2
    (found,) = areas(svg(path(d + "z")))
    assert found == pytest.approx(abs(whole), rel=1e-5)


@cases(
    ("transform", "factor"),
    [("translate(3 4)", 1), ("rotate(30)", 1), ("rotate(30 50 50)", 1), ("scale(2)", 4), ("scale(2,-1)", 2),
     ("matrix(1 2 0 1 5 5)", 1), ("skewX(20)", 1), ("scale(2) rotate(10) translate(-5)", 4)],
)  # fmt: skip
def test_transforms_scale_areas_by_their_determinant(transform: str, factor: float) -> None:
    shapes = f'<g transform="{transform}"><circle cx="20" cy="20" r="9" {LINE}/></g>'
    assert areas(svg(shapes))[0] == pytest.approx(math.pi * 81 * factor, rel=1e-4)


def test_a_round_hole_stays_a_circle_and_y_goes_up() -> None:
    shape = verdict_on(svg('<circle cx="20" cy="30" r="9" fill="none" stroke="red"/>')).shapes[0]
    assert (shape.run.drawn, shape.centre_mm) == (1, pytest.approx((20, 70)))


def test_copies_and_views_are_placed() -> None:
    """SVG 1.1, 5.6 (use) and 7.7 (viewBox of an inner svg): each copy where it belongs."""
    defs = '<defs><rect id="a" width="10" height="5" fill="none" stroke="red"/></defs>'
    symbol = '<symbol id="s" viewBox="0 0 10 10"><rect width="10" height="10" fill="none" stroke="red"/></symbol>'
    inside = defs + symbol + '<use href="#a" x="20" y="10"/><use href="#s" x="100" y="10" width="40" height="20"/>'
    verdict = verdict_on(svg(inside))
    boxes = sorted((*map(float, s.low), *map(float, s.high)) for s in verdict.shapes)
    assert boxes[0] == pytest.approx((20, 85, 30, 90))
    assert boxes[1] == pytest.approx((110, 70, 130, 90))  # xMidYMid meet: 20 wide in the middle of 40
    assert ("CONTENT", "warning") in told(verdict)


@cases(
    "hidden",
    ['display="none"', 'style="display:none"', 'visibility="hidden"', 'class="gone"', 'opacity="0"', 'stroke="none"',
     'id="gone"'],
)  # fmt: skip
def test_what_is_not_shown_is_not_cut_and_told(hidden: str) -> None:
    style = "<style>/* x */ .gone, #gone { display: none } @import url('http://example.org/a.css');</style>"
    more = hidden if "stroke" in hidden else f'stroke="red" {hidden}'
    verdict = verdict_on(svg(f'{style}{path(PLATE)}<circle cx="50" cy="30" r="4" fill="none" {more}/>'))
    assert len(verdict.runs) == 1
    assert ("LAYERS", "error") in told(verdict)


def test_fills_text_dashes_and_clips_are_told() -> None:
    filled = verdict_on(svg(path(PLATE, "")))
    assert told(filled) == {("HATCH", "warning")}
    assert told(verdict_on(svg(path(PLATE) + '<text x="5" y="5">210</text>'))) == {("TEXT", "error")}
    dashed = verdict_on(svg(path(PLATE, f'{LINE} stroke-dasharray="2 1"')))
    assert told(dashed) == {("CONTENT", "warning")}
    clip = '<clipPath id="c"><rect width="9" height="9"/></clipPath>'
    clipped = verdict_on(svg(clip + path(PLATE, f'{LINE} clip-path="url(#c)"')))
    assert told(clipped) == {("CONTENT", "warning")}
    assert len(clipped.runs) == 1, "the clip itself is no contour"


def test_layers_and_colours_say_what_is_cut(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable) -> None:  # type: ignore[type-arg]
    monkeypatch.chdir(tmp_path)
    etched = '<g id="Engraving"><path d="M20 20h30" fill="none" stroke="blue"/></g>'
    Path("x.svg").write_text(svg(path(PLATE) + etched))
    report = json.loads(command("inspect", "x.svg", "--json").out)
    assert [(r["name"], r["colour"], r["role"]) for r in report["layers"]] == [
        ("0", "#ff0000", "cut"), ("Engraving", "#0000ff", "mark"),
    ]  # fmt: skip
    assert (report["release"], report["unit"], report["verdict"]) == ("SVG", "mm", "warning")
    asked = command("inspect", "x.svg", "--mark-colour", "#0000ff")
    assert asked.out.startswith("inspect x.svg: fit to cut")


def test_parts_of_a_path_that_has_lines_and_curves_are_one_contour() -> None:
    verdict = verdict_on(svg(path("M10 10H100C120 10 120 50 100 50H10zM10 50V60H30V50z")))
    assert [r.closed for r in verdict.runs] == [True, True]
    assert ("JOINT", "error") not in told(verdict), "two subpaths may touch"


def test_an_svg_is_mended_into_a_dxf(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: Callable) -> None:  # type: ignore[type-arg]
    monkeypatch.chdir(tmp_path)
    hole = f'<circle cx="30" cy="25" r="3" {LINE}/>'
    Path("x.svg").write_text(svg(path("M10 10H200C220 10 220 40 200 40H10z") + hole))
    before = json.loads(command("inspect", "x.svg", "--mend", "y.dxf", "--json").out)
    after = json.loads(command("inspect", "y.dxf", "--json").out)
    assert (after["verdict"], after["unit"]) == ("ok", "mm")
    assert after["parts"][0]["area_mm2"] == pytest.approx(before["parts"][0]["area_mm2"], rel=1e-6)


LAUGHS = "".join(f'<!ENTITY l{k} "{f"&l{k - 1};" * 10}">' for k in range(1, 10))
HARMFUL = {
    "entities in entities": svg(path(PLATE) + "<desc>&l9;</desc>", head=f'<!DOCTYPE svg [<!ENTITY l0 "ha">{LAUGHS}]>'),
    "an entity of another file": svg(
        path(PLATE) + "&x;", head='<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    ),
    "a long entity many times": svg(
        path(PLATE) + "<desc>" + "&x;" * 9000 + "</desc>", head=f'<!DOCTYPE svg [<!ENTITY x "{"y" * 499}">]>'
    ),
    "a copy of another file": svg(path(PLATE) + '<use href="other.svg#a"/>'),
    "a copy in itself": svg('<g id="a"><use href="#a"/></g>'),
    "too deep": svg("<g>" * 2000 + "</g>" * 2000),
    "cut short": svg(path(PLATE))[:-20],
    "no name space": "<svg><path d='M0 0h9v9z'/></svg>",
    "an unknown encoding": '<?xml version="1.0" encoding="x-y"?><svg xmlns="http://www.w3.org/2000/svg"/>',
    "a path that breaks off": svg(path("M10 10H200V40L")),
    "a transform that is none": svg(f'<g transform="turn(3)">{path(PLATE)}</g>'),
    "numbers beyond all use": svg(path("M1e300 0h9v9z")),
}


@cases("name", HARMFUL)
def test_what_means_harm_or_is_broken_is_a_fault(name: str) -> None:
    verdict = verdict_on(HARMFUL[name])
    assert ("FILE", "error") in told(verdict), told(verdict)


def test_plain_entities_and_a_named_doctype_are_taken() -> None:
    named = '"-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"'
    head = f'<!DOCTYPE svg PUBLIC {named} [<!ENTITY red "#f00">]>'
    verdict = verdict_on(svg(path(PLATE, 'fill="none" stroke="&red;"'), head=head))
    assert told(verdict) == set()
    assert verdict.lines.uses[0].colour == "#ff0000"


def test_copies_of_copies_end_with_the_budget(monkeypatch: pytest.MonkeyPatch) -> None:
    groups = "".join(f'<g id="g{k}">{f"""<use href="#g{k + 1}"/>""" * 40}</g>' for k in range(7))  # 40 to the seventh
    data = svg(f'<defs>{groups}<path id="g7" d="{PLATE}" {LINE}/></defs><use href="#g0"/>')
    monkeypatch.setattr(budget, "WHOLE", budget.WHOLE / 10)
    verdicts: list[Verdict] = []
    calls = calls_in(lambda: verdicts.append(verdict_on(data)))
    print(f"{calls / 1e6:.1f} million calls for a tenth of the budget")
    assert calls < 2e6
    assert ("FILE", "error") in told(verdicts[0])


def test_elements_that_svg_does_not_know_are_not_drawn() -> None:
    assert (
        told(verdict_on(svg(path(PLATE) + "<comment>x</comment><donkey><rect width='9' height='9'/></donkey>")))
        == set()
    )


def test_damaged_drawings_get_a_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    print("seed 17")
    monkeypatch.setattr(budget, "WHOLE", budget.WHOLE / 20)
    rng = random.Random(17)
    style = "<style>.a{stroke:red;fill:none}</style>"
    shapes = '<circle class="a" cx="30" cy="30" r="4"/><rect class="a" x="60" y="20" width="9" height="5" rx="2"/>'
    outline = path("M10 10H200C220 10 220 40 200 40A9 5 3 0 1 190 44Q9 9 9 9z")
    group = f'<g transform="rotate(3) translate(1,2)" id="g">{outline}{shapes}</g>'
    whole = svg(f'{style}{group}<use href="#g" x="5"/>')
    for number in range(250):
        data = rng.choice((flip_bytes, cut_short, flip_letters))(whole.encode(), rng)
        assert verdict_on(data or b"<").findings, f"seed 17, file {number}"


def flip_letters(data: bytes, rng: random.Random) -> bytes:
    """Change numbers and letters of attributes, so that the file stays XML."""
    out = bytearray(data)
    places = [k for k, c in enumerate(out) if chr(c).isalnum()]
    for k in rng.sample(places, 6):
        out[k] = ord(rng.choice("0123456789-eEMzCaA. %"))
    return bytes(out)


def test_entities_are_refused_where_they_are_declared_not_where_they_unfold() -> None:
    unused = HARMFUL["entities in entities"].replace("&l9;", "")
    (fault,) = [f for f in verdict_on(unused).findings if f.code == "FILE"]
    assert "entities that unfold" in fault.message
