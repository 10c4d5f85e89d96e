"""Quick sum of indexing: divisions or an angle with a dividing head or rotary table and the plates there are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from asmade.measure.errors import Refused
from asmade.verbs.sums.bench import angle_rad, machine_of, plates, whole_number, wholes
from asmade.verbs.sums.result import QuickSum, Rows, figure, unique
from asmade.work.indexing import (
    Move,
    angular,
    compound,
    crank_turns,
    differential,
    direct,
    nearest_angle,
    nearest_plain,
    plain,
    spaces_needed,
)
from asmade.work.machines import Machine

SOURCES = ("Machinery's Handbook (1916 ed.) and US Army Ordnance subcourse OD1644: turns = R/N", "exact fractions")
CAUTION = "Lock the spindle at each cut; go past and come back if you overshoot, for the worm has backlash."


def index(
    text: str, *, angle: str = "", ratio: str = "", plates_text: str = "", direct_plate: str = "", gears: str = "",
    diameter: str = "", book: str = "", machine_name: str = "",
) -> QuickSum:  # fmt: skip
    """Indexing for divisions or an angle: direct, plain, then compound and differential, then the nearest there is."""
    if bool(text.strip()) == bool(angle):
        raise Refused("what to index", got=text or angle or "nothing", reason="give divisions, or --angle, not both",
                      way_out="asmade reckon index 7")  # fmt: skip
    machine = _machine(book, machine_name)
    worm = _ratio(ratio, machine)
    sets = machine.plates if machine is not None and machine.plates and not plates_text else plates(plates_text)
    circles = sorted({circle for plate in sets for circle in plate})
    owned = wholes(gears, "change gears", least=8, most=300) if gears else (machine.change_gears if machine else ())
    if angle:
        return _by_angle(angle, worm, circles)
    divisions = whole_number(text, "divisions", most=10_000)
    return _by_divisions(divisions, worm, sets, circles, owned, direct_plate, diameter)


def _by_divisions(
    divisions: int, worm: int, sets: Sequence[Sequence[int]], circles: Sequence[int], owned: Sequence[int],
    direct_plate: str, diameter: str,
) -> QuickSum:  # fmt: skip
    turns = crank_turns(worm, divisions)
    moves = plain(worm, divisions, circles)
    data: dict[str, Any] = {"divisions": divisions, "ratio": worm, "crank_turns": str(turns), "exact": bool(moves),
                            "plain": [_move(m) for m in moves]}  # fmt: skip
    tables, notes = [], []
    working = [f"turns = R/N = {worm}/{divisions} = {turns}"]
    if direct_plate:
        holes = whole_number(direct_plate, "holes of the direct plate", least=2, most=1000)
        spaces = direct(divisions, holes)
        data["direct_spaces"] = spaces
        notes.append(f"direct plate of {holes}: " + (f"{spaces} spaces each" if spaces else "it does not go"))
    if moves:
        tables.append(
            Rows(f"{divisions} divisions at {worm}:1, exact", ("circle", "turns", "spaces"), _rows(moves), (0, 1, 2))
        )
    else:
        pairs, trains = (
            compound(worm, divisions, sets, most_every=7),
            differential(worm, divisions, circles, owned) if owned else (),
        )
        data |= {
            "compound": [{"first": list(c.first), "second": list(c.second), "every": c.every} for c in pairs],
            "differential": [
                {"approximate": d.approximate, "move": _move(d.move), "ratio": str(d.ratio), "drivers": list(d.drivers),
                 "driven": list(d.driven)} for d in trains
            ],
        }  # fmt: skip
        if pairs:
            tables.append(Rows("Compound, exact", ("two moves on one plate",), tuple((c.words,) for c in pairs)))
        if trains:
            tables.append(
                Rows("Differential, exact", ("as for", "set"), tuple((str(d.approximate), d.words) for d in trains))
            )
        near = nearest_plain(worm, divisions, circles)
        data["nearest"] = {
            "circle": near.circle,
            "spaces": list(near.spaces),
            "worst_deg": math.degrees(near.worst_rad),
            "step_worst_deg": math.degrees(near.step_worst_rad),
        }
        rows = [
            (
                f"{near.circle}",
                figure(60 * math.degrees(near.worst_rad), 3),
                figure(60 * math.degrees(near.step_worst_rad), 3),
            )
        ]
        tables.append(
            Rows(
                "NOT exact: each division counted from the start to its nearest hole",
                ("circle", "worst, minutes of arc", "worst step, minutes"),
                tuple(rows),
                (0, 1, 2),
            )
        )
        if divisions <= 120:
            at = [(str(k), *map(str, divmod(spaces, near.circle))) for k, spaces in enumerate(near.spaces)]
            tables.append(
                Rows(
                    f"On the {near.circle} circle, from the start",
                    ("division", "turns", "spaces"),
                    tuple(at),
                    (0, 1, 2),
                )
            )
        if diameter:
            from asmade.verbs.sums.result import size  # noqa: PLC0415

            rim = near.worst_mm(float(size(diameter, "diameter").mm))
            data["nearest"]["worst_mm"] = rim
            notes.append(f"that is {rim:.4f} mm along the rim of {diameter}")
        if not pairs and not trains:
            notes.append("no circle gives it exactly; gears (--gears) may, by differential indexing")
        working.append(
            f"no circle c makes {worm} c/{divisions} whole; compound: k R/N = m1/c1 +- m2/c2 searched on each plate"
        )
    return QuickSum("index", (f"{divisions} divisions", f"{worm}:1", f"circles {_listed(circles)}"), tuple(tables),
                    tuple(working), unique(SOURCES), data, cautions=(CAUTION,), notes=tuple(notes))  # fmt: skip


def _by_angle(text: str, worm: int, circles: Sequence[int]) -> QuickSum:
    _, degrees, said = angle_rad(text, "angle")
    moves = angular(worm, degrees, circles)
    data: dict[str, Any] = {
        "angle_deg": float(degrees),
        "ratio": worm,
        "exact": bool(moves),
        "plain": [_move(m) for m in moves],
    }
    working = [f"turns = R angle/360 = {worm} x {float(degrees):g}/360 = {worm * degrees / 360}"]
    if moves:
        tables = [Rows("Exact", ("circle", "turns", "spaces"), _rows(moves), (0, 1, 2))]
    else:
        near = nearest_angle(worm, degrees, circles)
        data["nearest"] = _move(near.move) | {"angle_deg": float(near.angle_deg), "error_deg": float(near.error_deg)}
        working.append(f"a circle of {float(spaces_needed(worm, degrees)):g} holes would be wanted for one space")
        tables = [
            Rows(
                "NOT exact: the nearest",
                ("", "gives, degrees", "out by, minutes of arc"),
                ((near.move.words, f"{float(near.angle_deg):.5f}", f"{60 * float(near.error_deg):+.3f}"),),
                (1, 2),
            )
        ]
    return QuickSum("index", (said, f"{worm}:1", f"circles {_listed(circles)}"), tuple(tables), tuple(working),
                    unique(SOURCES), data, cautions=(CAUTION,))  # fmt: skip


def _machine(book: str, name: str) -> Machine | None:
    if not book or name:
        return machine_of(book, name, "dividing head")
    from asmade.measure.errors import Unknown  # noqa: PLC0415

    try:
        return machine_of(book, "", "dividing head")
    except Unknown:
        return machine_of(book, "", "rotary table")


def _ratio(text: str, machine: Machine | None) -> int:
    if text:
        return whole_number(text.removesuffix(":1"), "ratio of the worm", most=1000)
    return 40 if machine is None else int(machine.needed("ratio", "ratio = 40"))


def _move(move: Move) -> dict[str, int]:
    return {"circle": move.circle, "turns": move.turns, "spaces": move.spaces}


def _rows(moves: Sequence[Move]) -> tuple[tuple[str, str, str], ...]:
    return tuple(("any" if not m.spaces else str(m.circle), str(m.turns), str(m.spaces)) for m in moves)


def _listed(circles: Sequence[int]) -> str:
    return " ".join(str(circle) for circle in circles)
