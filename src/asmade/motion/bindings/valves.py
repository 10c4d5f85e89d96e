"""From the sizes of a book to the valve gear of each side: which sum of the book gives each of its dimensions.

A ``[[valve_gear]]`` names the kind of gear and its choices; in its table ``sizes`` every dimension of the gear, the
laps and the ports are sums of addresses of the book, written once with ``{side}``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final, cast

import numpy as np

from asmade.book.address import Address, words_of_place
from asmade.book.grammar import Node, addresses, evaluate, gradient
from asmade.book.model import Relation
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown, near
from asmade.motion.gears import Gear, gear
from asmade.motion.valves.engine import Admission, Engine, Side, SideName, Valve
from asmade.motion.valves.setting import Rule, set_valve
from asmade.reckon.scope import Scope, only, places_of

KIND: Final = "valve_gear"
VALVE: Final[Mapping[str, tuple[str, ...]]] = {
    "lap": ("lap_front", "lap_back"),
    "exhaust_lap": ("exhaust_lap_front", "exhaust_lap_back"),
    "port": ("port_front", "port_back"),
}
"""What the valve and its ports need: one sum for both ends, or one for each."""
MID: Final = "mid"
QUARTER: Final = 0.5 * np.pi
RULES: Final = ("equal leads", "equal openings")
Sizes_ = Callable[[Address], Any]


class NotKnown(AsmadeError):
    """Sizes of the valve gear that have no value yet."""

    code = "not_known"

    def __init__(self, subject: str, missing: tuple[str, ...], way_out: str) -> None:
        """Name the sizes, the first eight of them."""
        listed = ", ".join(missing[:8]) + (f" and {len(missing) - 8} more" if len(missing) > 8 else "")
        super().__init__(f"{subject}: not known: {listed}", way_out=way_out)
        self.missing = missing


@dataclass(frozen=True)
class Bound:
    """One side's gear as the book gives it; the sums are those of the gear's dimensions, then of the valve's.

    Without a sum for ``mid`` (the place of the spindle pin over the middle of the ports) the valve is set by ``rule``
    at the reverser position ``set_at``.
    """

    name: str
    place: str
    side: SideName
    gear: str
    choices: tuple[tuple[str, str], ...]
    admission: Admission
    sums: tuple[tuple[str, Node], ...]
    rule: Rule
    set_at: float
    spindle_thread: Address | None
    quarter: Node | None = None

    @property
    def subject(self) -> str:
        """``valve gear@R``."""
        return f"{self.name}@{self.place}"

    @property
    def kind(self) -> Gear:
        """The kind of gear."""
        return gear(self.gear)

    @cached_property
    def node(self) -> Mapping[str, Node]:
        """Sum by dimension."""
        return dict(self.sums)

    @property
    def measured_mid(self) -> bool:
        """Whether the book says where the valve stands on its spindle."""
        return MID in self.node

    @cached_property
    def reads(self) -> tuple[Address, ...]:
        """Every size and figure it depends on."""
        return tuple(dict.fromkeys(a for _, node in self.sums for a in addresses(node)))

    def values(self, sizes: Sizes_) -> dict[str, Any]:
        """Value of every dimension, mm or rad; NaN where a size it is a sum of is not known."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return {name: evaluate(node, sizes) for name, node in self.sums}

    def rates(self, sizes: Callable[[Address], float]) -> dict[str, dict[Address, float]]:
        """Rate of every dimension to every size it is a sum of."""
        return {name: gradient(node, sizes)[1] for name, node in self.sums}

    def missing(self, sizes: Sizes_) -> tuple[str, ...]:
        """Sizes that are not known."""
        return tuple(str(a) for a in self.reads if np.isnan(sizes(a)).any())

    def of(self, values: Mapping[str, Any], *, as_set: bool = True) -> Side:
        """Gear and valve of given dimensions, the valve set by the rule where the book does not say how it stands.

        Refuses zero or negative lengths and links that cannot meet, by name.
        """
        dims = {size.name for size in self.kind.sizes}
        sizes = self.kind.of({n: v for n, v in values.items() if n in dims}, dict(self.choices))
        ends = {each: values.get(each, values.get(both)) for both, pair in VALVE.items() for each in pair}
        side = Side(
            sizes, Valve(self.admission, **{n: v for n, v in ends.items() if v is not None}, mid=values.get(MID, 0.0))
        )
        return side if self.measured_mid or not as_set else set_valve(side, self.rule, self.set_at)

    def side_of(self, sizes: Sizes_, way_out: str = "") -> Side:
        """Gear and valve as given sizes make them; sizes that are not known are named."""
        missing = self.missing(sizes)
        if missing:
            raise NotKnown(self.subject, missing, way_out or "give them with `asmade drawn`, `choose` or `made`")
        values = self.values(sizes)
        for name, value in values.items():
            if not np.isfinite(value).all():
                raise OutOfRange(
                    f"{name} of {self.subject}",
                    got=value,
                    allowed="a sum that comes out",
                    way_out="the sizes in it form no triangle: look at them with `asmade show`",
                )
        return self.of(values)


