"""What of a scene a page shows: a short word only where the whole of it is in the window."""

import pytest

from blankwright.ink.marks import Text
from blankwright.template.pages import _scene_marks
from blankwright.template.scene import Scene
from blankwright.template.tiling import Rect, Tile

LEFT, RIGHT = 50.0, 150.0


def shown(x_mm):
    scene = Scene("rule", "Rule", (), (), (), (), (), (("120", (x_mm, 20.0)),), (), ())
    tile = Tile(0.0, 0.0, 0.0, Rect(LEFT, 10.0, RIGHT, 90.0), 1, 1, (None, None), (None, None))
    return [text.words for text in _scene_marks(scene, tile).texts]


@pytest.mark.parametrize("into", [1, -1])
def test_a_word_over_the_edge_of_the_window_is_left_out_at_either_side(into):
    box = Text(0.0, 0.0, "120", 2.0, "middle").box
    edge, half = (LEFT, -box.x0) if into > 0 else (RIGHT, box.x1)
    assert shown(edge + into * (half + 0.01)) == ["120"]
    assert shown(edge + into * (half - 0.01)) == []
    assert shown(edge - into * 200.0) == []


def test_a_word_in_the_middle_is_shown():
    assert shown((LEFT + RIGHT) / 2) == ["120"]
