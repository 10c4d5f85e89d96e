"""Setting the valves in words: each step as it is done at the bench, in mm and thou."""

from __future__ import annotations

import math
from typing import Final

from asmade.motion.valves.instructions import Measure, Step
from asmade.verbs.valve_advice import amount

MEASURES: Final = {
    "return_crank_angle (angle)": "angle of the return crank to the crank web",
    "mid": "valve on its spindle",
}


def step_in_words(step: Step, thread: str = "") -> str:
    """One step as a sentence; ``thread`` is that of the valve spindle."""
    match step.what:
        case "find dead centres":
            ahead, behind = (math.degrees(measure.now) for measure in step.measures)
            return (
                f"Find both dead centres first and mark them on the wheel: front with the crank {ahead:.2f} deg, back "
                f"{behind:.2f} deg round from straight ahead, in forward running. Move up to each mark from the same "
                "side, so that slack does not count."
            )
        case "adjust":
            return _adjust(step)
        case "set spindle":
            way = "forward" if step.sense == "valve forward" else "back"
            turns = f": {step.turns:.2f} turns of its nut ({thread})" if step.turns is not None else ""
            return f"Move the valve {amount(step.amount)} {way} on its spindle{turns}."
        case "check link still":
            front, back = step.measures
            return (
                "Check at each dead centre that the valve stays where it is while the reverser goes from full forward "
                f"to full backward: it should move {amount(front.to_be)} at the front (now {front.now:+.2f}) and "
                f"{amount(back.to_be)} at the back (now {back.now:+.2f})."
            )
        case "check leads":
            front, back = step.measures
            return (
                f"Check the leads in full forward gear: front {front.to_be:.2f} mm (now {front.now:.2f}), back "
                f"{back.to_be:.2f} mm (now {back.now:.2f})."
            )


def _adjust(step: Step) -> str:
    angle = step.sense in ("more angle", "less angle")
    measures = "; ".join(_measure(measure) for measure in step.measures)
    if angle:
        way = "more" if step.sense == "more angle" else "less"
        by = f"{math.degrees(step.amount):.2f} deg {way}"
        return f"Set the {step.part} {by}: {measures}. ({step.how or 'to be made so'})"
    verb = "Lengthen" if step.sense == "lengthen" else "Shorten"
    how = f"the {step.part}" if step.how else f"{step.dimension} of the {step.part}"
    return f"{verb} {how} {amount(step.amount)}: {measures}."


def _measure(measure: Measure) -> str:
    name = MEASURES.get(measure.name, measure.name.replace("_", " ").removesuffix(" (angle)"))
    if measure.name.endswith("(angle)"):
        return f"{name} {math.degrees(measure.now):.2f} now, {math.degrees(measure.to_be):.2f} deg to be"
    return f"{name} {measure.now:.2f} now, {measure.to_be:.2f} mm to be"
