"""asmade history."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="All that was entered, withdrawn entries marked.")
@options.book
@click.argument("about", required=False, default="")
@click.option("--last", default=0, type=click.IntRange(min=0), metavar="N", help="Only the newest N.")
@options.as_json
def command(book: str, about: str, *, last: int, as_json: bool) -> int:
    """List the entries of BOOK in their order; ABOUT keeps those that speak of it."""
    from asmade.verbs import history, plain  # noqa: PLC0415

    lines = history.history(book, about=about, last=last)
    if as_json:
        options.say_json(plain.history(lines))
        return 0
    if about and not lines:
        click.echo(f"No entry speaks of {about!r}.")
    width = len(str(lines[-1].number)) if lines else 1
    for line in lines:
        gone = f"  WITHDRAWN: {line.withdrawn}" if line.withdrawn else ""
        click.echo(f"{line.number:>{width}}  {line.at[:16].replace('T', ' ')}  {line.words}{gone}")
    return 0
