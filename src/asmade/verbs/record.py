"""record: the build record, every part as drawn, chosen, made, with joints, notes, open findings; where it was left.

What was withdrawn is not in it (the history has it); what was scrapped is, with why.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from asmade.book.address import Address
from asmade.book.fold import withdrawn
from asmade.book.model import Build, Dimension, Part, Reading, Remark
from asmade.book.sizes import read_size
from asmade.measure.errors import AsmadeError, Contradiction
from asmade.reckon.joining import Joints
from asmade.reckon.requirement import Finding
from asmade.reckon.upnext import known_share
from asmade.reckon.values import COMPUTED, Values, compute, last_made
from asmade.verbs.check import findings_of
from asmade.verbs.done import done_to
from asmade.verbs.history import words_of
from asmade.verbs.last_look import Look
from asmade.verbs.store import Opened, Path_, now, read
from asmade.verbs.upnext import upnext_of
from asmade.verbs.waiting import Waiting, waiting

LAST_ENTRIES = 6
NEXT_PIECES = 6


@dataclass(frozen=True, slots=True)
class Made:
    """What one piece was measured to be in one dimension."""

    piece: str
    place: str
    text: str
    value: float
    angle: bool
    instrument: str
    tool: str
    at: str
    stage: str
    note: str


@dataclass(frozen=True, slots=True)
class DimensionRecord:
    """One dimension of a part: as drawn, as chosen, as made on each piece, and where it is not made."""

    name: str
    kind: str
    drawn: str
    drawn_mm: float | None
    drawn_at: Mapping[str, str]
    reference: str
    chosen: tuple[tuple[str, str, str], ...]
    made: tuple[Made, ...]
    computed: tuple[tuple[str, float], ...]
    not_made: tuple[str, ...]
    unknown: tuple[tuple[str, str], ...]
    angle: bool
    note: str


@dataclass(frozen=True, slots=True)
class PieceRecord:
    """One piece: its mark, where it is, what was done to it."""

    seat: str
    place: str
    scrapped: bool
    why: str
    done: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class NoteRecord:
    """A note or a photograph: about what, when, in which words or under which name."""

    about: str
    at: str
    text: str
    photo: str = ""
    digest: str = ""


@dataclass(frozen=True, slots=True)
class PartRecord:
    """One part with its pieces, dimensions and notes."""

    name: str
    material: str
    reference: str
    hand: str
    note: str
    places: tuple[str, ...]
    pieces: tuple[PieceRecord, ...]
    dimensions: tuple[DimensionRecord, ...]
    notes: tuple[NoteRecord, ...]


@dataclass(frozen=True, slots=True)
class JointEvent:
    """A joint made or undone: when, by whom, and what the entry says."""

    kind: str
    at: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class JointRecord:
    """One joint: by what means, its state, all that happened to it, and what its last look says if it is to come."""

    name: str
    by: str
    joined: bool
    events: tuple[JointEvent, ...]
    verdict: str
    stops: tuple[str, ...]
    notes: tuple[NoteRecord, ...]


@dataclass(frozen=True, slots=True)
class LeftOff:
    """Where the work was left: last entries and note, what waits, what can be made next, joints that may be made."""

    last: tuple[tuple[int, str, str], ...]
    last_note: str
    waiting: tuple[Waiting, ...]
    next: tuple[tuple[str, tuple[str, ...]], ...]
    measure: tuple[str, ...]
    ready_joints: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Record:
    """The whole build record as the book stands after its last entry."""

    title: str
    arrangement: str
    note: str
    drawing_unit: str
    written: str
    first: str
    last: str
    last_entry: int
    made: int
    sizes: int
    left_off: LeftOff
    parts: tuple[PartRecord, ...]
    joints: tuple[JointRecord, ...]
    counts: Mapping[str, int]
    open: tuple[Finding, ...]
    notes: tuple[NoteRecord, ...]
    instruments: tuple[tuple[str, int], ...]


def record(path: Path_) -> Record:
    """The build record of a book."""
    return record_of(read(path))


def record_of(opened: Opened, values: Values | None = None, findings: tuple[Finding, ...] | None = None) -> Record:
    """The build record of a book already read; ``values`` and ``findings`` of it where they are at hand."""
    build = opened.build
    values = values or compute(build)
    notes = tuple(_notes(build))
    findings = findings_of(values) if findings is None else findings
    made, sizes = known_share(values)
    joints = _joints(build, values, notes)
    moments = sorted((e.at for e in opened.entries), key=datetime.fromisoformat)
    readings = Counter(r.instrument or "instrument not said" for r in build.readings)
    return Record(
        title=build.design.title, arrangement=build.design.arrangement, note=build.design.note,
        drawing_unit=build.design.drawing_unit, written=now(), first=moments[0] if moments else "",
        last=moments[-1] if moments else "", last_entry=build.last_entry, made=made, sizes=sizes,
        left_off=_left_off(opened, values, notes, joints),
        parts=tuple(_part(opened, values, part, notes) for part in build.design.parts.values()),
        joints=joints, counts=Counter(f.verdict for f in findings),
        open=tuple(f for f in findings if f.verdict in ("fails", "close", "not known")),
        notes=tuple(n for n in notes if _is_general(build, n)), instruments=tuple(readings.most_common()),
    )  # fmt: skip


def _notes(build: Build) -> Iterator[NoteRecord]:
    for remark in build.remarks:
        body, about = remark.body, str(remark.body.get("about", "") or "book")
        if remark.kind == "note":
            yield NoteRecord(about, remark.at, str(body.get("text", "")))
        elif remark.kind == "attachment":
            name, digest = str(body.get("name", "")), str(body.get("digest", ""))
            yield NoteRecord(about, remark.at, str(body.get("text", "")), name or "a file without a name", digest)


def _is_general(build: Build, note: NoteRecord) -> bool:
    """Whether a note belongs to no part and no joint: those of fits and figures stand with the general ones."""
    stem = note.about.partition("@")[0].partition("#")[0].partition(".")[0]
    return stem not in build.design.parts and not any(r.name == stem for r in build.design.of_kind("joint"))


def _about_part(note: NoteRecord, name: str) -> bool:
    return note.about.partition("@")[0].partition("#")[0].partition(".")[0] == name


def _part(opened: Opened, values: Values, part: Part, notes: tuple[NoteRecord, ...]) -> PartRecord:
    build = opened.build
    pieces = tuple(
        PieceRecord(p.seat, p.place, p.scrapped, p.why, done_to(build, p.seat))
        for p in build.pieces.values()
        if p.part == part.name
    )
    said = {e.number: str(e.body.get("note", "")) for e in opened.entries if e.kind == "made"}
    last = last_made(build)
    return PartRecord(
        part.name, part.material, part.reference, part.hand, part.note, part.places, pieces,
        tuple(_dimension(build, values, part, d, pieces, last, said) for d in part.dims.values()),
        tuple(n for n in notes if _about_part(n, part.name)),
    )  # fmt: skip


def _dimension(
    build: Build, values: Values, part: Part, dimension: Dimension, pieces: tuple[PieceRecord, ...],
    last: Mapping[Address, Reading], said: Mapping[int, str],
) -> DimensionRecord:  # fmt: skip
    name, angle = dimension.name, dimension.of_kind.angle
    made = []
    for piece in pieces:
        reading = last.get(Address(part.name, mark=piece.seat.partition("#")[2], dim=name))
        if reading is not None:
            made.append(Made(
                piece.seat, piece.place, reading.text, reading.middle, angle, reading.instrument, reading.tool,
                reading.at, reading.stage, said.get(reading.entry, ""),
            ))  # fmt: skip
    done = {m.place for m in made}
    computed, open_, unknown = [], [], []
    for place in part.places:
        at = values.system.index.get(Address(part.name, place, dim=name))
        if at is not None and at in values.why_unknown:
            unknown.append((place, values.why_unknown[at]))
        elif at is not None and int(values.source[at]) == COMPUTED:
            computed.append((place, float(values.best[at])))
        elif place not in done:
            open_.append(place)
    return DimensionRecord(
        name=name, kind=dimension.kind, drawn=dimension.drawn, drawn_mm=_drawn_mm(build, dimension),
        drawn_at=dict(dimension.drawn_at), reference=dimension.reference or part.reference,
        chosen=tuple(_chosen(build, part.name, name)), made=tuple(made), computed=tuple(computed),
        not_made=tuple(open_), unknown=tuple(unknown), angle=angle, note=dimension.note,
    )  # fmt: skip


def _chosen(build: Build, part: str, dim: str) -> Iterator[tuple[str, str, str]]:
    """Of what (the part, a place, a piece), which size, why: every choice in force."""
    for of, chosen in build.chosen.items():
        if of.part == part and of.dim == dim:
            yield of.seat, chosen.size, chosen.why


def _drawn_mm(build: Build, dimension: Dimension) -> float | None:
    if dimension.of_kind.thread:
        return None
    try:
        written = read_size(dimension.drawn, dimension, build.design.drawing_unit)
    except AsmadeError:
        return None  # a drawing may hold what cannot be read; the drawing check says so
    return None if written is None or not math.isfinite(float(written.exact)) else float(written.exact)


def _joints(build: Build, values: Values, notes: tuple[NoteRecord, ...]) -> tuple[JointRecord, ...]:
    joints = Joints(values.system)
    look = Look(build, values, joints, samples=0)
    events: dict[str, list[Remark]] = {}
    for remark in build.remarks:
        if remark.kind in ("joined", "undone"):
            events.setdefault(str(remark.body.get("joint", "")), []).append(remark)
    found = []
    for name in _in_order(joints):
        history = events.pop(name, [])
        on = bool(history) and history[-1].kind == "joined"
        verdict, stops = ("", ()) if on else _looked(look, name)
        found.append(JointRecord(
            name, joints.by_name[name].by, on, tuple(JointEvent(r.kind, r.at, r.body) for r in history), verdict, stops,
            tuple(n for n in notes if n.about == name or n.about == name.partition("@")[0]),
        ))  # fmt: skip
    for name, history in events.items():  # joints that the book knew by another name when they were made
        on = history[-1].kind == "joined"
        said = tuple(JointEvent(r.kind, r.at, r.body) for r in history)
        found.append(JointRecord(name, "no longer in the book under this name", on, said, "", (), ()))
    return tuple(found)


def _in_order(joints: Joints) -> tuple[str, ...]:
    """Joints in their order of assembly; as written where they wait for each other in a ring."""
    try:
        return joints.order
    except Contradiction:
        return tuple(joints.by_name)


def _looked(look: Look, name: str) -> tuple[str, tuple[str, ...]]:
    """What the last look says; where it cannot be taken, why: the record is written all the same."""
    try:
        seen = look.at(name)
    except AsmadeError as fault:
        return "not known", (fault.message,)
    return seen.verdict, tuple(r.words for r in seen.stops)


def _left_off(
    opened: Opened, values: Values, notes: tuple[NoteRecord, ...], joints: tuple[JointRecord, ...]
) -> LeftOff:
    build = opened.build
    coming = upnext_of(build, values).pieces
    gone = withdrawn(opened.entries)
    told = [e for e in opened.entries if e.kind not in ("withdrawn", "aimed") and e.number not in gone]
    words = [n for n in notes if n.text]
    return LeftOff(
        last=tuple((e.number, e.at, words_of(e.kind, e.body)) for e in told[-LAST_ENTRIES:]),
        last_note=f"{words[-1].at[:10]}: {words[-1].text}" if words else "",
        waiting=waiting(build, values),
        next=tuple((p.piece, tuple(s.dimension.dim for s in p.sizes)) for p in coming[:NEXT_PIECES]),
        measure=tuple(line for p in coming for line in p.measure),
        ready_joints=tuple(j.name for j in joints if j.verdict == "go"),
    )  # fmt: skip
