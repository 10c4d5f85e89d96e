"""Sections of a turned part: each side from the thickest outwards, and the thickest itself."""

from __future__ import annotations

import math
from collections.abc import Iterator

from asmade.work.recipes.die_cut_thread import blank_mm
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.routes.schemes.result import dims, value
from asmade.work.routes.schemes.steps import Step
from asmade.work.routes.schemes.turned_layout import BEYOND_MM, SAME_MM, Layout


def one_side(on: Layout, setup: SetUp, end: str, *, start: bool) -> Iterator[Feature]:
    """The end's face (first setting only) and every section of the side, from the thickest outwards."""
    side = on.side(end)
    if start:
        yield Feature(f"{end} end", "faced end", setup, {"diameter": on.bar}, makes=(f"{end} end",))
        if on.centre:
            yield Feature(
                f"{end} centre",
                "drilled centre",
                setup,
                {"bar": on.bar},
                needs=(f"{end} end",),
                makes=(f"{end} centre",),
            )
    top = on.steps[on.peak]
    turned_first = () if on.kept or on.cast or top.section.shape in ("hexagon", "square") else (top.name,)
    now, needs = on.bar, (*turned_first, f"{end} end", *((f"{end} centre",) if start and on.centre else ()))
    if turned_first and math.isfinite(top.diameter):
        now = top.diameter
    base = needs
    for at, step in enumerate(side):
        rest = math.fsum(s.length for s in side[at:])
        beyond = max((s.diameter for s in side[at + 1 :] if math.isfinite(s.diameter)), default=0.0)
        neck = math.isfinite(step.diameter) and beyond > step.diameter + SAME_MM
        target = beyond if neck else step.diameter
        whole = dims(step.section.diameter, step.section.length)
        if at == 0 and not start:
            whole = tuple(dict.fromkeys((*whole[:1], *dims(on.steps[on.peak].section.length), *whole[1:])))
        threaded = bool(step.section.thread)
        if threaded:
            blank = blank_mm(on.bench.callout_of(step.section.thread))
            target = blank if math.isfinite(blank) else target
            if math.isfinite(target) and math.isfinite(on.bar) and on.bar < target - 0.05:
                on.warnings.append(
                    f"{step.name}: the {on.bar:g} bar is too thin for the thread "
                    f"{on.bench.callout_of(step.section.thread)}, {target:.2f} over the crests: "
                    "choose the thread or the bar anew"
                )
        figures = {
            "start": now,
            "diameter": target,
            "length": rest,
            "out": on.out if start else on.beyond,
            "shoulder": 1.0,
            "centre": float(start and on.centre),
        }
        counts = ""
        if at == 0 and not start and math.isfinite(on.steps[on.peak].length):
            own = on.steps[on.peak]
            counts = f"{own.name} {own.length:.3f} long to its shoulder: that is the size that counts"
        of = whole[0] if whole and not threaded else turned_name(step)
        yield Feature(
            of,
            "turned shoulder",
            setup,
            figures,
            () if threaded or neck else whole,
            needs,
            (f"{step.name} turned",) if threaded or neck else (step.name,),
            counts,
        )
        if neck:
            figures = {
                "start": target,
                "diameter": step.diameter,
                "length": step.length,
                "out": on.out if start else on.beyond,
                "sticking": 1.0,
            }
            yield Feature(
                f"{of} neck",
                "turned shoulder",
                setup,
                figures,
                whole,
                (*needs, f"{step.name} turned"),
                (step.name,),
            )
        yield from _extras(on, setup, step, needs=(step.name,) if not threaded else (f"{step.name} turned",))
        if threaded:
            recipe = "screw-cut thread" if on.bench.made_by(step.section.thread) == "screw-cut" else "die-cut thread"
            yield Feature(
                step.section.thread,
                recipe,
                setup,
                {"length": step.length},
                (step.section.thread, *dims(step.section.length)),
                (f"{step.name} turned",),
                (step.name,),
                callout=on.bench.callout_of(step.section.thread),
            )
        now, needs = target, (*base, f"{step.name} turned" if threaded or neck else step.name)


