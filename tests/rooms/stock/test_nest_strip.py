"""The strip search of the library: whatever it does, its process ends and ours goes on; without it ours answers."""

from __future__ import annotations

import itertools
import os
import select
import signal
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

import blankwright as bw
from blankwright.geometry.outline import Outline
from blankwright.knife.knife import finish
from blankwright.stock import nest, strip
from blankwright.stock.blank import Blank, Job
from blankwright.stock.nest import nested, nested_all
from blankwright.stock.piece import Piece, box, polygon
from rooms.every import every
from rooms.often import elsewhere, repeated
from rooms.stock.jobs import faults_by_geos, random_outline

PACKAGE = Path(bw.__file__).parents[1]
CHEF = finish(bw.request("chef"))
SHEET = Piece("sheet", "sheet", box(300.0, 120.0), ((0.0, 3.0),))


def plates(count: int, **more: object) -> Job:
    blank = Blank("plate", polygon([(0.0, 0.0), (60.0, 0.0), (20.0, 50.0)]), count, 1.0, 0.0, **more)  # type: ignore[arg-type]
    return Job("plates", (SHEET,), (blank,), 2.0)


def asked(shape: list[tuple[float, float]], count: int = 2) -> strip.Item:
    return strip.Item(0, np.array(shape, dtype=float), count, (0.0,), flipped=False)


needs = pytest.mark.skipif(not strip.there(), reason="the library of the extra 'nest' is not installed")


@needs
@every(
    [
        ("crosses itself", [(0, 0), (50, 50), (50, 0), (0, 50)]),
        ("higher than the strip", [(0, 0), (50, 0), (50, 500), (0, 500)]),
        ("nothing at all", [(0, 0), (0, 0), (0, 0)]),
        ("no number", [(0, 0), (float("nan"), 0), (10, 10)]),
    ]
)
def test_a_child_that_falls_over_yields_nothing(_why: str, shape: list[tuple[float, float]]) -> None:
    found = list(strip.strip_layouts([asked(shape)], 100.0, 2.0, 2, seed=1, workers=1))
    assert [one for one in found if one is not None] == []


@needs
def test_parts_as_high_as_the_strip_are_laid_out() -> None:
    square = [(0.0, 0.0), (50.0, 0.0), (50.0, 100.0), (0.0, 100.0)]
    found = [one for one in strip.strip_layouts([asked(square)], 100.0, 2.0, 1, seed=1, workers=1) if one is not None]
    assert found
    assert len(found[-1].placed) == 2


@every(range(8))
def test_what_is_searched_with_runs_near_the_outline_with_few_corners(seed: int) -> None:
    """Measured by GEOS: no further from it than a twentieth of its mean width, on either side, and as large."""
    rng = np.random.default_rng([seed, 52])
    wavy = np.linspace(0.0, 2 * np.pi, 90, endpoint=False)
    reach = 40.0 + 6.0 * np.sin(3 * wavy + seed) + rng.normal(0.0, 0.15, len(wavy))
    for outline in (polygon([(r * np.cos(a), r * np.sin(a)) for r, a in zip(reach, wavy, strict=True)]), CHEF.cut):
        real, asked_for = outline.to_shapely(0.002), shapely.Polygon(strip.even_shape(outline))
        mean = 2 * real.area / real.length
        assert real.exterior.hausdorff_distance(asked_for.exterior) <= min(0.05 * mean, 1.0) * 1.01
        assert asked_for.area == pytest.approx(real.area, rel=0.01)
        assert len(strip.even_shape(outline)) < 0.75 * len(strip.asked_shape(outline))
    thin = polygon(
        [*((r, 0.02 * r * r) for r in range(-40, 41, 4)), *((r, 0.02 * r * r + 2.0) for r in range(40, -41, -4))]
    )
    bow = shapely.Polygon(strip.even_shape(thin))
    assert bow.is_valid
    assert bow.area == pytest.approx(thin.area_mm2, rel=0.1), "a thin bow stays one"
    assert len(strip.even_shape(box(60.0, 20.0))) == 4


