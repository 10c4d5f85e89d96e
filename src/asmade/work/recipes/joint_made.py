"""A joint of a thing that is put together: tried dry, looked at for the last time, made, left alone, measured."""

from __future__ import annotations

from dataclasses import replace

from asmade.work.cautions import Caution
from asmade.work.joining_means import cautions_of, means_of
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation

NAME = "joint made"
HELP = "a joint that cannot be undone: trial, last look, joint, wait"
AFTERWARDS = "left and measured"
SOURCE = "common practice, no source; the product's data sheet goes before it"


def operations(f: Feature, bench: Bench) -> tuple[Operation, ...]:
    """``callout``: by what means; ``words``: the joint's name; dims: what is measured afterwards."""
    means = means_of(f.callout)
    minded: tuple[Caution, ...] = tuple(c for c in cautions_of(means) if c.shown != ("page",))
    ticks = " ".join(f"{tick[:1].upper()}{tick[1:]}." for tick in means.ticks[1:])
    tried = bench.operation(
        f, "tried dry", means.trial, "look", tool="; ".join(means.needs[-1:]), makes=(f"{f.name} tried",),
        source=SOURCE, caution="", check=means.ticks[0] if means.ticks else "",
    )  # fmt: skip
    made = bench.operation(
        f, "made", f'Last look ("{f.words}"), then: {means.clean} {ticks}',
        "turn", tool="; ".join(means.needs), needs=(*f.needs, f"{f.name} tried"), makes=(f"{f.name} fixed",),
        source=SOURCE, caution="", check=f'asmade joined BOOK "{f.words}": enter it, and see until when it waits',
    )  # fmt: skip
    left = bench.operation(
        f, AFTERWARDS, means.after, "last", needs=(*f.needs, f"{f.name} fixed"), makes=f.makes, dims=f.dims,
        source=SOURCE, caution="", check="what the joint fixes or disturbs is measured now, and entered",
    )  # fmt: skip
    return tuple(replace(op, cautions=minded) for op in (tried, made, left))
