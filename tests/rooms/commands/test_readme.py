"""The README is true: its commands, its script and its picture are what the tool does."""

import re
import subprocess
import sys
from pathlib import Path

from rooms.every import cases

ROOT = Path(__file__).resolve().parents[3]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def consoles():
    """Yield (command, output) of every console block."""
    for block in re.findall(r"```console\n(.*?)```", README, re.DOTALL):
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, output = part.partition("\n")
            yield command, output.rstrip("\n")


def test_console_blocks_print_what_they_show(tmp_path, monkeypatch, command):
    monkeypatch.chdir(tmp_path)
    shown = list(consoles())
    assert len(shown) >= 3
    for line, output in shown:
        ran = command(*line.split()[1:])
        assert (ran.out + ran.err).rstrip("\n") == output, line


def test_the_script_prints_what_it_shows(tmp_path):
    script = re.search(r"```python\n(.*?)```", README, re.DOTALL)[1]
    output = re.search(r"```text\n(.*?)```", README, re.DOTALL)[1]
    done = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, capture_output=True, text=True, check=True)
    assert done.stdout == output


def test_the_picture_is_the_tool_s_own(tmp_path, command):
    command("make", ROOT / "templates" / "designs" / "galley_chef.toml", "--out", tmp_path / "out")
    made = (tmp_path / "out" / "galley-chef" / "galley-chef_drawing_mm.svg").read_bytes()
    assert (ROOT / "docs" / "galley_chef.svg").read_bytes() == made


def test_there_are_exactly_two_lines_with_their_own_set_up():
    lines = [line for line in README.splitlines() if line.startswith("python3 -m venv")]
    assert len(lines) == 2
    assert sum("pytest" in line for line in lines) == 1


@cases("name", ["DEVELOPERS.md", "CHANGELOG.md", "LICENSE"])
def test_linked_files_exist(name):
    assert (ROOT / name).is_file()
