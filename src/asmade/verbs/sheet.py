"""sheet: what stands on the job sheet of a piece or of a set-up: aims, mates, operations, readings to take.

Plain values only: `asmade.verbs.sheet_text` writes them as text, `asmade.show.papers` sets them on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from asmade.book.address import Address
from asmade.book.model import Build
from asmade.measure.errors import AsmadeError, Refused
from asmade.reckon.aims import Aim
from asmade.reckon.values import DRAWN, MADE, SOURCES, Values, compute
from asmade.verbs.route import RouteResult, planned, seat_of, setups_of
from asmade.verbs.sketch import SketchResult, sketch_in
from asmade.verbs.store import Opened, Path_, read
from asmade.work.recipes.bench import plain_name
from asmade.work.recipes.model import Operation, SetUp
from asmade.work.routes import RoutePlanner

STANDING = (
    "The makers' instructions of machines and products, local rules and licensed practice go before this "
    "sheet. Boilers and anything under pressure go by the code and inspector that apply; nothing here is about "
    "their strength."
)


@dataclass(frozen=True, slots=True)
class SizeLine:
    """One size of a piece as the sheet states it, in mm (degrees where ``angle``).

    ``state``: made, chosen, drawn only ... ; ``callout``: a thread as it is called. ``best`` is the best known value,
    ``aim`` what it may be made to (None where it is made, or a thread or an angle).
    """

    name: str
    shown: str
    state: str
    best: float | None = None
    angle: bool = False
    callout: str = ""
    aim: Aim | None = None

    @property
    def made(self) -> bool:
        """Whether it was measured on this piece."""
        return self.state == SOURCES[MADE]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The job sheet of one piece."""

    piece: str
    part: str
    place: str
    mark: str
    heading: Heading
    material: str
    reference: str
    stock: str
    lacks: tuple[str, ...]
    warnings: tuple[str, ...]
    sizes: tuple[SizeLine, ...]
    set_ups: tuple[tuple[SetUp, tuple[Operation, ...]], ...]
    sketch: SketchResult | None = None

    @property
    def readings(self) -> tuple[str, ...]:
        """The sizes to be measured, in the order they are made."""
        made = dict.fromkeys(dim for _, ops in self.set_ups for op in ops for dim in op.dims)
        return tuple(plain_name(dim) for dim in made)


@dataclass(frozen=True, slots=True)
class Heading:
    """What every sheet of a book says of it: the build and the state the sheet was made from."""

    title: str
    entry: int
    date: str

    @property
    def words(self) -> str:
        """In one line."""
        return f"{self.title}, as of entry {self.entry}" + (f" of {self.date}" if self.date else "")


@dataclass(frozen=True, slots=True)
class SetUpSheet:
    """The job sheet of one set-up for all the pieces that go through it together."""

    number: int
    of: int
    heading: Heading
    set_up: SetUp
    pieces: tuple[tuple[str, tuple[Operation, ...]], ...]


@dataclass(frozen=True, slots=True)
class SheetResult:
    """Sheets, and pieces for which there is none, with why."""

    sheets: tuple[Sheet, ...]
    without: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class SetUpSheets:
    """Sheets by set-up, and parts that are in none, with why."""

    sheets: tuple[SetUpSheet, ...]
    without: tuple[tuple[str, str], ...]


def heading_of(opened: Opened) -> Heading:
    """The heading of every sheet made from a book as it stands."""
    build = opened.build
    return Heading(build.design.title, build.last_entry, opened.entries[-1].at[:10] if opened.entries else "")


def sheet(path: Path_, piece: str = "", *, every: bool = False) -> SheetResult:
    """The sheet of a piece, of all pieces of a part, or of everything still to be made.

    Raises ``Refused`` where neither or both are asked for.
    """
    if bool(piece) == every:
        raise Refused(
            "sheet", got=piece, reason="name a piece or part, or ask for all", way_out="asmade sheet BOOK wheel@2L"
        )
    opened = read(path)
    return sheets_of(opened, compute(opened.build), piece)


