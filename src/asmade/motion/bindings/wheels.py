"""From the sizes of a book to its coupled wheels: which sum of the book gives each dimension of the chassis.

A ``[[binding]]`` may say every dimension as a sum of addresses; what it leaves out is found by the names the kits give
(frame and axlebox, wheel, wheelset, crank pins, rods with their bushes and knuckle pins). Without a ``[[binding]]`` the
whole chassis is looked for by those names.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address, spread_out
from asmade.book.grammar import Node, addresses, evaluate, gradient
from asmade.book.model import Design, Part, Relation
from asmade.measure.errors import Refused, Unknown, near
from asmade.motion.wheels.chassis import Chassis, Side, field_shapes, names
from asmade.motion.wheels.layout import MOST_AXLES, SIDES, Layout, Meeting, layout_of
from asmade.motion.wheels.spreads import Spreads, runout_rows
from asmade.reckon.scope import Scope, only

if TYPE_CHECKING:
    from asmade.motion.wheels.slack import Boxes
    from asmade.reckon.values import Values

KIND: Final = "binding"
Array = NDArray[np.float64]
Sizes = Callable[[Address], Any]

PER_WHEEL, PER_AXLE, PER_ROD, PER_JOINT = "2L", "2", "12L", "2L "
KEYS: Final[Mapping[str, tuple[str, str]]] = {
    "axle_x": (PER_WHEEL, "where the axle stands, forwards"),
    "axle_y": (PER_WHEEL, "its height over the others, 0 unless said"),
    "crank_radius": (PER_WHEEL, "crank radius of the wheel"),
    "pin_ahead": (PER_WHEEL, "crank pin ahead of its radius, 0 unless said"),
    "quarter": (PER_AXLE, "leading crank ahead of the other"),
    "box_play": (PER_WHEEL, "freedom of the axlebox fore and aft, each way"),
    "centres": (PER_ROD, "rod centres; of a jointed rod from its pin to the knuckle"),
    "bore_fore": (PER_ROD, "bush on the fore pin"),
    "bore_aft": (PER_ROD, "bush on the aft pin"),
    "pin": (PER_WHEEL, "crank-pin journal"),
    "knuckle_reach": (PER_JOINT, "from the carrying rod's eye to the knuckle pin"),
    "knuckle_clearance": (PER_JOINT, "clearance on diameter in the knuckle"),
    "run_out": (PER_WHEEL, "what a dial reads on the pin's seat from least to greatest, 0 unless said"),
}
"""What the sums of the wheels need, at which places, and what it is; axle 2, left, for example."""
NIL: Final = ("axle_y", "pin_ahead", "run_out")
MEETINGS: Final = ("separate", "knuckle ahead", "knuckle behind", "rigid")
_PLAY_ROWS: Final = ("box_fore", "box_aft")


@dataclass(frozen=True)
class Bound:
    """The coupled wheels of a book: one sum for every row of ``chassis.names``; None where a row is nil.

    axles: their names in the book from the front, those of this part of the chassis. whole: of the whole engine.
    """

    name: str
    axles: tuple[str, ...]
    leads: Side
    driven: int
    meetings: tuple[Meeting, ...]
    nodes: tuple[Node | None, ...]
    run_out: tuple[Node | None, ...]

    @cached_property
    def layout(self) -> Layout:
        """How the rods hang together."""
        return layout_of(self.meetings)

    @cached_property
    def sections(self) -> tuple[str, ...]:
        """Names of the sections in the book, such as ``12``."""
        return tuple(f"{fore}{aft}" for fore, aft in zip(self.axles, self.axles[1:], strict=False))

    @cached_property
    def _is_play(self) -> tuple[bool, ...]:
        return tuple(
            field in _PLAY_ROWS
            for field, shape in field_shapes(self.layout).items()
            for _ in range(int(np.prod(shape)))
        )

    def reads(self, boxes: Boxes) -> tuple[Address, ...]:
        """Every size it depends on; with boxes blocked their play is none of them."""
        asked = zip(self.nodes, self._is_play, strict=True)
        wanted = [node for node, play in asked if node is not None and (boxes == "free" or not play)]
        wanted += [node for node in self.run_out if node is not None]
        return tuple(dict.fromkeys(a for node in wanted for a in addresses(node)))

    @property
    def has_play(self) -> bool:
        """Whether the book says anything of the boxes' play."""
        return any(n is not None for n, play in zip(self.nodes, self._is_play, strict=True) if play)

    def vector(self, sizes: Sizes, boxes: Boxes) -> Array:
        """All dimensions (P, n) in the order of ``chassis.names``; play is no less than nothing, none when blocked."""
        rows = []
        for node, play in zip(self.nodes, self._is_play, strict=True):
            value = 0.0 if node is None or (play and boxes == "blocked") else evaluate(node, sizes)
            rows.append(np.maximum(value, 0.0) if play else np.asarray(value, dtype=np.float64))
        return np.stack(np.broadcast_arrays(*(np.atleast_1d(row) for row in rows)))

    def chassis(self, sizes: Sizes, boxes: Boxes = "free") -> Chassis:
        """The chassis as given sizes make it, checked: raises what `Chassis` raises, in the axles' own names."""
        return self.built(self.vector(sizes, boxes))

    def built(self, vector: Array) -> Chassis:
        """A checked chassis of a vector (P, n)."""
        fields, at = {}, 0
        for field, shape in field_shapes(self.layout).items():
            size = int(np.prod(shape))
            fields[field] = vector[at : at + size].reshape(*shape, vector.shape[-1])
            at += size
        return Chassis(leads=self.leads, driven=self.driven, meetings=self.meetings, **fields)

    def unchecked(self, vector: Array) -> Chassis:
        """A chassis of a vector (P, n), nothing checked: for sampled sizes."""
        made = object.__new__(Chassis)
        for name in ("leads", "driven", "meetings"):
            object.__setattr__(made, name, getattr(self, name))
        return made.with_vector(vector)

    def rates(self, sizes: Callable[[Address], float], boxes: Boxes) -> tuple[dict[Address, float], ...]:
        """Rate of every row to every size of the book in it."""
        return tuple(
            {} if node is None or (play and boxes == "blocked") else dict(gradient(node, sizes)[1])
            for node, play in zip(self.nodes, self._is_play, strict=True)
        )

    def part(self, first: int, last: int) -> Bound | None:
        """Axles ``first`` to ``last`` with only the rods between them on; None where a rod hangs on one beyond."""
        if (first, last) == (0, len(self.axles) - 1):
            return self
        before = self.meetings[first - 1] if first > 0 else "separate"
        after = self.meetings[last - 1] if last < len(self.axles) - 1 else "separate"
        if before in ("rigid", "knuckle behind") or after in ("rigid", "knuckle ahead"):
            return None
        meetings = self.meetings[first : last - 1]
        of = dict(zip(_keys(self.layout, 0), self.nodes, strict=True))
        nodes = tuple(of[key] for key in _keys(layout_of(meetings), first))
        driven = min(max(self.driven - first, 0), last - first)
        run_out = self.run_out[2 * first : 2 * last + 2]
        return Bound(self.name, self.axles[first : last + 1], self.leads, driven, meetings, nodes, run_out)

    def missing(self, sizes: Sizes, boxes: Boxes) -> tuple[Address, ...]:
        """Sizes that are not known."""
        return tuple(a for a in self.reads(boxes) if np.isnan(sizes(a)).any())