def turned_name(step: Step) -> str:
    """What the turning of a section is called: its own name, and where that is its thread's too, its blank."""
    return f"{step.name} blank" if step.section.thread == step.name else step.name


def _extras(on: Layout, setup: SetUp, step: Step, needs: tuple[str, ...]) -> Iterator[Feature]:
    section = step.section
    if section.undercut is not None:
        figures = {
            "diameter": value(section.undercut.diameter, on.bench),
            "width": value(section.undercut.width, on.bench),
            "start": step.diameter,
        }
        yield Feature(
            f"{step.name} undercut",
            "undercut",
            setup,
            figures,
            dims(section.undercut.diameter, section.undercut.width),
            needs,
            (f"{step.name} undercut",),
        )
    if section.groove is not None:
        figures = {
            "diameter": value(section.groove.diameter, on.bench),
            "width": value(section.groove.width, on.bench),
            "start": step.diameter,
            "length": step.length,
        }
        yield Feature(
            f"{step.name} groove",
            "groove for adhesive",
            setup,
            figures,
            dims(section.groove.diameter, section.groove.width),
            needs,
            (f"{step.name} groove",),
        )
    for which, chamfer in (("left", section.chamfer_left), ("right", section.chamfer_right)):
        if chamfer is not None:
            yield Feature(
                f"{step.name} {which} chamfer",
                "chamfer",
                setup,
                {"size": value(chamfer, on.bench), "diameter": step.diameter},
                dims(chamfer),
                needs,
                (f"{step.name} {which} chamfer",),
            )


def top_section(on: Layout, first: SetUp) -> Iterator[Feature]:
    """The thickest section: as bought, turned, or cut into flats from round."""
    top = on.steps[on.peak]
    whole = dims(top.section.diameter)
    if on.shaped:
        own = dims(top.section.across_flats)
        figures = {"diameter": value(top.section.across_flats, on.bench)}
        yield Feature(own[0] if own else top.name, "as-stock diameter", first, figures, own, makes=(top.name,))
        return
    if top.section.shape not in ("round", "two flats"):
        if math.isfinite(top.diameter) and not on.cast:
            yield Feature(
                f"{top.name} round",
                "turned shoulder",
                first,
                {"start": on.bar, "diameter": top.diameter, "length": on.out, "out": on.out},
                (),
                (f"{on.first} end",),
                (top.name,),
            )
        return
    if on.kept:
        yield Feature(
            whole[0] if whole else top.name,
            "as-stock diameter",
            first,
            {"diameter": top.diameter},
            whole,
            makes=(top.name,),
        )
        return
    if top.section.thread:
        callout = on.bench.callout_of(top.section.thread)
        yield Feature(
            turned_name(top),
            "turned shoulder",
            first,
            {"start": on.bar, "diameter": blank_mm(callout), "out": on.out, "length": on.out - BEYOND_MM},
            (),
            (f"{on.first} end",),
            (f"{top.name} turned",),
        )
        recipe = "screw-cut thread" if on.bench.made_by(top.section.thread) == "screw-cut" else "die-cut thread"
        yield Feature(
            top.section.thread,
            recipe,
            first,
            {"length": top.length},
            (top.section.thread,),
            (f"{top.name} turned",),
            (top.name,),
            callout=callout,
        )
        return
    bore = on.bore()
    figures = {
        "start": on.bar,
        "diameter": top.diameter,
        "out": on.out,
        "length": on.out - BEYOND_MM,
        "centre": float(on.centre),
        "bore": value(bore.diameter, on.bench) if bore and not on.offset else 0.0,
    }
    figures = {k: v for k, v in figures.items() if math.isfinite(v) or k != "bore"}
    centre = (f"{on.first} centre",) if on.centre else ()
    of = whole[0] if whole else top.name
    yield Feature(of, "turned shoulder", first, figures, whole, (f"{on.first} end", *centre), (top.name,))
    yield from _extras(on, first, top, (top.name,))
