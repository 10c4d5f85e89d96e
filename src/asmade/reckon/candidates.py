"""What a size may be chosen to be: what is in the rack and the drawer, what can be bought, and round figures.

Each candidate carries what it is called (the size to write down) apart from what comes of it (that size and what the
process adds to it: a drill cuts large, a bar runs small). Costs are in millimetres of departure from the drawing that
a builder would rather accept than pay them; common practice, no source, and all in one place here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final, get_args

from asmade.book.address import Address
from asmade.book.model import Build, Dimension, Shop
from asmade.book.sizes import read_size
from asmade.measure.errors import AsmadeError, Unknown, near
from asmade.measure.lengths import read_length
from asmade.measure.show import show_mm
from asmade.reckon.capability import Capability, material_of
from asmade.reckon.choosing.problem import Candidate
from asmade.standards.stock import System

COST_TO_BUY: Final = 0.6
"""A bar, drill or reamer to be bought, counted once."""
COST_OF_TOOL: Final = 0.05
"""Every further tool that is set up, counted once: fewer tools, fewer mistakes."""
COST_UNROUND: Final[tuple[tuple[Fraction, float], ...]] = (
    (Fraction(1), 0.0), (Fraction(1, 2), 0.02), (Fraction(1, 4), 0.05), (Fraction(1, 10), 0.05),
    (Fraction(1, 20), 0.08), (Fraction(1, 100), 0.12),
)  # fmt: skip
"""What a figure costs that is not a whole millimetre: the coarsest step it lies on counts."""
COST_EXACT: Final = 0.15
"""An exact conversion such as 23.8125, where it need not be kept."""
REACH: Final = {"exact": (0.0, 0.0), "near": (0.8, 0.06), "free": (3.0, 0.3)}
"""How far from the drawing a size may go: at least so many mm, at least such a share of itself."""
MOST_SHARE: Final = 0.5
"""What is no position never goes further than this share of itself: 1/32 in does not become nothing."""
WEIGHT: Final = {"exact": 20.0, "near": 1.0, "free": 0.2}
"""What a millimetre of departure from the drawing weighs."""
HEAVIER: Final = {"bore": 1.5, "shaft": 1.5, "slot": 1.5, "diameter": 0.7, "length": 0.8, "depth": 0.4, "width": 0.8}
"""Times so much by kind: what mates weighs more than what is free in the air."""
STEPS: Final = {
    "turned": "0.1", "bored": "0.1", "milled": "0.1", "faced": "0.1", "jig bored": "0.05", "sawn": "0.5",
    "filed": "0.1", "cast": "0.5", "ground": "0.01", "lapped": "0.01", "drilled": "0.1", "reamed": "0.5",
}  # fmt: skip
"""Steps of freely machined sizes where the shop's habits say nothing; mm."""


MOST_IN_A_SET: Final = 1_000
"""Sizes a set of drills is taken to have at most."""
NEAR: Final = 15
"""Round figures are listed to so many steps either side of the drawing; beyond that only rounder ones, to so many of
theirs: a length that may go anywhere has about a hundred candidates, not a thousand, and still reaches its ends."""


@dataclass(frozen=True, slots=True)
class Named:
    """A candidate for the solver, with the size as it is written down and the stock it comes from."""

    candidate: Candidate
    size: str
    stock: str = ""


def named_candidates(
    build: Build, capability: Capability, address: Address, dimension: Dimension, drawn_mm: float
) -> tuple[Named, ...]:
    """Everything a dimension may be chosen to be; empty when only its exact figure will do."""
    kept, process = dimension.kept, dimension.made_by
    if kept == "exact":
        return (_exact(drawn_mm, 0.0, "kept as drawn"),)
    low, high = _range(dimension, drawn_mm)
    found: list[Named] = []
    if process == "stock as is":
        found += _from_rack(build, capability, dimension, address, low, high)
        found += _stock_to_buy(build, capability, dimension, address, low, high)
    elif process in ("reamed", "drilled", "jig drilled") and dimension.kind != "depth":
        found += _from_drawer(build, capability, dimension, address, low, high)
    else:
        found += _round_figures(build.shop, process, drawn_mm, high - drawn_mm)
        found.append(_exact(drawn_mm, COST_EXACT, "exact conversion"))
    return _one_of_each(found) or (_exact(drawn_mm, COST_EXACT, "exact conversion: nothing nearer is to be had"),)


def weight_of(dimension: Dimension) -> float:
    """What a millimetre of departure weighs for this dimension."""
    return WEIGHT[dimension.kept] * HEAVIER.get(dimension.kind, 1.0)


def _range(dimension: Dimension, drawn_mm: float) -> tuple[float, float]:
    least, share = REACH[dimension.kept]
    room = max(least, share * abs(drawn_mm))
    if not dimension.signed and dimension.kind != "position":
        room = min(room, MOST_SHARE * abs(drawn_mm))
    return drawn_mm - room, drawn_mm + room