def _keys(layout: Layout, first: int) -> Iterator[tuple[object, ...]]:
    """What each row of ``chassis.names`` belongs to, counted on axles of the whole engine."""
    for field, shape in field_shapes(layout).items():
        for where in np.ndindex(*shape):
            if field == "bore":
                body, axle = layout.eyes[where[0]]
                covers = layout.bodies[body]
                yield (field, covers.first + first, covers.last + first, axle + first, where[1])
            elif field.startswith("knuckle"):
                yield (field, layout.knuckles[where[0]].axle + first, where[1])
            else:
                yield (field, where[0] + first, *where[1:])


def parts_known(bound: Bound, sizes: Sizes, boxes: Boxes) -> tuple[Bound, ...]:
    """The longest runs of axles that can be told although sizes of others are not known; the whole where all are."""
    count = len(bound.axles)
    found: list[tuple[int, int, Bound]] = []
    for long in range(count, 1, -1):
        for first in range(count - long + 1):
            last = first + long - 1
            if any(first < b and a < last for a, b, _ in found):
                continue
            part = bound.part(first, last)
            if part is not None and not part.missing(sizes, boxes):
                found.append((first, last, part))
    return tuple(part for _, _, part in sorted(found, key=lambda each: each[0]))


@dataclass(frozen=True, slots=True, eq=False)
class BookSpreads(Spreads):
    """Spreads of a chassis by the causes of the book: a rod made to suit the horns carries their readings along.

    rates: what a millimetre of each cause does to each dimension (C, P). bounds: how far each cause goes in the worst
    case (C). still: the same chassis with run-out alone.
    """

    values: Values
    bound: Bound
    boxes: Boxes
    rates: Array
    bounds: Array
    still: Spreads

    def draw(self, chassis: Chassis, count: int, seed: int) -> Chassis:
        """Chassis that might be built: the book's own causes, Student's t where few readings taught.

        What a cause comes to rests on the seed and the cause alone, the way a pin runs out on the seed and its place:
        the same section is drawn the same, whatever else is looked at with it.
        """
        index = self.values.system.index
        reads = self.bound.reads(self.boxes)
        drawn = dict(zip(reads, self.values.sampled(count, seed, np.array([index[a] for a in reads])), strict=True))
        vector = np.array(self.bound.vector(drawn.__getitem__, self.boxes))
        radius, ahead = runout_rows(chassis.layout)
        for at, size in enumerate(self.eccentricity.reshape(-1)):
            if size > 0:
                place = f"{self.bound.axles[at // 2]}{SIDES[at % 2]}"
                turn = np.random.default_rng((seed, *place.encode())).uniform(0.0, 2 * np.pi, count)
                vector[radius[at]] += size * np.cos(turn)
                vector[ahead[at]] += size * np.sin(turn)
        return chassis.with_vector(vector)

    def worst_corners(self, chassis: Chassis, slopes: Array) -> Array:
        """Dimensions (P, B) that do the most harm with every cause, not every dimension, at the end of its reach."""
        corner = self.still.worst_corners(chassis, slopes)
        push = self.rates @ slopes.T
        push = np.where(np.abs(push) > 1e-7 * np.abs(slopes).max(), push, 0.0)  # less is rounding
        return np.asarray(corner - self.rates.T @ (np.sign(push) * self.bounds[:, None]))


