"""The bar in the rack nearest to what a part wants, and what to buy where there is none."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from asmade.book.model import Shop, Stock
from asmade.measure.errors import AsmadeError, Refused
from asmade.standards.materials import Material
from asmade.standards.stock import System, nearest_stock
from asmade.work.blanks import read_section
from asmade.work.recipes.bench import material_or_none

ROUND: Final = ("ground bar", "round bar")
TURN_OFF_MM: Final = 0.5
"""On diameter, what bar should be over a size that is turned: common practice, no source."""
AS_BOUGHT_MM: Final = 0.1
"""How near to its stated size bar counts as that size."""


CLEAN_MM: Final = 1.0
"""Over a milled size on both faces together, what bar should have: common practice, no source."""
LEAST_OVER_MM: Final = 0.1
"""Less over than this cannot be milled off both faces."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What a piece is made from: name, diameter (or width), from the rack or to buy; what there is to say of it."""

    name: str
    size_mm: float
    in_rack: bool
    shape: str
    warnings: tuple[str, ...] = ()
    thickness_mm: float | None = None


def asked(shop: Shop) -> None:
    """Refuse a rack that was never entered."""
    if not shop.stock:
        raise Refused(
            "stock",
            got="no [[shop.stock]] at all",
            reason="there is nothing to make the part from",
            way_out='enter what is in the rack: [[shop.stock]] with form = "round bar", material, size, length',
        )


def same_material(wanted: str, stuff: Material | None, held: Stock) -> bool:
    """Whether a line of the rack is of the wanted material, by any of its names."""
    if held.material.strip().lower() == wanted.strip().lower():
        return True
    other = material_or_none(held.material)
    return stuff is not None and other is not None and other.name == stuff.name


def bar_for(
    shop: Shop,
    wanted: str,
    stuff: Material | None,
    diameter_mm: float,
    *,
    as_bought: bool,
    length_mm: float,
    buys: tuple[str, ...],
) -> Choice:
    """The thinnest round bar in the rack that will do; else what to buy, with a warning.

    ``as_bought``: the bar's own surface stays, so it must be of that size (within a tenth); else the next thicker
    one is turned, and said.
    """
    asked(shop)
    if not math.isfinite(diameter_mm):
        return Choice(
            f"{wanted} bar",
            math.nan,
            in_rack=False,
            shape="round bar",
            warnings=("its largest diameter is not known: no bar can be chosen",),
        )
    least = diameter_mm - (AS_BOUGHT_MM if as_bought else 0.0)
    rack = sorted(
        (
            (read_section(s.size, "shop.stock")[0], s)
            for s in shop.stock
            if s.form in ROUND and same_material(wanted, stuff, s)
        ),
        key=lambda pair: (pair[0], ROUND.index(pair[1].form)),
    )
    for size, held in rack:
        if size < least - 1e-9:
            continue
        if as_bought and size > diameter_mm + AS_BOUGHT_MM:
            break
        if not as_bought and size < diameter_mm + 0.1:
            continue
        warnings = []
        if held.length_mm is not None and math.isfinite(length_mm) and held.length_mm < length_mm:
            warnings.append(f"the bar in the rack is {held.length_mm:g} long, {length_mm:.0f} is wanted")
        if not as_bought and size < diameter_mm + TURN_OFF_MM:
            warnings.append(
                f"only {size - diameter_mm:.2f} to turn off: set it true in the four-jaw, or it does not clean up"
            )
        return Choice(
            f"{held.size} {held.material} {held.form}", size, in_rack=True, shape=held.form, warnings=tuple(warnings)
        )
    if as_bought and math.isfinite(diameter_mm):
        thicker = next(((size, held) for size, held in rack if size > diameter_mm + AS_BOUGHT_MM), None)
        if thicker is not None and thicker[0] <= 1.25 * diameter_mm + 1.0:
            size, held = thicker
            return Choice(
                f"{held.size} {held.material} {held.form}",
                size,
                in_rack=True,
                shape=held.form,
                warnings=(
                    (
                        f"{diameter_mm:.2f} was to stay as bought, the rack has {held.size}: choose that size "
                        "for the part, "
                        "or turn it down as planned here"
                    ),
                ),
            )
    thickest = f"; the thickest there is {rack[-1][1].size}" if rack and rack[-1][0] < least else ""
    wish = diameter_mm if as_bought else diameter_mm + TURN_OFF_MM
    system: System = "metric" if "metric" in buys or not buys else "inch"
    shape = "round bar"
    try:
        found = nearest_stock(wish, shape, system=system, side="either" if as_bought else "not below", most=1)
        if as_bought and found and abs(found[0].over_mm) > AS_BOUGHT_MM:
            found = nearest_stock(diameter_mm + 0.1, shape, system=system, side="not below", most=1)
    except AsmadeError:
        found = ()
    if not found:
        return Choice(
            f"{wanted or 'bar'} of {wish:.1f} or more",
            wish,
            in_rack=False,
            shape=shape,
            warnings=(f"no {wanted or 'such'} bar for {diameter_mm:.2f} in the rack{thickest}, and no usual size",),
        )
    size = found[0].stock.size_mm
    what = "of that size" if as_bought else "thick enough"
    return Choice(
        f"{found[0].stock.name} {wanted} round bar (to buy)",
        size,
        in_rack=False,
        shape=shape,
        warnings=(
            (
                f"no {wanted or 'such'} round bar {what} in the rack for {diameter_mm:.2f}{thickest}: buy "
                f"{found[0].stock.name}"
            ),
        ),
    )


