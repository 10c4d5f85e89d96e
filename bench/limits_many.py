"""Limits of 10,000 sizes: vectorised, one call per size, and a bare numpy look-up in the same run. Prints JSON."""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable

import numpy as np

from asmade.standards.limits import limits, limits_many

SIZES = np.random.default_rng(1).uniform(1.5, 120, 10_000)
EDGES = np.array([1.0, 3, 6, 10, 14, 18, 24, 30, 40, 50, 65, 80, 100, 120])
VALUES = np.arange(14.0)


def median_s(work: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    limits_many(SIZES, "P7")  # tables read and cached before the clock starts
    floor = median_s(lambda: VALUES[np.searchsorted(EDGES, SIZES)], 50)
    many = median_s(lambda: limits_many(SIZES, "P7"), 50)
    one_by_one = median_s(lambda: [limits(float(size), "P7") for size in SIZES], 3)
    print(
        json.dumps(
            {
                "sizes": len(SIZES),
                "numpy_lookup_s": floor,
                "limits_many_s": many,
                "limits_one_by_one_s": one_by_one,
                "many_over_numpy": round(many / floor, 2),
                "one_by_one_over_many": round(one_by_one / many, 1),
            },
            indent=1,
        )
    )


if __name__ == "__main__":
    main()
