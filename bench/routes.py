"""How long planning takes: routes of the demo's parts, set-ups put together, and 60 parts as a floor to hold to.

Prints JSON: milliseconds (median of several runs), the share of a second that 60 parts take, and beside it how long
reading and folding the book and computing its sizes take in the same run.
"""

from __future__ import annotations

import json
import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from importlib import resources

from asmade.book.fold import fold
from asmade.book.text import read_text
from asmade.reckon.values import compute
from asmade.verbs.route import setups_of
from asmade.work.routes import RoutePlanner

RUNS = 5
PARTS = 60


def took(what: Callable[[], object], runs: int = RUNS) -> float:
    """Median seconds of several runs, the first left out."""
    what()
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        what()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def main() -> None:
    """Measure and print."""
    text = resources.files("asmade").joinpath("book/data/demo/harrowgill.toml").read_text(encoding="utf-8")
    drafts = [replace(draft, number=n) for n, draft in enumerate(read_text(text), 1)]
    build = fold(drafts)
    values = compute(build)
    routes, _ = RoutePlanner(build, values).every()
    first: dict[str, str] = {}
    for route in routes:
        first.setdefault(route.part, route.place)
    seats = [(r.part, r.place) for r in routes][:PARTS]

    def sixty() -> None:
        planner = RoutePlanner(build, values)
        for part, place in seats:
            planner.plan(part, place)

    cold = time.perf_counter()
    RoutePlanner(build, values).plan(*seats[0])
    cold = time.perf_counter() - cold
    found = setups_of(build, values)
    print(
        json.dumps(
            {
                "routes": len(routes),
                "operations": sum(len(r.operations) for r in routes),
                "sixty_pieces_ms": round(1000 * took(sixty), 1),
                "sixty_pieces_share_of_a_second": round(took(sixty), 3),
                "every_route_ms": round(1000 * took(lambda: RoutePlanner(build, values).every()), 1),
                "first_route_ms": round(1000 * cold, 1),
                "set_ups_ms": round(1000 * took(lambda: setups_of(build, values), 3), 1),
                "set_ups": len(found.batches.batches),
                "at_least": found.batches.least,
                "piece_by_piece": found.batches.each_alone,
                "beside_it_fold_ms": round(1000 * took(lambda: fold(drafts), 3), 1),
                "beside_it_sizes_ms": round(1000 * took(lambda: compute(replace(build)), 3), 1),
            },
            indent=2,
        )
    )


if __name__ == "__main__":
    main()
