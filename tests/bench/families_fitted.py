"""Random designs of every family, fitted from their own outline with noise: how many are named and measured rightly.

Run: python tests/bench/families_fitted.py [COUNT] [SEED] [FIRST]. Prints each miss, then the count.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from rooms.lift.noisy import tried


def main(count: int = 200, seed: int = 20261126, first: int = 0) -> None:
    """Try so many designs."""
    right = whole = dimensions = missed = 0
    begun = time.process_time()
    for done, number in enumerate(range(first, first + count), 1):
        case = tried(number, seed)
        right += case.right
        whole += not case.missed
        dimensions += len(case.fit.driven)
        missed += len(case.missed)
        if case.missed or not case.right:
            names = [f.shape.family.name for f in case.fits]
            print(number, case.shape.family.name, "->", names, case.missed, flush=True)
        if done % 20 == 0:
            print(f"  {done}: {right} named rightly, {whole} without a miss", flush=True)
    print(
        f"seed {seed}: {right} of {count} named rightly; {dimensions - missed} of {dimensions} dimensions within three "
        f"times the noise or what the outline tells; {whole} designs without a miss; "
        f"{(time.process_time() - begun) / count:.1f} s of processor time each"
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:4]))
