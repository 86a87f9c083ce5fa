"""200 variants of a utility knife into one table, longest and highest, sorted by area.

Run:  python sweep_200.py [table.csv]
"""

import csv
import sys

import blankwright as bw


def main(path: str | None) -> None:
    """Sweep blade length and heel height, print the extremes, write the table when a file is named."""
    lengths = [115 + 3.25 * i for i in range(20)]
    heights = [27.5 + 0.8 * i for i in range(10)]
    designs = [bw.request("utility", blade_length_mm=x, heel_height_mm=y) for x in lengths for y in heights]
    rows = list(bw.sweep(designs))
    solved = sorted((row for row in rows if row["error"] is None), key=lambda row: row["finished_area_mm2"])
    print(f"{len(rows)} variants, {len(solved)} solved")
    for row in (solved[0], solved[-1]):
        print(
            f"blade {row['blade_length_mm']:6.1f} mm, heel {row['heel_height_mm']:5.1f} mm: "
            f"{row['finished_area_mm2']:7.0f} mm², {row['finished_blank_g']:5.1f} g flat"
        )
    if path is not None:
        with open(path, "w", newline="", encoding="utf-8") as stream:  # noqa: PTH123
            table = csv.DictWriter(stream, list(rows[0]))
            table.writeheader()
            table.writerows(rows)
        print("wrote", path)


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
