"""A designer's sweep over an endless generator, on a cluster of this machine: one worker process and one of threads.

Run:  python on_a_cluster.py
"""

import itertools
import logging
from collections.abc import Iterator

from distributed import Client, LocalCluster

import blankwright as bw


def variants(read: list[int]) -> Iterator[bw.Design]:
    """Yield chef's knives without end, each a little longer than the last."""
    base = bw.request("chef", blade_length_mm=180)
    for i in itertools.count():
        read.append(i)
        yield base.replace(blade_length_mm=180 + i / 50)


def swept(processes: bool, rows: int) -> list[dict[str, object]]:
    """Return the first rows of the endless sweep."""
    read: list[int] = []
    with (
        LocalCluster(
            n_workers=1,
            threads_per_worker=2,
            processes=processes,
            dashboard_address=None,
            silence_logs=logging.ERROR,  # a list that is called back while it is solved is told as a warning
        ) as cluster,
        Client(cluster) as client,
    ):
        found = list(itertools.islice(bw.sweep(variants(read), client), rows))
    print(f"{'a process' if processes else 'threads'}: {len(found)} rows, {len(read)} designs read")
    return found


if __name__ == "__main__":
    here = list(itertools.islice(bw.sweep(variants([])), 20))
    assert swept(True, 20) == here
    assert swept(False, 20) == here
