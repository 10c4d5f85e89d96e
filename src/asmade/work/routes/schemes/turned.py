"""Scheme of a turned part: which end first, what is done at one setting, how the second end is held.

The thickest section stays in the middle: what lies to one side of it is turned at the first setting, the piece is
parted off (or was sawn), turned round and held by what is finished, and the other side follows. Bores that go right
through are made at the first setting, where the outside is, so that both run true to each other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from asmade.book.forms.turned import Turned
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, SetUp
from asmade.work.recipes.parted_blank import LEFT_MM
from asmade.work.routes.rack import Choice
from asmade.work.routes.schemes.result import Scheme, dims, named, value
from asmade.work.routes.schemes.turned_holes import blind_holes, through_holes
from asmade.work.routes.schemes.turned_layout import Layout
from asmade.work.routes.schemes.turned_milled import milled
from asmade.work.routes.schemes.turned_sides import one_side, top_section

KIND = "turned"


def scheme(
    form: Turned,
    bench: Bench,
    *,
    casting: Choice | None = None,
    allowed: Mapping[str, float] | None = None,  # noqa: ARG001  # one shape for every form that may be cast
) -> Scheme:
    """Features of a turned part; ``casting`` where it is not cut from bar."""
    on = Layout(form, bench, casting)
    first, second = on.set_ups()
    features = [
        *_blank(on),
        *one_side(on, first, on.first, start=True),
        *top_section(on, first),
        *through_holes(on, first),
        *_off_the_bar(on, first),
        *_second_face(on, second),
        *one_side(on, second, on.second, start=False),
        *blind_holes(on, first, second),
        *milled(on),
    ]
    sections = form.sections
    claimed: frozenset[str] = frozenset().union(
        *(named(m) for s in sections for m in (s.diameter, s.length, s.across_flats, s.chamfer_left, s.chamfer_right)),
        *(named(m) for s in sections for cut in (s.undercut, s.groove) if cut for m in (cut.width, cut.diameter)),
        *(named(m) for h in form.end_holes for m in (h.diameter, h.depth)),
        *(named(m) for c in form.cross_holes for m in (c.diameter, c.from_left)),
        {"offset"} if bench.dim("offset") is not None else set(),
    )
    return Scheme(on.stock, tuple(features), (*on.warnings, *on.stock.warnings), claimed)


def _blank(on: Layout) -> Iterator[Feature]:
    if not on.long:
        return
    bench = SetUp("0: blank", 0, "saw", f"{on.stock.name} in the saw", "the bar", f"saw|{on.stock.name}")
    yield Feature("blank", "sawn blank", bench, {"length": on.total}, makes=("blank",), words=f"of {on.stock.name}")


def _off_the_bar(on: Layout, first: SetUp) -> Iterator[Feature]:
    if on.long or on.cast:
        return
    needs = [f"{on.first} end", *(s.name for s in on.side(on.first)), on.steps[on.peak].name]
    bores = [
        h.name
        for h in on.form.end_holes
        if h.depth is None and dims(h.diameter) and not (on.offset and h.name == "bore")
    ]
    blind = [h.name for h in on.form.end_holes if h.depth is not None and h.end == on.first]
    top = on.steps[on.peak]
    across = top.diameter if math.isfinite(top.diameter) else on.bar
    beyond = math.fsum(s.length for s in on.side(on.second))
    yield Feature(
        "blank",
        "parted blank",
        first,
        {"length": on.total, "diameter": on.bar if beyond else across},
        needs=tuple(dict.fromkeys((*needs, *bores, *blind))),
        makes=("blank",),
    )


def _second_face(on: Layout, second: SetUp) -> Iterator[Feature]:
    top = on.steps[on.peak]
    side = on.side(on.second)
    own = () if side else dims(top.section.length)
    over = 2.0 - 0.5 if on.long else LEFT_MM
    start = on.total + over if not on.cast else math.nan
    figures = {
        "diameter": max(top.diameter, 1.0) if math.isfinite(top.diameter) else on.bar,
        "start": start,
        "length": on.total,
    }
    beyond = [s.length for s in on.side(on.first)]
    if not side and beyond and own and math.isfinite(top.length):
        figures |= {"start": top.length + over, "length": top.length}
    words = "over all" if side or not beyond else f"over {top.name}"
    bore = on.bore()
    needs = ("blank",) if not on.cast else (f"{on.first} end",)
    if on.thin and bore is not None:
        yield Feature(
            f"{on.second} end",
            "thin spacer on a mandrel",
            second,
            figures | {"bore": value(bore.diameter, on.bench)},
            own,
            needs,
            (f"{on.second} end",),
            words,
        )
        return
    yield Feature(f"{on.second} end", "faced end", second, figures, own, needs, (f"{on.second} end",), words)
