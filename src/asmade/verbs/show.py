"""show: the board of a book, one part with all its pieces, or one size with where it comes from."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from asmade.book.address import Address, read_address
from asmade.book.model import Build, Dimension, Part, Piece
from asmade.book.sizes import check_written, read_size
from asmade.measure.errors import AsmadeError, Unknown, near
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.drawing import check_drawing
from asmade.reckon.requirement import Finding
from asmade.reckon.rounding import Lost, lost_by_rounding
from asmade.reckon.system import reading_requirements
from asmade.reckon.upnext import known_share, not_drawn, undecided
from asmade.reckon.values import MADE, SOURCES, Values
from asmade.verbs.check import findings_of
from asmade.verbs.store import Opened, Path_, read
from asmade.verbs.upnext import NextResult, PieceSteps, upnext_of
from asmade.verbs.waiting import Waiting, waiting


@dataclass(frozen=True, eq=False)
class Board:
    """The build at a glance: what is decided, what is made, what is at risk, what to make next.

    Each thing is worked out when it is first asked for: a title block asks little of it.
    """

    opened: Opened
    findings: tuple[Finding, ...] = field(repr=False)

    @property
    def build(self) -> Build:
        """The build it is of."""
        return self.opened.build

    @property
    def title(self) -> str:
        """The build's title."""
        return self.build.design.title

    @property
    def arrangement(self) -> str:
        """Its wheel arrangement."""
        return self.build.design.arrangement

    @property
    def note(self) -> str:
        """What its builder says of it."""
        return self.build.design.note

    @property
    def parts(self) -> int:
        """How many parts."""
        return len(self.build.design.parts)

    @property
    def pieces(self) -> int:
        """How many pieces, without those that are scrap."""
        return sum(not p.scrapped for p in self.build.pieces.values())

    @cached_property
    def _share(self) -> tuple[int, int]:
        return known_share(self.opened.values)

    @property
    def made(self) -> int:
        """How many sizes are made."""
        return self._share[0]

    @property
    def sizes(self) -> int:
        """How many sizes are cut at all."""
        return self._share[1]

    @cached_property
    def undecided(self) -> int:
        """How many sizes stand as drawn."""
        return len(undecided(self.opened.values))

    @cached_property
    def not_drawn(self) -> int:
        """How many sizes nobody has said."""
        return len(not_drawn(self.opened.values))

    @property
    def decided(self) -> int:
        """How many sizes are chosen and not made yet."""
        return self.sizes - self.made - self.undecided - self.not_drawn

    @cached_property
    def counts(self) -> Mapping[str, int]:
        """How many findings have each verdict."""
        return Counter(f.verdict for f in self.findings)

    @cached_property
    def at_risk(self) -> tuple[Finding, ...]:
        """What fails or is close, worst first."""
        return tuple(f for f in self.findings if f.verdict in ("fails", "close") and not _drawn_only_close(f))

    @cached_property
    def drawing(self) -> tuple[Finding, ...]:
        """Contradictions of the drawing."""
        found = check_drawing(self.build, self.opened.system)
        return tuple(f for f in found.findings if f.verdict == "fails")

    @cached_property
    def rounding(self) -> tuple[Lost, ...]:
        """What would be lost if each size were rounded by itself."""
        return lost_by_rounding(self.build, self.opened.values)

    @cached_property
    def _coming(self) -> NextResult:
        return upnext_of(self.build, self.opened.values)

    @property
    def next(self) -> tuple[PieceSteps, ...]:
        """Pieces that can be made now, best first."""
        return self._coming.pieces

    @property
    def waiting(self) -> int:
        """How many sizes wait for a mate."""
        return len(self._coming.waiting)

    @cached_property
    def curing(self) -> tuple[Waiting, ...]:
        """What must wait for its cure."""
        return waiting(self.build, self.opened.values)

    @cached_property
    def unknown_figures(self) -> tuple[str, ...]:
        """Figures of the engine that are not said."""
        return tuple(f.name for f in self.build.design.figures.values() if not f.text)

    @property
    def last_entry(self) -> str:
        """When the last entry was made."""
        last = self.opened.entries[-1] if self.opened.entries else None
        return datetime.fromisoformat(last.at).strftime("%Y-%m-%d %H:%M") if last else ""

    @property
    def last_words(self) -> str:
        """The last entry in plain words."""
        from asmade.verbs.history import words_of  # noqa: PLC0415

        last = self.opened.entries[-1] if self.opened.entries else None
        return words_of(last.kind, last.body) if last else ""


@dataclass(frozen=True, slots=True)
class SizeRow:
    """One dimension of one piece: drawn, chosen, aim, made, best."""

    address: Address
    piece: str
    kind: str
    process: str
    drawn: str
    drawn_mm: float | None
    how: str
    chosen: str
    chosen_why: str
    locked: bool
    aim: Aim | None
    made: str
    instrument: str
    best: float | None
    spread: float
    reach: float
    source: str
    angle: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class PartView:
    """One part: its drawing, its pieces, its sizes at every place, and the findings that read them."""

    part: Part
    pieces: tuple[Piece, ...]
    rows: tuple[SizeRow, ...]
    findings: tuple[Finding, ...]