def spreads_of(bound: Bound, values: Values, boxes: Boxes = "free") -> BookSpreads:
    """Spreads of the bound chassis from the causes of the book's best known values."""
    index = values.system.index

    def best(address: Address) -> float:
        return float(values.best[index[address]])

    columns: dict[int, dict[int, float]] = {}
    for row, rates in enumerate(bound.rates(best, boxes)):
        for address, rate in rates.items():
            for cause, per in values.rows[index[address]].items():
                at = columns.setdefault(cause, {})
                at[row] = at.get(row, 0.0) + rate * per
    numbers = np.array([n for n, at in columns.items() if any(abs(v) > 1e-12 for v in at.values())], dtype=np.intp)
    size = len(bound.nodes)
    matrix = np.zeros((numbers.size, size))
    for line, number in enumerate(numbers):
        for row, rate in columns[int(number)].items():
            matrix[line, row] = rate
    bounds = values.bound[numbers]
    eccentricity = np.array(
        [0.0 if node is None else max(0.0, 0.5 * float(evaluate(node, best))) for node in bound.run_out]
    ).reshape(-1, 2)
    nothing = np.zeros(size)
    still = Spreads(nothing, np.zeros((0, size)), (), nothing, eccentricity)
    return BookSpreads(
        own=nothing, shared=matrix * values.sigma[numbers][:, None],
        causes=tuple(values.causes[n] for n in numbers), reach=np.abs(matrix).T @ bounds, eccentricity=eccentricity,
        values=values, bound=bound, boxes=boxes, rates=matrix, bounds=bounds, still=still,
    )  # fmt: skip