def sheets_of(opened: Opened, values: Values, piece: str = "") -> SheetResult:
    """As `sheet`, of a book that is open; no piece named means every one."""
    build, heading = opened.build, heading_of(opened)
    if not piece:
        return _every(build, values, heading)
    part, place = seat_of(build, piece)
    named = "@" in piece or "#" in piece
    places = (place,) if named else build.design.parts[part].places
    return SheetResult(tuple(_sheet(build, values, planned(build, values, part, p), heading) for p in places), ())


def set_up_sheets(path: Path_) -> SetUpSheets:
    """A sheet for each set-up of the pieces still to be made, those alike together."""
    opened = read(path)
    return set_up_sheets_of(opened, compute(opened.build))


def set_up_sheets_of(opened: Opened, values: Values) -> SetUpSheets:
    """As `set_up_sheets`, of a book that is open."""
    heading, found = heading_of(opened), setups_of(opened.build, values)
    sheets = tuple(
        SetUpSheet(number, len(found.batches.batches), heading, found.setup(batch.members[0])[0],
                   tuple((piece, found.setup((piece, k))[1]) for piece, k in batch.members))
        for number, batch in enumerate(found.batches.batches, start=1)
    )  # fmt: skip
    return SetUpSheets(sheets, found.without)


def _every(build: Build, values: Values, heading: Heading) -> SheetResult:
    sheets, without = [], []
    planner = RoutePlanner(build, values)
    for part in build.design.parts.values():
        if part.assembled_from:
            continue
        try:
            planner.plan(part.name, part.places[0])
        except AsmadeError as fault:
            if part.form:
                raise
            without.append((part.name, fault.message))
            continue
        sheets += [_sheet(build, values, planned(build, values, part.name, place), heading) for place in part.places]
    return SheetResult(tuple(sheets), tuple(without))


def _sheet(build: Build, values: Values, result: RouteResult, heading: Heading) -> Sheet:
    route = result.route
    part = build.design.parts[route.part]
    return Sheet(
        piece=route.seat, part=route.part, place=route.place,
        mark=build.piece_at(Address(route.part, route.place)).mark, heading=heading,
        material=part.material, reference=part.reference, stock=route.stock.name if route.stock else "",
        lacks=route.lacks, warnings=(*route.warnings, *(f"Not planned: {each}" for each in route.unplanned)),
        sizes=tuple(_sizes(build, values, result)), set_ups=tuple(route.set_ups),
        sketch=_sketch(build, values, route.seat),
    )  # fmt: skip


def _sketch(build: Build, values: Values, seat: str) -> SketchResult | None:
    """What the sketch of a piece shows; none where a size that its form needs is lacking (the route says which)."""
    try:
        return sketch_in(build, values, seat)
    except AsmadeError:
        return None


def _sizes(build: Build, values: Values, result: RouteResult) -> Iterator[SizeLine]:
    part, place = result.route.part, result.route.place
    for name, dimension in build.design.parts[part].dims.items():
        address = Address(part, place, dim=name)
        shown = plain_name(name)
        if dimension.of_kind.thread:
            callout = values.system.callouts.get(address, "") or dimension.drawn or "not said"
            yield SizeLine(name, shown, "", callout=callout)
            continue
        at = values.system.at(address)
        best = float(values.best[at])
        known = best if math.isfinite(best) else None
        state = SOURCES[values.source[at]]
        if values.source[at] == DRAWN:
            state = f"drawn only {dimension.drawn_at.get(place, dimension.drawn)}"
        if dimension.of_kind.angle:
            yield SizeLine(name, shown, state, None if known is None else math.degrees(known), angle=True)
        else:
            aim = None if values.source[at] == MADE else result.aims.get(name)
            yield SizeLine(name, shown, state, known, aim=aim)
