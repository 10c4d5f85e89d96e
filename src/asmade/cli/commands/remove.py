"""asmade remove."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Take a mistaken part, dimension, relation or figure out.")
@options.book
@click.argument("names", nargs=-1, required=True, metavar="NAME...", shell_complete=options.complete_address)
@click.option("--with-what-needs-it", is_flag=True, help="Take out the relations that speak of it too.")
@options.what_if
@options.as_json
def command(book: str, names: tuple[str, ...], *, with_what_needs_it: bool, what_if: bool, as_json: bool) -> int:
    """Take NAME out: a part, wheel.bore, a relation by its name (fit.NAME where two have it), a figure.

    It stays in the history: withdrawing the entry puts it back. Readings of it are withdrawn first.
    """
    from asmade.verbs import remove  # noqa: PLC0415

    result = remove.remove(book, names, with_what_needs_it=with_what_needs_it, what_if=what_if)
    if as_json:
        options.say_json(remove.plain(result))
        return 0
    for path in result.paths:
        click.echo(f"{'would take out' if what_if else 'taken out'}: {path}")
    if not what_if:
        click.echo(f"entry {result.saved.entries[0]}; to put it back: asmade withdraw {book} {result.saved.entries[0]}")
    return 0
