"""The reader against hand-written files, and its limits on files from anywhere."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from blankwright.base.errors import BlankwrightError, ProofError, RequestError
from blankwright.proof import reader, tags
from rooms.counting import calls_in
from rooms.every import cases, every
from rooms.proof import plain_dxf as plain


def read(entities: str, **changes: object) -> reader.CutDrawing:
    changes.setdefault("box", (0, 0, 1, 1))
    return reader.parse_dxf(plain.document(entities, **changes), "test.dxf")  # type: ignore[arg-type]


def test_a_sound_file_is_read_whole() -> None:
    drawing = reader.parse_dxf(plain.good(), "sound.dxf")
    assert (drawing.release, drawing.insunits, drawing.measurement, drawing.unit_mm) == ("AC1015", 4, 1, 1.0)
    assert drawing.layers == ("0", "CUT", "DRILL")
    (contour,) = drawing.contours
    assert contour.closed
    assert np.array_equal(contour.vertices, plain.cut_vertices())
    assert [(c.x, c.y, c.diameter) for c in drawing.circles] == [(-40, 12, 5.1), (-90, 10, 4.85)]
    assert [(p.x, p.y) for p in drawing.points] == [(-65, 11)]
    assert drawing.others == drawing.in_blocks == drawing.mirrored == drawing.hidden_layers == ()


def test_old_polyline_equals_the_light_one() -> None:
    drawing = read(plain.polyline(plain.cut_vertices()))
    assert np.array_equal(drawing.contours[0].vertices, plain.cut_vertices())
    assert drawing.contours[0].closed


def test_arc_and_line_become_open_chains() -> None:
    """A quarter turn has tan(90 deg / 4) = 0.41421356 (DXF reference, code 42)."""
    drawing = read(
        plain.tags(0, "ARC", 8, "CUT", 10, 5, 20, 1, 40, 2, 50, 350, 51, 80)
        + plain.tags(0, "LINE", 8, "CUT", 10, 0, 20, 1, 11, 2, 21, 3)
    )
    arc, line = drawing.contours
    assert arc.vertices[0, 2] == pytest.approx(math.sqrt(2) - 1, abs=1e-15)
    assert arc.vertices[0, :2] == pytest.approx(
        [5 + 2 * math.cos(math.radians(350)), 1 + 2 * math.sin(math.radians(350))]
    )
    assert not arc.closed
    assert line.vertices.tolist() == [[0, 1, 0], [2, 3, 0]]


def test_negative_extrusion_turns_x_round() -> None:
    """Arbitrary axis algorithm of the DXF reference: for 0, 0, -1 the x axis is -1, 0, 0 and y stays."""
    below = plain.tags(210, 0, 220, 0, 230, -1)
    drawing = read(
        plain.lwpolyline(np.array([[1.0, 0, 0.5], [3, 0, 0], [3, 2, 0]]), extra=below)
        + plain.circle(4, 5, 2)[: -len("40\n1.0\n")] + plain.tags(40, 1) + below
        + plain.tags(0, "ARC", 8, "CUT", 10, 5, 20, 0, 40, 1, 50, 0, 51, 90) + below
        + plain.tags(0, "LINE", 8, "CUT", 10, 1, 20, 0, 11, 2, 21, 0) + below
    )  # fmt: skip
    assert drawing.contours[0].vertices.tolist() == [[-1, 0, -0.5], [-3, 0, 0], [-3, 2, 0]]
    assert drawing.circles[0].x == -4
    assert drawing.contours[1].vertices[:, :2] == pytest.approx(np.array([[-6, 0], [-5, 1]]))
    assert drawing.contours[2].vertices[0, 0] == 1  # a LINE is in world coordinates
    assert [kind for kind, _ in drawing.mirrored] == ["LWPOLYLINE", "CIRCLE", "ARC"]


@cases(
    ("text", "name"),
    [
        (plain.tags(0, "SPLINE", 8, "CUT", 70, 8, 10, 0, 20, 0), "SPLINE"),
        (plain.tags(0, "TEXT", 8, "NOTES", 1, "blank 1"), "TEXT"),
        (plain.tags(0, "INSERT", 8, "CUT", 2, "PART"), "INSERT"),
        (plain.tags(0, "ELLIPSE", 8, "CUT"), "ELLIPSE"),
        (plain.polyline(np.zeros((3, 3)), flags=1 | 4), "POLYLINE (fitted curve, mesh or in space)"),
        (plain.circle(0, 0, 1) + plain.tags(67, 1), "CIRCLE (on a paper layout or invisible)"),
        (plain.circle(0, 0, 1) + plain.tags(210, 1, 220, 0, 230, 0), "CIRCLE (tilted plane)"),
        (plain.tags(0, "ARC", 8, "CUT", 10, 0, 20, 0, 40, 1, 50, 0, 51, 360), "ARC (full turn)"),
    ],
)
def test_what_is_not_plain_is_listed(text: str, name: str) -> None:
    drawing = read(text)
    assert [kind for kind, _ in drawing.others] == [name]
    assert not drawing.contours


def test_blocks_are_listed_not_drawn() -> None:
    block = plain.tags(0, "BLOCK", 2, "PART") + plain.circle(0, 0, 5) + plain.tags(0, "ENDBLK")
    drawing = read("", blocks=block)
    assert drawing.in_blocks == (("CIRCLE", "CUT"),)
    assert not drawing.circles


@cases(
    ("insunits", "mm"),
    [
        (1, 25.4),
        (2, 304.8),
        (4, 1),
        (5, 10),
        (6, 1000),
        (9, 0.0254),
        (10, 914.4),
        (13, 0.001),
        (14, 100),
        (0, None),
    ],
)
def test_units_of_the_open_reference(insunits: int, mm: float | None) -> None:
    """$INSUNITS as in the DXF reference; lengths by definition of the international inch and yard."""
    assert read("", insunits=insunits).unit_mm == mm


def test_unset_extents_and_hidden_layers() -> None:
    assert read("", box=(1e20, 1e20, -1e20, -1e20)).extents is None
    assert read("", box=None).extents is None
    assert read("", layer_flags=1).hidden_layers == ("0", "CUT", "DRILL")


@cases("eol", ["\n", "\r\n", "\r"])
def test_line_ends_and_padding(eol: str) -> None:
    text = plain.good().replace("10\n", "  10\n").replace("\n", eol)
    assert len(reader.parse_dxf("\ufeff" + text + eol + "\x1a", "x.dxf").contours) == 1


@cases(
    ("old", "new", "said"),
    [
        ("70\n4\n", "70\nfour\n", "whole number"),
        ("10\n-40.0\n", "10\nnan\n", "needs a number"),
        ("10\n-40.0\n", "10\ninf\n", "needs a number"),
        ("10\n-40.0\n", "10\n1_0\n", "needs a number"),
        ("10\n-40.0\n", "10\n" + "9" * 5000 + "\n", "needs a number"),
        ("10\n-40.0\n", "10\n1e300\n", "larger than anything to be cut"),
        ("10\n-40.0\n", "", "no group code 10"),
        ("40\n2.55\n", "40\n0\n", "radius"),
        ("40\n2.55\n", "40\n-1\n", "radius"),
        ("90\n10\n", "90\n11\n", "says 11 vertices and has 10"),
        ("0\nENDSEC\n0\nEOF\n", "0\nEOF\n", "ends inside the section ENTITIES"),
        ("0\nEOF\n", "", "end mark is missing"),
        ("0\nEOF\n", "0\nEOF\n0\nLINE\n", "goes on after"),
        ("0\nENDSEC\n", "", "begins inside"),
        ("0\nSECTION\n2\nHEADER\n", "", "begins with group code 0"),
        ("0\nSECTION\n2\nENTITIES\n", "", "outside of any section"),
        ("0\nCIRCLE\n", "0\nVERTEX\n", "without a POLYLINE"),
        ("0\nCIRCLE\n", "0\nPOLYLINE\n", "without its SEQEND"),
        ("8\nCUT\n", "eight\nCUT\n", "expected a group code"),
        ("0\nEOF\n", "0\n", "no value"),
    ],
)
def test_damage_is_named_with_its_line(old: str, new: str, said: str) -> None:
    text = plain.good()
    assert old in text
    with pytest.raises(ProofError, match=said) as caught:
        reader.parse_dxf(text.replace(old, new), "hurt.dxf")
    assert "hurt.dxf" in str(caught.value)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("drop", ["20\n", "10\n"])
def test_a_vertex_without_its_twin(drop: str) -> None:
    text = plain.lwpolyline(np.array([[1.0, 2, 0], [3, 4, 0], [5, 6, 0]]))
    gone = {"20\n": "20\n4.0\n", "10\n": "10\n3.0\n"}[drop]
    with pytest.raises(ProofError, match="LWPOLYLINE"):
        read(text.replace(gone, ""))


@pytest.mark.parametrize("count", [0, 1])
def test_a_contour_needs_two_vertices(count: int) -> None:
    with pytest.raises(ProofError, match="at least two"):
        read(plain.lwpolyline(np.zeros((count, 3))))


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    with pytest.raises(RequestError, match="cannot be read"):
        reader.read_dxf(tmp_path / "none.dxf")
    with pytest.raises(RequestError, match="cannot be read"):
        reader.read_dxf(tmp_path)


@cases(
    "data",
    [
        b"",
        b"\n\n\n",
        b"\x00\x01binary",
        "0\nSECTION\n".encode("utf-16"),
        b"\xff\xfe\xfa" * 50,
        b"0\nEOF",
        b"%PDF-1.4",
    ],
)
def test_files_that_are_no_dxf(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "odd.dxf"
    path.write_bytes(data)
    if data == b"0\nEOF":
        assert reader.read_dxf(path).contours == ()
        return
    with pytest.raises(ProofError):
        reader.read_dxf(path)


def test_code_pages_and_utf8(tmp_path: Path) -> None:
    text = plain.document(plain.circle(0, 0, 1, "Größe"), box=(0, 0, 1, 1), layers=("Größe",))
    for encoding in ("utf-8", "latin-1", "utf-8-sig"):
        path = tmp_path / f"{encoding}.dxf"
        path.write_bytes(text.encode(encoding))
        assert reader.read_dxf(path).circles[0].layer == "Größe"


def test_limits_hold(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(reader, "MAX_ENTITIES", 10)
    with pytest.raises(ProofError, match="more than 10 entities"):
        read(plain.point(0, 0) * 11)
    monkeypatch.setattr(reader, "MAX_VERTICES", 10)
    with pytest.raises(ProofError, match="more than 10 vertices"):
        read(plain.lwpolyline(np.zeros((11, 3))))
    monkeypatch.setattr(tags, "MAX_LINES", 10)
    with pytest.raises(ProofError, match="more than 10 lines"):
        read("")
    monkeypatch.setattr(reader, "MAX_BYTES", 10)
    path = tmp_path / "big.dxf"
    path.write_bytes(b"0\n" * 10)
    with pytest.raises(ProofError, match="larger than"):
        reader.read_dxf(path)


def test_work_grows_with_size_only() -> None:
    """Four times the vertices in four times the calls; quadratic work would need sixteen."""

    def calls(count: int) -> int:
        angle = np.linspace(0, 6, count)
        text = plain.document(
            plain.lwpolyline(np.column_stack([np.cos(angle), np.sin(angle), 0 * angle])), box=(0, 0, 1, 1)
        )
        return calls_in(lambda: reader.parse_dxf(text, "long.dxf"))

    assert 2_000 < calls(8_000) < 4.5 * calls(2_000)


def mutated(text: str, rng: np.random.Generator) -> str:
    """Change a file at random: lines lost, doubled, swapped, rewritten; characters altered; cut short."""
    lines = text.split("\n")
    for _ in range(int(rng.integers(1, 5))):
        i, j = (int(v) for v in rng.integers(0, len(lines), 2))
        kind = int(rng.integers(0, 7))
        if kind == 0:
            del lines[i]
        elif kind == 1:
            lines.insert(i, lines[j])
        elif kind == 2:
            lines[i], lines[j] = lines[j], lines[i]
        elif kind == 3:
            lines[i] = str(
                rng.choice(["nan", "-inf", "1e308", "-1e9", "0", "10", "42", "", "é", "1e-320", "1e9", "LINE"])
            )
        elif kind == 4:
            at = int(rng.integers(0, len(lines[i]) + 1))
            lines[i] = lines[i][:at] + chr(int(rng.integers(32, 300))) + lines[i][at + 1 :]
        elif kind == 5:
            lines = lines[: max(1, i)] if rng.random() < 0.2 else lines
        else:
            lines[i:j] = lines[i:j] * 2 if i < j else []
        lines = lines or ["0"]
    return "\n".join(lines)


@every(range(300))
def test_random_damage_gives_findings_or_our_errors(seed: int) -> None:
    from blankwright.proof.proof import prove

    text = mutated(plain.good(), np.random.default_rng(seed))
    try:
        proof = prove(reader.parse_dxf(text, "mutated.dxf"), plain.expected())
    except BlankwrightError as error:
        assert isinstance(error, ProofError)
        return
    if proof.ok:  # the damage must not have changed anything that is cut
        assert proof.least_mm == pytest.approx(1.0, abs=1e-3)
        assert len(proof.findings) > 10
