"""asmade show."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="The board; or one part; or one size.")
@options.book
@click.argument("what", required=False, default="", metavar="[PART|ADDRESS]", shell_complete=options.complete_address)
@options.as_json
def command(book: str, what: str, *, as_json: bool) -> int:
    """Show the board of BOOK: what is decided, made, at risk, and what to make next.

    With a PART, all its pieces and sizes; with an ADDRESS such as wheel@2L.bore, that size and where it comes from.
    """
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import plain, show  # noqa: PLC0415

    to = tables.console()
    if not what:
        board = show.board(book)
        if as_json:
            options.say_json(plain.board(board))
        else:
            tables.board(to, board)
        return 0
    if "." not in what and "@" not in what and "#" not in what:
        view = show.part(book, what)
        if as_json:
            options.say_json(plain.part(view))
        else:
            tables.part(to, view)
        return 0
    row, found = show.size(book, what)
    if as_json:
        options.say_json(plain.size(row) | {"findings": [plain.finding(f) for f in found]})
    else:
        tables.size(to, row, found)
    return 0
