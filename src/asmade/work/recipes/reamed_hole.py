"""A reamed hole: drilled, bored true where large enough, reamed at half the speed; or after a bush is pressed in."""

from __future__ import annotations

import math
from dataclasses import replace

from asmade.work.drilling import reaming_speed
from asmade.work.recipes import _holes, bored_hole
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation, SetUp

NAME = "reamed hole"
HELP = "drilled, bored where it must be true, reamed"
SOURCE = f"reaming allowance training notes, common practice; speed TM 1-420 sec. 37; {_holes.SOURCE}"
BORE_FROM_MM = 8.0
"""From here on a small boring tool goes in and the hole is bored true before the reamer: common practice, no source."""
BEFORE_PRESSING_MM = 0.15
"""Left in a bush that is reamed after it has been pressed in: common practice, no source."""


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``diameter``, ``depth``, ``through``."""
    hole, kind = f.figures["diameter"], f.setup.machine
    if not math.isfinite(hole):
        return (
            bench.operation(
                f,
                "reamed",
                f"Ream the {f.name}: its size is not known yet",
                "ream",
                dims=f.dims,
                warnings=(f"{f.name} has no size yet",),
            ),
        )
    dim = f.dims[0] if f.dims else ""
    reamer, by_hand = bench.reamer(hole, bench.wanted_tools.get(dim, ""))
    joint = bench.after_joint.get(dim, "")
    bored = hole >= BORE_FROM_MM
    if not reamer and bored and not joint:
        lacking = (
            f"the shop has no reamer for {hole:.2f}: it is bored to size, light cuts and measured often; or buy one"
        )
        *rest, last = bored_hole.operations(f, bench)
        return (*rest, replace(last, warnings=(*last.warnings, lacking)))
    found, why = _holes.ladder_of(f, bench, "bored and reamed" if bored else "reamed", by_hand=by_hand)
    made: list[Operation] = []
    warnings: list[str] = (
        []
        if reamer
        else [f"the shop has no reamer for {hole:.2f}: a D-bit of silver steel made to size does it, or buy one"]
    )
    left = 0.0
    after: tuple[str, ...] = ()
    if found is not None:
        steps = tuple((r.why, r.size_mm) for r in found.rungs if r.tool == "drill")
        after = (f"{f.name} bored",) if bored else (f"{f.name} drilled",)
        out = f"{hole - steps[-1][1]:.2f} on diameter for the {'boring tool' if bored else 'reamer'}"
        made += _holes.drilled(
            f, bench, steps, left=out, last_makes=(f"{f.name} drilled",), warnings=() if bored else found.warnings
        )
        left = found.left_mm
        if bored:
            made.append(_bored(f, bench, steps[-1][1], hole - left))
    else:
        warnings.append(why)
    if joint:
        made[-1] = replace(made[-1], makes=(*made[-1].makes, *f.makes)) if made else made[-1]
        f = replace(f, setup=_after(joint), makes=(), needs=f.makes)
        made.append(
            bench.operation(
                f,
                "reamed after joining",
                f'Not now: ream the {f.name} to {hole:.3f} after "{joint}", for that closes it in; '
                f"leave {BEFORE_PRESSING_MM:g} to {max(BEFORE_PRESSING_MM, round(left, 2)):g} on diameter until then",
                "last",
                tool=f"{reamer}, by hand" if reamer else "",
                dims=f.dims,
                caution="reaming",
                source=SOURCE,
                check=_check(hole, bench, dim),
                instrument=bench.instrument("inside", hole),
                warnings=tuple(warnings),
                left=f"{left:.2f} mm on diameter, gone after the joint",
            )
        )
        return tuple(made)
    speed = {} if by_hand else bench.speed(kind, "reaming", hole)
    if bench.stuff is not None and speed.get("surface_m_min"):
        from asmade.standards.cutting import speed_range  # noqa: PLC0415

        most = reaming_speed(speed_range(bench.stuff, "drilling").high_m_min)
        speed["speed_words"] += f"; no more than half of drilling, {most:.0f} m/min"
    guide = "the tailstock centre" if kind == "lathe" else "a centre in the spindle"
    hand = f"by hand, held square by {guide}, spindle stopped; turn forwards only, also coming out"
    how = hand if by_hand else "steady feed, oil (cast iron dry), drawn out while it still turns forwards"
    made.append(
        bench.operation(
            f,
            "reamed",
            f"Ream the {f.name} to {hole:.3f}, {_holes.depth_words(f)}: {how}",
            "ream",
            tool=reamer,
            needs=(*f.needs, *after),
            dims=f.dims,
            caution="reaming",
            source=SOURCE,
            check=_check(hole, bench, dim),
            instrument=bench.instrument("inside", hole),
            left="nothing: try the reamer on scrap first, it may cut some hundredths large",
            **{
                **speed,
                **({} if by_hand else bench.feed("reaming", hole)),
                "warnings": (*speed.get("warnings", ()), *warnings),
            },
        )
    )
    return tuple(made)


def _check(hole: float, bench: Bench, dim: str) -> str:
    suits = bench.to_suit.get(dim, "")
    return f"{hole:.3f}, at both ends" + (f"; made to suit {suits}" if suits else "")


def _bored(f: Feature, bench: Bench, start: float, target: float) -> Operation:
    depth = f.figures.get("depth", math.nan)
    kind = f.setup.machine
    passes, told = bench.cuts(start, target, diameter_mm=target, kind=kind, dial="cross_slide", finish_mm=0.1)
    speed = bench.speed(kind, "boring", target)
    dial = bench.dial(kind, "cross_slide")
    return bench.operation(
        f,
        "bored for reaming",
        f"Bore the {f.name} to {target:.2f}: the reamer follows what it finds, this makes it true",
        "bore",
        tool="boring tool, as thick and short as will go in",
        passes=passes,
        caution="boring",
        needs=(*f.needs, f"{f.name} drilled"),
        makes=(f"{f.name} bored",),
        source=SOURCE,
        left=f"{f.figures['diameter'] - target:.2f} on diameter for the reamer",
        dial=dial.words if dial else "",
        check="parallel, two ways at both ends",
        instrument=bench.instrument("inside", target),
        **{
            **speed,
            **bench.feed("boring", target),
            "warnings": (*speed.get("warnings", ()), *told, *bench.boring_bar(target, depth)),
        },
    )


def _after(joint: str) -> SetUp:
    """Where a hole is finished that a joint closes in."""
    name = joint.partition("@")[0]
    return SetUp(f"9: after {name}", 90, "by hand", f'in place, after "{name}"', "the hole itself", f"after|{name}")