def shaped_bar(shop: Shop, wanted: str, stuff: Material | None, shape: str, across_mm: float) -> Choice | None:
    """Hexagon or square bar in the rack whose own flats are the size wanted; None where there is none."""
    asked(shop)
    for held in shop.stock:
        if held.form != f"{shape} bar" or not same_material(wanted, stuff, held):
            continue
        size, _ = read_section(held.size, "shop.stock")
        if abs(size - across_mm) <= AS_BOUGHT_MM:
            return Choice(f"{held.size} {held.material} {held.form}", size, in_rack=True, shape=held.form)
    return None


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the section that a part is cut from: its finished size, and whether the bar's own faces stay."""

    size_mm: float
    stays: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """The bar chosen for a section, and what it measures along each of the two sides asked for; NaN = not known."""

    choice: Choice
    first_mm: float
    second_mm: float


def section_for(
    shop: Shop, wanted: str, stuff: Material | None, first: Side, second: Side, shapes: tuple[str, ...]
) -> Section:
    """The smallest bar in the rack from which a section can be cut, either way round; else one to buy.

    A side that is milled wants metal to clean up on both faces, one that stays wants the bar's own size. A bar that
    leaves too little to clean up, or whose size must be milled after all, is taken only where nothing better is there,
    and said. Where nothing will do, the finding names the nearest bar and by how much it is too small.
    """
    asked(shop)
    best: tuple[tuple[int, float], Stock, float, float, tuple[str, ...]] | None = None
    short: tuple[float, str, str] | None = None
    for held in shop.stock:
        if held.form not in shapes or not same_material(wanted, stuff, held):
            continue
        wide, thick = read_section(held.size, "shop.stock")
        if held.form == "sheet":
            wide, thick = math.inf, wide
        thick = wide if thick is None else thick
        for a, b in ((wide, thick), (thick, wide)):
            fits = [_side(side, bar) for side, bar in ((first, a), (second, b))]
            if any(fault is None for fault, _ in fits):
                lack = max(side.size_mm - bar for side, bar in ((first, a), (second, b)) if bar < side.size_mm)
                if math.isfinite(lack) and (short is None or lack < short[0]):
                    short = (lack, held.size, held.form)
                continue
            rank = (sum(fault or 0 for fault, _ in fits), thick if math.isinf(wide) else wide * thick)
            if best is None or rank < best[0]:
                best = (rank, held, a, b, tuple(words for _, words in fits if words))
    if best is not None:
        _, held, a, b, words = best
        name = f"{held.size} {held.material} {held.form}"
        low, high = sorted((a, b))
        return Section(Choice(name, high, in_rack=True, shape=held.form, warnings=words, thickness_mm=low), a, b)
    a, b = (side.size_mm if side.stays else side.size_mm + 2 * CLEAN_MM for side in (first, second))
    size = " x ".join(f"{each:.1f}" if math.isfinite(each) else "?" for each in sorted((a, b), reverse=True))
    near = f" (the nearest, {short[2]} {short[1]}, is too small by {short[0]:.2f})" if short else ""
    return Section(
        Choice(
            f"{wanted or 'metal'} of {size}{'' if first.stays and second.stays else ' or more'} (to buy)",
            max(a, b),
            in_rack=False,
            shape=shapes[0],
            warnings=(f"nothing of {wanted or 'that metal'} in the rack gives a section of {size}{near}",),
            thickness_mm=min(a, b),
        ),
        a,
        b,
    )


