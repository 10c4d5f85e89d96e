"""shop: what the builder has (machines, tools, stock, instruments, adhesives, habits), and what it has learned."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from asmade.book.model import Shop
from asmade.book.tables import read_shop
from asmade.book.text import Draft
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.candidates import sizes_of_tool
from asmade.reckon.capability import Learned, learn
from asmade.verbs.store import Path_, Saved, read, save
from asmade.work.machines import read_machine


@dataclass(frozen=True, slots=True)
class ShopView:
    """The shop as entered, and the capability its readings teach."""

    shop: Shop
    tables: Mapping[str, Any]
    learned: tuple[Learned, ...]
    saved: Saved | None = None


def shop(path: Path_) -> ShopView:
    """The shop of a book."""
    build = read(path).build
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
    _readable(read_shop(tables))
    for name, table in tables.get("machine", {}).items():
        read_machine(name, table)
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
