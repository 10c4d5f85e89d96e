"""Room between moving parts: the least gap over the turn, side by side, sideways play and end float at their worst.

    [[gap]]
    name = "nothing touches"
    places = ["L", "R"]                          # sides
    least = "0.50 mm"                            # wanted between any two
    pairs = [["pin cap 1", "crosshead"]]         # only these, each a finding; else the nearest of all is one
    wanted = { "wheel 1 - wheel 2" = "2 mm" }    # where a pair wants another gap
    rise = "1 mm"                                # axles rise and fall so far either way
    line_y = "0 mm"                              # cylinder line above the axles
    reverser = [1.0, 0.0, -1.0]                  # at which positions links of the valve gear are looked at
    [gap.links."eccentric rod"]                  # a link of the valve gear: how wide, how thick, how far out
    width = "6 mm"                               # eye = ... where its bosses are wider
    thickness = "5 mm"
    inner = "cylinder@{side}.line_to_centre + 12 mm"
    [gap.bodies.valance]                         # whatever else is near: a part with a form, or a box
    moves = "fixed"                              # or axle, pin, rods, crosshead, connecting rod (axle = "1" says which)
    x = "100 mm"                                 # its middle from the driving axle (or the pin it moves with)
    y = "40 mm"
    inner = "0.5 * frames_assembled@engine.over_outside + footplate@{side}.width"
    length = "300 mm"
    height = "12 mm"
    width = "2 mm"

Bodies are found by the kits' names: wheel 1, crank pin 1, pin cap 1, coupling rod 12, connecting rod, crosshead,
gudgeon pin, upper slide bar, lower slide bar, rear cylinder cover. How it is reckoned: docs/gaps.md.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from asmade.book.address import Address
from asmade.book.model import Relation
from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.reckon.requirement import Limits, Row, Unit
from asmade.reckon.scope import Scope, subject_at

if TYPE_CHECKING:
    from asmade.motion.bindings.gap_model import Model, Wanted
    from asmade.motion.bindings.gaps import Side

KIND = "gap"
HELP = (
    "room between moving parts over the turn: least, pairs (two bodies each), wanted (other amounts by pair), rise, "
    "line_y, bodies (parts or boxes besides those of the kits), links (of the valve gear), reverser"
)
SOURCE = "geometry: moving parts must not touch"


@dataclass(frozen=True, slots=True)
class Gap:
    """The least gap of one pair of bodies on one side, or of all of them. lacks: why a body of it is not there."""

    subject: str
    limits: Limits
    model: Model
    code: str = KIND
    to_suit: Address | None = None
    unit: Unit = "mm"
    lacks: tuple[str, ...] = ()
    corners_alone: bool = True
    """Of arrays it is told by its rates only: its worst corners are asked for one by one."""

    @property
    def group(self) -> str:
        """A finding of its own."""
        return self.subject

    @property
    def source(self) -> str:
        """Who set the limits."""
        return self.limits.source

    @property
    def plays(self) -> tuple[str, ...]:
        """Sideways freedoms taken at their worst."""
        return tuple(name for name, _, _ in self.model.side.freedoms)

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size of the bodies and of their freedoms."""
        return self.model.reads

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Least gap; of many sets of sizes by the rates at their mean."""
        import numpy as np  # noqa: PLC0415

        count = max((np.size(sizes(address)) for address in self.reads), default=1)
        if count > 1:
            return self.model.values(sizes, count)
        return self.model.value(lambda address: float(np.asarray(sizes(address)).reshape(-1)[0]))

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """Rates of the nearest pair at its tightest place."""
        return None if at is None else self.model.row(at)

    def working(self, sizes: Callable[[Address], str]) -> str:
        """The nearest pair, where, and what could not be looked at."""
        looked = self.model.latest
        if looked is None or looked.finding is None:
            return "least gap over the turn" + (f": {looked.fault}" if looked and looked.fault else "")
        least, pair = looked.finding.least, looked.finding.pair
        rates = ", ".join(
            f"{name} {sizes(address)} x {rate:+.3f}"
            for address in self.reads
            if (rate := looked.finding.rates.get(name := str(address), 0.0))
        )
        out = "".join(f"; left out: {name} ({why})" for name, why in looked.left_out)
        geared = self.model.side.reverser_at(least.at_rad) if self.model.geared else None
        at = "" if geared is None else f", reverser {geared:+g}"
        degrees = math.degrees(least.at_rad) % 360
        return f"{pair.name}, {least.where}, at {degrees:.0f} deg of its crank{at}: {rates}{out}"


def wanted_of(relation: Relation, least_mm: float) -> Wanted:
    """The gap wanted between two bodies: what the relation says of that pair, else the common one."""
    from asmade.book.sizes import read_limit  # noqa: PLC0415

    table = relation.fields.get("wanted", {})
    if not isinstance(table, Mapping):
        raise Refused(f"{KIND} {relation.name!r} wanted", got=table, reason="it should be a table by pairs",
                      way_out='write wanted = { "wheel 1 - wheel 2" = "2 mm" }')  # fmt: skip
    amounts: dict[frozenset[str], float] = {}
    for name, text in table.items():
        two = frozenset(each.strip() for each in str(name).split(" - "))
        found = read_limit(str(text), angle=False, thing=f"{KIND} {relation.name!r} wanted {name}")
        if len(two) != 2 or found is None or found < 0:
            raise Refused(f"{KIND} {relation.name!r} wanted", got=f"{name} = {text}", reason="it is no pair and amount",
                          way_out='write "wheel 1 - wheel 2" = "2 mm"')  # fmt: skip
        amounts[two] = float(found)
    return lambda one, other: amounts.get(frozenset((one, other)), least_mm)


def least_of(relation: Relation, scope: Scope) -> Limits:
    """The gap wanted between any two: 0 where it is not said."""
    found = scope.limits(relation, source=SOURCE)
    if found.low is not None and found.low < 0:
        raise OutOfRange(f"{KIND} {relation.name!r} least", got=f"{found.low:g} mm", allowed="0 mm or more")
    return Limits(found.low or 0.0, None, found.source if relation.text("least") else SOURCE)


def pairs_said(relation: Relation, side: Side) -> tuple[tuple[str, str], ...]:
    """The pairs of bodies that the relation names."""
    said = relation.fields.get("pairs", ())
    names = [body.name for body in side.every]
    missing = [name for name, _ in side.left_out]
    found = []
    for row in said if isinstance(said, list | tuple) else (said,):
        two = [each.strip() for each in row.split(" - ")] if isinstance(row, str) else row
        if not isinstance(two, list | tuple) or len(two) != 2:
            raise Refused(f"{KIND} {relation.name!r} pairs", got=row, reason="a pair is two bodies",
                          way_out='write pairs = [["pin cap 1", "crosshead"]]')  # fmt: skip
        for name in two:
            if name not in names and name not in missing:
                raise Unknown(f"{KIND} {relation.name!r} pairs", got=name, near=near(str(name), names),
                              way_out=f"there are {', '.join(names)}")  # fmt: skip
        found.append((str(two[0]), str(two[1])))
    return tuple(found)


def requirements(relation: Relation, scope: Scope) -> Iterator[Gap]:
    """One for each side, or for each pair at each side where pairs are named."""
    from asmade.motion.bindings.gap_finder import sides_of  # noqa: PLC0415  # only books that ask for gaps pay for it
    from asmade.motion.bindings.gap_model import Model  # noqa: PLC0415

    limits = least_of(relation, scope)
    least = float(limits.low or 0.0)
    wanted = wanted_of(relation, least)
    for side in sides_of(relation, scope):
        pairs = pairs_said(relation, side)
        if not pairs:
            yield Gap(subject_at(relation, side.side), limits, Model(side, side.every, wanted, least))
        for one, other in pairs:
            amount = wanted(one, other)
            why = dict(side.left_out)
            lacks = tuple(f"{name} ({why[name]})" for name in (one, other) if name in why)
            bodies = () if lacks else (side.body(one), side.body(other))
            own = Limits(amount, None, limits.source)
            subject = f"{relation.name}, {one} to {other}@{side.side}"
            yield Gap(subject, own, Model(side, bodies, wanted, amount), lacks=lacks)
