"""A thread cut by a single point, with the change gears of this lathe's own set and what they leave of an error."""

from __future__ import annotations

import math
from fractions import Fraction
from functools import lru_cache

from asmade.measure.errors import AsmadeError
from asmade.standards.threads import Thread, thread
from asmade.work.change_gears import Train, trains
from asmade.work.machines import Dial, Machine
from asmade.work.passes import Pass, Passes, dial_reading
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.die_cut_thread import blank_mm
from asmade.work.recipes.model import Feature, Operation

NAME = "screw-cut thread"
HELP = "a thread by a single point and change gears"
SOURCE = "thread from the tables of its series; gears by exact search; infeeds common practice, no source"
LAST_MM = 0.02
"""On the radius, the least that a later cut takes, or the tool rubs: common practice, no source."""
JAMS_SHARE = 0.02
"""Error over the engaged length, as a share of the pitch, past which a mate may jam (our limit)."""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """``callout`` says the thread; figures: ``length`` of it."""
    try:
        found = thread(f.callout)
    except AsmadeError as fault:
        return (
            bench.operation(
                f,
                "screw-cut",
                f"Thread {f.name} {f.callout}",
                "thread",
                dims=f.dims,
                source=SOURCE,
                warnings=(f"{fault.message}; {fault.way_out}",),
            ),
        )
    pitch, start = float(found.pitch), blank_mm(f.callout)
    depth = found.depth_mm - (found.major_mm - start) / 2  # from the blank as turned, a little under the crests
    length = f.figures.get("length", math.nan)
    lathe = bench.machine("lathe")
    gears, warnings = _gears(found, length, lathe)
    dial = bench.dial("lathe", "cross_slide")
    speed = bench.speed("lathe", "screw-cutting", found.major_mm)
    geared = bench.operation(
        f,
        "gears set",
        gears,
        "chamfer",
        tool="change gears",
        needs=(),
        makes=(f"{f.name} gears",),
        source=SOURCE,
        caution="screw-cutting",
        check=f"a scratch cut measures {10 * pitch:.3f} over ten threads",
        warnings=warnings,
    )
    passes = _cuts(start, depth, dial)
    cut = bench.operation(
        f,
        "screw-cut",
        f"Cut {found.designation}, pitch {pitch:.4g}, in {len(passes.cuts) - 1} cuts to {depth:.3f} on the radius, "
        "each taking as much metal as the last; try its mate before the last two; then a cut without infeed. Tool "
        "square by a thread gauge, on centre height; out into the undercut, or wound out at the same place each time",
        "thread",
        dims=f.dims,
        needs=(*f.needs, f"{f.name} gears"),
        source=SOURCE,
        tool="single point to the thread's angle",
        passes=passes,
        dial=dial.words if dial else "",
        caution="screw-cutting",
        check="its own tapped part or a gauge goes on without shake; over the crests "
        f"{found.major_mm:.2f} at most, over the wires if you have them",
        instrument=bench.instrument("outside", found.major_mm),
        left="the last two cuts, until its mate has been tried",
        **speed,
    )
    return (geared, cut)


def _cuts(start_mm: float, depth_mm: float, dial: Dial | None) -> Passes:
    """Cuts of equal area: depth grows with the root of their number; then one without infeed."""
    count = max(4, math.floor(depth_mm / (2 * LAST_MM)))  # the last of n takes about depth / 2n
    made: list[Pass] = []
    gone = 0.0
    for number in range(1, count + 1):
        deep = depth_mm * math.sqrt(number / count)
        reading = None if dial is None else dial_reading(dial, round(deep, 9))
        words = f"cut {number} of {count}" + ("; try its mate first" if number == count - 1 else "")
        made.append(Pass(words, start_mm - 2 * deep, deep - gone, reading, measure=number == count - 1))
        gone = deep
    made.append(Pass("without infeed", start_mm - 2 * depth_mm, 0.0, made[-1].dial))
    return Passes(start_mm, start_mm - 2 * depth_mm, tuple(made))


def _gears(found: Thread, length_mm: float, lathe: Machine | None) -> tuple[str, tuple[str, ...]]:
    """The train to put on, in words, and what to mind of it."""
    pitch = Fraction(found.pitch)
    if lathe is None or lathe.leadscrew_mm is None or len(lathe.change_gears) < 2:
        what = "the shop has no lathe" if lathe is None else f"the table of the {lathe.name} does not give its "
        said = (("leadscrew", lathe.leadscrew_mm), ("change_gears", lathe.change_gears)) if lathe else ()
        lacks = [name for name, there in said if not there]
        return (
            f"Set the gears for a pitch of {float(pitch):.4g} mm by the lathe's own plate",
            (f"{what}{' and '.join(lacks)}: no train can be worked out",),
        )
    train = _train(pitch, lathe.leadscrew_mm, lathe.change_gears, lathe.spindle_to_first_gear)
    if train is None:
        return (
            f"No train of the gears owned comes within 2 % of a pitch of {float(pitch):.4g} mm: use a die",
            (f"{found.designation} cannot be cut with the gears owned; asmade reckon gears shows what comes near",),
        )
    nuts = (
        "the half-nuts fall in right anywhere"
        if (lathe.leadscrew_mm / pitch).denominator == 1
        else "half-nuts by the dial indicator if it has a mark for this pitch, else leave them shut and turn back"
    )
    if train.exact:
        return f"Change gears {train.words} from the spindle: exact; {nuts}", ()
    over = train.error_over_mm(length_mm) if length_mm > 0 else math.nan
    along = f", {1000 * over:+.1f} µm over {length_mm:.1f} mm" if math.isfinite(over) else ""
    words = (
        f"Change gears {train.words} from the spindle: NOT exact, pitch {float(train.pitch_mm):.5f} in place of "
        f"{float(pitch):.5f} mm ({100 * train.ratio_error:+.3f} %{along}); {nuts}"
    )
    if math.isfinite(over) and abs(over) > JAMS_SHARE * float(pitch):
        return words, (f"over {length_mm:.1f} mm the thread is out by {1000 * abs(over):.0f} µm: a mate may jam",)
    return words, ()


@lru_cache(maxsize=64)
def _train(pitch: Fraction, screw: Fraction, gears: tuple[int, ...], first: Fraction) -> Train | None:
    """The simplest exact train of one or two pairs, else the nearest; None where none comes within 2 per cent."""
    two = trains(pitch, screw, gears, first=first, pairs=2, most=1)
    if two.exact:
        return two.exact[0]
    return two.nearest[0] if two.nearest else None
