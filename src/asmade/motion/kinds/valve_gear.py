"""A valve gear of the engine: which sizes of the book are its dimensions; it must go together and open its ports.

    [[valve_gear]]
    name = "valve gear"
    places = ["L", "R"]
    gear = "walschaerts"                         # or stephenson, eccentric, joy
    admission = "outside"                        # inside for most piston valves
    return_pin = "leading"                       # and the gear's other choices
    set = "equal leads"                          # how the valve is set on its spindle ...
    set_at = 1.0                                 # ... and at which reverser position (+1 full forward to -1)
    spindle_thread = "valve_spindle@{side}.thread"
    quarter = "wheelset@2.quarter"
    [valve_gear.sizes]                           # every dimension of the gear, a sum of addresses
    crank_radius = "wheel@2{side}.crank_radius"
    lap = "0.5 * slide_valve@{side}.over_steam_edges - 0.5 * port_face@{side}.over_steam_ports"

In place of ``set`` the sizes may hold ``mid``: the place of the spindle pin over the middle of the ports, as measured.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from asmade.book.address import Address
from asmade.book.model import Relation
from asmade.reckon.requirement import Limits, Row, Unit
from asmade.reckon.scope import Scope

if TYPE_CHECKING:
    from asmade.motion.bindings.valve_model import Model

KIND = "valve_gear"
HELP = (
    "a valve gear: gear, admission, the gear's choices, sizes (a table of sums by the names of its dimensions), set, "
    "set_at, spindle_thread, quarter"
)


@dataclass(frozen=True, slots=True)
class GoesTogether:
    """The links meet all the way round, and in full gear both ports open: the least greatest opening, mm.

    Negative where a port never opens, or by how much two links are short of meeting.
    """

    subject: str
    model: Model
    positions: tuple[float, ...]
    code: str = KIND
    plays: tuple[str, ...] = ()
    to_suit: Address | None = None
    unit: Unit = "mm"
    limits: Limits = Limits(0.0, None, "geometry: a gear must go together, a port must open")  # noqa: RUF009  # frozen

    @property
    def group(self) -> str:
        """A finding of its own."""
        return self.subject

    @property
    def source(self) -> str:
        """Geometry."""
        return self.limits.source

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size of the gear and the valve."""
        return self.model.bound.reads

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Least of the greatest openings in full gear."""
        return _least([self.model.figure(wanted, sizes) for wanted in self._wanted()])

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """Linearised by the exact rates of the opening that is least."""
        from asmade.motion.bindings.valve_model import row_of  # noqa: PLC0415  # only books with a gear pay for it

        if at is None:
            return None
        short = self.model.short_mm(at)
        if short > 0:
            return Row(dict.fromkeys(self.reads, 0.0), -short, exact=False)
        rows = [row_of(((1.0, self.model, wanted),), at) for wanted in self._wanted()]
        return min(rows, key=lambda row: row.constant + sum(rate * at(a) for a, rate in row.terms.items()))

    def working(self, sizes: Callable[[Address], str]) -> str:
        """What is asked, and every size that goes into it."""
        from asmade.motion.bindings.valve_model import sums_in_words  # noqa: PLC0415

        return f"least greatest opening of the ports in full gear: {sums_in_words(self.model.bound, sizes)}"

    def _wanted(self) -> Iterator[Any]:
        from asmade.motion.bindings.valve_model import Wanted  # noqa: PLC0415

        return (Wanted("opening", at, end) for at in self.positions for end in ("front", "back"))


def _least(figures: list[Any]) -> Any:
    import numpy as np  # noqa: PLC0415

    return np.min(np.stack(np.broadcast_arrays(*figures)), axis=0)


def requirements(relation: Relation, scope: Scope) -> Iterator[GoesTogether]:
    """One requirement at each side."""
    from asmade.motion.bindings.valve_model import models_of, positions_asked  # noqa: PLC0415

    positions = positions_asked(scope)
    for model in models_of(relation, scope):
        full = tuple(p for p in positions if abs(p) == 1.0)
        yield GoesTogether(f"{model.bound.subject} goes together", model, full)
