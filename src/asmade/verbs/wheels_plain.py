"""Coupled wheels as plain data: what ``asmade wheels --json`` prints."""

from __future__ import annotations

import math
from typing import Any

from asmade.motion.wheels.cures import Cure
from asmade.verbs.plain import number
from asmade.verbs.wheels import Section, State, WheelsResult


def plain(result: WheelsResult) -> dict[str, Any]:
    """What ``--json`` prints: lengths in mm, chassis angles in degrees (the right crank's, forward running)."""
    return {
        "name": result.name,
        "wanted_mm": number(result.wanted_mm),
        "boxes": result.boxes,
        "leads": result.leads,
        "rods_meet": list(result.meetings),
        "fails": result.fails,
        "sections": [_plain_section(result, section) for section in result.sections],
        "known": dict(result.known),
        "drawn_only": list(result.drawn_only),
        "chosen_or_suited": list(result.chosen_only),
        "notes": list(result.notes),
    }


def _plain_section(result: WheelsResult, section: Section) -> dict[str, Any]:
    state, free, blocked = result.state(section), section.free, section.blocked
    return {
        "section": section.section,
        "verdict": "not known" if state is None else state.verdict,
        "slack_mm": number(free.slack_mm) if free else None,
        "slack_blocked_mm": number(blocked.slack_mm) if blocked else None,
        "at_deg": number(state.at_rad, angle=True) if state else None,
        "rod": state.rods[0][0] if state and state.rods else None,
        "chance_of_binding": number(state.chance_of_binding.value) if state else None,
        "shares": [{"dimension": cause, "share": number(share / 100)} for cause, share in state.shares]
        if state
        else [],
        "cures": [plain_cure(cure) for cure in section.cures],
        "blocked": _plain_state(blocked) if blocked else None,
        "free": _plain_state(free) if free else None,
        "missing": list(section.missing),
        "other_rods_off": section.others_off,
    }


def _plain_state(state: State) -> dict[str, Any]:
    chance = state.chance_of_binding
    return {
        "verdict": state.verdict,
        "slack_mm": number(state.slack_mm),
        "at_deg": number(state.at_rad, angle=True),
        "rods": [{"rod": rod, "says": says} for rod, says in state.rods],
        "worst_mm": number(state.worst_mm),
        "worst_at_deg": number(state.worst_at_rad, angle=True),
        "chance_of_binding": number(chance.value),
        "chance_from": number(chance.low),
        "chance_to": number(chance.high),
        "chance_of_less_than_wanted": number(state.chance_of_less),
        "samples": chance.samples,
        "seed": chance.seed,
        "shares": [{"dimension": cause, "share": number(share / 100)} for cause, share in state.shares],
        "by_true_distances": state.exact,
    }


def plain_cure(cure: Cure) -> dict[str, Any]:
    """One cure; an amount of turning is in minutes, all else in mm."""
    turned = cure.kind == "requarter"
    amount = cure.amount * (60 * 180 / math.pi if turned else 1.0)
    return {
        "kind": cure.kind,
        "what": cure.what,
        "says": cure.says,
        "amount": number(amount),
        "amount_unit": "min" if turned else "mm",
        "slack_before_mm": number(cure.slack_before),
        "slack_after_mm": number(cure.slack_after),
        "frees": cure.frees,
        "sections_after_mm": {name: number(slack) for name, slack in cure.others},
        "effort": cure.effort,
        "spoils": cure.spoils,
        "hides": cure.hides,
    }
