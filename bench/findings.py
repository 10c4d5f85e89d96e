"""Fold, compile, best values and full findings of a 5,000-size book; one reading to new aims; Monte Carlo.

Peers in the same run: a plain Python loop over the sums, the `uncertainties` package, and a numpy floor (the bare
sparse product on ready arrays). Run ``python bench/findings.py [stacks]``; prints JSON with seconds and ratios.
"""

from __future__ import annotations

import json
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import replace

import numpy as np
from uncertainties import ufloat

import synthetic
from asmade.book.fold import fold
from asmade.reckon.aims import aim_of
from asmade.reckon.findings import Findings, look
from asmade.reckon.sampling import CHUNK, chances
from asmade.reckon.system import compile_system
from asmade.reckon.values import Values, compute


def best_of(times: int, work: Callable[[], object]) -> float:
    found = []
    for _ in range(times):
        begin = time.perf_counter()
        work()
        found.append(time.perf_counter() - begin)
    return min(found)


def anew(values: Values) -> Findings:
    """A look that knows nothing of those before."""
    values.__dict__.pop("_looked", None)
    return look(values)


def full(values: Values) -> None:
    found = anew(values)
    found.verdict  # noqa: B018  # worked out when first asked for
    found.chance  # noqa: B018


def main() -> None:
    stacks = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    drafts = synthetic.drafts(stacks)
    entries = [replace(d, number=k) for k, d in enumerate(drafts, start=1)]
    build = fold(entries)
    system = compile_system(build)
    values = compute(build, system)
    found = look(values)
    rows = [
        [(system.index[a], k) for a, k in r.linear().terms.items()] for r in system.requirements
    ]  # fmt: skip
    best = values.best.tolist()
    sigma = [values.spread(at)[0] for at in range(len(best))]
    several = [ufloat(b, max(s, 1e-9)) for b, s in zip(best, sigma, strict=True)]

    def loop() -> list[float]:
        return [sum(k * best[at] for at, k in row) for row in rows]

    def packaged() -> list[float]:
        sums = [sum(k * several[at] for at, k in row) for row in rows]
        return [x.std_dev for x in sums]

    matrix, rates = found.rows, values.rates
    floor_best = np.nan_to_num(values.best)

    def floor() -> None:
        matrix @ floor_best
        product = matrix @ rates
        np.sqrt(np.asarray(product.multiply(product) @ (values.sigma**2)))

    t_full = best_of(7, lambda: full(values))
    t_loop, t_packaged, t_floor = best_of(5, loop), best_of(3, packaged), best_of(7, floor)
    seat = next(r.to_suit for r in system.requirements if r.to_suit is not None)

    def reading_to_aims() -> None:
        after = compute(replace(build), system)  # another build of the same: nothing of it is known
        aim_of(build, after, seat)

    count = 100_000
    used = np.unique(found.rates.indices)
    bare = found.rates[:, used]

    def bare_product_and_draw() -> None:
        random = np.random.default_rng(1)
        for _ in range(count // CHUNK):
            bare @ random.standard_normal((used.size, CHUNK))

    t_bare = best_of(1, bare_product_and_draw)
    t_sampled = best_of(1, lambda: chances(found, count))
    print(json.dumps({
        "sizes": len(best), "requirements": len(rows), "entries": len(entries),
        "fold_s": best_of(3, lambda: fold(entries)), "compile_s": best_of(3, lambda: compile_system(replace(build))),
        "values_s": best_of(5, lambda: compute(replace(build), system)), "findings_s": t_full,
        "open_every_finding_s": best_of(2, lambda: list(anew(values))),
        "one_reading_to_new_aim_s": best_of(3, reading_to_aims),
        "plain_loop_values_only_s": t_loop, "uncertainties_s": t_packaged, "numpy_floor_s": t_floor,
        "uncertainties_over_findings": t_packaged / t_full, "findings_over_floor": t_full / t_floor,
        "monte_carlo_causes": int(used.size), "monte_carlo_engines": count, "monte_carlo_s": t_sampled,
        "monte_carlo_over_bare_product_and_draw": t_sampled / t_bare,
        "peak_memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }, indent=2))  # fmt: skip


if __name__ == "__main__":
    main()
