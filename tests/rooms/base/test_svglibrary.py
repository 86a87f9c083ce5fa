"""The SVG library without its checker: the checker is there for whoever asks it, and nobody does."""

from __future__ import annotations

import subprocess
import sys

CHECKER = "svgwrite.data.svgparser"


def test_the_checker_is_loaded_when_it_is_asked() -> None:
    code = (
        "import sys\nfrom blankwright.base.svglibrary import svg_library\nlibrary = svg_library()\n"
        f"unasked = {CHECKER!r} in sys.modules\n"
        "from svgwrite.data.typechecker import Full11TypeChecker as Checker\n"
        "asked = [Checker().is_transform_list(text) for text in ('rotate(3)', 'rotate(3')]\n"
        f"print(unasked, asked, {CHECKER!r} in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split("\n")[0] == "False [True, False] True"
