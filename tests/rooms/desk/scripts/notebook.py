"""A designer's notebook, run from its first cell to its last without a browser, and kept with its pictures.

Run:  python notebook.py FILE.ipynb
"""

import sys

import nbformat
from nbclient import NotebookClient

CELLS = (
    'import blankwright as bw\nknife = bw.solve("chef", blade_length_mm=210, heel_height_mm=48)\nknife',
    "knife.finished",
    'bw.load_family("chef")',
    'print(dir(bw))\nbw.request("paring", name="Mine")',
)


def main(file: str) -> None:
    """Write the cells, run them and write what they showed."""
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in CELLS])
    NotebookClient(book, timeout=60, kernel_name="python3").execute()
    nbformat.write(book, file)


if __name__ == "__main__":
    main(sys.argv[1])
