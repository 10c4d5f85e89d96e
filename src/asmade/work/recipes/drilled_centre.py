"""A centre drilled in the end of long work, for the tailstock."""

from __future__ import annotations

from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "drilled centre"
HELP = "a centre in the end of long work"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``bar``, the diameter of the work."""
    bar = f.figures["bar"]
    drill = 1.6 if bar <= 10 else 2.5 if bar <= 20 else 3.15
    return (
        bench.operation(
            f,
            "centred",
            f"Centre drill, {drill:g} mm point, cone {min(0.4 * bar, 2.5 * drill):.1f} across; then bring "
            "up the running "
            "centre with oil",
            "centre",
            tool=f"centre drill {drill:g}",
            source=SOURCE,
            caution="drilling",
            check="the centre turns with the work and has no shake",
            **bench.speed("lathe", "drilling", drill),
        ),
    )
