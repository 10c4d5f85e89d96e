"""Requirements as sums over base sizes: what is computed and not measured is seen through, down to what is cut.

The choice of sizes and the aims both work on these rows; findings use the shorter ones of the system.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from asmade.book.address import Address
from asmade.book.grammar import gradient
from asmade.reckon.requirement import Requirement
from asmade.reckon.values import COMPUTED, Values


@dataclass(frozen=True, slots=True)
class BaseRow:
    """``value = constant + sum of rate x size`` over sizes by number; ``exact`` unless something was linearised."""

    terms: Mapping[int, float]
    constant: float
    exact: bool


def base_row(values: Values, requirement: Requirement) -> BaseRow | None:
    """The row of a requirement over sizes that are made or to be made; None where it has no linear form."""
    system = values.system

    def best(address: Address) -> float:
        at = system.index[address]
        value = float(values.best[at])
        return float(system.paper[at]) if math.isnan(value) else value

    row = requirement.linear(best)
    if row is None:
        return None
    terms: dict[int, float] = {}
    constant, exact = row.constant, row.exact
    waiting = [(system.index[a], rate) for a, rate in row.terms.items()]
    while waiting:
        at, rate = waiting.pop()
        formula = system.computed.get(at)
        if formula is None or values.source[at] != COMPUTED:
            terms[at] = terms.get(at, 0.0) + rate
            continue
        if formula.exact is not None:
            constant += rate * float(formula.exact.constant)
            waiting.extend((system.index[a], rate * float(k)) for a, k in formula.exact.terms.items())
            continue
        value, rates = gradient(formula.node, best)
        exact = False
        constant += rate * (value - math.fsum(k * best(a) for a, k in rates.items()))
        waiting.extend((system.index[a], rate * k) for a, k in rates.items())
    kept = {at: rate for at, rate in terms.items() if abs(rate) > 1e-12}
    if math.isnan(constant) or any(math.isnan(rate) for rate in kept.values()):
        return None
    return BaseRow(kept, constant, exact)
