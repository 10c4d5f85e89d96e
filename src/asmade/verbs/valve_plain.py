"""Results of the valve verbs as plain data: what ``asmade valves --json`` prints. Lengths in mm, angles in degrees."""

from __future__ import annotations

import math
from typing import Any

from asmade.motion.valves.best import Unevenness
from asmade.motion.valves.report import Event, SideEvents
from asmade.verbs.plain import finding, number
from asmade.verbs.valve_proposal import ProposeResult
from asmade.verbs.valve_words import step_in_words
from asmade.verbs.valves import Gears, MattersResult, SetResult, SideMatters, SideSetting, ValvesResult


def valves(result: ValvesResult) -> dict[str, Any]:
    """Events of both sides; advice first in the reading, last in the keys that programs look for."""
    return {
        **_head(result.gears),
        "advice": [
            {
                "code": a.code, "text": a.text, "side": a.side, "reverser": number(a.reverser),
                "value": number(a.value), "unit": a.unit, "source": a.source,
            }
            for a in result.advice
        ],
        "positions": [_position(row) for row in result.events.positions],
        "beats": [
            {"reverser": number(b.reverser), "intervals_deg": [number(each) for each in b.intervals_deg],
             "out_by_deg": number(b.out_by_deg)}
            for b in result.events.beats
        ],
        "differences": [
            {
                "reverser": number(d.reverser),
                "between_ends": {
                    side: {"lead_mm": number(lead), "cutoff": number(cutoff)}
                    for side, lead, cutoff in zip(
                        ("R", "L"), d.lead_between_ends_mm, d.cutoff_between_ends, strict=True
                    )
                },
                "between_sides": {
                    end: {"lead_mm": number(lead), "cutoff": number(cutoff)}
                    for end, lead, cutoff in zip(
                        ("front", "back"), d.lead_between_sides_mm, d.cutoff_between_sides, strict=True
                    )
                },
            }
            for d in result.events.differences
        ],
        "findings": [finding(f) for f in result.findings],
        "estimates": [
            {"subject": e.subject, "value": number(e.value), "unit": e.unit, "source": e.source,
             "missing": list(e.missing)}
            for e in result.estimates
        ],
    }  # fmt: skip


def _head(gears: Gears) -> dict[str, Any]:
    return {
        "gear": gears.name,
        "kind": gears.bound[0].gear,
        "values": gears.which,
        "set": gears.how_set,
        "not_measured": list(gears.not_made),
    }


def _position(row: SideEvents) -> dict[str, Any]:
    return {
        "reverser": number(row.reverser),
        "side": row.side,
        "ends": None if row.ends is None else {
            end.end: {
                "lead_mm": number(end.lead_mm),
                "admission": _per_cent(end.admission),
                "cutoff": _per_cent(end.cutoff),
                "release": _per_cent(end.release),
                "compression": _per_cent(end.compression),
                "max_opening_mm": number(end.opening_mm),
                "port_opening_mm": number(end.port_opening_mm),
                "past_port_mm": number(end.past_port_mm),
                "crank_deg": {
                    name: None if event is None else number(event.crank_deg)
                    for name, event in (("admission", end.admission), ("cutoff", end.cutoff),
                                        ("release", end.release), ("compression", end.compression))
                },
            }
            for end in row.ends
        },
        "travel_mm": number(row.travel_mm),
        "die_slip_mm": number(row.die_slip_mm),
        "link_swing_deg": number(row.link_swing_deg),
        "joint_angles_deg": [
            {"links": list(links), "least": number(low), "greatest": number(high)}
            for links, (low, high) in row.joint_angles_deg.items()
        ],
    }  # fmt: skip


def _per_cent(event: Event | None) -> float | None:
    return None if event is None else number(event.per_cent)


def _uneven(found: Unevenness) -> dict[str, Any]:
    return {"lead_mm": number(found.lead_mm), "cutoff": number(found.cutoff_per_cent), "score": number(found.score)}


def set_valves(result: SetResult) -> dict[str, Any]:
    """What to set at each side."""
    return {**_head(result.gears), "sides": [_setting(side) for side in result.sides]}


def _setting(side: SideSetting) -> dict[str, Any]:
    return {
        "side": side.side,
        "before": _uneven(side.best.before),
        "after": _uneven(side.best.after),
        "at_limit": list(side.best.at_limit),
        "steps": [
            {
                "what": step.what, "text": step_in_words(step, side.thread), "part": step.part,
                "dimension": step.dimension, "given_by": side.addresses.get(step.dimension, ""), "sense": step.sense,
                **_amount(step.amount, angle=step.sense in ("more angle", "less angle")), "turns": number(step.turns),
            }
            for step in side.steps
        ],
    }  # fmt: skip


def _amount(value: float, *, angle: bool) -> dict[str, Any]:
    return {"amount_deg": number(math.degrees(value))} if angle else {"amount_mm": number(value)}


def proposal(result: ProposeResult) -> dict[str, Any]:
    """A gear as proposed: its sizes with what gives them in the book, the working, the events."""
    return {
        "choices": dict(result.choices),
        "sizes": [
            {
                "dimension": row.name, "given_by": row.given_by,
                **({"deg": number(math.degrees(row.value))} if row.angle else {"mm": number(row.value)}),
                "now": number(row.now, angle=row.angle),
            }
            for row in result.rows
        ],
        "working": [
            {"name": line.name, "relation": line.relation, "value": number(line.value), "source": line.source}
            for line in result.working
        ],
        "finished": None if result.refined is None else result.refined.finished,
        "positions": [_position(row) for row in result.events.positions if row.side == "R"],
    }  # fmt: skip


def matters(result: MattersResult) -> dict[str, Any]:
    """Which dimensions matter, and which parts are worth making again."""
    return {**_head(result.gears), "sides": [_matters(side) for side in result.sides], "not_made": result.not_made}


def _matters(side: SideMatters) -> dict[str, Any]:
    return {
        "side": side.side,
        "dimensions": [
            {
                "dimension": row.effect.name, "part": row.part, "given_by": row.given_by,
                **{key.replace("amount", "out_by"): v
                   for key, v in _amount(row.effect.change, angle=row.angle).items()},
                "lead_mm": number(row.effect.lead_mm), "cutoff": number(row.effect.cutoff_per_cent),
                "travel_mm": number(row.effect.travel_mm),
            }
            for row in side.rows
        ],
        "best_setting_leaves": _uneven(side.before),
        "make_again": [
            {"part": r.part, "dimensions": list(r.dimensions), "leaves": _uneven(r.after), "gain": number(r.gain)}
            for r in side.remakes
        ],
    }  # fmt: skip
