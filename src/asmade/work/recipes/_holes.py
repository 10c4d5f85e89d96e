"""What all holes share: the ladder from centre drill to the last drill, as operations."""

from __future__ import annotations

import math
from collections.abc import Iterator

from asmade.measure.errors import AsmadeError
from asmade.work.drilling import Finish, Ladder, drill_depth_mm, ladder, pecks
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation
from asmade.work.times import point_length_mm

SOURCE = "Machinery's Handbook (feeds, oversize, from memory); pecks common practice, no source"
MOST_DEPTHS = 6
LARGEST_LADDER_MM = 50.0


def ladder_of(f: Feature, bench: Bench, finish: Finish, *, by_hand: bool = False) -> tuple[Ladder | None, str]:
    """The ladder for a hole with the drills owned, or why there is none."""
    hole = f.figures["diameter"]
    if finish == "bored":  # a large hole is bored out from the largest drill there is
        hole = min(hole, LARGEST_LADDER_MM)
    try:
        return ladder(hole, finish=finish, owned=bench.drills, by_hand=by_hand), ""
    except AsmadeError as fault:
        return None, f"{fault.message}; {fault.way_out}"


def _drawn_out(depths: tuple[float, ...]) -> str:
    """At which depths the drill is drawn right out, in words; the last of many by their step."""
    if len(depths) <= MOST_DEPTHS:
        return ", ".join(f"{depth:.1f}" for depth in depths)
    first = ", ".join(f"{depth:.1f}" for depth in depths[: MOST_DEPTHS - 1])
    return f"{first} and each {depths[-1] - depths[-2]:.1f} further, to {depths[-1]:.1f}"


def depth_words(f: Feature) -> str:
    """How deep: through, or so deep at full diameter."""
    if f.figures.get("through", 0):
        return "right through"
    depth = f.figures.get("depth", math.nan)
    return f"{depth:.1f} deep at full diameter" if math.isfinite(depth) else "as deep as it must be (not said)"


def to_point(f: Feature, drill_mm: float, pitch_mm: float | None = None) -> float:
    """How deep the drill's point goes, mm; NaN where the depth is not known.

    Source: geometry of a 118 deg point; half a millimetre beyond a through hole: common practice, no source.
    Range: depth above 0. Anchor: blind, 20 mm with a 6 mm drill: 21.803 mm.
    """
    depth = f.figures.get("depth", math.nan)
    if not math.isfinite(depth) or depth <= 0:
        return math.nan
    if f.figures.get("through", 0):
        return depth + point_length_mm(drill_mm) + 0.5
    return drill_depth_mm(depth, drill_mm, for_tap_pitch_mm=pitch_mm)


def drilled(
    f: Feature,
    bench: Bench,
    steps: tuple[tuple[str, float], ...],
    *,
    pitch_mm: float | None = None,
    left: str = "",
    warnings: tuple[str, ...] = (),
    last_makes: tuple[str, ...] = (),
    centre: bool = True,
) -> Iterator[Operation]:
    """Centre drill, then each drill in turn with its depths for clearing."""
    family = bench.stuff.family if bench.stuff else "mild steel"
    kind = f.setup.machine
    drill_needs = f.needs
    if centre and steps:
        first = max(1.0, min(4.0, steps[0][1] / 2))
        yield bench.operation(
            f,
            "centred",
            f"Centre drill for the {f.name}, to half the width of the next drill, no deeper than its cone",
            "centre",
            tool=f"centre drill of about {first:.1f} mm point",
            makes=(f"{f.name} centre",),
            source=SOURCE,
            caution="drilling",
            **bench.speed(kind, "drilling", first),
        )
        drill_needs = (*f.needs, f"{f.name} centre")
    for number, (why, size) in enumerate(steps):
        last = number == len(steps) - 1
        point = to_point(f, size, pitch_mm)
        found = pecks(point, size, family) if math.isfinite(point) else None
        speed = bench.speed(kind, "drilling", size)
        drawn_out = _drawn_out(found.depths_mm[:-1]) if found else ""
        words = f"Drill {size:g} {depth_words(f)}"
        if math.isfinite(point):
            words += f": point to {point:.1f}"
        if drawn_out:
            words += f", drawn right out at {drawn_out}"
        dial = bench.dial(kind, "tailstock" if kind == "lathe" else "z")
        said = (*warnings, *(found.warnings if found else ())) if last else ()
        said += bench.drilling_load(kind, size, steps[number - 1][1] if number else 0.0, speed.get("rev_min"))
        yield bench.operation(
            f,
            "drilled" if last else f"drilled {number + 1}",
            words,
            "drill",
            tool=f"{size:g} mm drill",
            depths_mm=found.depths_mm if found else (),
            left=left if last else why,
            caution="drilling",
            needs=drill_needs,
            makes=last_makes if last else (f"{f.name} pilot",),
            source=SOURCE,
            dial=dial.words if dial else "",
            check="depth by the dial from where the point's lips begin to cut full",
            **{**speed, **bench.feed("drilling", size), "warnings": (*speed.get("warnings", ()), *said)},
        )
        drill_needs = (*f.needs, f"{f.name} pilot")