def test_parts_that_lie_one_way_are_searched_with_several_seeds_and_the_best_go_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    one_way, turned = asked([(0, 0), (50, 0), (0, 50)]), strip.Item(0, np.zeros((3, 2)), 2, (0.0, 180.0), flipped=False)
    assert strip._searches([one_way], 7, 2) == [{"seed": seed, "workers": 1} for seed in (7, 8, 9, 10)]
    assert strip._searches([one_way, turned], 7, 2) == [{"seed": 7, "workers": 2}]
    ticks = itertools.count()
    monkeypatch.setattr(strip, "time", SimpleNamespace(monotonic=lambda: float(next(ticks))))
    races = [Said(mm) for mm in (9.0, 7.0, 8.0, 6.0)]
    widths = [line["width"] for line in strip._lines(races, 2, 30.0) if line is not None]  # type: ignore[arg-type]
    assert [child.over for child in races] == [True, False, True, False]
    assert widths[0] == widths[-1] == 6.0


class Said:
    """A search that says the same layout for a while."""

    def __init__(self, mm: float) -> None:
        self.least, self.left, self.over, self.done = mm, 20, False, False

    def line(self, _: float) -> dict[str, float]:
        self.left -= 1
        self.done = self.left == 0
        return {"width": self.least}

    def end(self) -> None:
        self.over = True


def test_an_outline_is_asked_no_smaller_than_it_is() -> None:
    rng = np.random.default_rng(5)
    for _ in range(10):
        outline = random_outline(rng)
        import shapely

        around = shapely.Polygon(strip.asked_shape(outline))
        inner = shapely.Polygon(outline.flattened(1e-4))
        assert around.buffer(1e-3).covers(inner)
        assert around.hausdorff_distance(inner) < 4 * strip.AROUND_MM
    corner = Outline(np.array([[0.0, 0.0, 0.0], [9.0, 0.0, 0.0], [0.0, 9.0, 0.0]]))
    assert np.array_equal(strip.asked_shape(corner), corner.vertices[:, :2])


@needs
def test_the_library_and_ours_together_are_legal_and_no_worse() -> None:
    job = plates(9)
    alone, both = nested(job, 0.4, library=False), nested(job, 1.6, workers=1)
    assert faults_by_geos(both.layout) == []
    assert both.library
    assert both.layout.worth <= alone.layout.worth


def test_without_the_library_ours_answers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(nest, "there", lambda: False)
    found = nested(plates(5), 0.4)
    assert not found.library
    assert found.layout.left == {}


def test_an_interrupt_keeps_the_best_so_far(monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(nest, "by_chance", stopped)
    found = nested(plates(5), 5.0, library=False)
    assert found.stopped
    assert found.layout.left == {}


RUN = """if True:
    import sys
    from rooms.stock.test_nest_strip import plates
    from blankwright.stock.nest import nested
    nested(plates(12), 60.0, told=lambda _: print("on", flush=True), workers=1)
"""


def _children(pid: int) -> list[int]:
    return [int(p) for p in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


@needs
@pytest.mark.skipif(not hasattr(os, "pidfd_open"), reason="ends of processes are waited for by descriptors")
def test_killed_outright_its_child_is_gone() -> None:
    path = os.pathsep.join([str(PACKAGE), str(Path(__file__).parents[2])])
    with subprocess.Popen(
        [sys.executable, "-c", RUN], env=os.environ | {"PYTHONPATH": path}, stdout=subprocess.PIPE, text=True
    ) as run:
        assert run.stdout is not None
        assert run.stdout.readline() == "on\n"  # the first strip is begun before
        ends = [os.pidfd_open(child) for child in _children(run.pid)]
        run.send_signal(signal.SIGKILL)
        run.wait()
    assert ends
    for end in ends:
        assert select.select([end], [], [], 20.0)[0], "a child outlived its parent"
        os.close(end)


def test_several_jobs_run_on_any_executor() -> None:
    jobs = [plates(3), plates(4, turn=(0.0, 180.0))]
    for executor in (ThreadPoolExecutor(2), ProcessPoolExecutor(1)):
        with executor:
            found = list(nested_all(jobs, 0.3, executor))
        assert [one.layout.left for one in found] == [{}, {}]
        assert all(faults_by_geos(one.layout) == [] for one in found)


@repeated
@elsewhere
def test_several_jobs_run_on_a_cluster() -> None:
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        found = list(nested_all([plates(3), plates(4)], 0.3, client.get_executor()))
    assert [one.layout.left for one in found] == [{}, {}]
