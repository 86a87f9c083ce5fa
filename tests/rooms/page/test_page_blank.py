"""A blank that exists on the page: its sizes stand, the handle's front moves, and its outline lies in the folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from blankwright.base.errors import RequestError
from blankwright.design.request import read_design
from blankwright.page.folder import Folder
from blankwright.page.grips import arrows_of, grips_of
from blankwright.page.steer import solved
from rooms.blanks import blank_file, knife_of
from rooms.every import cases


def test_only_the_front_of_the_handle_moves(tmp_path: Path) -> None:
    path = blank_file(tmp_path, knife_of("chef", {}))
    knife = solved(read_design(path, {"material.thickness": "3 mm"}), None)
    arrows = arrows_of(knife.shape)
    assert {a.key for a in arrows} == {"blade.length", "blade.heel_height", "handle.gap", "blade.overall_length"}
    (grip,) = grips_of(knife.shape, arrows)
    assert grip.x is not None
    moved = solved(read_design(path, {"material.thickness": "3 mm", "handle.gap": "20 mm"}), knife)
    assert moved.shape.front_x_mm == grip.at[0] + grip.x.slope * (20.0 - knife.shape.values_mm["handle_gap"])


@cases("outline", ["/etc/hostname", "../other_lifted.toml", "/etc/x.toml"])
def test_an_outline_outside_of_the_folder_is_not_read(tmp_path: Path, outline: str) -> None:
    with pytest.raises(RequestError, match="outline"):
        Folder(tmp_path).check_design({"family": "lifted", "outline": outline}, Path())
    Folder(tmp_path).check_design({"family": "lifted", "outline": "my_lifted.toml"}, Path())
