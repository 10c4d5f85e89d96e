"""The planner: from a build to the route of one piece.

What is not known is said and planned round; what cannot be (a machine without speeds, an empty rack, a form that
crosses itself) is refused by name.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from asmade.book.address import Address, spread_out
from asmade.book.forms import Form, form_of
from asmade.book.model import Build, Part
from asmade.measure.errors import AsmadeError, Refused, Unknown, near
from asmade.reckon.joining import Joints
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import MADE, Values
from asmade.work.blanks import said_blank, too_small
from asmade.work.cautions import standing
from asmade.work.recipes import joint_made, operations_of
from asmade.work.recipes.bench import Bench, material_or_none
from asmade.work.recipes.model import Feature, Operation, SetUp
from asmade.work.routes.edits import Edit, edits_of
from asmade.work.routes.order import as_far_as_they_go
from asmade.work.routes.progress import entered, with_progress
from asmade.work.routes.rack import Choice, asked
from asmade.work.routes.schemes import assembly, scheme_of
from asmade.work.routes.schemes.result import Scheme

NOT_CUT = ("position", "angle", "centres")
"""Kinds that need not be cut by themselves: where something lies follows from the set-up."""


@dataclass(frozen=True, slots=True)
class Route:
    """The route of one piece: stock, operations in order, what is lacking, what to mind, what it does not plan.

    ``edits``: the builder's changes. ``follows``: seats of the pieces it is put together from, which come first.
    """

    part: str
    place: str
    stock: Choice | None
    operations: tuple[Operation, ...]
    lacks: tuple[str, ...]
    warnings: tuple[str, ...]
    unplanned: tuple[str, ...]
    edits: tuple[Edit, ...] = ()
    follows: tuple[str, ...] = ()

    @property
    def standing(self) -> str:
        """What goes before it: makers' instructions, local rules, licensed practice; pressure parts."""
        return standing()

    @property
    def done(self) -> int:
        """How many operations need not be done any more."""
        return sum(op.is_done for op in self.operations)

    @property
    def next(self) -> Operation | None:
        """The next operation to do; None where all are done."""
        return next((op for op in self.operations if not op.is_done), None)

    @property
    def seat(self) -> str:
        """The piece by its place."""
        return f"{self.part}@{self.place}"

    @property
    def set_ups(self) -> tuple[tuple[SetUp, tuple[Operation, ...]], ...]:
        """Operations by set-up, in order; a set-up come back to stands there again."""
        found: list[tuple[SetUp, list[Operation]]] = []
        for op in self.operations:
            if not found or found[-1][0].name != op.setup.name:
                found.append((op.setup, []))
            found[-1][1].append(op)
        return tuple((setup, tuple(ops)) for setup, ops in found)


