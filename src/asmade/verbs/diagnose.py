"""diagnose: from where a finished chassis is tight back to what is wrong with it, and what to measure next.

An observation is written as it would be said at the bench:

    23: 30-60, 210-240                        rods of section 23 on, tight from 30 to 60 degrees and from 210 to 240
    12: nowhere                               rods of section 12 on, tight nowhere
    12 23 left free: 80-100                   both left-hand rods on, boxes free
    23 forward: 30-60, 23R bears outside at 45   turned forward; at 45 degrees both pins of rod 23R press on the outer
                                              sides of their bushes, away from the rod's middle: it is too short there
    23: 30-60, 23R too long at 45             the same by offering the rod up; bears inside is too long

Rods on or off, what tells most is which way the pins of a tight rod bear, at the tight place and half a turn later.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal, cast

from asmade.book.model import Build
from asmade.measure.errors import OutOfRange, Refused, Unknown, near
from asmade.motion.bindings.wheels import Bound, bind, relation_of, spreads_of
from asmade.motion.wheels.diagnosis import Advice, diagnose, fault_library
from asmade.motion.wheels.findings import tightest
from asmade.motion.wheels.trials import Fitted, Look, Says, Sides, TightArc, Trial
from asmade.reckon.values import compute
from asmade.verbs.plain import number
from asmade.verbs.store import Path_, read_build

PER_CAUSE: Final = 300
SEED: Final = 20_201
MOST: Final = 8
MEASURING: Final = {
    "centres": 0.01, "axle_x": 0.01, "crank_radius": 0.01, "knuckle_reach": 0.01, "quarter": math.radians(1 / 60),
}  # fmt: skip
"""Standard uncertainty with which each could be measured, mm and rad: common practice, no source."""
_ARC = re.compile(r"(\d+(?:\.\d+)?)\s*(?:-|to)\s*(\d+(?:\.\d+)?)")
_LOOK = re.compile(
    r"(?P<rod>\d+)(?P<side>[LR])\s+(?:(?:is\s+)?too\s+(?P<says>long|short)|bears\s+(?P<bears>inside|outside))"
    r"\s+at\s+(?P<at>\d+(?:\.\d+)?)"
)
_BEARS: Final = {"inside": "too long", "outside": "too short"}
"""The pins of a rod that is too long bear on the inner sides of its bushes, of one too short on the outer sides."""
_WORDS: Final = ("left", "right", "both", "free", "blocked", "forward", "backward")
_EXAMPLE: Final = 'write for example "23: 30-60, 210-240" or "12: nowhere"'


@dataclass(frozen=True, slots=True)
class Suspect:
    """One cause: its dimensions, the sums of the book behind them, its probability, how far out it then is."""

    what: str
    sizes: tuple[str, ...]
    probability: float
    out_by: float
    deviation: float
    unit: Literal["mm", "min", ""]


@dataclass(frozen=True, slots=True)
class DiagnosisResult:
    """Causes by probability, the measurement that would tell most, remarks, and how the observations were read."""

    read_as: tuple[str, ...]
    suspects: tuple[Suspect, ...]
    measure: Advice | None
    remarks: tuple[str, ...]


def diagnose_book(
    path: Path_, observed: Sequence[str], *, binding: str = "", per_cause: int = PER_CAUSE, seed: int = SEED
) -> DiagnosisResult:
    """Rank what may be wrong with a finished chassis by what was observed at trial turning."""
    return diagnose_build(read_build(path), observed, binding=binding, per_cause=per_cause, seed=seed)


def diagnose_build(
    build: Build, observed: Sequence[str], *, binding: str = "", per_cause: int = PER_CAUSE, seed: int = SEED
) -> DiagnosisResult:
    """The same for a build."""
    if not observed:
        raise Refused("observation", got="nothing", reason="nothing was observed", way_out=_EXAMPLE)
    values = compute(build)
    bound = bind(relation_of(build.design, binding), values.system.scope)
    trials = [read_observation(text, bound) for text in observed]
    free = any(trial.fitted.boxes == "free" for trial in trials)
    missing = bound.missing(values.of, "free" if free else "blocked")
    if missing:
        raise Refused(
            "diagnosis", got=f"{len(missing)} sizes without a value", way_out="give them, be it as drawn",
            reason=f"not known: {', '.join(map(str, missing[:8]))}",
        )  # fmt: skip
    boxes: Literal["free", "blocked"] = "free" if free else "blocked"
    chassis = bound.chassis(values.of, boxes)
    spreads = spreads_of(bound, values, boxes)
    library = fault_library(chassis, spreads, [trial.fitted for trial in trials], per_cause=per_cause, seed=seed)
    found = diagnose(library, trials, measuring=MEASURING)
    remarks = list(found.remarks)
    for section, name in enumerate(bound.sections):
        tight = tightest(chassis, "blocked", section, angles=72).tight
        if tight.slack_mm < 0:
            remarks.append(
                f"by the sizes as the book knows them section {name} binds already, by {-tight.slack_mm:.3f} mm at "
                f"{math.degrees(tight.at_rad):.0f} degrees with boxes blocked: see `asmade wheels` first"
            )
    suspects = []
    for ranked in found.ranking[:MOST]:
        turned = any(name.startswith("quarter") for name in ranked.cause.names)
        per = 60 * 180 / math.pi if turned else 1.0
        rows = [bound.nodes[row] for row in ranked.cause.rows]
        suspects.append(
            Suspect(
                what=ranked.cause.text if ranked.cause.rows else "nothing beyond what the book knows and its spreads",
                sizes=tuple(str(address) for node in rows if node is not None for address in _addresses(node)),
                probability=ranked.probability, out_by=ranked.out_by * per, deviation=ranked.deviation * per,
                unit="" if not ranked.cause.rows else "min" if turned else "mm",
            )
        )  # fmt: skip
    return DiagnosisResult(
        tuple(_said(trial, bound) for trial in trials), tuple(suspects), found.measure, tuple(remarks)
    )


def _addresses(node: Any) -> tuple[Any, ...]:
    from asmade.book.grammar import addresses  # noqa: PLC0415

    return tuple(addresses(node))


def read_observation(text: str, bound: Bound) -> Trial:
    """Read one observation; refuses what cannot be read, with an example."""
    head, mark, body = text.partition(":")
    if not mark or not body.strip():
        raise Refused("observation", got=text, reason="it has no colon between the rods that are on and what was felt",
                      way_out=_EXAMPLE)  # fmt: skip
    sections: list[int] = []
    words: set[str] = set()
    for word in re.split(r"[\s,]+", head.strip()):
        if word == "all":
            sections = list(range(len(bound.sections)))
        elif word in bound.sections:
            sections.append(bound.sections.index(word))
        elif word in _WORDS:
            words.add(word)
        else:
            known = (*bound.sections, "all", *_WORDS)
            raise Unknown("observation", got=word, near=near(word, known),
                          way_out=f"before the colon stand {', '.join(known)}")  # fmt: skip
    if not sections:
        raise Refused("observation", got=text, reason="it does not say which sections' rods are on", way_out=_EXAMPLE)
    for pair in ({"left", "right"}, {"free", "blocked"}, {"forward", "backward"}):
        if pair <= words:
            raise Refused("observation", got=text, reason=f"it says {' and '.join(sorted(pair))}", way_out="keep one")
    sides: Sides = "L" if "left" in words else "R" if "right" in words else "both"
    fitted = Fitted(tuple(sorted(set(sections))), sides, "free" if "free" in words else "blocked")
    arcs, looks = _body(text, body, bound)
    direction = "forward" if "forward" in words else "backward" if "backward" in words else "both"
    return Trial(fitted, arcs, looks, cast('Literal["forward", "backward", "both"]', direction))


def _body(text: str, body: str, bound: Bound) -> tuple[tuple[TightArc, ...], tuple[Look, ...]]:
    arcs: list[TightArc] = []
    looks: list[Look] = []
    nowhere = False
    for item in (each.strip() for each in re.split(r"[,;]", body)):
        if not item:
            continue
        if item == "nowhere":
            nowhere = True
        elif arc := _ARC.fullmatch(item):
            arcs.append(TightArc(_angle(arc[1]), _angle(arc[2])))
        elif look := _LOOK.fullmatch(item):
            if look["rod"] not in bound.sections:
                raise Unknown("observation: rod", got=look["rod"], near=near(look["rod"], bound.sections),
                              way_out=f"rods are named by their sections: {', '.join(bound.sections)}")  # fmt: skip
            said = f"too {look['says']}" if look["says"] else _BEARS[look["bears"]]
            says = cast("Says", said)
            looks.append(Look(_angle(look["at"]), bound.sections.index(look["rod"]),
                              cast('Literal["L", "R"]', look["side"]), says))  # fmt: skip
        else:
            raise Refused("observation", got=item, reason="it is neither an arc, nor nowhere, nor a rod looked at",
                          way_out="write 30-60, nowhere, 23R bears inside at 45, or 23R too long at 45")  # fmt: skip
    if nowhere and arcs:
        raise Refused("observation", got=text, reason="it is tight nowhere and somewhere", way_out="keep one")
    if not nowhere and not arcs:
        raise Refused("observation", got=text, reason="it does not say where it is tight", way_out=_EXAMPLE)
    return tuple(arcs), tuple(looks)


def _angle(text: str) -> float:
    value = float(text)
    if not 0 <= value <= 360:
        raise OutOfRange("chassis angle", got=text, allowed="0 to 360 degrees, the right crank's")
    return math.radians(value)


def _said(trial: Trial, bound: Bound) -> str:
    """An observation as it was read."""
    on = ", ".join(bound.sections[section] for section in trial.fitted.sections)
    sides = {"both": "both sides", "L": "left side", "R": "right side"}[trial.fitted.sides]
    felt = ", ".join(f"{math.degrees(a.start):.0f} to {math.degrees(a.end):.0f}" for a in trial.tight) or "nowhere"
    looks = "".join(
        f"; rod {bound.sections[look.section]}{look.side} {look.says} at {math.degrees(look.at):.0f}"
        for look in trial.looks
    )
    turned = "" if trial.direction == "both" else f", turned {trial.direction}"
    return f"section {on}, {sides}, boxes {trial.fitted.boxes}{turned}: tight {felt}{looks}"


def plain(result: DiagnosisResult) -> dict[str, Any]:
    """What ``--json`` prints."""
    advice = result.measure
    return {
        "read_as": list(result.read_as),
        "causes": [
            {
                "what": s.what, "sizes": list(s.sizes), "probability": number(s.probability),
                "out_by": number(s.out_by) if s.unit else None, "deviation": number(s.deviation) if s.unit else None,
                "unit": s.unit,
            }
            for s in result.suspects
        ],
        "measure_next": None
        if advice is None
        else {"what": advice.what, "bits": number(advice.bits), "doubt_bits": number(advice.doubt_bits)},
        "remarks": list(result.remarks),
    }  # fmt: skip