def bind(relation: Relation, scope: Scope) -> tuple[Bound, ...]:
    """Read one ``[[valve_gear]]``: one for each of its places; what is missing or not there is refused by name."""
    where = f"{KIND} {relation.name!r}"
    kind = gear(relation.text("gear")) if relation.text("gear") else None
    if kind is None:
        raise Refused(
            where,
            got=dict(relation.fields),
            reason="it does not say which gear",
            way_out='add gear = "walschaerts" (or another that `asmade valves --help` names)',
        )
    only(
        relation,
        "gear",
        "admission",
        "sizes",
        "set",
        "set_at",
        "spindle_thread",
        "quarter",
        *(c.name for c in kind.choices),
    )
    admission = relation.text("admission")
    if admission not in ("outside", "inside"):
        raise Unknown(
            f"{where} admission",
            got=admission,
            near=near(admission, ("outside", "inside")),
            way_out='write "outside" (slide valve) or "inside" (most piston valves)',
        )
    choices = _choices(relation, kind)
    texts = _texts(relation, kind, choices)
    rule = relation.text("set") or RULES[0]
    if rule not in RULES:
        raise Unknown(f"{where} set", got=rule, near=near(rule, RULES), way_out=f"one of: {', '.join(RULES)}")
    found = []
    for place in places_of(relation):
        side = words_of_place(place).get("side", "")
        if not side:
            raise Refused(
                where,
                got=place or "no place",
                reason="a valve gear stands at a side",
                way_out='write places = ["L", "R"]',
            )
        sums = tuple((name, scope.node(text, place, relation)) for name, text in texts.items())
        thread = relation.text("spindle_thread")
        found.append(
            Bound(
                relation.name,
                place,
                cast("SideName", side),
                kind.name,
                tuple(choices.items()),
                cast("Admission", admission),
                sums,
                cast("Rule", rule),
                _set_at(relation),
                scope.address(thread, place, relation) if thread else None,
                scope.node(relation.text("quarter"), place, relation) if relation.text("quarter") else None,
            )
        )
    return tuple(found)


def _set_at(relation: Relation) -> float:
    at = relation.fields.get("set_at", 1.0)
    if isinstance(at, bool) or not isinstance(at, int | float) or not -1 <= at <= 1:
        raise OutOfRange(f"{KIND} {relation.name!r} set_at", got=at, allowed="-1 (full backward) to +1 (full forward)")
    return float(at)


def _choices(relation: Relation, kind: Gear) -> dict[str, str]:
    found = {}
    for choice in kind.choices:
        said = relation.text(choice.name)
        if said not in choice.allowed:
            listed = " or ".join(f'"{each}"' for each in choice.allowed)
            raise Unknown(
                f"{KIND} {relation.name!r} {choice.name}",
                got=said or "nothing",
                near=near(said, choice.allowed),
                way_out=f"write {choice.name} = {listed} ({choice.meaning})",
            )
        found[choice.name] = said
    return found


