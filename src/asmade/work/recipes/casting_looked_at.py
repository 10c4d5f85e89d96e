"""A casting measured before the first cut: what there is to take off, and on which side."""

from __future__ import annotations

import math

from asmade.work.recipes.bench import Bench, plain_name
from asmade.work.recipes.model import Feature, Operation

NAME = "casting looked at"
HELP = "a casting measured and shared out before the first cut"
SOURCE = "common practice, no source"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """Figures: ``length``, ``height``, ``width``, ``diameter`` finished, where the form says them."""
    names = ("length", "height", "width", "diameter")
    known = [f"{name} {f.figures[name]:.2f}" for name in names if math.isfinite(f.figures.get(name, math.nan))]
    cored = [plain_name(d) for d in bench.part.dims if bench.part.dims[d].kind == "bore"]
    finished = f" (finished: {', '.join(known)})" if known else ""
    holes = f", and where {' and '.join(cored[:3])} will lie" if cored else ""
    return (
        bench.operation(
            f,
            "looked at",
            f"Knock off flash and sand. Measure the casting over every face that is machined{finished}{holes}; blue "
            "it, mark the finished faces all round from its middle lines, and share the metal out so "
            "that every face cleans up. Write down what comes off the first face",
            "look",
            tool="file, height gauge, marking blue",
            needs=(),
            dims=(),
            source=SOURCE,
            instrument=bench.instrument("outside", next((v for k, v in f.figures.items() if k in names), math.nan)),
            check="metal on every face that is machined; no blow hole there; no face that a file slides off (chilled)",
            warnings=("a casting that has too little on one face is put right now by shifting all others, or never",),
            caution="",
        ),
    )