def _side(side: Side, bar_mm: float) -> tuple[int | None, str]:
    """How ill a bar suits one side (0 well, None not at all), and what there is to say."""
    if not math.isfinite(side.size_mm):
        return 0, ""
    over = bar_mm - side.size_mm
    if side.stays:
        if abs(over) <= AS_BOUGHT_MM:
            return 0, ""
        if over < 0:
            return None, ""
        return 2, (
            f"{side.size_mm:.2f} was to stay as bought, the rack has {bar_mm:g}: choose that size for the part, or "
            "mill it as planned here"
        )
    if over < -LEAST_OVER_MM:
        return None, ""
    if over < LEAST_OVER_MM:
        return (
            3,
            f"the bar is {bar_mm:g} where {side.size_mm:.2f} is wanted: its faces stay as they are, or a larger bar",
        )
    if over < 2 * LEAST_OVER_MM or over < CLEAN_MM:
        return 1, f"only {over:.2f} over {side.size_mm:.2f} to clean up both faces: set it flat, or take a larger bar"
    return 0, ""


def flat_for(
    shop: Shop, wanted: str, stuff: Material | None, width_mm: float, thickness_mm: float, shapes: tuple[str, ...]
) -> Choice:
    """The smallest flat, plate or sheet in the rack that holds a section; else a blank of that section to buy."""
    asked(shop)
    best: tuple[float, Stock, float, float | None] | None = None
    for held in shop.stock:
        if held.form not in shapes or not same_material(wanted, stuff, held):
            continue
        wide, thick = read_section(held.size, "shop.stock")
        if thick is None:  # sheet: its one size is its thickness
            if math.isfinite(thickness_mm) and abs(wide - thickness_mm) > 0.3:
                continue
            area, wide, thick = wide, math.inf, wide
        elif not (width_mm <= wide + 1e-6 and thickness_mm <= thick + 1e-6):
            continue
        else:
            area = wide * thick
        if best is None or area < best[0]:
            best = (area, held, wide, thick)
    if best is not None:
        _, held, wide, thick = best
        return Choice(
            f"{held.size} {held.material} {held.form}", wide, in_rack=True, shape=held.form, thickness_mm=thick
        )
    size = " x ".join(f"{each:.1f}" if math.isfinite(each) else "?" for each in (width_mm, thickness_mm))
    return Choice(
        f"{wanted or 'metal'} of {size} or more (to buy)",
        width_mm,
        in_rack=False,
        shape=shapes[0],
        warnings=(f"nothing of {wanted or 'that metal'} in the rack holds a section of {size}",),
        thickness_mm=thickness_mm,
    )