@dataclass(frozen=True)
class RoutePlanner:
    """Plans the pieces of one build; what they share is worked out once.

    An edit of the builder's that no longer fits is left aside with a warning; of the part ``strict`` the last one,
    which is being made, is refused instead.
    """

    build: Build
    values: Values
    targets: Mapping[Address, float] = field(default_factory=dict)
    strict: str = ""

    @cached_property
    def _joints(self) -> Mapping[Address, str]:
        return {address: joint.subject for joint in self.values.system.joints for address in joint.disturbs}

    @cached_property
    def _graph(self) -> Joints:
        return Joints(self.values.system)

    @cached_property
    def _fixed(self) -> Mapping[Address, str]:
        return {address: joint.subject for joint in self.values.system.joints for address in joint.fixes}

    @cached_property
    def _suits(self) -> Mapping[Address, str]:
        system = self.values.system
        found = {}
        for at, numbers in system.suits.items():
            reads = [a for n in numbers for a in system.requirements[n].reads if a != system.names[at]]
            if reads:
                found[system.names[at]] = str(reads[0])
        return found

    def part(self, name: str) -> Part:
        """A part by name; refused with near names."""
        parts = self.build.design.parts
        if name not in parts:
            raise Unknown("part", got=name, near=near(name, parts), way_out=f"the book has: {', '.join(parts)}")
        return parts[name]

    def bench(self, part: Part, place: str) -> Bench:
        """The bench for one piece."""
        at = {name: Address(part.name, place, dim=name) for name in part.dims}
        system = self.values.system
        tools = {}
        for name, dimension in part.dims.items():
            chosen = self.build.chosen_for(at[name])
            tools[name] = (chosen.tool if chosen else "") or dimension.tool
        return Bench(
            part=part,
            shop=self.build.shop,
            sizes=seat_sizes(self.values, part.name, place),
            stuff=material_or_none(part.material),
            wanted_tools=tools,
            targets={name: self.targets[a] for name, a in at.items() if a in self.targets},
            after_joint={name: self._joints[a] for name, a in at.items() if a in self._joints},
            to_suit={name: self._suits[a] for name, a in at.items() if a in self._suits},
            callout_of=lambda name: (
                system.callouts.get(Address(part.name, place, dim=name), "") or part.dims[name].drawn
            ),
        )

    def plan(self, name: str, place: str) -> Route:
        """The route of the piece at a place; see this module's head for what is refused."""
        part = self.part(name)
        if place not in part.places:
            raise Unknown(
                f"place of {name}",
                got=place,
                near=near(place, part.places),
                way_out=f"its places: {', '.join(part.places)}",
            )
        bench = self.bench(part, place)
        if part.assembled_from:
            found, lacks, follows = self._together(part, place)
        else:
            found, lacks, follows = *self._cut(part, bench), ()
        operations = [op for feature in _each_once(found.features) for op in operations_of(feature, bench)]
        edits = edits_of(self.build, name)
        ordered, stale = as_far_as_they_go(name, operations, edits, last_must=name == self.strict)
        ordered = self._progress(part, place, _numbered(ordered))
        warnings = [*stale, *found.warnings, *(() if part.assembled_from else _of_the_shop(bench, ordered))]
        return Route(
            name,
            place,
            found.stock,
            ordered,
            lacks,
            tuple(dict.fromkeys(warnings)),
            tuple(self._left(part, place, ordered, found)),
            edits,
            follows,
        )

    def _cut(self, part: Part, bench: Bench) -> tuple[Scheme, tuple[str, ...]]:
        """What a part that is cut is made of, by its form, and what the form lacks."""
        form = form_of(part)
        if form is None:
            raise Refused(
                f"route of {part.name}",
                got="no form",
                reason="nothing says what body it is",
                way_out=f'add form = {{ kind = "turned" }} (or rod, plate, block, casting) to [part.{part.name}]',
            )
        asked(self.build.shop)
        _stands(form, bench)
        found = scheme_of(form, bench)
        if "blank" in part.form:
            blank = said_blank(part)
            lacks = too_small(part, blank, bench.sizes)
            said = f"the form says a blank of {blank.shape} {blank.size_mm:g}, {blank.length_mm:g} long"
            found = replace(found, warnings=(*found.warnings, *((f"{said}: {lacks}",) if lacks else ())))
        return found, form.lacks

    def _together(self, part: Part, place: str) -> tuple[Scheme, tuple[str, ...], tuple[str, ...]]:
        """The joints of a thing that is put together, and the seats of what it is put together from."""
        found = assembly.scheme(self.build, self.values, self._graph, part, place)
        seats = tuple(spread_out(each, place) for each in part.assembled_from)
        if not found.features:
            raise Refused(
                f"route of {part.name}",
                got=f"{part.name}@{place}",
                reason="it is put together, not cut, and no [[joint]] of the book joins its pieces",
                way_out=f"ask for {', '.join(seats)}, or write the joint",
            )
        return found, (), seats

    def _left(self, part: Part, place: str, ordered: tuple[Operation, ...], found: Scheme) -> Iterator[str]:
        """Sizes that no operation makes: the form has no feature for them, or the shop has no reason to cut them."""
        made = {d for op in ordered for d in op.dims}
        system = self.values.system
        for name, dimension in part.dims.items():
            address = Address(part.name, place, dim=name)
            at = system.index.get(address)
            if name in made or name in found.claimed or dimension.kind in NOT_CUT:
                continue
            if at is not None and at in system.computed:
                continue
            if address in self._fixed:
                yield f'{name}: set when "{self._fixed[address]}" is made'
            else:
                yield f"{name}: the form has no feature for it; add it to the form, or as an operation of your own"

    def _progress(self, part: Part, place: str, operations: tuple[Operation, ...]) -> tuple[Operation, ...]:
        system, values = self.values.system, self.values
        sets, measured = set(), {}
        for name in {d for op in operations for d in op.dims}:
            at = system.index.get(Address(part.name, place, dim=name))
            if at is None or at in system.computed:
                continue
            sets.add(name)
            reading = values.readings.get(at)
            if values.source[at] == MADE:
                measured[name] = reading.at if reading is not None else ""
        seat = self.build.piece_at(Address(part.name, place)).seat
        done = entered(self.build, seat)
        if part.assembled_from:  # a joint that stands is done, with all that was done for it
            for joint, made in assembly.made_by_joint(self.build, self._graph, part, place).items():
                mine = [op for op in operations if op.feature == joint and op.process != joint_made.AFTERWARDS]
                done |= {op.key.lower(): made for op in mine if op.key.lower() not in done}
        return with_progress(operations, done, measured, sets)

    def every(self) -> tuple[tuple[Route, ...], tuple[tuple[str, str], ...]]:
        """Routes of every piece that has a form or joints to put it together, and what has none, with why."""
        routes, without = [], []
        for part in self.build.design.parts.values():
            for place in part.places:
                if part.assembled_from and not assembly.joints_of(self._graph, part, place):
                    continue
                try:
                    routes.append(self.plan(part.name, place))
                except AsmadeError as fault:
                    if fault.code == "unreadable" and not part.form:
                        without.append((part.name, fault.message))
                        break
                    raise
        return tuple(routes), tuple(without)


