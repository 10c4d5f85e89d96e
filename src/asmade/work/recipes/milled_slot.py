"""A slot or gap milled: under size down the middle, then each side to size."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench, plain_name
from asmade.work.recipes.model import Feature, Operation

NAME = "milled slot"
HELP = "a slot, channel or fork gap"
SOURCE = "common practice, no source"
CUTTERS_MM = (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 16.0)


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``width``, ``depth`` (NaN: not said), ``radius`` of its middle line where it is curved."""
    width, depth = f.figures.get("width", math.nan), f.figures.get("depth", math.nan)
    if not math.isfinite(width):
        return (
            bench.operation(
                f,
                "slotted",
                f"Mill the slot {f.name}: its width is not known yet",
                "mill",
                dims=f.dims,
                warnings=(f"{f.name} has no size yet",),
            ),
        )
    cutter = max((each for each in CUTTERS_MM if each <= width - 0.3), default=CUTTERS_MM[0])
    speed = bench.speed("mill", "milling", cutter)
    dial = bench.dial("mill", "y")
    warnings: tuple[str, ...] = () if width >= 2.3 else (f"{width:.2f} wide wants a slitting saw or a file",)
    warnings += bench.long_cutter(cutter, depth)
    passes, told = bench.cuts(cutter, width, diameter_mm=cutter, kind="mill", dial="y", finish_mm=0.1)
    plain = plain_name(f.name)
    called = (
        f"the {plain}" if any(word in plain for word in ("slot", "gap", "groove", "flute")) else f"the slot {plain}"
    )
    radius = f.figures.get("radius", math.nan)
    curved = math.isfinite(radius)
    way = f", all of it swung about a pivot {radius:.3f} from its middle line" if curved else ""
    if curved and not any(m.get("kind") == "rotary table" for m in bench.shop.machines.values()):
        way += ": on an arm of that length bolted to the table, or chain-drilled and filed to a gauge of that radius"
    suits = [bench.to_suit[name] for name in f.dims if name in bench.to_suit]
    return (
        bench.operation(
            f,
            "slotted",
            f"Mill {called} with a {cutter:g} mm cutter down its middle, {cutter / 4:.1f} deep at a time; then "
            f"each side alike to {width:.3f}{way}",
            "mill",
            tool=f"slot drill {cutter:g} mm in a collet",
            tool_kind="slot drill",
            passes=passes,
            dims=f.dims,
            dial=dial.words if dial else "",
            caution="milling",
            source=SOURCE,
            check=f"{width:.3f} at both ends, by a gauge block or its own mate"
            + (f"; made to suit {suits[0]}" if suits else ""),
            instrument=bench.instrument("inside", width),
            left="0.1 mm a side, until it has been measured",
            **{**speed, "warnings": (*speed.get("warnings", ()), *told, *warnings)},
        ),
    )