def bind(relation: Relation, scope: Scope) -> Bound:
    """Read one ``[[binding]]``: each dimension as it says, else by the kits' names; what is missing is refused."""
    only(relation, "least", "boxes", "meet", "sizes")
    where = f"{KIND} {relation.name!r}"
    design = scope.design
    axles = design.places.axles
    if not 2 <= len(axles) <= MOST_AXLES or set(design.places.sides) != set(SIDES):
        raise Refused(
            where, got=f"axles {', '.join(axles) or 'none'}, sides {', '.join(design.places.sides) or 'none'}",
            reason=f"coupled wheels have 2 to {MOST_AXLES} axles and both sides",
            way_out='write [places] axles = ["1", "2"], sides = ["L", "R"]',
        )  # fmt: skip
    table = relation.fields.get("sizes", {})
    if not isinstance(table, Mapping):
        raise Refused(where, got=table, reason="sizes is a table of sums", way_out=f"write [{KIND}.sizes]")
    for key in table:
        if key not in KEYS:
            raise Unknown(f"{where} sizes", got=key, near=near(str(key), KEYS), way_out=f"it knows {', '.join(KEYS)}")
    finder = _Finder(design, table)
    meetings = _meetings(relation, finder, axles)
    layout = layout_of(meetings)
    lacking: dict[str, list[str]] = {}

    def node(key: str, place: str) -> Node | None:
        text = finder.text(key, place)
        if text is None:
            if key not in NIL and key != "box_play":
                lacking.setdefault(key, []).append(place)
            return None
        return scope.node(text, place, relation)

    nodes = [node(*_asked(key, axles)) for key in _keys(layout, 0)]
    run_out = tuple(node("run_out", f"{axle}{side}") for axle in axles for side in SIDES)
    if lacking:
        listed = "; ".join(f"{key} ({KEYS[key][1]}) at {', '.join(at)}" for key, at in lacking.items())
        raise Refused(where, got="the sizes that could be found", reason=f"these are missing: {listed}",
                      way_out=f"say each in [{KIND}.sizes] as a sum of addresses with {{place}}, {{axle}}, {{side}}, "
                      "{fore}, {aft}, or build on the kits' parts (`asmade new`)")  # fmt: skip
    driven = axles.index(design.places.driven) if design.places.driven in axles else 0
    leads = cast("Side", design.leads or "R")
    return Bound(relation.name, axles, leads, driven, meetings, tuple(nodes), run_out)


def _asked(key: tuple[object, ...], axles: tuple[str, ...]) -> tuple[str, str]:
    """Name of the sum and place at which it is read, for one row of the chassis."""
    field, *where = key
    at = [int(str(each)) for each in where]
    side = "" if field == "quarter" else SIDES[at[-1]]
    match field:
        case "quarter":
            return "quarter", axles[at[0]]
        case "centres":
            return "centres", f"{axles[at[0]]}{axles[at[0] + 1]}{side}"
        case "bore":
            first, _, axle, _ = at
            if axle > first:
                return "bore_aft", f"{axles[axle - 1]}{axles[axle]}{side}"
            return "bore_fore", f"{axles[axle]}{axles[axle + 1]}{side}"
        case "box_fore" | "box_aft":
            return "box_play", f"{axles[at[0]]}{side}"
        case _:
            return str(field), f"{axles[at[0]]}{side}"


def _meetings(relation: Relation, finder: _Finder, axles: tuple[str, ...]) -> tuple[Meeting, ...]:
    """As the book says them, one for each inner pin, else by the rods: a tongue hangs in the fork beside it."""
    said = relation.fields.get("meet")
    inner = len(axles) - 2
    if said is None:
        return tuple(finder.meeting(at, axles) for at in range(1, inner + 1))
    listed = [str(each) for each in said] if isinstance(said, list | tuple) else [str(said)] * inner
    for each in listed:
        if each not in MEETINGS:
            raise Unknown(f"{KIND} {relation.name!r} meet", got=each, near=near(each, MEETINGS),
                          way_out=f"one of: {', '.join(MEETINGS)}")  # fmt: skip
    if len(listed) != inner:
        raise Refused(f"{KIND} {relation.name!r} meet", got=listed, reason=f"there are {inner} inner pins",
                      way_out="say how the rods meet on each, from the front")  # fmt: skip
    return cast("tuple[Meeting, ...]", tuple(listed))


