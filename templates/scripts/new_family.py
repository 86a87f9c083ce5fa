"""A new family in Python: the paring knife with a straight edge and a spine that drops to it.

The table has the layout of a family file; here it is made from a shipped one by moving control points.

Run:  python new_family.py [folder]
"""

import sys
import tomllib
from pathlib import Path

import blankwright as bw


def straight_paring() -> bw.Family:
    """Return a family with a low tip: the belly is flattened, everything else stays."""
    table = tomllib.loads(Path(bw.load_family("paring").path).read_text(encoding="utf-8"))
    table["name"] = "straight-paring"
    table["title"] = "Straight paring knife"
    for curve in table["curve"]:
        if curve["name"] == "edge":
            curve["points"] = [[x, y * 0.4] for x, y in curve["points"]]  # the tip comes down to 2 mm
        if curve["name"] == "spine":
            top = curve["points"][-1][1]
            curve["points"] = [[x, top - (top - y) * 20 / 17] for x, y in curve["points"]]  # and the spine with it
    for dimension in table["dimension"]:
        if dimension["name"] == "tip_height":
            dimension.update(default="2 mm", least="1 mm", greatest="3 mm")
        if dimension["name"] == "spine_drop":
            dimension.update(default="1.9 mm")
    return bw.family_from_table(table, "straight-paring")


def main(out: str) -> None:
    """Solve two sizes of the new family and write the larger one."""
    family = straight_paring()
    for length in (70, 90):
        knife = bw.solve(family, blade_length_mm=length)
        tip = knife.dimensions_mm["tip_height"]
        print(f"{knife}, tip {tip:.2f} mm, {knife.finished.area_mm2:.0f} mm²")
    for path in knife.write(out):
        print("wrote", path.name)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "out")
