"""asmade undone."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Enter that a joint has been undone, and how.")
@options.book
@options.joint
@click.option("--how", required=True, metavar="TEXT", help="How it was undone: 'heated to 250 C, drawn off'.")
@options.at
@options.by
@click.option("--note", default="", help="Anything worth remembering.")
@options.what_if
@options.as_json
def command(book: str, joint: str, *, how: str, at: str, by: str, note: str, what_if: bool, as_json: bool) -> int:
    """Enter that JOINT has been undone. With --what-if: read first how it is done, with its cautions."""
    from asmade.verbs import joined, plain_joining  # noqa: PLC0415

    result = joined.undone(book, joint, how=how, at=at, by=by, note=note, what_if=what_if)
    if as_json:
        options.say_json(plain_joining.undone(result))
        return 0
    entry = f"entry {result.saved.entries[0]}" if result.saved.entries else "what if: nothing saved"
    click.echo(f"{result.joint} undone: {result.how}  {entry}")
    click.echo(f"  usual way: {result.advice}")
    if result.sheet:
        click.echo(f"  {result.sheet}")
    for caution in result.cautions:
        click.echo(f"  caution: {caution.text}")
    for address in result.measure:
        click.echo(f"  measure {address} again before it is joined again")
    for name in result.also:
        click.echo(f"  ! {name} came after it and is still joined: was that undone too?")
    return 0