def _texts(relation: Relation, kind: Gear, choices: Mapping[str, str]) -> dict[str, str]:
    """Sum of each dimension as written; what must be given and is not, or is no dimension of this gear, is refused."""
    where = f"{KIND} {relation.name!r} sizes"
    table = relation.fields.get("sizes")
    if not isinstance(table, Mapping):
        raise Refused(
            where,
            got=table,
            reason="it should be a table of sums by the names of the gear's dimensions",
            way_out=f"write [{KIND}.sizes] with one line for each",
        )
    of_gear = [size for size in kind.sizes if size.applies(choices)]
    known = [*(size.name for size in of_gear), *VALVE, *(each for pair in VALVE.values() for each in pair), MID]
    for name in table:
        if name not in known:
            raise Unknown(
                where, got=name, near=near(str(name), known), way_out=f"{kind.title} so chosen has {', '.join(known)}"
            )
    lacking = {size.name: size.meaning for size in of_gear if size.name not in table and size.usual is None}
    for both, pair in VALVE.items():
        if both not in table and any(each not in table for each in pair):
            lacking[both] = f"of the valve, both ends; or {' and '.join(pair)}"
        if both in table and any(each in table for each in pair):
            raise Refused(where, got=both, reason=f"{both} and {pair[0]} are both given", way_out="keep one of the two")
    if lacking:
        listed = "; ".join(f"{name} ({meaning})" for name, meaning in lacking.items())
        raise Refused(
            where,
            got=f"{len(table)} dimensions",
            reason=f"these are missing: {listed}",
            way_out="give each a sum of addresses, or an amount with its unit",
        )
    return {name: str(table[name]) for name in known if name in table}


def bound_gears(scope: Scope) -> tuple[Bound, ...]:
    """All gears of a book, side by side."""
    return tuple(bound for relation in scope.design.of_kind(KIND) for bound in bind(relation, scope))


def sides_of(scope: Scope, name: str = "") -> tuple[Bound, Bound]:
    """Right and left gear of that name, or of the only one there is."""
    every = bound_gears(scope)
    names = tuple(dict.fromkeys(bound.name for bound in every))
    if not names:
        raise Refused(
            "valve gear",
            got="none",
            reason="the book has no [[valve_gear]]",
            way_out="`asmade new BOOK --gear walschaerts` begins a book with one; docs/valves.md shows how to write it",
        )
    if name and name not in names:
        raise Unknown("valve gear", got=name, near=near(name, names), way_out=f"there are: {', '.join(names)}")
    if not name and len(names) > 1:
        raise Refused("valve gear", got=", ".join(names), reason="the book has several", way_out="name one with --gear")
    by_side = {bound.side: bound for bound in every if bound.name == (name or names[0])}
    if len(by_side) < 2:
        raise Refused(
            f"{KIND} {name or names[0]!r}",
            got=", ".join(by_side),
            reason="it stands at one side only",
            way_out='write places = ["L", "R"]',
        )
    return by_side["R"], by_side["L"]


def engine_of(pair: tuple[Bound, Bound], sizes: Sizes_, leads: str, *, way_out: str = "") -> Engine:
    """Both sides as given sizes make them; ``leads`` is the side whose crank is ahead (R where the book is silent).

    Both sides' missing sizes are named together. Without a known quarter the cranks stand at 90 degrees, as everywhere.
    """
    missing = tuple(dict.fromkeys(each for bound in pair for each in bound.missing(sizes)))
    if missing:
        raise NotKnown(pair[0].name, missing, way_out or "give them with `asmade drawn`, `choose` or `made`")
    right, left = (bound.side_of(sizes) for bound in pair)
    quarter = next((b.quarter for b in pair if b.quarter is not None), None)
    angle = QUARTER if quarter is None else float(evaluate(quarter, sizes))
    return Engine(right, left, cast("SideName", leads or "R"), QUARTER if np.isnan(angle) else angle)


def in_words(bound: Bound) -> str:
    """How the valve stands, in words."""
    if bound.measured_mid:
        return "the valve stands on its spindle as the book says"
    return f"the valve is set for {bound.rule} at {bound.set_at:+g}"


__all__ = [
    "KIND",
    "MID",
    "VALVE",
    "Bound",
    "NotKnown",
    "bind",
    "bound_gears",
    "engine_of",
    "in_words",
    "sides_of",
]
