"""Least slack of the coupled wheels as a function of the sizes of a book: figures, exact rates, many sampled builds.

The requirements of all sections ask one model, which turns every set of sizes round once.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from asmade.book.address import Address
from asmade.measure.errors import AsmadeError, Contradiction
from asmade.motion.bindings.wheels import Array, Bound, Sizes, spreads_of
from asmade.motion.wheels.chance import chance_of_binding
from asmade.motion.wheels.findings import Tightest, tightest
from asmade.motion.wheels.geometry import turn_angles
from asmade.motion.wheels.slack import least_slack
from asmade.motion.wheels.worst import worst_case
from asmade.reckon.requirement import Ends, Row

if TYPE_CHECKING:
    from asmade.motion.wheels.chance import Chances
    from asmade.motion.wheels.chassis import Chassis
    from asmade.motion.wheels.slack import Boxes
    from asmade.reckon.values import Values

FEW: Final = 500
"""Of more sampled builds so many are turned round; the rest repeat them, so that shares of all are shares of these."""
ANGLES: Final = 24
"""Angles of a turn for sampled builds, and the dead centres: every 45 degrees, where quarters bind, is among them."""
KEPT: Final = 16
SAMPLES: Final = 1_000
SEED: Final = 20_201
WORST_ANGLES: Final = 180
"""Builds drawn for the chance, and angles of a turn for the worst case: ``asmade wheels`` takes the same."""
NO_RATE: Final = 1e-6
"""A slope less than this (mm a mm) is rounding."""


@dataclass(slots=True)
class _Looked:
    """One set of sizes: the chassis, or why there is none, and where each section is tightest once it is asked."""

    chassis: Chassis | None
    fault: str = ""
    tightest: dict[int, Tightest] = field(default_factory=dict)
    least: Array | None = None


class Model:
    """The chassis of a book with its boxes blocked or free."""

    def __init__(self, bound: Bound, boxes: Boxes) -> None:
        """Nothing is worked out until it is asked."""
        self.bound, self.boxes = bound, boxes
        self.reads = bound.reads(boxes)
        self._looked: OrderedDict[bytes, _Looked] = OrderedDict()
        self._sampled: tuple[bytes, Array] = (b"", np.zeros((0, 0)))
        self._chances: tuple[Values, float, Chances] | None = None

    def least(self, section: int, sizes: Sizes) -> Any:
        """Least each-way slack of a section over the turn, linear; NaN where it cannot be told."""
        vector = self.bound.vector(sizes, self.boxes)
        count = vector.shape[1]
        if count > 1:
            return np.resize(self._of_many(vector[:, :FEW])[section], count)
        looked = self._look(vector)
        if looked.chassis is None:
            return math.nan
        if looked.least is None:
            looked.least = self._turned(looked.chassis)[:, 0]
        return float(looked.least[section])

    def _of_many(self, vector: Array) -> Array:
        key = vector.tobytes()
        if self._sampled[0] != key:
            self._sampled = (key, self._turned(self.bound.unchecked(vector)))
        return self._sampled[1]

    def _turned(self, chassis: Chassis) -> Array:
        angles = turn_angles(chassis, 8 if chassis.layout.has_rigid else ANGLES)
        return least_slack(chassis, angles, self.boxes)

    def _look(self, vector: Array) -> _Looked:
        key = vector.tobytes()
        found = self._looked.get(key)
        if found is None:
            found = self._looked[key] = self._made(vector)
            if len(self._looked) > KEPT:
                self._looked.popitem(last=False)
        return found

    def _made(self, vector: Array) -> _Looked:
        if np.isnan(vector).any():
            return _Looked(None, "sizes that are not known")
        try:
            return _Looked(self.bound.built(vector))
        except Contradiction as fault:  # it cannot be put together: the sum tells by how much
            return _Looked(self.bound.unchecked(vector), fault.message)
        except AsmadeError as fault:  # no chassis at all: sections without length, cranks of nothing
            return _Looked(None, fault.message)

    def fault(self, sizes: Sizes) -> str:
        """Why the wheels cannot be put together at these sizes; empty where they can."""
        return self._look(self.bound.vector(sizes, self.boxes)).fault

    def tight(self, section: int, sizes: Callable[[Address], float]) -> Tightest | None:
        """Where a section is tightest, by true distances, and its slopes; None where it cannot be told."""
        looked = self._look(self.bound.vector(sizes, self.boxes))
        if looked.chassis is None:
            return None
        if section not in looked.tightest:
            looked.tightest[section] = tightest(looked.chassis, self.boxes, section, angles=72)
        return looked.tightest[section]

    def ends(self, section: int, values: Values, wanted_mm: float) -> Ends | None:
        """Worst case and chance at the best values of a book, as ``asmade wheels`` works them out; None: no chassis."""
        chassis = self._look(self.bound.vector(values.of, self.boxes)).chassis
        if chassis is None:
            return None
        spreads = spreads_of(self.bound, values, self.boxes)
        if self._chances is None or self._chances[0] is not values or self._chances[1] != wanted_mm:
            found = chance_of_binding(chassis, spreads, self.boxes, samples=SAMPLES, seed=SEED, below_mm=wanted_mm)
            self._chances = (values, wanted_mm, found)
        worst = worst_case(chassis, spreads, self.boxes, section, turn_angles(chassis, WORST_ANGLES))
        return Ends(low=worst.slack_mm, high=None, chance=1.0 - self._chances[2].sections[section].value)

    def row(self, section: int, sizes: Callable[[Address], float]) -> Row:
        """The least slack of a section linearised at given sizes; its constant is NaN where it cannot be told."""
        found = self.tight(section, sizes)
        if found is None:
            return Row(dict.fromkeys(self.reads, 0.0), math.nan, exact=False)
        rates: dict[Address, float] = {}
        for slope, of_row in zip(found.slopes, self.bound.rates(sizes, self.boxes), strict=True):
            for address, rate in of_row.items():
                rates[address] = rates.get(address, 0.0) + float(slope) * rate
        rates = {address: rate for address, rate in rates.items() if abs(rate) > NO_RATE}
        value = found.tight.slack_mm
        return Row(rates, value - math.fsum(rate * sizes(a) for a, rate in rates.items()), exact=False)
