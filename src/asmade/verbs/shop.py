"""shop: what the builder has (machines, tools, stock, instruments, adhesives, habits), and what it has learned."""

from __future__ import annotations

import json
import math
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from asmade.book.model import Build, Shop
from asmade.book.tables import read_shop
from asmade.book.text import Draft
from asmade.measure.errors import Contradiction, OutOfRange, Refused, Unknown, near
from asmade.measure.lengths import read_length
from asmade.measure.quantities import read_quantity
from asmade.reckon.candidates import sizes_of_tool
from asmade.reckon.capability import Learned, learn
from asmade.verbs.store import Path_, Saved, read, save
from asmade.work.machines import read_machine

NAMED: Final = ("machine", "instrument", "tool", "adhesive")
"""Groups whose entries have names; the rack has lines."""


@dataclass(frozen=True, slots=True)
class ShopView:
    """The shop as entered, and the capability its readings teach."""

    shop: Shop
    tables: Mapping[str, Any]
    learned: tuple[Learned, ...]
    saved: Saved | None = None


def shop(path: Path_) -> ShopView:
    """The shop of a book."""
    return shop_of(read(path).build)


def shop_of(build: Build) -> ShopView:
    """The shop of a build."""
    capability = learn(build)
    learned = tuple(capability.of(process, tool, material) for process, tool, material in sorted(capability.departures))
    return ShopView(build.shop, build.tables.get("shop", {}), learned)


def _readable(shop: Shop) -> None:
    """Drills and reamers are chosen by their size: one that cannot be read would never be, without a word."""
    for tool in shop.tools.values():
        cuts = any(word in tool.kind for word in ("drill", "reamer"))
        if cuts and tool.size and not list(sizes_of_tool(tool.size)):
            raise Refused(f"shop.tool.{tool.name}.size", got=tool.size, reason="no size in it can be read",
                          way_out='write "6 mm", "No. 40", "5.5 mm, 6 mm" or "1 to 10 by 0.1"')  # fmt: skip


SHEET: Final[Mapping[str, tuple[float, float]]] = {
    "working_minutes": (0.0, 24 * 60.0), "handling_hours": (0.0, 30 * 24.0), "machining_hours": (0.0, 30 * 24.0),
    "full_cure_hours": (0.0, 90 * 24.0), "reference_c": (-20.0, 200.0), "undo_c": (40.0, 1000.0),
}  # fmt: skip
"""Figures of a data sheet, and between what any product's lies (times above 0): slips of the pen lie outside. Common
practice, no source."""
MOST_GAP_MM: Final = 5.0
MOST_STRENGTH_MPA: Final = 200.0


def _sensible(shop: Shop) -> None:
    """Refuse figures of a data sheet that no product has, by name: they would go into sums without a word."""
    for name, product in shop.adhesives.items():
        where = f"shop.adhesive.{name}"
        if not 0 <= product.gap_least_mm <= product.gap_most_mm <= MOST_GAP_MM or product.gap_most_mm == 0:
            raise OutOfRange(
                f"{where}, gap on diameter", got=f"{product.gap_least_mm:g} to {product.gap_most_mm:g} mm",
                allowed=f"least, then greatest, from 0 to {MOST_GAP_MM:g} mm", way_out="see the product's data sheet",
            )  # fmt: skip
        for key, (low, high) in SHEET.items():
            if key in product.fields:
                _within(f"{where}.{key}", product.fields[key], low, high, above=low == 0)
        strength = str(product.fields.get("strength", "")).strip()
        if strength:
            found = float(read_quantity(strength, kind="pressure", thing=f"{where}.strength").value)
            _within(f"{where}.strength", found, 0.0, MOST_STRENGTH_MPA, above=True, unit=" MPa")
        curve = product.fields.get("gap_slows", ())
        if not isinstance(curve, list | tuple) or not all(isinstance(p, list | tuple) and len(p) == 2 for p in curve):
            raise Refused(f"{where}.gap_slows", got=curve, reason="it is no list of gaps and factors",
                          way_out='write [["0.03 mm", 1], ["0.10 mm", 2.5]]')  # fmt: skip
        for gap, factor in curve:
            read_length(str(gap), unit="mm", thing=f"{where}.gap_slows")
            _within(f"{where}.gap_slows", factor, 0.0, 100.0, above=True)


