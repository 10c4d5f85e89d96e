"""Gaps as plain data, for ``--json`` and the pages."""

from __future__ import annotations

import math
from typing import Any

from asmade.verbs import piston_ends
from asmade.verbs.gaps import CurveResult, GapsResult, PairResult
from asmade.verbs.plain import number


def plain(result: GapsResult) -> dict[str, Any]:
    """What ``--json`` prints: lengths in mm, angles in degrees of each side's own crank past its front dead centre."""
    return {
        "name": result.name,
        "wanted_mm": number(result.wanted_mm),
        "fails": result.fails,
        "not_told": result.not_told,
        "pairs": [_plain_pair(pair) for side in result.sides for pair in side.pairs],
        "sides": [
            {
                "side": side.side,
                "bodies": list(side.bodies),
                "layers_looked_at": side.looked_at,
                "left_out": [{"body": name, "why": why} for name, why in side.left_out],
                "not_known": [{"a": a, "b": b, "why": why} for a, b, why in side.not_known],
                "waits_for": [{"size": size, "bodies": list(names)} for size, names in side.waits_for],
                "on_curve": [
                    {"a": t.pair.one, "b": t.pair.other, "gap_mm": number(t.least.gap_mm),
                     "at_deg": number(t.least.at_rad, angle=True)}
                    for t in side.touches_on_curve
                ],
            }
            for side in result.sides
        ],
        "piston_room": [piston_ends.plain(ends) for ends in result.ends],
        "least_curve": _plain_curve(result.curve),
        "drawn_only": list(result.drawn_only),
        "notes": list(result.notes),
    }  # fmt: skip


def _plain_curve(curve: CurveResult | None) -> dict[str, Any] | None:
    if curve is None:
        return None
    axles = [curve.axles[at] for at in curve.least.axles] if curve.least.axles else []
    return {
        "radius_mm": number(curve.least.radius),
        "axles": axles,
        "with_flanges": curve.with_flanges,
        "asked_mm": number(curve.radius_mm),
        "fault": curve.fault,
    }


def _plain_pair(pair: PairResult) -> dict[str, Any]:
    f = pair.finding
    return {
        "side": pair.side,
        "a": pair.one,
        "b": pair.other,
        "layers": [f.pair.one, f.pair.other],
        "verdict": f.verdict,
        "gap_mm": number(f.least.gap_mm),
        "wanted_mm": number(f.pair.wanted_mm),
        "margin_mm": number(f.margin_mm),
        "at_deg": number(f.least.at_rad % (2 * math.pi), angle=True),
        "until_deg": number(f.least.until_rad % (2 * math.pi), angle=True),
        "reverser": number(pair.reverser),
        "where": f.least.where,
        "across_mm": number(f.least.across_mm),
        "freedoms_in_middle_mm": number(f.middle_mm),
        "worst_mm": number(f.worst.gap_mm),
        "worst_at_deg": number(f.worst.at_rad % (2 * math.pi), angle=True),
        "chance_of_less_than_wanted": number(f.chance),
        "shares": [{"dimension": name, "share": number(share / 100)} for name, share in pair.shares],
        "take_from": [
            {
                "size": cure.size,
                "change_mm": number(cure.change_mm),
                "spoils": [{"pair": e.pair, "margin_mm": number(e.margin_mm)} for e in cure.spoils],
            }
            for cure in pair.cures
        ],
    }
