"""The sizes of a build and all that binds them, numbered once, so that sums are products of arrays.

`compile_system` reads design and shop (and the chosen sizes, for which diameters fits are wanted at); it knows no
reading. One system serves every state of the bench until the design or a choice changes.
"""

from __future__ import annotations

import importlib
import math
import pkgutil
import re
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property, lru_cache
from graphlib import CycleError, TopologicalSorter
from threading import RLock
from types import ModuleType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address, read_address, spread_out
from asmade.book.grammar import Linear, Node, Size, addresses, evaluate, linear, read_sum
from asmade.book.model import Build, Dimension, Part, Relation
from asmade.book.sizes import Written, read_limit, read_size
from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown, near
from asmade.measure.quantities import read_quantity
from asmade.measure.threads import read_thread
from asmade.reckon.requirement import Limits, Requirement, SumRequirement, Unit
from asmade.reckon.scope import THREAD_FIGURES, Scope, only, places_of, subject_at, unit_of_figure

FloatArray = NDArray[np.float64]
NOT_REQUIREMENTS = ("formula", "joint")
ROOMS = ("asmade.reckon.kinds", "asmade.motion.kinds", "asmade.work.kinds")


@lru_cache(maxsize=1)
def kinds() -> Mapping[str, ModuleType]:
    """All kinds of requirement by name: every module with a ``KIND`` in the rooms' folders of kinds."""
    found: dict[str, ModuleType] = {}
    for room in ROOMS:
        try:
            package = importlib.import_module(room)
        except ModuleNotFoundError as missing:
            if missing.name and room.startswith(missing.name):
                continue  # a room without kinds of its own
            raise
        for info in pkgutil.iter_modules(package.__path__):
            module = importlib.import_module(f"{room}.{info.name}")
            if hasattr(module, "KIND"):
                found[module.KIND] = module
    return found


@dataclass(frozen=True, slots=True)
class Formula:
    """A computed size: where it goes, its tree, and its exact linear form where it has one."""

    gives: int
    node: Node
    name: str
    exact: Linear | None


@dataclass(frozen=True, slots=True)
class Joint:
    """A fit fixed by a means, at one place."""

    subject: str
    fit: str
    by: str
    after: tuple[str, ...]
    fixes: tuple[Address, ...]
    disturbs: tuple[Address, ...]
    measure_after: tuple[Address, ...]
    relation: Relation


@dataclass(frozen=True, eq=False)
class System:
    """Sizes by number, formulas in an order in which they can be worked out, requirements, joints."""

    names: tuple[Address, ...]
    dimensions: tuple[Dimension | None, ...]
    units: tuple[Unit, ...]
    paper: FloatArray
    paper_is_chosen: NDArray[np.bool_]
    written: tuple[Written | None, ...] = field(repr=False)
    formulas: tuple[Formula, ...]
    requirements: tuple[Requirement, ...]
    joints: tuple[Joint, ...]
    suits: Mapping[int, tuple[int, ...]]
    suit_sums: Mapping[int, Linear] = field(repr=False)
    order: tuple[int, ...]
    callouts: Mapping[Address, str]
    scope: Scope = field(repr=False)

    @cached_property
    def index(self) -> Mapping[Address, int]:
        """Number of each size."""
        return {address: at for at, address in enumerate(self.names)}

    @cached_property
    def texts(self) -> tuple[str, ...]:
        """Every size as it is written."""
        return tuple(map(str, self.names))

    @cached_property
    def computed(self) -> Mapping[int, Formula]:
        """Formula by the number of the size it gives."""
        return {formula.gives: formula for formula in self.formulas}

    def at(self, address: Address) -> int:
        """Number of a size; refuses what is not there, with the near names."""
        found = self.index.get(address)
        if found is None:
            resolved = self.scope.resolve(address)
            found = self.index.get(resolved)
        if found is None:
            raise Unknown("size", got=str(address), near=near(str(address), map(str, self.names)))
        return found