def _exact(drawn_mm: float, cost: float, why: str) -> Named:
    return Named(Candidate(drawn_mm, cost, why), f"{_plain(drawn_mm)} mm")


def _plain(mm: float) -> str:
    text = show_mm(mm, step="0.0001").rstrip("0")
    return text + "0" if text.endswith(".") else text


def _one_of_each(found: list[Named]) -> tuple[Named, ...]:
    """Of candidates with one size and one tool the cheapest stays."""
    best: dict[tuple[str, str, str], Named] = {}
    for named in found:
        c = named.candidate
        key = (named.size, c.tool, c.buy)
        if key not in best or c.cost < best[key].candidate.cost:
            best[key] = named
    return tuple(sorted(best.values(), key=lambda n: (n.candidate.size_mm, n.candidate.cost)))


def _bias(build: Build, capability: Capability, dimension: Dimension, address: Address, tool: str, mm: float) -> float:
    process = dimension.made_by
    known = build.shop.tools.get(tool)
    if known is not None and known.bias_mm is not None and tool not in {k[1] for k in capability.departures}:
        return known.bias_mm
    return capability.of(process, tool, material_of(build, address), mm).belief.mean


def cost_of_round(mm: float) -> float:
    """What a figure costs for not being round: 12 nothing, 12.5 little, 12.35 more."""
    exact = Fraction(str(round(mm, 4)))
    return next((cost for step, cost in COST_UNROUND if exact % step == 0), COST_EXACT)


def _round_figures(shop: Shop, process: str, drawn_mm: float, room: float) -> Iterator[Named]:
    finest = shop.rounding_mm.get(process) or float(STEPS.get(process, "0.1"))
    found: set[float] = set()
    for step in _ever_rounder(finest, room):
        reach = min(room, NEAR * step)
        first, last = (drawn_mm - reach) / step, (drawn_mm + reach) / step
        for k in range(math.ceil(first - 1e-9), math.floor(last + 1e-9) + 1):
            found.add(round(k * step, 6))
    for mm in sorted(found):
        yield Named(Candidate(mm, cost_of_round(mm), f"round, to {finest:g} mm"), f"{_plain(mm)} mm")


def _ever_rounder(finest: float, room: float) -> Iterator[float]:
    """The finest step, then 1 and 5 of each decade above it, until the last reaches to the ends of the room."""
    step = finest
    while True:
        yield step
        if NEAR * step >= room:
            return
        decade = 10.0 ** math.floor(math.log10(step) + 1e-9)
        step = 5 * decade if step < 4.99 * decade else 10 * decade


def _from_rack(
    build: Build, capability: Capability, dimension: Dimension, address: Address, low: float, high: float
) -> Iterator[Named]:
    material = material_of(build, address)
    for line in build.shop.stock:
        if line.count < 1 or not _same_form(line.form, dimension.stock):
            continue
        if line.material and material and line.material != material:
            continue
        mm = _stock_mm(line.size, dimension)
        if mm is None or not low <= mm <= high:
            continue
        bias = _bias(build, capability, dimension, address, dimension.stock, mm)
        why = f"{line.size} {line.form} in the rack"
        yield Named(Candidate(mm + bias, 0.0, why), f"{_plain(mm)} mm", f"{line.bar or line.size} {line.form}".strip())


def _same_form(form: str, wanted: str) -> bool:
    return not wanted or form == wanted


@lru_cache(maxsize=10_000)
def _size_mm(text: str) -> float | None:
    try:
        return float(read_length(text, unit="mm", thing="stock").mm)
    except AsmadeError:
        return None  # a section such as 20 x 3 mm: see `_stock_mm`


def _stock_mm(text: str, dimension: Dimension) -> float | None:
    """Size of a bar; of a flat ``20 x 3 mm`` the thickness for a thickness and the width for a width."""
    if " x " not in text:
        return _size_mm(text)
    width, _, thickness = text.partition(" x ")
    unit = " in" if text.rstrip().endswith(("in", '"')) else " mm"
    both = [
        _size_mm(part.strip(' "').removesuffix("mm").removesuffix("in").strip() + unit) for part in (width, thickness)
    ]
    known = sorted(mm for mm in both if mm is not None)
    if len(known) != 2:
        return None
    return known[0] if dimension.kind == "thickness" else known[1]


def _stock_to_buy(
    build: Build, capability: Capability, dimension: Dimension, address: Address, low: float, high: float
) -> Iterator[Named]:
    from asmade.standards.stock import stock_sizes  # noqa: PLC0415  # only books that choose stock need the tables

    form = dimension.stock or _form_of(dimension)
    for system in build.shop.buys:
        for size in stock_sizes(_shape(form, dimension), _system(system)):
            mm = size.size_mm
            if not low <= mm <= high:
                continue
            bias = _bias(build, capability, dimension, address, dimension.stock, mm)
            name = f"{size.name} {form}"
            yield Named(Candidate(mm + bias, 0.0, f"{name}, to be bought", buy=name), f"{_plain(mm)} mm", name)


