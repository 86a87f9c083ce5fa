"""The printed frame: its markers are those of the library that reads them, where the layout says, at true size."""

import io

import cv2
import numpy as np
import pypdf
import pypdfium2
import pytest

from blankwright.base.errors import RequestError
from blankwright.ink.papers import paper, papers
from blankwright.lift.frame import MARKER_MM, SIDES, WHITE_MM, Laid, frame, laid, side_of
from blankwright.lift.framepage import printed_frame
from blankwright.lift.markers import CELLS, COUNT, drawn, is_white
from rooms.every import cases

DPI = 254  # ten pixels to the mm
NAMES = [p.name for p in papers()]


def test_the_markers_are_those_of_the_library():
    # OpenCV, module aruco: predefined dictionary DICT_4X4_100
    theirs = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    assert COUNT == 100
    for number in range(COUNT):
        assert (np.array(is_white(number)) * 255 == theirs.generateImageMarker(number, CELLS)).all()


@pytest.mark.parametrize("number", [-1, 100])
def test_there_are_no_other_markers(number):
    with pytest.raises(RequestError, match="0 to 99"):
        is_white(number)


@cases("number", range(0, 100, 7))
def test_a_marker_is_drawn_cell_by_cell(number):
    patch = drawn(number, (10.0, 20.0), 18.0)
    rings = [np.array(ring, dtype=np.float32) for ring in patch.rings]
    for row in range(CELLS):
        for column in range(CELLS):
            at = (10 + 18 * (column + 0.5) / CELLS, 20 + 18 * (CELLS - row - 0.5) / CELLS)
            inside = sum(cv2.pointPolygonTest(ring, at, False) > 0 for ring in rings)
            assert (inside % 2 == 0) == is_white(number)[row][column]


def read(pdf):
    """Return the corners of all markers of each page [mm], y up, by a renderer and a reader that are not ours."""
    document, found = pypdfium2.PdfDocument(pdf), []
    for page in document:
        grey = np.asarray(page.render(scale=DPI / 72).to_pil().convert("L"))
        asked = cv2.aruco.DetectorParameters()
        asked.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
        reader = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100), asked)
        corners, numbers, _ = reader.detectMarkers(grey)
        places = {}
        for number, four in zip(numbers.ravel().tolist(), corners, strict=True):
            places[number] = (four.reshape(4, 2) + 0.5) * (0.1, -0.1) + (0.0, grey.shape[0] / 10)
        found.append(places)
    document.close()
    return found


@pytest.mark.parametrize(("name", "sheets"), [("A4", 1), ("Letter", 2)])
def test_every_marker_is_read_where_the_layout_says(name, sheets):
    printed = printed_frame(paper(name), sheets)
    for sheet, seen in zip(printed.sheets, read(printed.pdf), strict=True):
        assert set(seen) == {number for number, _ in sheet.markers}
        for number, corners in seen.items():
            assert corners == pytest.approx(np.array(sheet.corners_mm(number)), abs=0.15)  # a pixel and a half


@cases("name", NAMES)
@cases("sheets", [1, 2])
def test_the_middle_is_empty_and_every_marker_has_white_round_it(name, sheets):
    numbers = []
    for sheet in frame(paper(name), sheets):
        assert sheet.width_mm > sheet.height_mm
        numbers += [n for n, _ in sheet.markers]
        boxes = [(x, y, x + MARKER_MM, y + MARKER_MM) for _, (x, y) in sheet.markers]
        for i, (x0, y0, x1, y1) in enumerate(boxes):
            assert min(x0, y0, sheet.width_mm - x1, sheet.height_mm - y1) >= 5.999
            assert x1 <= sheet.middle.x0 or x0 >= sheet.middle.x1 or y1 <= sheet.middle.y0 or y0 >= sheet.middle.y1
            for a0, b0, a1, b1 in boxes[:i]:
                assert max(x0 - a1, a0 - x1, y0 - b1, b0 - y1) >= WHITE_MM
        assert all(side_of(n) == sheet.side for n, _ in sheet.markers)
        assert min(sheet.level.length_mm, sheet.upright.length_mm) >= 100
        assert sheet.level.length_mm % 10 == sheet.upright.length_mm % 10 == 0
    assert len(set(numbers)) == len(numbers)
    assert max(numbers) < COUNT


def test_two_halves_are_open_towards_each_other():
    left, right = frame(paper("A4"), 2)
    assert left.middle.x1 == left.width_mm
    assert right.middle.x0 == 0
    assert (left.side, right.side) == SIDES[1:]


def test_the_same_frame_has_the_same_bytes_and_its_paper():
    one, other = (printed_frame(paper("A4"), 2) for _ in range(2))
    assert one.pdf == other.pdf
    pages = pypdf.PdfReader(io.BytesIO(one.pdf)).pages
    sizes = [[float(v) / 72 * 25.4 for v in page.mediabox[2:]] for page in pages]
    assert sizes == [pytest.approx([297, 210], abs=1e-3)] * 2  # ISO 216


def test_a_small_paper_is_refused_with_the_least_that_does():
    with pytest.raises(RequestError, match=r"160x160mm is too small.*167x167mm"):
        frame(paper("160x160mm"))
    assert frame(paper("167x167mm"))


def test_words_become_what_is_said_of_a_frame():
    assert laid("A4", "239.5mm", "5.5 in", "3mm", None) == Laid(paper("A4"), 239.5, 139.7, 3.0)
    with pytest.raises(RequestError, match="--measured-y and --thickness missing"):
        laid("A4", "239.5mm", None, None, None)
    with pytest.raises(RequestError, match="--thickness"):
        laid("A4", "239.5mm", "139mm", "60mm", None)
    with pytest.raises(RequestError, match="--camera-height"):
        laid("A4", "239.5mm", "139mm", "3mm", "1mm")


def test_the_command_writes_a_frame_and_says_what_to_do(command, tmp_path):
    ran = command("frame", "--paper", "letter", "--sheets", "2", "--out", tmp_path)
    assert ran.code == 0
    assert "481 x 149 mm" in ran.out
    assert "--frame Letter" in ran.out
    assert (tmp_path / "frame_Letter_x2.pdf").read_bytes().startswith(b"%PDF")
    assert command("frame", "--sheets", "3", "--out", tmp_path).code == 2