@lru_cache(maxsize=4)
def _read_by(system: System) -> Mapping[Address, tuple[str, ...]]:
    found: dict[Address, dict[str, None]] = {}
    for requirement in system.requirements:
        for address in requirement.reads:
            found.setdefault(address, {})[requirement.subject] = None
    return {address: tuple(subjects) for address, subjects in found.items()}


def reading_requirements(system: System, addresses_: Iterable[Address]) -> frozenset[str]:
    """Names of the requirements that read any of some sizes."""
    read_by = _read_by(system)
    return frozenset(subject for address in addresses_ for subject in read_by.get(address, ()))


_RECENT: OrderedDict[int, tuple[Build, System]] = OrderedDict()
_RECENT_LOCK: Final = RLock()
KEPT: Final = 4
"""Builds whose systems are kept: whoever asks for that of the very same build again is given it."""


def compile_system(build: Build) -> System:
    """Number the sizes of a build and read every relation; raises at the first that cannot be read."""
    with _RECENT_LOCK:
        held = _RECENT.get(id(build))
    if held is None:
        found = _compile(build)
        remember(build, found)
        return found
    return held[1]


def remember(build: Build, system: System) -> None:
    """Keep a system for the next who asks for that of this very build (another of the same design and choices)."""
    with _RECENT_LOCK:
        _RECENT[id(build)] = (build, system)  # which keeps the build, so its id belongs to no other
        _RECENT.move_to_end(id(build))
        while len(_RECENT) > KEPT:
            _RECENT.popitem(last=False)


def _compile(build: Build) -> System:
    sizes = _Sizes(build)
    requirements: list[Requirement] = []
    known = kinds()
    for relation in build.design.relations:
        if relation.kind in NOT_REQUIREMENTS:
            continue
        if relation.kind not in known:
            raise Unknown("relation kind", got=relation.kind, near=near(relation.kind, (*known, *NOT_REQUIREMENTS)),
                          way_out=f"kinds are: {', '.join(sorted((*known, *NOT_REQUIREMENTS)))}")  # fmt: skip
        requirements.extend(known[relation.kind].requirements(relation, sizes.scope))
    for module in known.values():
        if hasattr(module, "unasked"):  # what a kind asks of every book without being told
            requirements.extend(module.unasked(sizes.scope))
    requirements.extend(_own_limits(build))
    _no_two_alike(requirements)
    suits: dict[int, list[int]] = {}
    for number, requirement in enumerate(requirements):
        if requirement.to_suit is not None:
            suits.setdefault(sizes.index[requirement.to_suit], []).append(number)
    suit_sums = {n: _suit_sum(sizes, requirements[n]) for numbers in suits.values() for n in numbers}
    order = _order(sizes, suit_sums, suits)
    _compute_on_paper(sizes, order)
    return System(
        names=tuple(sizes.index), dimensions=tuple(sizes.dimensions), units=tuple(sizes.units),
        paper=np.array(sizes.paper), paper_is_chosen=np.array(sizes.chosen, dtype=bool),
        written=tuple(sizes.written),
        formulas=tuple(sizes.formulas), requirements=tuple(requirements), joints=tuple(_joints(build, sizes.scope)),
        suits={size: tuple(numbers) for size, numbers in suits.items()}, suit_sums=suit_sums, order=order,
        callouts=sizes.callouts, scope=sizes.scope,
    )  # fmt: skip


def _no_two_alike(requirements: Sequence[Requirement]) -> None:
    """A relation's name at a place is how joints, findings and the builder speak of it: one name, one thing."""
    seen: dict[str, str] = {}
    for requirement in requirements:
        if seen.setdefault(requirement.subject, requirement.code) != requirement.code:
            raise Contradiction(
                f"two relations are called {requirement.subject!r}: a {seen[requirement.subject]} "
                f"and a {requirement.code}",
                way_out="give one of them another name",
            )


def paper_size(build: Build, address: Address, dimension: Dimension) -> tuple[Written | None, bool]:
    """The size on paper of a seat's dimension: chosen (True) before drawn (False); None where neither is said."""
    chosen = build.chosen_for(address)
    if chosen is not None and chosen.size:
        return read_size(chosen.size, dimension, "mm", f"{address} chosen"), True
    text = dimension.drawn_at.get(address.place, dimension.drawn)
    return read_size(text, dimension, build.design.drawing_unit, str(address)), False


