"""A family of one's own from a dozen points: as a file to start from, and in a script."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from blankwright.base.arrays import Array
from blankwright.base.doors import a_table
from blankwright.design.blade import FORMAT
from blankwright.design.family import family_from_table
from blankwright.design.parts import Family

_TEXT = """# A blade from a dozen points. Move them, then judge it:  blankwright families {file} --picture {name}.svg
#
# Points are [x, y] in mm on the line: x forward from the heel corner, y up from the board line. Take them off a pattern
# or a knife laid on squared paper. What they measure is the default; all that is not said here goes by convention.

format = 2
name = "{name}"

# from the heel corner to the tip; points at y = 0 are the flat
edge = [[0, 0], [42, 0], [83.3, 0.76], [112.8, 3.55], [138.8, 8.47], [160, 14.5]]

# from behind the tip back to the one over the heel
spine = [[150, 20.4], [132, 27.7], [106, 34], [74, 37.6], [38, 38.6], [0, 38.5]]

[handle]
pattern = "swell" # {patterns}

# Each may be said in place of what goes by convention, for example:
# title = "Galley knife"                # printed for a reader
# use = "board work"                    # what it is for
# [blade]
# length = {{ least = "130 mm", greatest = "200 mm", source = "our drawing" }} # also heel_height, tip_height
# [heel]
# lean = "6 deg"                        # of the line of the heel, back from upright
# radius = "4 mm"                       # of the inner corner between heel and handle
# [handle]
# hand = "light"                        # {hands}
# [defaults.material]
# thickness = {{ value = "2.2 mm", source = "our drawing" }}
"""


def new_family_text(name: str, file: str, patterns: Sequence[str], hands: Sequence[str]) -> str:
    """Return a commented family file to start from.

    Args:
        name: Name of the family.
        file: Name of the file it will be, for the comment.
        patterns: Names of the handles it may have.
        hands: Names of the hands it may be made for.
    """
    return _TEXT.format(
        name=name, file=file, patterns=f"one of {', '.join(patterns)}", hands=f"one of {', '.join(hands)}"
    )


Points = Sequence[Sequence[float]] | Array
"""Rows of x and y [mm]."""


def family(name: str, edge: Points, spine: Points, handle: str = "swell", **more: Any) -> Family:
    """Return a family from points on its lines.

    Args:
        name: Name of the family.
        edge: Points [x, y] on the edge, from the heel corner to the tip; those at y = 0 are the flat [mm].
        spine: Points from behind the tip back to the one over the heel [mm].
        handle: A handle's name, or a handle file.
        **more: Other keys of a family file, such as nose, heel or blade.

    Raises:
        RequestError: The points do not make a blade, or a key is not one of a family file.

    >>> own = family(
    ...     "galley", [[0, 0], [42, 0], [114, 4.6], [160, 14.5]], [[150, 20], [106, 34], [38, 38.6], [0, 38.5]]
    ... )
    >>> [d.name for d in own.dimensions[:2]]
    ['blade_length', 'heel_height']
    """
    table = a_table(more, "more keys of a family")
    table["handle"] = {"pattern": handle} | a_table(table.get("handle"), "handle")
    points = {"edge": [list(p) for p in edge], "spine": [list(p) for p in spine]}
    return family_from_table({"format": FORMAT, "name": name} | points | table, name)
