"""The commands `template` and `printer`, and what `make` prints: files, refusals, nothing left behind."""

import json
import os
import subprocess
import sys

import pytest

import blankwright.template.scenes as scenes
from blankwright.base.errors import RequestError
from rooms.every import cases
from rooms.written import under


@pytest.fixture(autouse=True)
def home(tmp_path, monkeypatch):
    """Keep printers in a folder of the test's own."""
    folder = tmp_path / "configuration"
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    return folder


def files(folder):
    return sorted(p.relative_to(folder).as_posix() for p in under(folder)) if folder.exists() else []


def test_the_template_is_a_pdf_and_an_svg(command, tmp_path):
    ran = command("template", "chef", "--out", tmp_path / "o")
    assert ran.code == 0
    assert files(tmp_path / "o") == ["chef/chef_template_a4.pdf", "chef/chef_template_mm.svg"]
    assert "chef_template_a4.pdf" in ran.out
    assert "actual size" in ran.out
    assert (tmp_path / "o/chef/chef_template_a4.pdf").read_bytes().startswith(b"%PDF-1.6")


@cases(("paper", "name"), [("letter", "letter"), ("A3", "a3"), ("300x420mm", "300x420mm")])
def test_the_paper_is_in_the_files_name(command, tmp_path, paper, name):
    assert command("template", "paring", "--paper", paper, "--out", tmp_path / "o").code == 0
    assert f"paring/paring_template_{name}.pdf" in files(tmp_path / "o")


def test_as_json(command, tmp_path):
    ran = command("template", "chef", "--json", "--out", tmp_path / "o")
    assert json.loads(ran.out) == {"name": "chef", "files": ["chef_template_a4.pdf", "chef_template_mm.svg"]}
    two = command("template", "chef", "paring", "--json", "--out", tmp_path / "o")
    assert [row["name"] for row in json.loads(two.out)] == ["chef", "paring"]


@cases(
    "args",
    [
        ("--paper", "A9"), ("--paper", "300x420"), ("--paper", "10x10mm"), ("--paper", "100x140mm"),
        ("--margin", "6"), ("--margin", "-1mm"), ("--margin", "41mm"), ("--margin", "wide"),
        ("--printer", "nobody"), ("--set", "blade.length=10mm"), ("--set", "blade.len=210mm"),
    ],
)  # fmt: skip
@cases("which", ["template", "make"])
def test_a_wrong_request_is_exit_2_says_where_and_leaves_nothing(command, tmp_path, which, args):
    ran = command(which, "chef", *args, "--out", tmp_path / "o")
    assert ran.code == 2
    assert ran.out == ""
    assert args[0] in ran.err or args[1].split("=")[0].split(".")[-1] in ran.err
    assert "Traceback" not in ran.err
    assert "internal error" not in ran.err
    assert not (tmp_path / "o").exists()


def test_both_faces_and_dummy_add_pages(command, tmp_path):
    sizes = []
    for i, extra in enumerate(((), ("--both-faces",), ("--dummy",), ("--both-faces", "--dummy"))):
        assert command("template", "chef", *extra, "--out", tmp_path / str(i)).code == 0
        sizes.append(len((tmp_path / str(i) / "chef/chef_template_a4.pdf").read_bytes()))
    assert sizes[0] < min(sizes[1:3]) <= max(sizes[1:3]) < sizes[3]


def test_make_writes_the_same_template(command, tmp_path):
    assert command("make", "chef", "--out", tmp_path / "a").code == 0
    assert command("template", "chef", "--out", tmp_path / "b").code == 0
    name = "chef/chef_template_a4.pdf"
    assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()
    report = json.loads((tmp_path / "a/chef/chef.json").read_text(encoding="utf-8"))
    assert "chef_template_a4.pdf" in report["files"]


def test_the_same_bytes_twice_and_in_another_process(command, tmp_path):
    args = ("template", "chef", "--both-faces", "--dummy", "--out")
    assert command(*args, tmp_path / "a").code == 0
    assert command(*args, tmp_path / "b").code == 0
    environment = os.environ | {"PYTHONHASHSEED": "7", "TZ": "Pacific/Auckland", "LC_ALL": "C"}
    run = [sys.executable, "-c", "from blankwright.commands.cli import main; main()", *args, str(tmp_path / "c")]
    subprocess.run(run, env=environment, check=True, capture_output=True)
    for name in files(tmp_path / "a"):
        data = (tmp_path / "a" / name).read_bytes()
        assert data == (tmp_path / "b" / name).read_bytes()
        assert data == (tmp_path / "c" / name).read_bytes()