class _Sizes:
    """Gathers every size: dimensions at their places, figures, thread diameters, quantities of formulas."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self.index: dict[Address, int] = {}
        self.dimensions: list[Dimension | None] = []
        self.units: list[Unit] = []
        self.paper: list[float] = []
        self.chosen: list[bool] = []
        self.written: list[Written | None] = []
        self.formulas: list[Formula] = []
        self.callouts: dict[Address, str] = {}
        paper: dict[Address, float] = {}
        for part in build.design.parts.values():
            for dimension in part.dims.values():
                if dimension.of_kind.thread:
                    self._thread(part, dimension, paper)
                    continue
                for place in part.places:
                    self._add_dimension(part, place, dimension, paper)
        for figure in build.design.figures.values():
            self._add_figure(figure.name, figure.kind, figure.text)
        quantities = self.quantities = dict(self._given())
        self.scope = Scope(build.design, build.shop, paper, quantities, {})
        for address, unit in quantities.items():
            if address not in self.index:
                self._add(address, None, unit, math.nan, chosen=False)
        self._read_formulas()
        self.scope = Scope(build.design, build.shop, paper, quantities, self._plays(), self.callouts)

    def _add(
        self, address: Address, dimension: Dimension | None, unit: Unit, value: float, *, chosen: bool,
        written: Written | None = None,
    ) -> None:  # fmt: skip
        self.written.append(written)
        self.index[address] = len(self.index)
        self.dimensions.append(dimension)
        self.units.append(unit)
        self.paper.append(value)
        self.chosen.append(chosen)

    def _add_dimension(self, part: Part, place: str, dimension: Dimension, paper: dict[Address, float]) -> None:
        address = Address(part.name, place, dim=dimension.name)
        written, chosen = paper_size(self.build, address, dimension)
        value = math.nan
        if written is not None:
            value = written.value
            if written.lower is not None and written.upper is not None:
                value += float(written.lower + written.upper) / 2
            paper[address] = value
        unit: Unit = "rad" if dimension.of_kind.angle else "mm"
        self._add(address, dimension, unit, value, chosen=chosen, written=written)

    def _add_figure(self, name: str, kind: str, text: str) -> None:
        """A figure in its unit inside (mm, rad, MPa, N, N mm, kg, degC, rpm); one that is empty is not known: NaN."""
        value = math.nan
        if kind in ("length", "angle"):
            found = read_limit(text, angle=kind == "angle", unit=self.build.design.drawing_unit, thing=f"figure {name}")
            if found is not None:
                value = math.radians(float(found)) if kind == "angle" else float(found)
        elif text.strip():
            value = float(read_quantity(text, kind=kind, signed=kind == "number", thing=f"figure {name}").value)
        self._add(Address(name), None, unit_of_figure(kind), value, chosen=True)

    def _thread(self, part: Part, dimension: Dimension, paper: dict[Address, float]) -> None:
        """Diameters of a thread count as sizes only where a relation names them: see `Scope.thread_of`."""
        wanted = self._threads_named
        stem = dimension.name.removesuffix(".callout")
        for place in part.places:
            seat = Address(part.name, place, dim=dimension.name)
            chosen = self.build.chosen_for(seat)
            callout = chosen.size if chosen and chosen.size else dimension.drawn_at.get(place, dimension.drawn)
            if callout:
                self.callouts[seat] = read_thread(callout).designation
            for last in THREAD_FIGURES:
                address = Address(part.name, place, dim=f"{stem}.{last}")
                if f"{part.name}.{stem}.{last}" not in wanted:
                    continue
                value = _thread_figure(callout, last) if callout else math.nan
                self._add(address, None, "mm", value, chosen=True)
                if not math.isnan(value):
                    paper[address] = value

    @property
    def names(self) -> tuple[Address, ...]:
        return tuple(self.index)

    @cached_property
    def _threads_named(self) -> frozenset[str]:
        found = set()
        for relation in self.build.design.relations:
            for value in relation.fields.values():
                for text in value if isinstance(value, list | tuple) else (value,):
                    if isinstance(text, str) and text.count(".") and any(f".{w}" in text for w in THREAD_FIGURES):
                        found |= _stems(text)
        return frozenset(found)

    def _given(self) -> Iterator[tuple[Address, Unit]]:
        for relation in self.build.design.of_kind("formula"):
            only(relation, "gives", "is", "unit")
            if not relation.text("gives"):
                raise Refused(f"formula {relation.name!r}", got=dict(relation.fields), reason="gives is missing")
            for place in places_of(relation):
                address = read_address(spread_out(relation.text("gives"), place))
                if address.part in self.build.design.parts:
                    continue  # a dimension has its number already
                if not is_bare(address):
                    raise Unknown(
                        f"formula {relation.name!r} gives", got=str(address),
                        near=near(address.part, self.build.design.parts),
                        way_out="give a part's dimension, or a bare name for a quantity of its own",
                    )  # fmt: skip
                address = address if address.place else Address(address.part, place)
                yield address, "rad" if relation.text("unit") == "deg" else "mm"

    def _read_formulas(self) -> None:
        given: set[int] = set()
        for relation in self.build.design.of_kind("formula"):
            for place in places_of(relation):
                gives = read_address(spread_out(relation.text("gives"), place))
                if gives.part not in self.build.design.parts and not gives.place:
                    gives = Address(gives.part, place)
                gives = self.scope.resolve(gives, relation)
                node = self.scope.node(relation.fields.get("is"), place, relation)
                at = self.index[gives]
                if at in given:
                    raise Contradiction(f"{gives} is given by two formulas; the second is {relation.name!r}",
                                        way_out="keep one; write the other as a [[chain]] that checks it")  # fmt: skip
                given.add(at)
                if self.scope.unit(node) == "rad":
                    self.units[at] = "rad"
                    if gives in self.quantities:  # what sums over it must know too
                        self.quantities[gives] = "rad"
                self.formulas.append(Formula(at, node, subject_at(relation, place), linear(node)))

    def _plays(self) -> dict[str, Node]:
        found: dict[str, Node] = {}
        for relation in self.build.design.of_kind("play"):
            for place in places_of(relation):
                found[subject_at(relation, place)] = self.scope.node(relation.fields.get("each_way"), place, relation)
        return found


def _compute_on_paper(sizes: _Sizes, order: Sequence[int]) -> None:
    """A computed size that no drawing states has the figure its formula gives on paper."""
    formulas = {formula.gives: formula for formula in sizes.formulas}
    for at in order:
        if at in formulas and math.isnan(sizes.paper[at]):
            sizes.paper[at] = float(evaluate(formulas[at].node, lambda a: sizes.paper[sizes.index[a]]))


def is_bare(address: Address) -> bool:
    """Whether an address can be a quantity of its own: no mark and no dimension."""
    return not address.mark and not address.dim


def _stems(text: str) -> set[str]:
    bare = re.sub(r"\{[a-z_]*\}", "x", text)
    try:
        return {f"{a.part}.{a.dim}" for a in addresses(read_sum(bare))}
    except AsmadeError:
        return set()  # refused where the relation itself is read


def _thread_figure(callout: str, which: str) -> float:
    from asmade.standards.threads import thread  # noqa: PLC0415

    found = thread(read_thread(callout))
    return float({"major": found.major_mm, "effective": found.effective_mm,
                  "core": found.core_mm, "pitch": found.pitch_mm}[which])  # fmt: skip


def _own_limits(build: Build) -> Iterator[SumRequirement]:
    """The builder's own least and most of a dimension are requirements like all others."""
    for part in build.design.parts.values():
        for dimension in part.dims.values():
            if not dimension.least and not dimension.most:
                continue
            where = f"{part.name}.{dimension.name}"
            angle = dimension.of_kind.angle
            found = [
                read_limit(text, angle=angle, unit=build.design.drawing_unit, thing=f"{where} {side}")
                for text, side in ((dimension.least, "least"), (dimension.most, "most"))
            ]
            low, high = (None if f is None else math.radians(f) if angle else float(f) for f in found)
            if low is not None and high is not None and low > high:
                raise Refused(where, got=f"least {dimension.least}, most {dimension.most}", reason="least is more")
            for place in part.places:
                address = Address(part.name, place, dim=dimension.name)
                yield SumRequirement(
                    "limit", str(address), str(address), Size(address), Limits(low, high, "set by the builder"),
                    unit="rad" if angle else "mm", exact=Linear({address: Fraction(1)}, Fraction(0)),
                )  # fmt: skip


