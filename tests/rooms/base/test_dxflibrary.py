"""The drawing library: a home folder that cannot be read or written, or a spoilt list of fonts, stops nobody."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

WRITE = "from blankwright.base.dxflibrary import drawing_library as d; print(d().new('R2000').dxfversion)"


def written(cache: Path, folder: Path) -> tuple[int, str, str]:
    env = os.environ | {"XDG_CACHE_HOME": str(cache), "HOME": str(cache)}
    done = subprocess.run(
        [sys.executable, "-c", WRITE], env=env, cwd=folder, capture_output=True, text=True, check=False
    )
    return done.returncode, done.stdout, done.stderr


@pytest.mark.parametrize("spoilt", [False, True])
def test_the_home_folder_is_neither_read_nor_written(spoilt: bool, tmp_path: Path) -> None:
    home = Path(os.devnull) / "nowhere"  # nothing can be made there, by nobody
    if spoilt:
        home = tmp_path / "home"
        (home / "ezdxf" / "font_manager_cache.json").mkdir(parents=True)
    assert written(home, tmp_path) == (0, "AC1015\n", "")


def test_a_spoilt_settings_file_is_a_wrong_request(tmp_path: Path) -> None:
    (tmp_path / "ezdxf.ini").write_text("no section\n")
    code, _, said = written(tmp_path, tmp_path)
    assert code == 1
    assert "RequestError: ezdxf.ini: cannot be read as settings of the drawing library." in said
