"""Results as plain data: what ``--json`` prints and the pages' API answers. Lengths in mm, angles in degrees.

Codes and keys are stable; `docs/json.md` documents them. Nothing is worked out here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from asmade.measure.errors import AsmadeError

if TYPE_CHECKING:
    from asmade.reckon.aims import Aim
    from asmade.reckon.mates import Mates
    from asmade.reckon.pairing import Left
    from asmade.reckon.requirement import Finding
    from asmade.verbs.aim import AimResult
    from asmade.verbs.check import CheckResult, DrawingResult
    from asmade.verbs.choose import ChooseResult
    from asmade.verbs.drawn import DrawnResult
    from asmade.verbs.history import Line
    from asmade.verbs.made import MadeResult
    from asmade.verbs.piece import PieceResult
    from asmade.verbs.shop import ShopView
    from asmade.verbs.show import Board, PartView, SizeRow
    from asmade.verbs.store import Saved
    from asmade.verbs.upnext import NextResult, PieceSteps

PLACES = 6


def number(value: float | None, *, angle: bool = False) -> float | None:
    """A figure for JSON: degrees for an angle, rounded to a nanometre; None for what is not known or has no end."""
    if value is None or not math.isfinite(value):
        return None
    return round(math.degrees(value) if angle else value, PLACES) + 0.0


def error(fault: AsmadeError) -> dict[str, Any]:
    """A refusal."""
    return {"error": {"code": fault.code, "message": fault.message, "way_out": fault.way_out}}


def finding(f: Finding) -> dict[str, Any]:
    """One finding."""
    angle = f.unit == "rad"
    return {
        "code": f.code,
        "subject": f.subject,
        "verdict": f.verdict,
        "value": number(f.value, angle=angle),
        "low": number(f.low, angle=angle),
        "high": number(f.high, angle=angle),
        "margin": number(f.margin, angle=angle),
        "worst": number(f.worst, angle=angle),
        "worst_low": number(f.worst_low, angle=angle),
        "worst_high": number(f.worst_high, angle=angle),
        "chance": number(f.chance),
        "shares": [{"dimension": s.cause, "share": number(s.share)} for s in f.shares],
        "working": f.working,
        "source": f.source,
        "unit": "deg" if angle else f.unit,
        "drawn_only": f.drawn_only,
        "missing": list(f.missing),
        "plays": list(f.plays),
    }


def check(result: CheckResult) -> dict[str, Any]:
    """All findings of a book."""
    return {
        "findings": [finding(f) for f in result.findings],
        "counts": dict(result.counts),
        "made": result.made,
        "sizes": result.sizes,
    }


def drawing(result: DrawingResult) -> dict[str, Any]:
    """The drawing check."""
    return {
        "findings": [finding(f) for f in result.findings],
        "stated": result.stated,
        "not_stated": result.not_stated,
        "left_to_builder": list(result.left_to_builder),
    }


def aim(found: Aim) -> dict[str, Any]:
    """One aim."""
    unit = "deg" if found.angle else "mm"
    ends = {
        f"{key}_{unit}": number(value, angle=found.angle)
        for key, value in (("low", found.low), ("high", found.high), ("target", found.target))
    }
    return {
        "dimension": str(found.dimension),
        "piece": str(found.piece),
        "state": found.state,
        **ends,
        "approach": found.approach,
        "because": [{"subject": r.subject, "side": r.side, "source": r.source} for r in found.because],
        "mates": [{"dimension": name, "mm": number(value), "known": how} for name, value, how in found.mates],
        "guard_mm": number(found.guard),
        "instrument": found.instrument,
        "chance": number(found.chance),
        "warnings": list(found.warnings),
        "conflict": list(found.conflict),
        "cure": list(found.cure),
    }


def aim_result(result: AimResult) -> dict[str, Any]:
    """An aim, and whether it was written down."""
    return aim(result.aim) | ({"saved": saved(result.saved)} if result.saved else {})


def saved(result: Saved) -> dict[str, Any]:
    """What a writing verb saved."""
    return {"entries": list(result.entries), "what_if": result.what_if}


def made(result: MadeResult) -> dict[str, Any]:
    """A reading and what it changed."""
    return {
        "entry": result.saved.entries[0] if result.saved.entries else None,
        "what_if": result.saved.what_if,
        "piece": str(result.piece),
        "read_as": result.how,
        "stage": result.stage,
        "warnings": list(result.warnings),
        "changed": [
            {"dimension": str(c.dimension), "before": aim(c.before), "after": aim(c.after)} for c in result.aims
        ],
        "verdicts": [
            {"code": v.code, "subject": v.subject, "before": v.before, "after": v.after, "margin": number(v.margin)}
            for v in result.verdicts
        ],
    }


def choose(result: ChooseResult) -> dict[str, Any]:
    """A choice of sizes."""
    choice = result.choice
    out: dict[str, Any] = {
        "status": choice.status,
        "could_improve_by": number(choice.could_improve_by),
        "assured": choice.assured,
        "words": choice.words,
        "changes": [
            {
                "dimension": str(c.dimension), "drawn": c.drawn, "exact_mm": number(c.exact_mm),
                "chosen_mm": number(c.chosen_mm), "why": c.why, "tool": c.tool, "stock": c.stock, "buy": c.buy,
            }
            for c in choice.changes
        ],
        "requirements": [
            {
                "code": m.code, "subject": m.subject,
                "margin_before": number(m.before), "margin_after": number(m.after),
                "verdict_before": m.verdict_before, "verdict_after": m.verdict_after,
            }
            for m in choice.moved
        ],
        "buy": list(choice.buys),
        "conflict": list(choice.conflict),
        "relaxations": [
            {"name": r.name, "side": r.side, "by_mm": number(r.by_mm), "words": r.words} for r in choice.relaxations
        ],
        "left_out": list(choice.left_out),
        "seconds": round(choice.seconds, 3),
        "saved": saved(result.saved) if result.saved else None,
        "threads": [
            {
                "thread": t.thread, "dimensions": list(t.dimensions), "lacks": list(t.lacks),
                "instead": [
                    {
                        "thread": o.thread, "tools": list(o.tools), "strength_ratio": number(o.strength_ratio),
                        "pitch_ratio": number(o.pitch_ratio), "major_change_mm": number(o.major_change_mm),
                        "strong_enough": o.strong_enough, "lacks": list(o.lacks), "words": o.words,
                    }
                    for o in t.offers
                ],
            }
            for t in result.threads
        ],
    }  # fmt: skip
    if result.alternatives:
        out["alternatives"] = [
            {
                "size": a.size, "why": a.why, "extra_cost": number(a.extra_cost), "possible": a.possible,
                "proven": a.proven,
                "moves": {name: [number(before), number(after)] for name, (before, after) in a.moves.items()},
            }
            for a in result.alternatives
        ]  # fmt: skip
    return out


def steps(piece: PieceSteps) -> dict[str, Any]:
    """The sizes of one piece that can be made now."""
    return {
        "piece": piece.piece,
        "place": piece.place,
        "frees": list(piece.frees),
        "measure": list(piece.measure),
        "sizes": [{"dimension": str(s.dimension), "frees": list(s.frees)} for s in piece.sizes],
    }


def upnext(result: NextResult) -> dict[str, Any]:
    """What can be made now, and what waits."""
    return {
        "now": [steps(p) for p in result.pieces],
        "waiting": [{"dimension": str(s.dimension), "waits_for": list(s.waits_for)} for s in result.waiting],
        "not_drawn": [str(s.dimension) for s in result.not_drawn],
        "made": result.made,
        "sizes": result.sizes,
    }


def _left(left: Left) -> dict[str, Any]:
    return {
        "piece": left.name,
        "needs_low_mm": number(left.low),
        "needs_mm": number(left.wanted),
        "needs_high_mm": number(left.high),
        "nearest": left.nearest,
        "take_off_mm": number(left.take_off),
    }


def pair(result: Mates) -> dict[str, Any]:
    """A pairing of measured pieces."""
    p = result.pairing
    return {
        "fit": result.fit,
        "pairs": [
            {"hole": x.first, "shaft": x.second, "gap_mm": number(x.gap), "margin_mm": number(x.margin),
             "chance": number(x.chance)}
            for x in p.pairs
        ],
        "holes_left": [_left(x) for x in p.unpaired_first],
        "shafts_left": [_left(x) for x in p.unpaired_second],
        "unmeasured": list(result.unmeasured),
        "source": result.source,
    }  # fmt: skip


def history(lines: tuple[Line, ...]) -> dict[str, Any]:
    """Entries in their order."""
    return {
        "entries": [
            {"entry": x.number, "kind": x.kind, "at": x.at, "by": x.by, "words": x.words, "withdrawn": x.withdrawn,
             "body": _plain(x.body)}
            for x in lines
        ]
    }  # fmt: skip


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    return value


def drawn(result: DrawnResult) -> dict[str, Any]:
    """A drawn size."""
    return {"dimension": result.dimension, "read_as": result.how, "saved": saved(result.saved)}


def board(b: Board) -> dict[str, Any]:
    """The board."""
    return {
        "title": b.title,
        "arrangement": b.arrangement,
        "parts": b.parts,
        "pieces": b.pieces,
        "sizes": b.sizes,
        "made": b.made,
        "decided": b.decided,
        "undecided": b.undecided,
        "not_drawn": b.not_drawn,
        "counts": dict(b.counts),
        "at_risk": [finding(f) for f in b.at_risk],
        "drawing": [finding(f) for f in b.drawing],
        "rounding_each_alone": [
            {
                "subject": x.subject,
                "drawn": number(x.drawn),
                "rounded": number(x.rounded),
                "low": number(x.limits.low),
                "high": number(x.limits.high),
                "short_by": number(x.short_by),
            }
            for x in b.rounding
        ],
        "next": [steps(p) for p in b.next],
        "waiting": b.waiting,
        "curing": [
            {"joint": w.joint, "what": w.what, "until": w.at or None, "hours_left": number(w.hours), "words": w.words}
            for w in b.curing
        ],
        "unknown_figures": list(b.unknown_figures),
        "last": {"at": b.last_entry, "words": b.last_words},
    }


def size(row: SizeRow) -> dict[str, Any]:
    """One size of one piece."""
    unit = "deg" if row.angle else "mm"
    return {
        "dimension": str(row.address),
        "piece": row.piece,
        "kind": row.kind,
        "process": row.process,
        "drawn": row.drawn,
        f"drawn_{unit}": number(row.drawn_mm),
        "read_as": row.how,
        "chosen": row.chosen,
        "why": row.chosen_why,
        "locked": row.locked,
        "aim": aim(row.aim) if row.aim else None,
        "made": row.made,
        "instrument": row.instrument,
        f"best_{unit}": number(row.best, angle=row.angle),
        f"spread_{unit}": number(row.spread, angle=row.angle),
        f"reach_{unit}": number(row.reach, angle=row.angle),
        "source": row.source,
        "note": row.note,
    }


def part(view: PartView) -> dict[str, Any]:
    """One part with its pieces and sizes."""
    return {
        "part": view.part.name,
        "places": list(view.part.places),
        "material": view.part.material,
        "pieces": [
            {"piece": p.seat, "place": p.place, "scrapped": p.scrapped, "why": p.why} for p in view.pieces
        ],
        "sizes": [size(row) for row in view.rows],
        "findings": [finding(f) for f in view.findings],
    }  # fmt: skip


def piece(result: PieceResult) -> dict[str, Any]:
    """Pieces of one part after a move."""
    return {
        "saved": saved(result.saved),
        "pieces": [{"piece": p.seat, "place": p.place, "scrapped": p.scrapped} for p in result.pieces],
    }


def shop(view: ShopView) -> dict[str, Any]:
    """The shop and what it has learned."""
    return {
        "shop": _plain(view.tables),
        "learned": [
            {
                "process": x.process, "tool": x.tool, "material": x.material, "bias_mm": number(x.belief.mean),
                "scatter_mm": number(math.sqrt(x.belief.sigma2)), "pieces": len(x.departures),
                "departures_mm": [number(d) for d in x.departures], "words": x.words, "source": x.source,
            }
            for x in view.learned
        ],
        "saved": saved(view.saved) if view.saved else None,
    }  # fmt: skip
