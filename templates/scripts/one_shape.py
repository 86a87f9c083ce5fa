"""One knife from a few dimensions: what it is, what it weighs as a flat blank, and its files.

Run:  python one_shape.py [folder]
"""

import sys

import blankwright as bw


def main(out: str) -> None:
    """Solve a chef's knife, print what a designer asks first, and write its files."""
    knife = bw.solve("chef", blade_length_mm=210, heel_height_mm=48)
    print(knife)
    print(f"finished outline   {knife.finished.area_mm2:9.1f} mm², {len(knife.finished)} arcs and lines")
    for process in ("water-jet", "plasma-table", "trace"):
        cut = knife.cut(process)
        print(f"cut by {process:<12} {cut.area_mm2:8.1f} mm², {cut.size_mm[0]:.1f} x {cut.size_mm[1]:.1f} mm")
    for stage, grams in knife.mass().items():
        if grams is not None:
            print(f"{stage:<18} {grams:9.1f} g")
    print(f"balance {knife.balance_mm:.1f} mm ahead of the heel (negative: behind)")
    for path in knife.write(out):
        print("wrote", path.name)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "out")
