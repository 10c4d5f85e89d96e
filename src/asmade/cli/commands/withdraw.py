"""asmade withdraw."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Take an entry back without losing it.")
@options.book
@click.argument("entry", type=int)
@click.option("--why", default="", help="Why.")
@options.what_if
@options.as_json
def command(book: str, entry: int, *, why: str, what_if: bool, as_json: bool) -> int:
    """Withdraw ENTRY (its number in the history): it no longer counts; withdrawing the withdrawal restores it."""
    from asmade.verbs import history, plain  # noqa: PLC0415

    saved = history.withdraw(book, entry, why=why, what_if=what_if)
    if as_json:
        options.say_json(plain.saved(saved))
    elif what_if:
        click.echo("what if: nothing saved")
    else:
        click.echo(f"entry {entry} withdrawn by entry {saved.entries[0]}; it stays in the history")
    return 0
