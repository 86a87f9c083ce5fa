"""Other people's tools around a designer's script: tables, clusters, pools, optimisers, notebooks, type checkers.

Each tool is a real one, as its own manual has it used; one that is not installed is passed over. What starts processes
of its own runs as a script, so that it has to end by itself and with nothing to say on the error channel.
"""

from __future__ import annotations

import copy
import gc
import importlib.util
import io
import json
import os
import pickle
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
from concurrent.futures import Future
from pathlib import Path
from typing import Any, get_type_hints

import numpy as np
import pytest

import blankwright as bw
from blankwright.desk.script import CHUNK
from rooms.design.cases import family_table
from rooms.every import cases
from rooms.often import elsewhere, repeated

SCRIPTS = Path(__file__).parent / "scripts"
SECONDS = 120
"""Longest that a script may take on a busy machine [s]; alone it takes three."""

SVG = "image/svg+xml"


def ran(tmp_path: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run Python in an empty folder, with no settings of the user's."""
    own = {f"JUPYTER_{kind}_DIR": str(tmp_path / kind.lower()) for kind in ("RUNTIME", "CONFIG", "DATA")}
    return subprocess.run(
        [sys.executable, *words], cwd=tmp_path, capture_output=True, text=True, check=False, timeout=SECONDS,
        env=os.environ | own | {"IPYTHONDIR": str(tmp_path / "ipython"), "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip


def needs(*modules: str) -> None:
    """Skip where a tool is not installed."""
    for name in modules:
        if importlib.util.find_spec(name) is None:
            pytest.skip(f"{name} is not installed")


# Tables -----------------------------------------------------------------------------------------------------


def test_a_sweep_is_a_table_that_can_be_sorted_and_grouped() -> None:
    pandas = pytest.importorskip("pandas")
    designs = [
        bw.request("paring", blade_length_mm=length, settings={"material.thickness": thick})
        for thick in (1.5, 2.0)
        for length in (75, 9000, 80)
    ]
    table = pandas.DataFrame(bw.sweep(designs, weights=True))
    good = table[table["error"].isna()]
    assert len(table) == 6
    assert len(good) == 4
    assert all(good.dtypes[name] == np.float64 for name in good.columns if name.endswith(("_mm", "_mm2", "_g")))
    assert good.notna().drop(columns="error").all(axis=None)
    assert sorted(good["material.thickness_mm"].unique()) == [1.5, 2.0]
    thin, thick = good.groupby("material.thickness_mm")["finished_blank_g"].max()
    assert thick == pytest.approx(thin * 2 / 1.5)  # the weight of a flat blank goes with its thickness
    heaviest = table.nlargest(1, "finished_knife_g").iloc[0]
    assert (heaviest["blade_length_mm"], heaviest["material.thickness_mm"]) == (pytest.approx(80), 2.0)
    again = pandas.read_csv(io.StringIO(table.to_csv(index=False)))
    assert again["balance_mm"].tolist()[0] == pytest.approx(table["balance_mm"].tolist()[0], rel=1e-12)


def test_rows_have_the_same_columns_whether_solved_or_not() -> None:
    saw = {"cutting.process": "laser", "material.thickness": 3}
    good, bad, unfit = bw.sweep(
        bw.request("chef", settings=saw).replace(change, blade_length_mm=length)
        for change, length in (({}, 200), ({}, 9000), ({"pins.positions": np.array([-40.0, -41.0])}, 200))
    )
    assert list(good) == list(bad)
    assert [row["error"] is None for row in (good, bad, unfit)] == [True, False, False]
    assert bad["finished_area_mm2"] is None
    assert bad["cutting.process"] == "laser"
    assert unfit["pins.positions_mm"] == "-40, -41"


# Clusters and pools -----------------------------------------------------------------------------------------


@elsewhere
@repeated
def test_a_cluster_sweeps_an_endless_generator(tmp_path: Path) -> None:
    needs("distributed")
    done = ran(tmp_path, str(SCRIPTS / "on_a_cluster.py"))
    assert done.returncode == 0, done.stderr[-2000:]
    assert done.stderr == ""
    assert [line.split(",")[0] for line in done.stdout.splitlines()] == ["a process: 20 rows", "threads: 20 rows"]


def test_a_cluster_tells_designs_apart() -> None:
    dask = pytest.importorskip("dask.base")
    one = bw.request("chef", blade_length_mm=200)
    assert dask.tokenize(one) == dask.tokenize(pickle.loads(pickle.dumps(one)))
    others = [one.replace(blade_length_mm=201), one.replace({"pins.count": 1}), one.replace(name="B")]
    assert len({dask.tokenize(each) for each in (one, *others)}) == 4


def test_a_pool_sends_back_whole_knives() -> None:
    """Everything a script holds has to be pickled; the pool is one of processes (loky)."""
    joblib = pytest.importorskip("joblib")
    from joblib.externals.loky import get_reusable_executor

    lengths = (200, 220)
    try:
        found = joblib.Parallel(n_jobs=2, backend="loky")(
            joblib.delayed(bw.solve)("chef", blade_length_mm=length) for length in lengths
        )
    finally:
        get_reusable_executor().shutdown(wait=True)
    for length, knife in zip(lengths, found, strict=True):
        here = bw.solve("chef", blade_length_mm=length)
        assert knife == here
        assert knife.finished == here.finished
        assert knife.report() == here.report()


class Held:
    """An executor that keeps what it is given until it is asked for it."""

    def __init__(self) -> None:
        self.sent: list[Future[Any]] = []

    def submit(self, fn: Any, *args: Any) -> Future[Any]:
        self.sent.append(Future())
        if len(self.sent) == 1:
            self.sent[0].set_result(fn(*args))
        return self.sent[-1]


def test_what_nobody_asks_for_any_more_is_called_back() -> None:
    held = Held()
    rows = bw.sweep((bw.request("paring") for _ in range(100 * CHUNK)), held)
    next(rows)
    assert len(held.sent) < 20
    rows.close()  # type: ignore[attr-defined] # a generator has it
    assert [future.cancelled() for future in held.sent] == [False, *[True] * (len(held.sent) - 1)]


# Optimisers -------------------------------------------------------------------------------------------------


def balance(heel_mm: float) -> float:
    """Return where a chef's knife of a heel height balances [mm]."""
    found = bw.solve("chef", heel_height_mm=heel_mm).balance_mm
    assert found is not None
    return found


def test_a_root_finder_meets_a_wanted_balance() -> None:
    from scipy.optimize import brentq, minimize_scalar

    wanted, span = -8.5, (45.0, 52.0)
    root = brentq(lambda heel: balance(heel) - wanted, *span, xtol=1e-4)
    assert balance(root) == pytest.approx(wanted, abs=1e-3)
    least = minimize_scalar(lambda heel: (balance(heel) - wanted) ** 2, bounds=span, method="bounded",
                            options={"xatol": 1e-3})  # fmt: skip
    assert least.x == pytest.approx(root, abs=0.02)


def test_answers_are_smooth_enough_for_slopes() -> None:
    """A hundredth of a millimetre is step enough: the arcs stand for the curve to 0.005 mm, and err alike near by."""
    at, coarse, fine = 48.0, 0.5, 0.01
    wide = (balance(at + coarse) - balance(at - coarse)) / (2 * coarse)
    assert (balance(at + fine) - balance(at)) / fine == pytest.approx(wide, rel=0.05)


# Notebooks --------------------------------------------------------------------------------------------------


def test_a_notebook_shows_its_pictures(tmp_path: Path) -> None:
    needs("nbformat", "nbclient", "ipykernel")
    file = tmp_path / "design.ipynb"
    done = ran(tmp_path, str(SCRIPTS / "notebook.py"), str(file))
    assert done.returncode == 0, done.stderr[-2000:]
    cells = json.loads(file.read_text(encoding="utf-8"))["cells"]
    shown = [[out["data"] for out in cell["outputs"] if "data" in out] for cell in cells]
    assert [SVG in data for (data,) in shown] == [True, True, True, False]
    for (data,) in shown[:3]:
        root = ElementTree.fromstring("".join(data[SVG]))
        _, _, wide, high = map(float, root.attrib["viewBox"].split())
        assert 300 < wide < 400  # a chef's knife of 344 mm
        assert 40 < high < 80
        kinds = [one.tag.rpartition("}")[2] for one in root.iter()]
        assert "rect" in kinds  # white behind it: the page may be dark
        assert {"path", "polyline"} & set(kinds)
    assert "".join(shown[0][0]["text/plain"]).startswith("<Knife chef: blade 210.00 mm")
    assert "'solve'" in "".join(cells[3]["outputs"][0]["text"])


# Type checkers ----------------------------------------------------------------------------------------------


@repeated
@elsewhere
def test_a_users_script_passes_a_strict_type_checker_and_a_slip_does_not(tmp_path: Path) -> None:
    needs("mypy")
    good = (SCRIPTS / "typed.py").read_text(encoding="utf-8")
    slips = ('bw.solve("chef", blade_lenght_mm=210)', 'bw.request("chef").replace(heel_hight_mm=48)',
             'knife.blance_mm', 'bw.solve("chef", blade_length_mm="210 mm")')  # fmt: skip
    (tmp_path / "good.py").write_text(good, encoding="utf-8")
    (tmp_path / "slips.py").write_text(good + "\n".join(slips) + "\n", encoding="utf-8")
    done = ran(tmp_path, "-m", "mypy", "--strict", "--no-error-summary", "good.py", "slips.py")
    told = [line for line in done.stdout.splitlines() if ": error: " in line]
    first = len(good.splitlines()) + 1
    assert [line.split(" ")[0] for line in told] == [f"slips.py:{first + i}:" for i in range(len(slips))]
    assert 'did you mean "blade_length_mm"' in told[0]
    assert 'did you mean "heel_height_mm"' in told[1]


def test_dimensions_are_those_of_the_shipped_families() -> None:
    families = [bw.load_family(name) for name in bw.family_names()]
    offered = {f"{d.name}_mm" for family in families for d in family.dimensions}
    assert set(get_type_hints(bw.Dimensions)) == offered | {"overall_length_mm"}


def test_a_dimension_of_ones_own_goes_in_by_key_or_by_name() -> None:
    table = family_table("paring") | {"name": "own"}
    for dimension in table["dimension"]:
        if dimension["name"] == "spine_drop":
            dimension |= {"name": "my_drop", "key": "blade.my_drop"}
    own = bw.family_from_table(table, "own")
    by_key = bw.solve(own, settings={"blade.my_drop": 2.5})
    assert by_key.dimensions_mm["my_drop"] == pytest.approx(2.5, abs=1e-6)
    assert by_key == bw.solve(own, my_drop_mm=2.5)  # type: ignore[call-arg]
    assert by_key.design.replace({"blade.my_drop": 2.6}).dimensions_mm == {"my_drop": 2.6}


# What a script does with anything ---------------------------------------------------------------------------


@cases("kind", ["knife", "outline", "design", "family", "aimed"])
def test_copies_and_pickles_are_the_same(kind: str) -> None:
    knife = bw.solve("chef", blade_length_mm=205, settings={"grind.kind": "convex"})
    knife.mass()
    one: Any = {
        "knife": knife, "outline": knife.finished, "design": knife.design, "family": knife.design.family,
        "aimed": knife.aim(["heel_height"], weight_g=180) if kind == "aimed" else None,
    }[kind]  # fmt: skip
    for other in (copy.copy(one), copy.deepcopy(one), pickle.loads(pickle.dumps(one))):
        if kind == "aimed":
            assert (other.design, other.figures, repr(other)) == (one.design, one.figures, repr(one))
            continue
        assert other == one
        assert hash(other) == hash(one)
        assert other != 5
    assert len(repr(one)) < 130


def test_what_differs_is_not_the_same() -> None:
    one = bw.request("chef", blade_length_mm=200)
    others = [one.replace(blade_length_mm=201), one.replace(name="B"), one.replace({"pins.count": 1}),
              one.replace({"pins.count": one.settings["pins.count"]}), bw.request("paring")]  # fmt: skip
    assert len({one, *others, one.replace()}) == len(others) + 1
    assert bw.solve(one).finished != bw.solve(others[0]).finished
    assert bw.solve(one) != bw.solve(others[0])


def test_answers_cannot_be_changed_in_place() -> None:
    knife = bw.solve("chef")
    outline = knife.finished
    arrays = [outline.vertices, outline.lengths, outline.chord_lengths, outline.curvatures, outline.ends,
              outline.corner_angles_deg, *outline.piece_boxes]  # fmt: skip
    arrays += [pickle.loads(pickle.dumps(outline)).vertices]
    for array in arrays:
        with pytest.raises(ValueError, match="read-only"):
            array.sort(axis=0)
    for table in (knife.dimensions_mm, knife.design.settings, knife.design.dimensions_mm):
        with pytest.raises(TypeError, match=r"design\.replace"):
            table["blade_length"] = 5  # type: ignore[index]
        with pytest.raises(TypeError, match=r"dict\(table\)"):
            table.update(blade_length=5)  # type: ignore[call-arg]
        assert json.loads(json.dumps(table)) == table


@cases("two_and_a_half", ["float64", "float32", "array", "decimal", "fraction"])
def test_numbers_of_other_libraries_are_settings(two_and_a_half: str) -> None:
    from decimal import Decimal
    from fractions import Fraction

    value = {"float64": np.float64(2.5), "float32": np.float32(2.5), "array": np.array(2.5), "decimal": Decimal("2.5"),
             "fraction": Fraction(5, 2)}[two_and_a_half]  # fmt: skip
    asked = {"material.thickness": value, "pins.count": np.int64(2), "pins.positions": np.array([-40.0, -100.0])}
    design = bw.request("chef", settings=asked)
    assert (design.stock.thickness_mm, design.settings["pins.count"]) == (2.5, 2)
    assert design.settings["pins.positions"] == (-40.0, -100.0)


def test_a_knife_or_what_aim_found_is_a_start() -> None:
    knife = bw.solve("chef", name="Galley", blade_length_mm=200)
    assert knife.design.name == "Galley"
    assert bw.solve(knife, heel_height_mm=50).design == knife.design.replace(heel_height_mm=50)
    found = knife.aim(["heel_height"], weight_g=180)
    assert bw.solve(found).design == found.design


def test_nothing_is_kept_of_what_was_solved() -> None:
    """But what is kept on purpose, which has an end. The same is measured over thousands by bench/memory.py."""
    counts = []
    for part in range(5):
        for i in range(4):
            bw.solve("paring", blade_length_mm=70 + part + i / 20).mass()
        for module in [module for name, module in sys.modules.items() if name.startswith("blankwright")]:
            for one in [one for one in vars(module).values() if hasattr(one, "cache_clear")]:
                one.cache_clear()
        gc.collect()
        counts.append(len(gc.get_objects()))
    assert abs(counts[-1] - counts[-2]) < 6
