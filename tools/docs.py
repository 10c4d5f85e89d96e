"""The pages of docs/ that are made from the program itself: sources, kinds of requirement, commands.

python tools/docs.py --check    say which page is out of date (exit 1), as ./test does
python tools/docs.py --write    write them
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click

from asmade.cli.app import group
from asmade.reckon.system import kinds
from asmade.standards.pedigree import formulas
from asmade.standards.tables import Table, all_tables

ROOT = Path(__file__).resolve().parents[1]
DOCS = ROOT / "docs"
SOURCE = ROOT / "src"
MADE = "<!-- Made by tools/docs.py from the program; do not edit by hand. -->"
FORMULA_ROOMS = ("asmade.standards", "asmade.reckon.joints", "asmade.work")
WIDTH = 100


def table_rooms() -> tuple[str, ...]:
    """Packages of asmade that carry tables: those with a folder ``data``."""
    return tuple(sorted(".".join(folder.parent.relative_to(SOURCE).parts) for folder in SOURCE.glob("asmade/**/data")))


def sources() -> str:
    """Every table and every formula with its source, its range, and how it was confirmed."""
    return "\n".join(
        (
            "# Where the figures come from",
            "",
            MADE,
            "",
            "Every table and formula names its source, for what it holds, and how it was confirmed. A fact of the",
            'trade that no book gives is "common practice, no source"; what was recalled and not compared with a',
            'copy is "from memory": check it before you rely on it. Printed mistakes and differences between',
            "sources are in [ERRATA.md](ERRATA.md).",
            "",
            "## Tables",
            *(line for room in table_rooms() for line in _tables(room)),
            "",
            "## Formulas",
            *(line for room in FORMULA_ROOMS for line in _formulas(room)),
            "",
        )
    )


def _tables(room: str) -> Iterator[str]:
    yield from ("", f"### `{room}`", "")
    yield from _heads("table", "source, edition", "units", "holds for", "how it was read")
    for table in all_tables(room):
        meta = table.meta
        unit = meta.unit if isinstance(meta.unit, str) else "; ".join(f"{of}: {is_}" for of, is_ in meta.unit.items())
        yield _row(
            f"{meta.title} (`{table.name}.toml`)",
            f"{meta.source}; {meta.edition}",
            f"{meta.native}; {unit}",
            _holds_for(table),
            meta.read,
        )


def _holds_for(table: Table) -> str:
    """Range of a table: from where to where its steps go, or its first and last name."""
    count = "one row" if len(table.rows) == 1 else f"{len(table.rows)} rows"
    if table.steps:
        over, upto = table.steps
        return f"over {table.rows[0][over]} up to {table.rows[-1][upto]}; {count}"
    if table.key:
        return f"{table.rows[0][table.key]} to {table.rows[-1][table.key]}; {count}"
    return count


def _formulas(room: str) -> Iterator[str]:
    module = ""
    for one in formulas(room):
        if one.module != module:
            module = one.module
            yield from ("", f"### `{module}`", "")
            yield from _heads("name", "what it gives", "formula", "source", "holds for", "anchor")
        formula = "<br>".join(f"`{line}`" for line in one.formula.splitlines())
        yield _row(f"`{one.name}`", one.meaning, formula, one.source, one.range, one.anchor)


def kinds_page() -> str:
    """Every kind of requirement with what it takes and what it means."""
    lines = [
        "# Kinds of requirement",
        "",
        MADE,
        "",
        "Anything that can hold or fail is a requirement. Each is written once in the text form, as a block",
        "`[[kind]]`, and is worked out at each of its places. After the colon: the keys it takes.",
    ]
    for kind, module in sorted(kinds().items()):
        lines += ["", f"## `{kind}`", "", f"{_first(module.HELP)}.", "", (module.__doc__ or "").strip()]
    return "\n".join((*lines, ""))


def commands_page() -> str:
    """Every command with its help as the terminal shows it."""
    lines = ["# Commands", "", MADE]
    for name, command in _commands(group, "asmade"):
        context = click.Context(command, info_name=name, terminal_width=WIDTH, max_content_width=WIDTH)
        lines += ["", f"## `{name}`", "", "```text", *_stripped(command.get_help(context)), "```"]
    return "\n".join((*lines, ""))


def _commands(command: click.Command, name: str) -> Iterator[tuple[str, click.Command]]:
    """Walk a command and those below it, in the order of the help."""
    yield name, command
    if isinstance(command, click.Group):
        context = click.Context(command, info_name=name)
        for below in command.list_commands(context):
            found = command.get_command(context, below)
            if found is not None and not found.hidden:
                yield from _commands(found, f"{name} {below}")


def _stripped(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip().splitlines()]


def _first(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".")


def _heads(*names: str) -> tuple[str, str]:
    return f"| {' | '.join(names)} |", "|" + "---|" * len(names)


def _row(*cells: str) -> str:
    return f"| {' | '.join(' '.join(cell.split()).replace('|', '&#124;') for cell in cells)} |"


PAGES: dict[str, Callable[[], str]] = {"commands.md": commands_page, "kinds.md": kinds_page, "sources.md": sources}


def stale() -> dict[str, str]:
    """Pages that are not as the program would make them now, with what they should hold."""
    wanted = {name: make() for name, make in PAGES.items()}
    return {
        name: text
        for name, text in wanted.items()
        if not (DOCS / name).is_file() or (DOCS / name).read_text(encoding="utf-8") != text
    }


def main() -> int:
    """Check or write the pages; 1 if the check finds one out of date."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--check", action="store_true", help="say which page is out of date")
    what.add_argument("--write", action="store_true", help="write the pages that are out of date")
    writes = parser.parse_args().write
    found = stale()
    for name, text in found.items():
        if writes:
            (DOCS / name).write_text(text, encoding="utf-8")
        print(f"docs/{name} {'written' if writes else 'is out of date: python tools/docs.py --write'}")
    return 1 if found and not writes else 0


if __name__ == "__main__":
    sys.exit(main())
