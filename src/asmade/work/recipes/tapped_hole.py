"""A drilled and tapped hole: the drill for a safe share of thread, the tap watched against its strength."""

from __future__ import annotations

import math
from typing import Any

from asmade.measure.errors import AsmadeError
from asmade.standards.cutting import specific_cutting_force
from asmade.standards.threads import Thread, thread
from asmade.standards.threads.drilling import TappingDrill, engagement, tapping_drill, usual_tapping_drill
from asmade.work.recipes import _holes
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation
from asmade.work.tapping import tap_load

NAME = "drilled and tapped hole"
HELP = "tapping drill, countersink, tap"
SOURCE = "thread and tapping drill from the tables of its series; torque of the tap an estimate"
LESS_IN_PER_CENT = 65.0
"""Share of thread for small taps and tough metals: common practice, no source."""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """``callout`` says the thread; figures: ``depth`` of full thread, ``through``."""
    try:
        found = thread(f.callout)
        drill = _drill(found, bench)
    except AsmadeError as fault:
        return (
            bench.operation(
                f,
                "tapped",
                f"Tap {f.name} {f.callout}",
                "tap",
                dims=f.dims,
                source=SOURCE,
                caution="tapping",
                warnings=(f"{fault.message}; {fault.way_out}",),
            ),
        )
    size, pitch = float(drill.drill.mm), float(found.pitch)
    through = bool(f.figures.get("through", 0))
    steps = (("tapping drill", size),)
    made = list(
        _holes.drilled(
            f,
            bench,
            steps,
            pitch_mm=None if through else pitch,
            last_makes=(f"{f.name} drilled",),
            left=f"{found.major_mm - size:.2f} on diameter for the thread, {drill.percent:.0f} %",
        )
    )
    warnings = _load(found, size, f, bench)
    made.append(
        bench.operation(
            f,
            "countersunk",
            f"Countersink the {f.name} to a little over {found.major_mm:.2f}, so that no burr is raised",
            "ream",
            tool="countersink",
            needs=(f"{f.name} drilled",),
            makes=(f"{f.name} countersunk",),
            source=SOURCE,
            caution="countersinking",
        )
    )
    guide = (
        "guided by the tailstock, spindle turned by hand"
        if f.setup.machine == "lathe"
        else "guided square by the spindle"
    )
    depth = f.figures.get("depth", math.nan)
    deep = (
        "right through"
        if through
        else f"{depth:.1f} of full thread"
        if math.isfinite(depth)
        else "as deep as it must be"
    )
    made.append(
        bench.operation(
            f,
            "tapped",
            f"Tap {found.designation}, {deep}: taper, second, plug, {guide}; back off each half turn, clear and oil",
            "tap",
            tool=f"taps {found.designation}",
            needs=(f"{f.name} drilled", f"{f.name} countersunk"),
            dims=f.dims,
            check=f"the screw or a gauge of {found.designation} goes in by the fingers",
            source=SOURCE,
            speed_words="by hand",
            caution="tapping",
            warnings=warnings,
        )
    )
    return tuple(made)


def _drill(found: Thread, bench: Bench) -> TappingDrill:
    """The usual drill where it is owned, else the nearest that is."""
    usual = usual_tapping_drill(found)
    owned = bench.drills
    if owned is None or any(abs(float(d.mm - usual.drill.mm)) < 1e-6 for d in owned):
        return usual
    try:
        return tapping_drill(found, min(max(usual.percent, 50.0), LESS_IN_PER_CENT), owned)
    except AsmadeError:
        return usual


def _load(found: Thread, drill_mm: float, f: Feature, bench: Bench) -> tuple[str, ...]:
    force = bench.force
    if force is None:
        return ()
    depth = f.figures.get("depth", math.nan)
    more: dict[str, Any] = {"depth_mm": depth} if math.isfinite(depth) and depth > 0 else {}
    percent = min(100.0, max(30.0, engagement(found, drill_mm)))
    kc = specific_cutting_force(force.kc11_mpa, force.mc, max(0.02, float(found.pitch) / 20))
    load = tap_load(
        float(found.pitch),
        found.major_mm,
        found.core_mm,
        kc,
        percent=percent,
        through=bool(f.figures.get("through", 0)),
        **more,
    )
    return (
        *load.warnings,
        *((f"estimated at {100 * load.share:.0f} % of what breaks the tap",) if load.share > 0.3 else ()),
    )
