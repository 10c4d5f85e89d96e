"""asmade done."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Enter that an operation has been done to a piece.")
@options.book
@click.argument("piece", metavar="PIECE", shell_complete=options.complete_address)
@click.argument("operation", metavar="OPERATION")
@options.at
@options.by
@click.option("--note", default="", help="Anything worth remembering.")
@click.option("--key", default="", help="Your own name for this entry: sent twice, it is saved once.")
@options.what_if
@options.as_json
def command(
    book: str, piece: str, operation: str, *, at: str, by: str, note: str, key: str, what_if: bool, as_json: bool
) -> int:
    """Enter that OPERATION ('back faced') has been done to PIECE (wheel#W4, or wheel@2R: whichever sits there)."""
    from asmade.verbs import done, plain_joining  # noqa: PLC0415

    result = done.done(book, piece, operation, at=at, by=by, note=note, what_if=what_if, key=key)
    if as_json:
        options.say_json(plain_joining.done(result))
        return 0
    for name, when in result.done:
        click.echo(f"{result.piece.seat}  {when[:10]}  {name}")
    if what_if:
        click.echo("what if: nothing saved")
    return 0
