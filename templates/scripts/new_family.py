"""A new family in Python: a galley knife from a dozen points, solved at two sizes, the larger one written.

Run:  python new_family.py [folder]
"""

import sys

import blankwright as bw

EDGE = [(0, 0), (42, 0), (83.3, 0.76), (112.8, 3.55), (138.8, 8.47), (160, 14.5)]  # points at y = 0 are the flat
SPINE = [(150, 20.4), (132, 27.7), (106, 34), (74, 37.6), (38, 38.6), (0, 38.5)]  # the last is the one over the heel

if __name__ == "__main__":
    family = bw.family("galley", EDGE, SPINE, "beak")
    for length in (150, 180):
        knife = bw.solve(family, blade_length_mm=length)
        tip = knife.dimensions_mm["tip_height"]
        print(f"{knife}, tip {tip:.2f} mm, {knife.finished.area_mm2:.0f} mm²")
    for path in knife.write(sys.argv[1] if len(sys.argv) > 1 else "out"):
        print("wrote", path.name)
