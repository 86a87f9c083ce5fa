"""The command: files, report, refusals; and a share of the hostile pictures."""

import json
import struct
import sys

import numpy as np
import pytest
from PIL import Image

from blankwright.commands.cli import main
from blankwright.design.lifted import read_lifted
from properties.pictures import PictureMaker
from rooms.design.cases import solved
from rooms.lift.scans import Scan, circle, drawn, saved
from rooms.often import repeated, seldom


def run(capsys, *words):
    sys.argv = ["blankwright", *map(str, words)]
    with pytest.raises(SystemExit) as end:
        main()
    told = capsys.readouterr()
    return end.value.code or 0, told.out, told.err


@pytest.fixture(scope="module")
def scan(tmp_path_factory):
    ring = solved("paring", "full", "default").finished.flattened(0.005)
    return saved(drawn([ring, circle(-40, 12, 5.0)], Scan(dpi=150)), tmp_path_factory.mktemp("s") / "old one.png", 150)


def test_files_and_report(capsys, scan, tmp_path):
    truth = solved("paring", "full", "default").finished
    long, high = truth.size_mm  # as its drawing has them: no other way to hold it has such a height
    sizes = ("--measured-x", f"{long:.2f}mm", "--measured-y", f"{high:.2f}mm")
    words = ("lift", scan, *sizes, "--out", tmp_path, "--json")
    code, out, err = run(capsys, *words)
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert told["fit"] is None
    assert {"for", "mm", "lessen"} == set(told["budget"][0])
    assert {"x_mm", "y_mm", "diameter_mm"} == set(told["holes"][0])
    assert told["outline"]["area_mm2"] == pytest.approx(truth.area_mm2, rel=2e-3)
    again = read_lifted(tmp_path / "old-one" / "old-one_lifted.toml")
    assert np.array(told["outline"]["vertices"]) == pytest.approx(again.outline.vertices, abs=1e-6)
    assert again.name == "old one"
    picture = (tmp_path / "old-one" / "old-one_lifted.svg").read_text(encoding="utf-8")
    assert "data:image/jpeg;base64," in picture
    assert "scale along x as measured" in picture
    code, out, err = run(capsys, *words)
    assert code == 2
    assert "is there already and was not touched" in err
    assert run(capsys, *words, "--force")[0] == 0


def test_words_for_a_maker(capsys, scan, tmp_path):
    code, out, _ = run(capsys, "lift", scan, "--out", tmp_path, "--name", "Galley parer")
    assert code == 0
    assert "scale along x that nobody measured. Measure a length along x and say --measured-x." in out
    assert (tmp_path / "galley-parer" / "galley-parer_lifted.toml").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("nothing.png",), "there is no such drawing, picture or table of points"),
        (("old one.png", "--dpi", "7"), "--dpi: 7 is out of range. Allowed: 30 to 5000"),
        (("old one.png", "--tip", "ahead"), "--tip: unknown side 'ahead'"),
        (("old one.png", "--measured-x", "192"), "has no unit"),
        (("old one.png", "--measured-x", "150mm"), "fits nothing in the picture along x"),
    ],
)
def test_a_refusal_says_what_to_do(capsys, scan, tmp_path, words, told, monkeypatch):
    monkeypatch.chdir(scan.parent)
    code, out, err = run(capsys, "lift", *words, "--out", tmp_path)
    assert (code, out) == (2, "")
    assert told in err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("side", ["tip", "butt", "spine"])
def test_a_thing_that_reaches_the_edge_of_the_picture_is_refused(capsys, scan, tmp_path, side):
    """What is cut off is known to nobody: the length of the whole thing would stretch what is left of it."""
    with Image.open(scan) as whole:
        wide, high = whole.size  # 12 mm of paper around it
        room = round((12 + 5) / 25.4 * 150)
        box = {"tip": (0, 0, wide - room, high), "butt": (room, 0, wide, high), "spine": (0, room, wide, high)}[side]
        whole.crop(box).save(tmp_path / "cut.png", dpi=(150, 150))
    for words in (("lift",), ("compare", "paring")):
        code, out, err = run(capsys, *words, tmp_path / "cut.png", "--out", tmp_path / "o")
        assert (code, out) == (2, "")
        assert "he thing reaches the edge of the picture" in err and "with room all around it" in err
        assert not (tmp_path / "o").exists()
    assert "cut.png: " in err


@pytest.mark.parametrize(("text", "told"), [("", "is empty"), ("a letter, no picture\n", "begins like no PNG, JPEG")])
@pytest.mark.parametrize("words", [(), ("--measured-x", "344mm", "--measured-y", "48mm")])
def test_what_is_called_a_picture_and_is_none_is_refused_as_such(capsys, tmp_path, text, told, words):
    (tmp_path / "scan.png").write_text(text, encoding="utf-8")
    code, out, err = run(capsys, "lift", tmp_path / "scan.png", *words, "--out", tmp_path / "o")
    assert (code, out) == (2, "")
    assert "scan.png: is called a picture, and " + told in err
    assert "drawing has its own unit" not in err


def test_without_the_libraries_it_says_what_to_type(capsys, scan, tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "PIL.Image", None)
    code, _, err = run(capsys, "lift", scan, "--out", tmp_path)
    assert code == 2
    assert "python -m pip install '.[pictures]'" in err


def test_a_header_that_cannot_be_is_refused_in_our_words_only(capsys, caplog, tmp_path):
    """A TIFF of 65535 samples to the pixel (tag 277, TIFF 6.0): the decoder would log a line of its own beside ours."""
    file = tmp_path / "x.tif"
    Image.new("RGB", (80, 80)).save(file)
    tag = struct.pack("<HHI", 277, 3, 1)  # samples per pixel, one short
    assert file.read_bytes().count(tag) == 1
    file.write_bytes(file.read_bytes().replace(tag + b"\x03\0", tag + b"\xff\xff"))
    code, out, err = run(capsys, "lift", file, "--out", tmp_path / "o")
    assert (code, out, caplog.messages) == (2, "", [])
    assert err == f"blankwright: {file}: its header fits no picture. Save it again as PNG, JPEG or TIFF.\n"


@repeated
def test_hostile_pictures_are_answered_in_words(capsys, tmp_path, monkeypatch):
    """The first of those that `bench/hostile_pictures.py` lifts."""
    monkeypatch.chdir(tmp_path)
    maker = PictureMaker(1)
    for number in range(seldom(400, 80, 10)):
        one = maker.picture(number)
        (tmp_path / one.name).write_bytes(one.data)
        code, out, err = run(capsys, "lift", one.name, *one.words, "--out", f"o{number}", "--json")
        assert code in (0, 1, 2), (number, err)
        assert "internal error" not in err and "Traceback" not in err, (number, err)
        assert code == 0 or (not out and err.startswith("blankwright: ")), (number, err)
