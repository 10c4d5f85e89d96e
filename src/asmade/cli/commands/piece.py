"""asmade piece."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Bring in, move, or scrap a piece by its mark.")
@options.book
@click.argument("piece", metavar="PIECE", shell_complete=options.complete_address)
@click.option("--to", required=True, metavar="PLACE|spare|scrap", help="Where it goes.")
@click.option("--why", default="", help="Why; worth saying of scrap.")
@options.what_if
@options.as_json
def command(book: str, piece: str, *, to: str, why: str, what_if: bool, as_json: bool) -> int:
    """Move PIECE (wheel#W3) to a place, to the spares or to scrap; a new mark brings a new piece in.

    Readings belong to the piece and go with it. An emptied place waits for a piece yet to be made.
    """
    from asmade.verbs import piece as pieces  # noqa: PLC0415
    from asmade.verbs import plain  # noqa: PLC0415

    result = pieces.piece(book, piece, to, why=why, what_if=what_if)
    if as_json:
        options.say_json(plain.piece(result))
        return 0
    for one in result.pieces:
        where = "scrap" if one.scrapped else f"at {one.place}" if one.place else "spare"
        click.echo(f"{one.seat}  {where}")
    if what_if:
        click.echo("what if: nothing saved")
    return 0