class _Finder:
    """Looks for the sum of a dimension: in the table of the relation, else by the names that the kits give."""

    def __init__(self, design: Design, table: Mapping[str, Any]) -> None:
        self.design, self.table = design, table

    def text(self, key: str, place: str) -> str | None:
        """The sum as written, with braces; None where there is none."""
        said = self.table.get(key)
        if isinstance(said, Mapping):
            for name in (place, place[:-1], place[-1]):
                if name in said:
                    return str(said[name])
            said = None
        if said is not None:
            return str(said)
        found: str | None = getattr(self, f"_{key}", lambda _: None)(place)
        return found

    def _has(self, seat: str, dim: str) -> bool:
        name, _, place = seat.partition("@")
        part = self.design.parts.get(name)
        return part is not None and place in part.places and dim in part.dims

    def _first(self, place: str, *texts: str) -> str | None:
        """The first single size that is there at this place."""
        for text in texts:
            seat, _, dim = spread_out(text, place).partition(".")
            if self._has(seat, dim):
                return text
        return None

    def _axle_x(self, place: str) -> str | None:
        horn = self._first(place, "frame@{side}.horn_at.{axle}", "frame@{side}.horn_{axle}")
        ahead = self._first(place, "axlebox@{place}.bore_forward")
        return f"{horn} + {ahead}" if horn and ahead else horn

    def _crank_radius(self, place: str) -> str | None:
        return self._first(place, "wheel@{place}.crank_radius")

    def _quarter(self, place: str) -> str | None:
        return self._first(place, "wheelset@{axle}.quarter")

    def _box_play(self, place: str) -> str | None:
        slot = self._first(place, "hornblock@{place}.slot")
        width = self._first(place, "axlebox@{place}.width")
        return f"0.5 * {slot} - 0.5 * {width}" if slot and width else None

    def _pin(self, place: str) -> str | None:
        pins = [name for name in self.design.parts if name.startswith("crank_pin")]
        return self._first(place, *(f"{name}@{{place}}.journal.diameter" for name in pins))

    def rod(self, place: str) -> Part | None:
        """The coupling rod at a section of a side: a part in the form of a rod that sits there."""
        rods = (part for part in self.design.parts.values() if "centres" in part.dims and place in part.places)
        return next((part for part in rods if part.form.get("kind") == "rod"), None)

    def _bush(self, place: str, end: str, dim: str) -> str | None:
        return self._first(place, f"rod_bush_{end}@{{place}}.{dim}", f"rod_bush@{{{end}}}{{side}}.{dim}")

    def _centres(self, place: str) -> str | None:
        rod = self.rod(place)
        if rod is None:
            return None
        text = f"{rod.name}@{{place}}.centres"
        hung = {"fore": "tongue_hole" in rod.dims and "eye_fore" not in rod.dims, "aft": "eye_aft" not in rod.dims}
        for end, mark in (("fore", "+"), ("aft", "-")):
            offset = self._bush(place, end, "offset")
            if offset and not hung[end]:
                text += f" {mark} {offset}"
        return text

    def _bore(self, place: str, end: str) -> str | None:
        rod = self.rod(place)
        own = self._first(place, f"{rod.name}@{{place}}.eye_{end}") if rod else None
        return self._bush(place, end, "bore") or own

    def _bore_fore(self, place: str) -> str | None:
        return self._bore(place, "fore")

    def _bore_aft(self, place: str) -> str | None:
        return self._bore(place, "aft")

    def _knuckle(self, place: str) -> tuple[str, str, bool] | None:
        """Carrying rod, hanging rod, and whether the joint lies ahead, of the pin at ``place``."""
        axles, side = self.design.places.axles, place[-1]
        at = axles.index(place[:-1])
        ahead, behind = f"{axles[at - 1]}{axles[at]}{side}", f"{axles[at]}{axles[at + 1]}{side}"
        front, rear = self.rod(ahead), self.rod(behind)
        if front and rear and "knuckle_ahead" in rear.dims and "tongue_hole" in front.dims:
            return f"{rear.name}@{behind}", f"{front.name}@{ahead}", True
        if front and rear and "knuckle_behind" in front.dims and "tongue_hole" in rear.dims:
            return f"{front.name}@{ahead}", f"{rear.name}@{behind}", False
        return None

    def meeting(self, at: int, axles: tuple[str, ...]) -> Meeting:
        """How the rods meet on an inner pin."""
        found = self._knuckle(f"{axles[at]}{SIDES[0]}")
        return "separate" if found is None else "knuckle ahead" if found[2] else "knuckle behind"

    def _knuckle_reach(self, place: str) -> str | None:
        found = self._knuckle(place)
        if found is None:
            return None
        carrier, _, ahead = found
        text = f"{carrier}.knuckle_{'ahead' if ahead else 'behind'}"
        offset = self._first(place, f"rod_bush@{place}.offset")
        return f"{text} {'-' if ahead else '+'} {offset}" if offset else text

    def _knuckle_clearance(self, place: str) -> str | None:
        found = self._knuckle(place)
        if found is None:
            return None
        _, hung, _ = found
        pin = self._first(place, f"knuckle_pin@{hung.partition('@')[2]}.diameter")
        return f"{hung}.tongue_hole - {pin}" if pin else None


def relation_of(design: Design, name: str = "") -> Relation:
    """The ``[[binding]]`` of a book, or one that says nothing where there is none; several want a name."""
    every = list(design.of_kind(KIND))
    if name:
        for relation in every:
            if relation.name == name:
                return relation
        known = [relation.name for relation in every]
        raise Unknown(KIND, got=name, near=near(name, known), way_out=f"there are: {', '.join(known) or 'none'}")
    return every[0] if every else Relation(KIND, "coupled wheels", (), {})


__all__ = ["KEYS", "KIND", "BookSpreads", "Bound", "bind", "names", "parts_known", "relation_of", "spreads_of"]
