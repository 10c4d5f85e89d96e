"""Quick sum of a hole circle: coordinates, chord, and the dials with every hole approached from one side."""

from __future__ import annotations

import math
from typing import Any

from asmade.verbs.sums.bench import angle_rad, dial_of, machine_of, whole_number
from asmade.verbs.sums.result import QuickSum, Rows, amount, mm, size
from asmade.work.circles import (
    PAST_MM,
    approaches,
    chord_mm,
    farthest_out_mm,
    hole_circle,
    least_turning_back,
    on_marks,
    wall_between_mm,
)
from asmade.work.machines import Dial


def circle(
    text: str, *, diameter: str, start: str = "0", centre: str = "", hole: str = "", dial: str = "", past: str = "",
    in_order: bool = False, book: str = "", machine_name: str = "",
) -> QuickSum:  # fmt: skip
    """Holes on a circle: x and y of each, the chord to check by, dial readings without backlash."""
    count = whole_number(text, "number of holes", most=1000)
    across = size(diameter, "diameter of the circle")
    begin, _, said = (
        angle_rad(start, "first hole at") if start.strip() not in ("0", "0 deg") else (0.0, 0, "first hole at 0")
    )
    cx, cy = _centre(centre)
    holes = hole_circle(count, float(across.mm), start_rad=begin, centre_x_mm=cx, centre_y_mm=cy)
    way = holes if in_order else least_turning_back(holes)
    x, y = _dials(dial, book, machine_name)
    beyond = float(size(past, "how far past").mm) if past else PAST_MM
    rows, data_rows = [], []
    for step in approaches(way, x=x, y=y, past_mm=beyond):
        cells = [str(step.hole.number), mm(step.hole.x_mm), mm(step.hole.y_mm)]
        entry: dict[str, Any] = {"hole": step.hole.number, "x_mm": step.hole.x_mm, "y_mm": step.hole.y_mm}
        for move in step.moves:
            back = "" if move.back_to_mm is None else f"back to {mm(move.back_to_mm, '0.1')} first"
            reading = "" if move.dial is None else move.dial.words
            cells += [reading, back] if move.dial else [back]
            entry[f"{move.name}_back_to_mm"] = move.back_to_mm
            entry[f"{move.name}_dial"] = reading or None
        rows.append(tuple(cells))
        data_rows.append(entry)
    heads = ("hole", "x mm", "y mm", *(("x dial", "x", "y dial", "y") if x else ("x", "y")))
    tables = [
        Rows(
            f"{count} holes on {float(across.mm):g} mm, always coming from minus to plus", heads, tuple(rows), (0, 1, 2)
        )
    ]
    data: dict[str, Any] = {"holes": data_rows, "diameter_mm": float(across.mm), "start_deg": math.degrees(begin)}
    notes, working = [], [f"x = R cos a, y = R sin a, R = {float(across.mm) / 2:g} mm, {360 / count:g} degrees apart"]
    if count > 1:
        data["chord_mm"] = chord_mm(count, float(across.mm))
        working.append(f"chord = D sin(180/n) = {data['chord_mm']:.4f} mm")
        notes.append(f"from hole to hole {data['chord_mm']:.3f} mm, middle to middle: the check")
    if hole and count > 1:
        data["wall_mm"] = wall_between_mm(count, float(across.mm), float(size(hole, "hole").mm))
        notes.append(
            f"metal between holes {data['wall_mm']:.3f} mm"
            + (": they break into one another" if data["wall_mm"] <= 0 else "")
        )
    if x and y:
        data["on_marks_out_mm"] = farthest_out_mm(on_marks(holes, x, y), holes)
        notes.append(f"at the nearest marks the worst hole is out by {data['on_marks_out_mm']:.4f} mm")
    return QuickSum("circle", (f"{count} holes", across.how, said), tuple(tables), tuple(working), ("geometry",), data,
                    cautions=("Clamp the work, clear of every hole, before the first; lock the slides to drill.",),
                    notes=tuple(notes))  # fmt: skip


def _centre(text: str) -> tuple[float, float]:
    if not text:
        return 0.0, 0.0
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 2:
        from asmade.measure.errors import Refused  # noqa: PLC0415

        raise Refused("middle of the circle", got=text, reason="it is x and y", way_out="write '20 mm, 15 mm'")
    x, y = (float(amount(part, "middle of the circle", signed=True).mm) for part in parts)
    return x, y


def _dials(dial: str, book: str, name: str) -> tuple[Dial | None, Dial | None]:
    if dial:
        return dial_of(dial, "x", "dial"), dial_of(dial, "y", "dial")
    machine = machine_of(book, name, "mill")
    return (None, None) if machine is None else (machine.dial("x"), machine.dial("y"))
