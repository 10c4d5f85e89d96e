"""asmade export."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Write the book as text (.toml), as a list (.csv, .xlsx), or entry by entry.")
@options.book
@click.argument("file", type=click.Path(), metavar="FILE")
@click.option("--entries", is_flag=True, help="Every entry ever made, withdrawn ones too, one a line (.jsonl).")
@click.option("--replace", is_flag=True, help="Replace a file of that name.")
@options.as_json
def command(book: str, file: str, *, entries: bool, replace: bool, as_json: bool) -> int:
    """Write BOOK to FILE: .toml is the text form, .csv and .xlsx the dimension list, .jsonl the entries themselves.

    The text form holds all that stands; asmade import --new makes a book of it. The entries rebuild the very same book.
    """
    from asmade.verbs import exchange  # noqa: PLC0415

    result = exchange.export(book, file, entries=entries, replace=replace)
    if as_json:
        options.say_json(exchange.plain_export(result))
        return 0
    what = {"entries": "entries", "text": "lines of text", "dimension list": "rows"}[result.what]
    click.echo(f"{result.path}: {result.rows} {what}")
    for note in result.notes:
        click.echo(f"  {note}")
    return 0
