"""show: the board of a book, one part with all its pieces, or one size with where it comes from."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from asmade.book.address import Address, read_address
from asmade.book.model import Build, Dimension, Part, Piece
from asmade.book.sizes import check_written, read_size
from asmade.measure.errors import AsmadeError, Unknown, near
from asmade.reckon.aims import Aim, aim_of
from asmade.reckon.drawing import check_drawing
from asmade.reckon.requirement import Finding
from asmade.reckon.rounding import Lost, lost_by_rounding
from asmade.reckon.upnext import known_share, not_drawn, undecided
from asmade.reckon.values import MADE, SOURCES, Values, compute, last_made
from asmade.verbs.check import findings_of
from asmade.verbs.store import Opened, Path_, read
from asmade.verbs.upnext import PieceSteps, upnext_of
from asmade.verbs.waiting import Waiting, waiting


@dataclass(frozen=True, slots=True)
class Board:
    """The build at a glance: what is decided, what is made, what is at risk, what to make next."""

    title: str
    arrangement: str
    parts: int
    pieces: int
    sizes: int
    made: int
    decided: int
    undecided: int
    not_drawn: int
    counts: Mapping[str, int]
    at_risk: tuple[Finding, ...]
    drawing: tuple[Finding, ...]
    rounding: tuple[Lost, ...]
    next: tuple[PieceSteps, ...]
    waiting: int
    curing: tuple[Waiting, ...]
    unknown_figures: tuple[str, ...]
    last_entry: str
    last_words: str
    note: str


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
    values = compute(opened.build)
    return board_of(opened, values, findings_of(values))


def board_of(opened: Opened, values: Values, found: tuple[Finding, ...]) -> Board:
    """The board of a book already read, with its values and all its findings."""
    build = opened.build
    drawing = tuple(f for f in check_drawing(build, values.system).findings if f.verdict == "fails")
    made, sizes = known_share(values)
    left, missing = len(undecided(values)), len(not_drawn(values))
    coming = upnext_of(build, values)
    last = opened.entries[-1] if opened.entries else None
    from asmade.verbs.history import words_of  # noqa: PLC0415

    return Board(
        title=build.design.title, arrangement=build.design.arrangement, parts=len(build.design.parts),
        pieces=sum(not p.scrapped for p in build.pieces.values()), sizes=sizes, made=made,
        decided=sizes - made - left - missing, undecided=left, not_drawn=missing,
        counts=Counter(f.verdict for f in found),
        at_risk=tuple(f for f in found if f.verdict in ("fails", "close") and not _drawn_only_close(f)),
        drawing=drawing,
        rounding=lost_by_rounding(build, values), next=coming.pieces, waiting=len(coming.waiting),
        curing=waiting(build, values),
        unknown_figures=tuple(f.name for f in build.design.figures.values() if not f.text),
        last_entry=datetime.fromisoformat(last.at).strftime("%Y-%m-%d %H:%M") if last else "",
        last_words=words_of(last.kind, last.body) if last else "", note=build.design.note,
    )  # fmt: skip


def _drawn_only_close(finding: Finding) -> bool:
    """A close call on the drawing's figures alone is no news before sizes are chosen."""
    return finding.verdict == "close" and finding.drawn_only


def part(path: Path_, name: str) -> PartView:
    """One part of a book with all its pieces."""
    build = read(path).build
    values = compute(build)
    return part_of(build, name, values, findings_of(values))


def part_of(build: Build, name: str, values: Values, every: tuple[Finding, ...]) -> PartView:
    """One part of a build with all its pieces; ``every`` are all findings."""
    found = _part(build, name)
    rows = [
        _row(build, values, Address(name, place, dim=dimension.name), dimension)
        for dimension in found.dims.values()
        for place in found.places
    ]
    reads = {row.address for row in rows}
    requirements = {r.subject: r for r in values.system.requirements}
    findings = tuple(f for f in every if f.subject in requirements and reads & set(requirements[f.subject].reads))
    pieces = tuple(p for p in build.pieces.values() if p.part == name)
    return PartView(found, pieces, tuple(rows), findings)


def size(path: Path_, text: str) -> tuple[SizeRow, tuple[Finding, ...]]:
    """One size, by place or by mark, with the findings that read it."""
    build = read(path).build
    values = compute(build)
    return size_of(build, text, values, findings_of(values))


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
    requirements = {r.subject: r for r in values.system.requirements}
    findings = tuple(f for f in every if f.subject in requirements and address in requirements[f.subject].reads)
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
    reading = last_made(build).get(piece)
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
