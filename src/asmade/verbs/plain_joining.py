"""Joints, what was done, notes and the record as plain data: what ``--json`` prints and the pages' API answers.

Lengths in mm, angles in degrees, times in hours; null = not known. `docs/json.md` documents the keys.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from asmade.verbs.plain import finding, number, saved

if TYPE_CHECKING:
    from asmade.reckon.cure_times import Time
    from asmade.reckon.joining import Setting
    from asmade.verbs.done import DoneResult, NoteResult, Photo
    from asmade.verbs.joined import JoinedResult, Stopped, UndoneResult, Until
    from asmade.verbs.last_look import JointState, LastLook
    from asmade.verbs.look_reasons import Reason
    from asmade.verbs.record import DimensionRecord, JointRecord, NoteRecord, PartRecord, Record
    from asmade.verbs.waiting import Waiting
    from asmade.work.cautions import Caution


def reason(r: Reason) -> dict[str, Any]:
    """One reason against a joint, or one thing to mind."""
    return {"code": r.code, "words": r.words, "way_out": r.way_out}


def caution(c: Caution) -> dict[str, Any]:
    """One caution."""
    return {"name": c.name, "text": c.text, "standing": c.standing}


def _time(t: Time) -> dict[str, Any]:
    return {"what": t.what, "hours": number(t.hours), "words": t.words}


def _setting(s: Setting, words: str, *, angle: bool) -> dict[str, Any]:
    unit = "deg" if angle else "mm"
    return {
        "dimension": str(s.address),
        f"low_{unit}": number(s.low, angle=angle),
        f"high_{unit}": number(s.high, angle=angle),
        f"wanted_{unit}": number(s.wanted, angle=angle),
        "possible": s.possible,
        "because": list(s.because),
        "words": words,
    }


def last_look(look: LastLook) -> dict[str, Any]:
    """The last look at one joint."""
    angles = {known.address for known in look.sizes if known.angle}
    return {
        "joint": look.joint,
        "by": look.by,
        "means": look.means.name,
        "verdict": look.verdict,
        "despite": look.despite,
        "stops": [reason(r) for r in look.stops],
        "minds": [reason(r) for r in look.minds],
        "pieces": [
            {"seat": p.seat, "piece": p.piece, "side": p.side, "hand": p.hand, "trapped": p.trapped}
            for p in look.pieces
        ],
        "facing": list(look.facing),
        "settings": [_setting(s, words, angle=s.address in angles) for s, words in look.settings],
        "sizes": [
            {
                "dimension": str(k.address), "piece": k.piece, "role": k.role,
                f"best_{'deg' if k.angle else 'mm'}": number(k.best, angle=k.angle), "source": k.source,
                "reading": k.reading, "instrument": k.instrument,
            }
            for k in look.sizes
        ],
        "measure_first": [str(a) for a in look.measure_first],
        "not_made_yet": [{"dimension": str(p.address), "source": p.source} for p in look.not_made_yet],
        "findings": [
            finding(r.finding) | {"because": [{"dimension": str(a), "role": role} for a, role in r.because]}
            for r in look.findings
        ],
        "order": [{"name": s.name, "kind": s.kind, "state": s.state, "this": s.this} for s in look.order],
        "unreachable": list(look.unreachable),
        "later": list(look.later),
        "disturbs": [str(a) for a in look.disturbs],
        "measure_after": [str(a) for a in look.measure_after],
        "trial": look.means.trial,
        "tried": look.tried or None,
        "needs": list(look.means.needs),
        "clean": look.means.clean,
        "after": look.means.after,
        "adhesive": look.adhesive,
        "gap_mm": number(look.gap),
        "times": [_time(t) for t in look.times],
        "caution": look.caution,
        "cautions": [caution(c) for c in look.cautions],
        "ticks": list(look.ticks),
    }  # fmt: skip


def every_joint(states: tuple[JointState, ...]) -> dict[str, Any]:
    """All joints at a glance."""
    return {
        "joints": [
            {
                "joint": s.joint, "by": s.by, "joined": s.joined or None, "verdict": s.verdict, "reasons": s.reasons,
                "first": s.first,
            }
            for s in states
        ]
    }  # fmt: skip


def _until(u: Until) -> dict[str, Any]:
    return {"what": u.what, "hours": number(u.hours), "at": u.at or None, "words": u.words}


def joined(result: JoinedResult) -> dict[str, Any]:
    """A joint entered as made."""
    return {
        "joint": result.joint,
        "at": result.at,
        "verdict": result.look.verdict,
        "despite": result.look.despite,
        "overruled": [reason(r) for r in result.look.stops],
        "minds": [reason(r) for r in result.look.minds],
        "until": [_until(u) for u in result.until],
        "frozen": [str(a) for a in result.frozen],
        "not_known_until_measured": [str(a) for a in result.unknown],
        "measure": [str(a) for a in result.measure],
        "saved": saved(result.saved),
    }


def stopped(fault: Stopped) -> dict[str, Any]:
    """A joint refused, with its reasons."""
    words = {"code": fault.code, "message": fault.message, "way_out": fault.way_out}
    return {"error": words | {"stops": [reason(r) for r in fault.reasons]}}


def undone(result: UndoneResult) -> dict[str, Any]:
    """A joint entered as undone."""
    return {
        "joint": result.joint,
        "at": result.at,
        "how": result.how,
        "advice": result.advice,
        "data_sheet": result.sheet,
        "cautions": [caution(c) for c in result.cautions],
        "free": [str(a) for a in result.free],
        "measure": [str(a) for a in result.measure],
        "still_joined_later": list(result.also),
        "saved": saved(result.saved),
    }


def waiting(w: Waiting) -> dict[str, Any]:
    """A joint that must be left alone for now."""
    return {"joint": w.joint, "what": w.what, "until": w.at or None, "hours_left": number(w.hours), "words": w.words}


def done(result: DoneResult) -> dict[str, Any]:
    """An operation done to a piece."""
    return {
        "piece": result.piece.seat,
        "operation": result.operation,
        "at": result.at,
        "done": [{"operation": name, "at": at} for name, at in result.done],
        "planned": result.planned,
        "like": list(result.near),
        "not_entered_before": list(result.skipped),
        "next": None if result.next is None else result.next.key,
        "saved": saved(result.saved),
    }


def _photo(p: Photo) -> dict[str, Any]:
    return {"name": p.name, "media_type": p.media_type, "bytes": p.size, "digest": p.digest}


def note(result: NoteResult) -> dict[str, Any]:
    """A note with its photographs."""
    return {
        "about": result.about,
        "text": result.text,
        "at": result.at,
        "photos": [_photo(p) for p in result.photos],
        "saved": saved(result.saved),
    }


def _note(n: NoteRecord) -> dict[str, Any]:
    return {"about": n.about, "at": n.at, "text": n.text, "photo": n.photo, "digest": n.digest}


def _dimension(d: DimensionRecord) -> dict[str, Any]:
    unit = "deg" if d.angle else "mm"
    return {
        "dimension": d.name,
        "kind": d.kind,
        "drawn": d.drawn,
        f"drawn_{unit}": number(d.drawn_mm),
        "drawn_at": dict(d.drawn_at),
        "reference": d.reference,
        "chosen": [{"of": of, "size": size, "why": why} for of, size, why in d.chosen],
        "made": [
            {
                "piece": m.piece, "place": m.place, "reading": m.text, f"made_{unit}": number(m.value, angle=m.angle),
                "instrument": m.instrument, "tool": m.tool, "at": m.at, "stage": m.stage, "note": m.note,
            }
            for m in d.made
        ],
        "computed": [{"place": place, unit: number(value, angle=d.angle)} for place, value in d.computed],
        "not_made": list(d.not_made),
        "not_known": [{"place": place, "why": why} for place, why in d.unknown],
        "note": d.note,
    }  # fmt: skip


def _part(p: PartRecord) -> dict[str, Any]:
    return {
        "part": p.name,
        "material": p.material,
        "reference": p.reference,
        "hand": p.hand,
        "note": p.note,
        "places": list(p.places),
        "pieces": [
            {
                "piece": x.seat, "place": x.place, "scrapped": x.scrapped, "why": x.why,
                "done": [{"operation": name, "at": at} for name, at in x.done],
            }
            for x in p.pieces
        ],
        "dimensions": [_dimension(d) for d in p.dimensions],
        "notes": [_note(n) for n in p.notes],
    }  # fmt: skip


def _joint(j: JointRecord) -> dict[str, Any]:
    return {
        "joint": j.name,
        "by": j.by,
        "joined": j.joined,
        "events": [{"kind": e.kind, "at": e.at, **dict(e.body)} for e in j.events],
        "verdict": j.verdict,
        "stops": list(j.stops),
        "notes": [_note(n) for n in j.notes],
    }


def record(r: Record) -> dict[str, Any]:
    """The whole build record."""
    left = r.left_off
    return {
        "title": r.title,
        "arrangement": r.arrangement,
        "note": r.note,
        "drawing_unit": r.drawing_unit,
        "written": r.written,
        "first": r.first,
        "last": r.last,
        "last_entry": r.last_entry,
        "made": r.made,
        "sizes": r.sizes,
        "left_off": {
            "last": [{"entry": n, "at": at, "words": words} for n, at, words in left.last],
            "last_note": left.last_note,
            "waiting": [waiting(w) for w in left.waiting],
            "next": [{"piece": piece, "sizes": list(sizes)} for piece, sizes in left.next],
            "measure": list(left.measure),
            "ready_joints": list(left.ready_joints),
        },
        "parts": [_part(p) for p in r.parts],
        "joints": [_joint(j) for j in r.joints],
        "counts": dict(r.counts),
        "open": [finding(f) for f in r.open],
        "notes": [_note(n) for n in r.notes],
        "instruments": [{"instrument": name, "readings": count} for name, count in r.instruments],
    }