def test_a_failure_while_writing_leaves_nothing_and_keeps_what_was_there(command, tmp_path, monkeypatch):
    out = tmp_path / "o"
    assert command("template", "chef", "--out", out).code == 0
    before = {name: (out / name).read_bytes() for name in files(out)}

    def fail(*_):
        raise RequestError("no")

    monkeypatch.setattr(scenes, "template_svg", fail)
    assert command("template", "chef", "--paper", "A3", "--out", out).code == 2
    assert {name: (out / name).read_bytes() for name in files(out)} == before
    assert command("template", "chef", "--out", tmp_path / "p").code == 2
    assert not (tmp_path / "p").exists()


# ---- printers ----


def keep(command, name="workshop", x="101.2mm", y="99.2mm"):
    return command("printer", name, "--measured-x", x, "--measured-y", y)


def test_a_printer_is_kept_shown_listed_and_forgotten(command, home):
    assert "No printer" in command("printer").out
    assert keep(command).code == 0
    assert files(home) == ["blankwright/printers.toml"]
    assert keep(command, "attic", "99.5mm", "100mm").code == 0
    shown = command("printer", "workshop")
    assert "101.2" in shown.out
    assert "99.2" in shown.out
    assert "attic" not in shown.out
    listed = json.loads(command("printer", "--json").out)["printers"]
    assert [(p["name"], p["measured_x_mm"], p["measured_y_mm"]) for p in listed] == [
        ("attic", 99.5, 100.0),
        ("workshop", 101.2, 99.2),
    ]
    assert command("printer", "workshop", "--forget").code == 0
    assert [p["name"] for p in json.loads(command("printer", "--json").out)["printers"]] == ["attic"]
    assert command("printer", "workshop").code == 2
    assert command("printer", "workshop", "--forget").code == 2


@pytest.mark.parametrize(("x", "y"), [("103.1mm", "100mm"), ("100mm", "96.9mm"), ("97cm", "100mm"), ("94mm", "94mm")])
def test_more_than_3_per_cent_is_the_viewers_scaling(command, home, x, y):
    ran = keep(command, x=x, y=y)
    assert ran.code == 2
    assert "viewer scaled the page" in ran.err
    assert files(home) == []


@pytest.mark.parametrize("axis", ["x", "y"])
def test_both_axes_are_needed(command, home, axis):
    ran = command("printer", "workshop", f"--measured-{axis}", "99mm")
    assert ran.code == 2
    assert "--measured-x" in ran.err
    assert "--measured-y" in ran.err
    assert files(home) == []


def test_a_length_needs_its_unit(command):
    ran = keep(command, x="101.2")
    assert ran.code == 2
    assert "--measured-x" in ran.err


def test_an_unknown_printer_names_those_that_are_known(command, tmp_path):
    keep(command)
    ran = command("template", "chef", "--printer", "workshp", "--out", tmp_path / "o")
    assert ran.code == 2
    assert "workshop" in ran.err
    assert not (tmp_path / "o").exists()


def test_a_printer_changes_the_pages_but_not_the_board(command, tmp_path):
    keep(command)
    assert command("template", "chef", "--out", tmp_path / "a").code == 0
    assert command("template", "chef", "--printer", "workshop", "--out", tmp_path / "b").code == 0
    pdf, svg = "chef/chef_template_a4.pdf", "chef/chef_template_mm.svg"
    assert (tmp_path / "a" / pdf).read_bytes() != (tmp_path / "b" / pdf).read_bytes()
    assert (tmp_path / "a" / svg).read_bytes() == (tmp_path / "b" / svg).read_bytes()


def test_a_printer_that_is_true_changes_nothing(command, tmp_path):
    keep(command, "true", "100mm", "100mm")
    assert command("template", "paring", "--out", tmp_path / "a").code == 0
    assert command("template", "paring", "--printer", "true", "--out", tmp_path / "b").code == 0
    for name in files(tmp_path / "a"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


@pytest.mark.parametrize("which", ["template", "printer"])
def test_help_has_an_example(command, which):
    ran = command(which, "--help")
    assert ran.code == 0
    assert f"Example: blankwright {which}" in ran.out
