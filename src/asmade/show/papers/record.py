"""The build record on paper: what was drawn, chosen, made, with joints, dates, instruments, notes, photographs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from asmade.show.papers.typeset import paper_of, typeset
from asmade.verbs.record import DimensionRecord, JointRecord, NoteRecord, PartRecord, Record
from asmade.verbs.record_text import (
    chosen_words,
    drawn_words,
    event_words,
    known_words,
    made_words,
    open_words,
    when,
)

SET: Final = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
"""Photographs that go on paper, by their media type; others are named only."""


def record_pdf(
    record: Record, photographs: Mapping[str, tuple[str, bytes]] | None = None, *, paper: str = "a4"
) -> bytes:
    """The record as PDF. ``photographs``: media type and bytes by digest, for those that shall be on it."""
    pictures: dict[str, bytes] = {}
    names: dict[str, str] = {}
    for number, (digest, (media_type, data)) in enumerate((photographs or {}).items()):
        if media_type in SET:
            names[digest] = f"photograph-{number}.{SET[media_type]}"
            pictures[names[digest]] = data
    counts, found, more = open_words(record)
    left = record.left_off
    said = {
        "paper": paper_of(paper), "title": record.title, "written": when(record.written),
        "facts": [
            ["arrangement", record.arrangement or "not said"], ["drawn in", record.drawing_unit],
            ["sizes made", f"{record.made} of {record.sizes}"], ["as of", f"entry {record.last_entry}"],
        ],
        "span": f"First entry {record.first[:10]}, last {record.last[:10]}." if record.first else "",
        "note": record.note,
        "left": {
            "note": left.last_note,
            "last": [[at[:10], f"entry {number}", words] for number, at, words in left.last],
            "waiting": [
                f"{w.joint}: not to be {w.what}{f' until {when(w.at)}' if w.at else ''}: {w.words}"
                for w in left.waiting
            ],
            "measure": list(left.measure), "next": [f"{piece}: {', '.join(dims)}" for piece, dims in left.next],
            "joints": list(left.ready_joints),
        },
        "open": {"counts": counts, "found": [list(each) for each in found], "more": more},
        "joints": [_joint(joint, names) for joint in record.joints],
        "parts": [_part(part, names) for part in record.parts],
        "notes": [_note(note, names) for note in record.notes],
        "instruments": [[name, str(count)] for name, count in record.instruments],
    }  # fmt: skip
    return typeset("record", said, pictures)


def _joint(joint: JointRecord, names: Mapping[str, str]) -> dict[str, Any]:
    look = f"last look: {joint.verdict}" if joint.verdict else ""
    if joint.stops:
        look += f", {len(joint.stops)} reason{'s' if len(joint.stops) != 1 else ''}; first: {joint.stops[0]}"
    return {
        "name": joint.name, "by": joint.by or "means not said",
        "state": "joined" if joint.joined else "undone" if joint.events else "not joined",
        "events": [
            {"kind": e.kind, "at": when(e.at), "words": event_words(e), "despite": str(e.body.get("despite", "")),
             "overruled": [str(each) for each in e.body.get("overruled", ())]}
            for e in joint.events
        ],
        "look": look, "notes": [_note(note, names) for note in joint.notes],
    }  # fmt: skip


def _part(part: PartRecord, names: Mapping[str, str]) -> dict[str, Any]:
    told = [each for each in (part.reference, part.material, "" if part.hand == "same" else part.hand) if each]
    return {
        "name": part.name, "told": ", ".join(told), "note": part.note,
        "pieces": [
            f"{p.seat.partition('#')[2]} {'scrap: ' + p.why if p.scrapped else 'at ' + p.place if p.place else 'spare'}"
            for p in part.pieces
            if p.scrapped or not p.place or p.seat.partition("#")[2] != p.place
        ],
        "done": [f"{p.seat}: {operation}, {at[:10]}" for p in part.pieces for operation, at in p.done],
        "dimensions": [_dimension(d) for d in part.dimensions],
        "notes": [_note(note, names) for note in part.notes],
    }  # fmt: skip


def _dimension(d: DimensionRecord) -> dict[str, Any]:
    return {
        "name": d.name, "drawn": drawn_words(d), "chosen": list(chosen_words(d)),
        "made": [made_words(m) for m in d.made], "known": list(known_words(d)),
        "not_made": ", ".join(d.not_made) if d.made else "",
    }  # fmt: skip


def _note(note: NoteRecord, names: Mapping[str, str]) -> dict[str, Any]:
    about = "" if note.about == "book" else f"{note.about}: "
    photo = f"photograph {note.photo} {note.digest[:12]} " if note.photo else ""
    return {"at": note.at[:10], "words": f"{about}{photo}{note.text}", "picture": names.get(note.digest, "")}
