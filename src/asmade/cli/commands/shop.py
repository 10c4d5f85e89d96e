"""asmade shop."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import click

from asmade.cli import options
from asmade.measure.errors import Refused


@click.command(short_help="Machines, tools, stock, instruments; what the shop has learned.")
@options.book
@click.option("--file", "file", type=click.Path(exists=True, dir_okay=False), help="TOML with [shop...] tables to add.")
@click.option("--set", "text", default="", metavar="TOML", help="The same, as text.")
@click.option("--remove", multiple=True, metavar="GROUP.NAME", help="Take an entry out: tool.NAME.")
@options.what_if
@options.as_json
def command(book: str, *, file: str | None, text: str, remove: tuple[str, ...], what_if: bool, as_json: bool) -> int:
    """Show the shop of BOOK and its learned capability, or change it by a file or text of [shop...] tables."""
    from asmade.verbs import plain, shop  # noqa: PLC0415

    if file:
        text = _read(Path(file)) + "\n" + text
    view = shop.change(book, text, remove=remove, what_if=what_if) if text or remove else shop.shop(book)
    if as_json:
        options.say_json(plain.shop(view))
        return 0
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    s = view.shop
    instruments = tables.table("Instruments", "name", "unit", "reads to", "zero", right=(2, 3))
    for i in s.instruments.values():
        instruments.add_row(escape(i.name), i.unit, tables.mm(i.reads_to_mm), tables.mm(i.zero_mm))
    to.print(instruments)
    tools = tables.table("Tools", "name", "kind", "size")
    for t in s.tools.values():
        tools.add_row(escape(t.name), escape(t.kind), escape(t.size or " to ".join(t.adjusts_to or ())))
    to.print(tools)
    stock = tables.table("Rack", "form", "size", "material", "length", "count", right=(3, 4))
    for line in s.stock:
        length = tables.mm(line.length_mm, 0)
        stock.add_row(escape(line.form), escape(line.size), escape(line.material), length, str(line.count))
    to.print(stock)
    for name, machine in s.machines.items():
        to.print(f"machine {name}: {'; '.join(f'{_plain(k)} {_said(v)}' for k, v in machine.items())}", markup=False)
    for a in s.adhesives.values():
        to.print(f"adhesive {a.name}: gap on diameter {a.gap_least_mm:.3f} to {a.gap_most_mm:.3f} mm", markup=False)
    if view.learned:
        to.print("\n[bold]Learned from readings against aims[/]")
        for learned in view.learned:
            to.print(f"  {learned.words}", markup=False)
    return 0


def _read(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as fault:
        raise Refused("--file", got=str(file), reason="it is no text in UTF-8, or may not be read",
                      way_out="save it as plain text (UTF-8)") from fault  # fmt: skip


def _plain(key: str) -> str:
    return key.replace("_", " ")


def _said(value: Any) -> str:
    """A machine's entry in words: lists with commas, tables in brackets."""
    if isinstance(value, Mapping):
        return f"({', '.join(f'{_plain(k)} {_said(v)}' for k, v in value.items())})"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)