def _within(thing: str, value: object, low: float, high: float, *, above: bool, unit: str = "") -> None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Refused(thing, got=value, reason="it is no number", way_out="write the figure alone, such as 24")
    if not (math.isfinite(value) and low <= value <= high and (value > low or not above)):
        raise OutOfRange(thing, got=value, allowed=f"{'above ' if above else ''}{low:g} to {high:g}{unit}",
                         way_out="see the product's data sheet")  # fmt: skip


def change(path: Path_, text: str, *, remove: Sequence[str] = (), what_if: bool = False) -> ShopView:
    """Add to or change the shop by a text of ``[shop...]`` tables; ``remove`` takes entries out (``tool.NAME``)."""
    tables: Mapping[str, Any] = {}
    if text.strip():
        try:
            tables = tomllib.loads(text)
        except tomllib.TOMLDecodeError as fault:
            raise Refused("shop", got=text[:60], reason=str(fault), way_out="write [shop.tool.NAME] tables") from fault
        tables = tables.get("shop", tables)
    if not tables and not remove:
        raise Refused("shop", got="", reason="there is nothing to change", way_out="give --file or --remove")
    return put(path, tables, remove=remove, what_if=what_if)


def put(
    path: Path_, tables: Mapping[str, Any], *, remove: Sequence[str] = (), what_if: bool = False, key: str = ""
) -> ShopView:
    """As `change`, with the tables themselves; what is removed goes first, so that an entry can be put anew."""
    said = read_shop(tables)
    _readable(said)
    _sensible(said)
    opened = read(path)
    held = opened.build.tables.get("shop", {})
    for entry in remove:
        group, _, name = entry.partition(".")
        inside = held.get(group, {})
        if name not in inside if name else group not in held:
            known = [f"{g}.{n}" for g, each in held.items() if isinstance(each, Mapping) for n in each]
            raise Unknown("shop", got=entry, near=near(entry, known),
                          way_out="write tool.NAME, instrument.NAME, machine.NAME: see asmade shop BOOK")  # fmt: skip
    saved = save(opened, [Draft("shop", {"set": tables, "remove": list(remove)})], what_if=what_if, key=key)
    view = shop(path)
    return ShopView(saved.build.shop, saved.build.tables.get("shop", {}), view.learned, saved)


def put_entry(
    path: Path_, group: str, name: str, table: Mapping[str, Any], *, was: str = "", key: str = ""
) -> ShopView:
    """Put one whole machine, instrument, tool or adhesive; in the place of the one called ``was``, if one is named.

    Another of the same name is never overwritten, and a machine must be one that the sums of the bench can read.
    """
    if group not in NAMED:
        raise Unknown("group of the shop", got=group, near=near(group, NAMED), way_out=f"one of: {', '.join(NAMED)}")
    called = " ".join(name.split())
    if not called:
        raise Refused("name", got=name, reason="it has none", way_out="say what you call it")
    held = read(path).build.tables.get("shop", {}).get(group, {})
    if was and was not in held:
        raise Unknown(group, got=was, near=near(was, held), way_out="it was taken out meanwhile: enter it anew")
    if not called.isprintable():
        raise Refused("name", got=name, reason="it holds control characters", way_out="write it in plain letters")
    if called in held and called != was:
        raise Contradiction(
            f"{group}: there is a {called!r} already", way_out="choose another name, or change that one"
        )
    if group == "machine":
        read_machine(called, table)
    return put(path, {group: {called: dict(table)}}, remove=[f"{group}.{was}"] if was else (), key=key)


def mark_of(line: Mapping[str, Any]) -> str:
    """What tells a line of the rack from every other, for `put_stock`."""
    return json.dumps(line, sort_keys=True, default=str)


def put_stock(path: Path_, line: Mapping[str, Any] | None, *, was: str = "", key: str = "") -> ShopView:
    """Add a line to the rack, or put it in the place of the one whose `mark_of` is ``was``; None takes that one out."""
    lines: list[Any] = list(read(path).build.tables.get("shop", {}).get("stock", ()))
    if was:
        at = next((k for k, each in enumerate(lines) if mark_of(each) == was), None)
        if at is None:
            raise Unknown("line of the rack", got=was, way_out="it was changed meanwhile: look at the rack again")
        lines[at : at + 1] = [] if line is None else [dict(line)]
    elif line is not None:
        lines.append(dict(line))
    if line is not None and read_shop({"stock": [line]}).stock[0].count < 1:
        raise OutOfRange("shop.stock.count", got=line["count"], allowed="1 or more",
                         way_out="take the line out where there is none left")  # fmt: skip
    return put(path, {"stock": lines}, key=key)
