"""The build record as plain text that is still read in twenty years: no table wider than a sheet, nothing by colour."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator

from asmade.book.files import write_file
from asmade.measure.show import show_mm
from asmade.verbs.record import DimensionRecord, JointEvent, JointRecord, Made, NoteRecord, PartRecord, Record
from asmade.verbs.store import Path_

WIDTH = 100


def record_text(record: Record) -> str:
    """The whole record as text, lines of at most 100 characters but for single long words."""
    lines = [line for part in (_head, _left_off, _open, _joints, _parts, _notes, _instruments) for line in part(record)]
    return "\n".join(lines).rstrip() + "\n"


def write_record(record: Record, path: Path_, *, replace: bool = False) -> str:
    """Write the record as text to a file, whole or not at all; one that is there is kept unless ``replace``."""
    text = record_text(record)
    write_file(path, text.encode(), replace=replace)
    return text


def _title(text: str) -> Iterator[str]:
    yield from ("", text.upper(), "=" * len(text), "")


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(
        " ".join(text.split()), WIDTH, initial_indent=first, subsequent_indent=rest or " " * len(first),
        break_on_hyphens=False,
    ) or [first.rstrip()]  # fmt: skip


def _head(record: Record) -> Iterator[str]:
    yield record.title
    yield "=" * len(record.title)
    yield f"Build record, written {when(record.written)}, as the book stands after entry {record.last_entry}."
    if record.arrangement:
        yield f"Wheel arrangement {record.arrangement}. Drawn in {record.drawing_unit}; sizes here in mm unless said."
    if record.first:
        yield f"First entry {record.first[:10]}, last {record.last[:10]}. {record.made} of {record.sizes} sizes made."
    if record.note:
        yield from _wrapped(record.note)


def _left_off(record: Record) -> Iterator[str]:
    yield from _title("Where it was left")
    left = record.left_off
    if left.last_note:
        yield from _wrapped(left.last_note, "last note  ")
    for number, at, words in left.last:
        yield from _wrapped(words, f"  {at[:10]}  entry {number:<5} ")
    for each in left.waiting:
        until = f"not to be {each.what} until {when(each.at)}" if each.at else f"not to be {each.what}"
        yield from _wrapped(f"{each.joint}: {until}: {each.words}", "waiting    ")
    for line in left.measure:
        yield from _wrapped(line, "measure    ")
    for piece, dims in left.next:
        yield from _wrapped(f"{piece}: {', '.join(dims)}", "next       ")
    for joint in left.ready_joints:
        yield from _wrapped(f"{joint}: the last look says go", "joint      ")


def _open(record: Record) -> Iterator[str]:
    yield from _title("Open findings")
    counts, found, drawn = open_words(record)
    yield counts
    for verdict, words in found:
        yield from _wrapped(words, f"  {verdict:<10}")
    if drawn:
        yield f"  {drawn}"


def open_words(record: Record) -> tuple[str, tuple[tuple[str, str], ...], str]:
    """Open findings: how many of each verdict; verdict and words of each; how many more on drawn figures alone."""
    counts = ", ".join(f"{count} {verdict}" for verdict, count in sorted(record.counts.items()))
    found = []
    for finding in record.open:
        if finding.verdict == "close" and finding.drawn_only:
            continue
        unit = "deg" if finding.unit == "rad" else finding.unit
        margin = finding.margin
        if margin is not None and finding.unit == "rad":
            margin = math.degrees(margin)
        room = "" if margin is None else f"  margin {margin:+.3f} {unit}".rstrip()
        missing = f"  not known: {', '.join(finding.missing)}" if finding.missing else ""
        found.append((finding.verdict, f"{finding.subject}{room}{missing}"))
    drawn = sum(f.verdict == "close" and f.drawn_only for f in record.open)
    more = f"and {drawn} more that are close on the drawing's figures alone" if drawn else ""
    return f"Of all that can hold or fail: {counts or 'nothing yet'}.", tuple(found), more


def _joints(record: Record) -> Iterator[str]:
    yield from _title("Joints")
    if not record.joints:
        yield "None in the book."
    for joint in record.joints:
        yield from _joint(joint)


def _joint(joint: JointRecord) -> Iterator[str]:
    state = "joined" if joint.joined else "undone" if joint.events else "not joined"
    yield from _wrapped(f"{joint.name}  ({joint.by or 'means not said'}): {state}", "", "    ")
    for event in joint.events:
        yield from _event(event)
    if joint.stops:
        count = len(joint.stops)
        yield from _wrapped(
            f"last look: {joint.verdict}, {count} reason{'s' if count != 1 else ''}; first: {joint.stops[0]}", "    "
        )
    elif joint.verdict:
        yield f"    last look: {joint.verdict}"
    yield from _note_lines(joint.notes)


def _event(event: JointEvent) -> Iterator[str]:
    body = event.body
    yield from _wrapped(event_words(event), f"    {event.kind} {when(event.at)}  ", "        ")
    if body.get("despite"):
        yield from _wrapped(str(body["despite"]), "        despite: ")
        for each in body.get("overruled", ()):
            yield from _wrapped(str(each), "          overruled: ")


def event_words(event: JointEvent) -> str:
    """What was joined or undone, by what, in one line."""
    body = event.body
    words = [
        f"pieces {', '.join(map(str, body['pieces']))}" if body.get("pieces") else "",
        f"with {', '.join(map(str, body['trapped']))} on" if body.get("trapped") else "",
        f"gap {float(body['gap_mm']):.3f} mm on diameter" if "gap_mm" in body else "",
        f"{body['adhesive']}" if body.get("adhesive") else "",
        f"at {float(body['temperature_c']):g} C" if "temperature_c" in body else "",
        f"{body['how']}" if body.get("how") else "",
        f"{body['note']}" if body.get("note") else "",
    ]
    return "; ".join(w for w in words if w)


def _parts(record: Record) -> Iterator[str]:
    yield from _title("Parts")
    for part in record.parts:
        yield from _part(part)


def _part(part: PartRecord) -> Iterator[str]:
    told = [t for t in (part.reference, part.material, "" if part.hand == "same" else part.hand) if t]
    yield from _wrapped(f"{part.name}{'   ' + ', '.join(told) if told else ''}")
    if part.note:
        yield from _wrapped(part.note, "    ")
    pieces = [
        f"{p.seat.partition('#')[2]} {'scrap: ' + p.why if p.scrapped else 'at ' + p.place if p.place else 'spare'}"
        for p in part.pieces
        if p.scrapped or not p.place or p.seat.partition("#")[2] != p.place
    ]
    if pieces:
        yield from _wrapped("; ".join(pieces), "    pieces  ")
    for piece in part.pieces:
        for operation, at in piece.done:
            yield from _wrapped(f"{piece.seat}: {operation}, {at[:10]}", "    done    ")
    for dimension in part.dimensions:
        yield from _dimension(dimension)
    yield from _note_lines(part.notes)
    yield ""


def _dimension(d: DimensionRecord) -> Iterator[str]:
    yield from _wrapped("; ".join((drawn_words(d), *chosen_words(d))), f"    {d.name:<22}", "        ")
    for made in d.made:
        yield from _wrapped(made_words(made), "        made  ", "              ")
    for line in known_words(d):
        yield from _wrapped(line, "        ")
    if d.made and d.not_made:
        yield from _wrapped(", ".join(d.not_made), "        not made at ")


def drawn_words(d: DimensionRecord) -> str:
    """As drawn, with what a fraction comes to, and places that are drawn otherwise."""
    unit = " deg" if d.angle else ""
    drawn = f"drawn {d.drawn}" if d.drawn else "not drawn"
    if d.drawn_mm is not None and not _says(d.drawn, d.drawn_mm):
        drawn += f" ({_figure(d.drawn_mm, '0.0001')}{unit})"
    return "; ".join((drawn, *(f"at {place} {text}" for place, text in d.drawn_at.items())))


def chosen_words(d: DimensionRecord) -> tuple[str, ...]:
    """What was chosen, for all or for one piece, and why."""
    return tuple(
        f"chosen{'' if '@' not in of and '#' not in of else f' for {of}'} {size}{': ' + why if why else ''}"
        for of, size, why in d.chosen
    )


def known_words(d: DimensionRecord) -> Iterator[str]:
    """What follows from other sizes, and what is not known."""
    for place, value in d.computed:
        shown = f"{math.degrees(value):.3f} deg" if d.angle else _figure(value)
        yield f"computed at {place}: {shown}" if not math.isnan(value) else f"at {place}: not known"
    yield from (f"at {place}: {why}" for place, why in d.unknown)


def made_words(m: Made) -> str:
    """A reading: the piece, what it measures, by what, when."""
    mark = m.piece.partition("#")[2]
    where = "" if mark == m.place else f" at {m.place}" if m.place else " (no place now)"
    value = math.degrees(m.value) if m.angle else m.value
    shown = "" if math.isnan(value) or _says(m.text, value) else f" = {_figure(value)}{' deg' if m.angle else ''}"
    words = [
        f"{mark}{where}  {m.text or 'as called out'}{shown}",
        m.instrument or "instrument not said",
        m.at[:10],
        f"cut by {m.tool}" if m.tool else "",
        "checked" if m.stage == "check" else "",
        m.note,
    ]
    return "; ".join(w for w in words if w)


def _notes(record: Record) -> Iterator[str]:
    if record.notes:
        yield from _title("Notes")
        yield from _note_lines(record.notes, "")


def _note_lines(notes: tuple[NoteRecord, ...], indent: str = "    ") -> Iterator[str]:
    for note in notes:
        about = "" if note.about == "book" else f"{note.about}: "
        photo = f"photograph {note.photo} {note.digest[:12]} " if note.photo else ""
        yield from _wrapped(f"{about}{photo}{note.text}", f"{indent}{note.at[:10]}  ", f"{indent}            ")


def _instruments(record: Record) -> Iterator[str]:
    if record.instruments:
        yield from _title("Instruments")
        for name, count in record.instruments:
            yield f"{count:>5} reading{'s' if count != 1 else ''} by {name}"


def _figure(value: float, step: str = "0.001") -> str:
    return show_mm(value, step=step).rstrip("0").rstrip(".")


def _says(text: str, value: float) -> bool:
    """Whether a text as written is the plain figure already."""
    try:
        return abs(float(text.removesuffix("mm").removesuffix("deg")) - value) < 5e-5
    except ValueError:
        return False


def when(at: str) -> str:
    """A moment of the ledger, to the minute."""
    return at[:16].replace("T", " ")