def _joints(build: Build, scope: Scope) -> Iterator[Joint]:
    fits = {subject_at(relation, place) for relation in build.design.of_kind("fit") for place in places_of(relation)}
    names = {subject_at(relation, place) for relation in build.design.of_kind("joint") for place in places_of(relation)}
    for relation in build.design.of_kind("joint"):
        only(relation, "fit", "by", "after", "fixes", "disturbs", "measure_after", "caution")
        for place in places_of(relation):
            fit = spread_out(relation.text("fit"), place)
            if fit and fit not in fits:
                raise Unknown(f"joint {relation.name!r}: fit", got=fit, near=near(fit, fits))
            after = tuple(spread_out(str(text), place) for text in relation.fields.get("after", ()))
            for each in after:
                if each not in names and each not in fits:
                    raise Unknown(f"joint {relation.name!r}: after", got=each, near=near(each, names | fits))
            listed = {
                key: tuple(scope.address(str(text), place, relation) for text in relation.fields.get(key, ()))
                for key in ("fixes", "disturbs", "measure_after")
            }
            yield Joint(subject_at(relation, place), fit, relation.text("by"), after, relation=relation, **listed)


def _suit_sum(sizes: _Sizes, requirement: Requirement) -> Linear:
    """The sum of a requirement that has a to-suit size, seen through formulas as far as that size."""
    suits = requirement.to_suit
    exact = getattr(requirement, "exact", None)
    if suits is None or not isinstance(exact, Linear):
        raise Refused(
            f"{requirement.code} {requirement.subject!r}", got=str(suits),
            reason="only a linear sum can be made to suit", way_out="take its to_suit away",
        )  # fmt: skip
    found: Linear = exact
    formulas = {sizes.names[f.gives]: f.exact for f in sizes.formulas if f.exact is not None}
    for of_parts_too in (False, True):
        while suits not in found.terms or not of_parts_too:
            through = [a for a in found.terms if a in formulas and (of_parts_too or is_bare(a))]
            if not through:
                break
            for address in through:
                rate = found.terms[address]
                rest = Linear({a: k for a, k in found.terms.items() if a != address}, found.constant)
                found = rest.plus(formulas[address].scaled(rate))
    if suits not in found.terms:
        raise Refused(
            f"{requirement.code} {requirement.subject!r}", got=str(suits),
            reason="it is to suit a size that is not in its sum", way_out="name one of the sizes in its sum",
        )  # fmt: skip
    return found


def _order(sizes: _Sizes, suit_sums: Mapping[int, Linear], suits: Mapping[int, Sequence[int]]) -> tuple[int, ...]:
    """Order in which computed and to-suit sizes can be worked out; a ring is refused by name."""
    needs: dict[int, set[int]] = {}
    for formula in sizes.formulas:
        needs[formula.gives] = {sizes.index[a] for a in addresses(formula.node)}
    for size, numbers in suits.items():
        reads = {sizes.index[a] for number in numbers for a in suit_sums[number].terms}
        needs[size] = needs.get(size, set()) | (reads - {size})
    names = sizes.names
    try:
        order = tuple(TopologicalSorter(needs).static_order())
    except CycleError as ring:
        path = " -> ".join(str(names[at]) for at in ring.args[1])
        if not suits.keys() & set(ring.args[1]):
            raise Contradiction(
                f"formulas that give one another in a ring: {path}",
                way_out="let one of them be drawn: write its formula as a [[chain]] that checks it",
            ) from ring
        raise Contradiction(
            f"sizes made to suit one another in a ring: {path}",
            way_out="let one of them be made first: take its to_suit away",
        ) from ring
    return tuple(at for at in order if at in needs)