def board(path: Path_) -> Board:
    """The board of a book."""
    opened = read(path)
    return Board(opened, findings_of(opened.values, opened.found))


def _drawn_only_close(finding: Finding) -> bool:
    """A close call on the drawing's figures alone is no news before sizes are chosen."""
    return finding.verdict == "close" and finding.drawn_only


def part(path: Path_, name: str) -> PartView:
    """One part of a book with all its pieces."""
    opened = read(path)
    return part_of(opened.build, name, opened.values, findings_of(opened.values, opened.found))


def part_of(build: Build, name: str, values: Values, every: tuple[Finding, ...]) -> PartView:
    """One part of a build with all its pieces; ``every`` are all findings."""
    found = _part(build, name)
    rows = [
        _row(build, values, Address(name, place, dim=dimension.name), dimension)
        for dimension in found.dims.values()
        for place in found.places
    ]
    reads = {row.address for row in rows}
    named = reading_requirements(values.system, reads)
    findings = tuple(f for f in every if f.subject in named)
    pieces = tuple(p for p in build.pieces.values() if p.part == name)
    return PartView(found, pieces, tuple(rows), findings)


def size(path: Path_, text: str) -> tuple[SizeRow, tuple[Finding, ...]]:
    """One size, by place or by mark, with the findings that read it."""
    opened = read(path)
    return size_of(opened.build, text, opened.values, findings_of(opened.values, opened.found))


def size_of(
    build: Build, text: str, values: Values, every: tuple[Finding, ...]
) -> tuple[SizeRow, tuple[Finding, ...]]:  # fmt: skip
    """One size of a build, with those of ``every`` finding that read it."""
    address = read_address(text)
    dimension = build.design.dimension(address)
    if dimension is None:
        known = _part(build, address.part)
        raise Unknown(f"dimension of {address.part}", got=address.dim, near=near(address.dim, known.dims),
                      way_out=f"one of: {', '.join(known.dims)}")  # fmt: skip
    if address.mark:
        held = build.pieces.get(address.seat)
        if held is None:
            raise Unknown("piece", got=address.seat, near=near(address.seat, build.pieces))
        if held.place:
            address = Address(address.part, held.place, dim=address.dim)
    else:
        address = values.system.scope.resolve(address)
    row = _row(build, values, address, dimension)
    named = reading_requirements(values.system, (address,))
    findings = tuple(f for f in every if f.subject in named)
    return row, findings


def _part(build: Build, name: str) -> Part:
    found = build.design.parts.get(name)
    if found is None:
        raise Unknown("part", got=name, near=near(name, build.design.parts),
                      way_out=f"parts are: {', '.join(build.design.parts)}")  # fmt: skip
    return found


def _row(build: Build, values: Values, address: Address, dimension: Dimension) -> SizeRow:
    piece = build.piece_at(address)
    text = dimension.drawn_at.get(address.place, dimension.drawn)
    chosen = build.chosen.get(piece) or build.chosen.get(address) or build.chosen.get(address.of_part)
    at = values.system.index.get(address)
    reading = values.last.get(piece)
    made, instrument = (reading.text, reading.instrument) if reading else ("", "")
    thread = dimension.of_kind.thread
    known = at is not None and not math.isnan(values.best[at])
    spread, reach = values.spread(at) if at is not None and known else (0.0, 0.0)
    aim = None
    if at is not None and not thread and values.source[at] != MADE and at not in values.system.computed:
        aim = aim_of(build, values, address)
    return SizeRow(
        address=address, piece=piece.seat, kind=dimension.kind, process=dimension.made_by, drawn=text,
        drawn_mm=None if thread else _mm(text, dimension, build), how=_how(text, dimension, build),
        chosen=chosen.size if chosen else "", chosen_why=chosen.why if chosen else "",
        locked=bool(chosen and chosen.locked), aim=aim, made=made, instrument=instrument,
        best=float(values.best[at]) if at is not None and known else None, spread=spread, reach=reach,
        source=SOURCES[int(values.source[at])] if at is not None else "thread" if thread else "not known",
        angle=dimension.of_kind.angle, note=values.why_unknown.get(at, "") if at is not None else "",
    )  # fmt: skip


def _how(text: str, dimension: Dimension, build: Build) -> str:
    try:
        return check_written(text, dimension, build.design.drawing_unit)
    except AsmadeError as fault:
        return fault.message


def _mm(text: str, dimension: Dimension, build: Build) -> float | None:
    try:
        written = read_size(text, dimension, build.design.drawing_unit)
    except AsmadeError:
        return None  # said in `how`
    return None if written is None else float(written.exact)