def _shape(form: str, dimension: Dimension) -> str:
    """A flat is sold by width and thickness; the dimension says which of the two it is."""
    if form == "flat":
        return "flat thickness" if dimension.kind == "thickness" else "flat width"
    return form


def _system(name: str) -> System:
    if name not in get_args(System):
        raise Unknown("shop.buys", got=name, near=near(name, get_args(System)),
                      way_out=f"any of: {', '.join(get_args(System))}")  # fmt: skip
    return name  # type: ignore[return-value]  # checked above


def _form_of(dimension: Dimension) -> str:
    return "sheet" if dimension.kind == "thickness" else "round bar"


def _from_drawer(
    build: Build, capability: Capability, dimension: Dimension, address: Address, low: float, high: float
) -> Iterator[Named]:
    """Reamers or drills in the shop, adjustable reamers at round settings, and standard ones to buy."""
    kind = "reamer" if dimension.made_by == "reamed" else "drill"
    for tool in build.shop.tools.values():
        if kind not in tool.kind:
            continue
        for mm, label in _tool_sizes(tool.size, tool.adjusts_to, low, high):
            bias = _bias(build, capability, dimension, address, tool.name, mm)
            why = f"{tool.name}{f' set to {label}' if tool.adjusts_to else ''}"
            yield Named(Candidate(mm + bias, cost_of_round(mm) if tool.adjusts_to else 0.0, why, tool=tool.name),
                        f"{_plain(mm)} mm")  # fmt: skip
    for name, mm in _tools_sold(kind, build.shop.buys):
        if low <= mm <= high:
            bias = _bias(build, capability, dimension, address, "", mm)
            named = f"{kind} {name}"
            yield Named(Candidate(mm + bias, 0.0, f"{named}, to be bought", buy=named), f"{_plain(mm)} mm")


def _tools_sold(kind: str, systems: tuple[str, ...]) -> Iterator[tuple[str, float]]:
    """Standard drills and hand reamers of the systems this shop buys in."""
    from asmade.measure.gauges import drills  # noqa: PLC0415  # only books that choose tools need the tables
    from asmade.standards.reamers import reamers  # noqa: PLC0415

    for name in systems:
        system = _system(name)
        if system not in ("metric", "inch"):
            continue
        if kind == "reamer":
            yield from ((reamer.name, float(reamer.mm)) for reamer in reamers("hand reamer", system))
        else:
            sold = ("metric",) if system == "metric" else ("fractional", "number", "letter")
            yield from ((d.name, float(d.mm)) for series in sold for d in drills(series))


def _tool_sizes(size: str, adjusts: tuple[str, str] | None, low: float, high: float) -> Iterator[tuple[float, str]]:
    """Sizes a tool can make inside the range: a set ``1 to 10 by 0.1``, an adjustable one's settings, its one size."""
    if adjusts is not None:
        ends = [_size_mm(text) for text in adjusts]
        if ends[0] is None or ends[1] is None:
            return
        step = 0.05
        first, last = max(low, ends[0]), min(high, ends[1])
        for k in range(math.ceil(first / step - 1e-9), math.floor(last / step + 1e-9) + 1):
            yield round(k * step, 6), f"{_plain(k * step)} mm"
        return
    yield from ((mm, label) for mm, label in sizes_of_tool(size) if low <= mm <= high)


def sizes_of_tool(size: str) -> Iterator[tuple[float, str]]:
    """The sizes of a tool or set as the shop says them: ``6 mm``, ``No. 40, 4 mm``, ``1 to 10 by 0.1``; mm and label.

    What cannot be read gives none.
    """
    for text in size.split(","):
        if " to " in text and " by " in text:
            span, _, by = text.partition(" by ")
            start, _, end = span.partition(" to ")
            ends = [_size_mm(each.strip()) for each in (start, end, by)]
            if ends[0] is None or ends[1] is None or not ends[2]:
                continue
            for k in range(min(round((ends[1] - ends[0]) / ends[2]), MOST_IN_A_SET) + 1):
                mm = round(ends[0] + k * ends[2], 6)
                yield mm, f"{_plain(mm)} mm"
            continue
        mm_or_none = _size_mm(text.strip())
        if mm_or_none is not None:
            yield mm_or_none, text.strip()


def drawn_mm(dimension: Dimension, place: str, unit: str) -> float | None:
    """Drawn size in mm (the middle of a stated tolerance), or None where the drawing does not say."""
    written = read_size(dimension.drawn_at.get(place, dimension.drawn), dimension, unit, dimension.name)
    if written is None:
        return None
    if written.lower is not None and written.upper is not None:
        return written.value + float(written.lower + written.upper) / 2
    return written.value
