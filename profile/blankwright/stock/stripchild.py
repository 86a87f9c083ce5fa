"""The strip search in a process of its own, which may end as it likes: run as a file, it knows nothing of ours.

It reads one line of JSON from its input and prints a line for every layout that is better than those before. When its
input ends, because whoever started it is gone or has enough, it ends at once.
"""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
import time
from typing import Any

_EVERY_S = 0.1


def _watch() -> None:
    """End with whoever started this: its end of the input closes with it, however it ended."""
    sys.stdin.read()
    os._exit(0)


def _tell(solution: Any, *, final: bool) -> None:
    placed = [[one.id, one.rotation, *one.translation] for one in solution.placed_items]
    sys.stdout.write(json.dumps({"width": solution.width, "placed": placed, "final": final}) + "\n")
    sys.stdout.flush()


def _drain(queue: Any, over: threading.Event) -> None:
    """Print the layouts that are legal as they are found."""
    import spyrrow  # noqa: PLC0415 - only this process needs it

    legal = (spyrrow.ReportType.ExplFeas, spyrrow.ReportType.CmprFeas)
    while not over.is_set():
        found = [solution for kind, solution in queue.drain() if kind in legal]
        if found:
            _tell(min(found, key=lambda one: one.width), final=False)
        time.sleep(_EVERY_S)


def main() -> None:
    """Search one strip."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # a key that stops the run stops whoever started this
    asked = json.loads(sys.stdin.readline())
    threading.Thread(target=_watch, daemon=True).start()
    import spyrrow  # noqa: PLC0415 - only this process needs it

    items = [
        spyrrow.Item(str(one["id"]), [(x, y) for x, y in one["shape"]], one["demand"], one["turns"])
        for one in asked["items"]
    ]
    strip = spyrrow.StripPackingInstance("strip", asked["height"], items)
    whole = max(2, round(asked["seconds"]))
    explore = max(1, round(whole * asked["share"]))
    config = spyrrow.StripPackingConfig(
        early_termination=False,
        total_computation_time=None,
        exploration_time=explore,
        compression_time=max(1, whole - explore),
        min_items_separation=asked["gap"] or None,
        num_workers=asked["workers"],
        seed=asked["seed"],
    )
    queue, over = spyrrow.ProgressQueue(), threading.Event()
    teller = threading.Thread(target=_drain, args=(queue, over), daemon=True)
    teller.start()
    solution = strip.solve(config, queue)
    over.set()
    teller.join()
    _tell(solution, final=True)
    sys.stdout.flush()
    os._exit(0)


if __name__ == "__main__":
    main()