def plan(build: Build, values: Values, part: str, place: str) -> Route:
    """The route of one piece."""
    return RoutePlanner(build, values).plan(part, place)


def _numbered(operations: tuple[Operation, ...]) -> tuple[Operation, ...]:
    """Operations with their set-ups numbered as they come; a blank or a look at the bench is number 0."""
    names: dict[str, str] = {}
    for op in operations:
        if op.setup.name not in names:
            plain = op.setup.name.partition(": ")[2] or op.setup.name
            first = 0 if operations[0].setup.order == 0 else 1
            names[op.setup.name] = f"{len(names) + first}: {plain}"
    return tuple(
        op if names[op.setup.name] == op.setup.name else replace(op, setup=replace(op.setup, name=names[op.setup.name]))
        for op in operations
    )


def _of_the_shop(bench: Bench, operations: tuple[Operation, ...]) -> Iterator[str]:
    """What the shop does not say or has not got, that the operations want."""
    if bench.stuff is None:
        said = f"{bench.part.material!r} is in no table" if bench.part.material else "no material is said"
        yield f"{said}: no speeds, forces or cautions of the metal"
    used = {op.setup.machine for op in operations}
    for kind in ("lathe", "mill"):
        held = bench.machine(kind) if kind in used else None
        if held is not None and held.motor_w is None:
            yield f"the motor of the {held.name} is not said: power is not checked"
    for kind in sorted(used & {"lathe", "mill", "drilling machine"}):
        if bench.machine(kind) is None:
            yield f"the shop has no {kind}: no speeds and dials for it"


def _stands(form: Form, bench: Bench) -> None:
    """Refuse a form whose outline cannot be: it crosses itself, a bore is larger than its outside."""
    if form.lacks:
        return
    from asmade.reckon.shapes import shape  # noqa: PLC0415  # wants numpy

    try:
        shape(form, bench.sizes)
    except Refused as fault:
        if "not known" in fault.message or "lacking" in fault.message or "no dimension" in fault.message:
            return
        raise


def _each_once(features: tuple[Feature, ...]) -> list[Feature]:
    """Features that share a dimension (one diameter for both ends) get names of their own, from what they make."""
    seen: set[str] = set()
    found = []
    for f in features:
        name = f.name if f.name not in seen else f"{f.name} of {f.makes[0] if f.makes else f.setup.name}"
        seen.add(name)
        found.append(replace(f, name=name))
    return found
