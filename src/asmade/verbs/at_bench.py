"""What is wanted at the machine: how much is still to come off, what its dial will read, a reading shown back."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from asmade.book.address import Address, read_address
from asmade.book.model import Build, Reading
from asmade.measure.errors import AsmadeError
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.values import Values, corrected
from asmade.verbs.made import tried
from asmade.verbs.route import planned
from asmade.verbs.store import Opened
from asmade.work.machines import Dial, machine
from asmade.work.passes import LEAST_CUT_MM, Pass, plan
from asmade.work.recipes.model import Operation
from asmade.work.routes import Route

Standing = Literal["within", "metal to come off", "too far", "outside", "no limits"]
FINISHING_MM: Final = 0.2
"""Left for the last two cuts where the route does not say: common practice, no source."""


@dataclass(frozen=True, slots=True)
class ToGo:
    """What is still to come off a size: from where, how much (on diameter, or off the face), the cuts, the dial.

    ``since`` says what ``now_mm`` is: a reading on the way, or the stock. ``dial`` is empty where the machine's dial is
    not entered in the shop.
    """

    now_mm: float
    since: str
    target_mm: float
    off_mm: float
    face: bool
    cuts: tuple[Pass, ...]
    dial: str
    operation: str


@dataclass(frozen=True, slots=True)
class ReadBack:
    """A reading shown back before it is saved, mm (rad): its value less the instrument's zero, repeats and spread."""

    how: str
    value: float
    angle: bool
    count: int
    spread: float
    stands: Standing
    slips: tuple[str, ...]
    togo: ToGo | None


def on_the_way(build: Build, piece: Address) -> Reading | None:
    """The last reading of a piece's size, if it was one on the way: metal is still on."""
    last = next((r for r in reversed(build.readings) if r.piece == piece), None)
    return last if last is not None and last.stage == "on the way" else None


def to_go(build: Build, aim: Aim, operation: Operation | None, now_mm: float | None = None) -> ToGo | None:
    """What is still to come off the size of an aim, by the operation of its route that makes it.

    From ``now_mm``, else the last reading on the way, else as the operation begins. None where the size is not come at
    by cuts with a dial, where nothing is to come off, or where there is no aim.
    """
    if aim.target is None or aim.angle or operation is None or operation.passes is None:
        return None
    if not operation.dims or operation.dims[0] != aim.dimension.dim:
        return None  # the cuts of the route lead to its first size
    passes, since = operation.passes, "measured now"
    if now_mm is None:
        last = on_the_way(build, aim.piece)
        now_mm, since = (
            (corrected(build, last)[0], f"read on the way, {last.at[:16].replace('T', ' ')}") if last
            else (passes.start_mm, "as it begins")
        )  # fmt: skip
    off = now_mm - aim.target if aim.approach == "from above" else aim.target - now_mm
    if off <= 0 or aim.approach == "either":
        return None
    way = off if operation.face else off / 2
    if way < LEAST_CUT_MM / 2:
        return None
    dial = _dial(build, operation)
    deepest = max(cut.cut_mm for cut in passes.cuts)
    left = sum(cut.cut_mm for cut in passes.cuts if not cut.words.startswith("roughing")) or FINISHING_MM
    cuts = plan(now_mm, aim.target, rough_mm=deepest, finish_mm=left, dial=dial, face=operation.face).cuts
    return ToGo(now_mm, since, aim.target, off, operation.face, cuts, dial.words if dial else "", operation.key)


def _dial(build: Build, operation: Operation) -> Dial | None:
    """The dial that an operation is led by, as the shop's table has it."""
    name = operation.dial.partition(":")[0].strip().replace(" ", "_")
    if not name:
        return None
    try:
        return machine(build.shop, kind=operation.setup.machine).dials.get(name)
    except AsmadeError:
        return None


def operation_for(build: Build, values: Values, address: Address) -> Operation | None:
    """The operation of a piece's route that makes a size; None where there is no route, or none that does."""
    try:
        return operation_in(planned(build, values, address.part, address.place).route, address.dim)
    except AsmadeError:
        return None


def operation_in(route: Route, dim: str) -> Operation | None:
    """The last operation of a route that makes a size, one that is led to it before one that only sets it too."""
    makers = [op for op in route.operations if dim in op.dims]
    led = [op for op in makers if op.dims[0] == dim]
    return (led or makers)[-1] if makers else None


def stands(aim: Aim | None, value: float) -> Standing:
    """Where a value lies against an aim: within it, short of it with metal still on, or past it."""
    if aim is None or (aim.low is None and aim.high is None):
        return "no limits"
    low = -math.inf if aim.low is None else aim.low
    high = math.inf if aim.high is None else aim.high
    if low - 1e-9 <= value <= high + 1e-9:
        return "within"
    if aim.approach == "either":
        return "outside"
    return "metal to come off" if (value > high) == (aim.approach == "from above") else "too far"


def aim_for(build: Build, values: Values, text: str, instrument: str = "") -> Aim | None:
    """The aim of a size by the place or the mark of its piece; None for what has none (a thread, a spare piece)."""
    address = read_address(text)
    piece = build.piece_at(address) if not address.mark else Address(address.part, mark=address.mark)
    seat = build.pieces.get(piece.seat)
    place = address.place or (seat.place if seat else "")
    at = values.system.index.get(Address(address.part, place, dim=address.dim)) if place else None
    if at is None or values.system.dimensions[at] is None or at in values.system.computed:
        return None
    return aim_of(build, values, values.system.names[at], instrument)


def read_back(
    opened: Opened,
    values: Values,
    text: str,
    readings: tuple[str, ...],
    *,
    spots: bool = False,
    instrument: str = "",
    maker: Callable[[Address], Operation | None] | None = None,
) -> ReadBack:
    """A reading of ``text`` (piece or place, and size) as it would be read, and how it stands against the aim.

    ``maker`` knows the operation that makes a size, where the caller has its route at hand.

    Raises as `asmade.verbs.made.made` does where it cannot be read.
    """
    found, now = tried(opened, values, text, readings, spots=spots, instrument=instrument)
    value, _ = corrected(now, found.reading)
    apart = [tried(opened, values, text, (one,), instrument=instrument)[0].reading.middle for one in readings]
    aim = aim_for(opened.build, values, text, instrument)
    operation = None
    if aim is not None and not aim.angle and not found.slips:
        operation = maker(aim.dimension) if maker else operation_for(opened.build, values, aim.dimension)
    dimension = opened.build.design.dimension(found.piece.of_part)
    return ReadBack(
        found.how, value, dimension is not None and dimension.of_kind.angle, len(readings),
        max(apart) - min(apart), stands(aim, value), found.slips,
        to_go(opened.build, aim, operation, value) if aim is not None else None,
    )  # fmt: skip
