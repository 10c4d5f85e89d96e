"""asmade demo."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Make the invented demo book and show its board.")
@click.option("--to", "folder", default=".", show_default=True, metavar="DIR", help="Folder for harrowgill.asmade.")
@click.option("--no-serve", is_flag=True, help="Board in the terminal only (so it is today; see asmade serve).")
@options.as_json
def command(folder: str, *, no_serve: bool, as_json: bool) -> int:  # noqa: ARG001  # said in its help
    """Write harrowgill.asmade, an invented engine, into DIR if it is not there, and show its board.

    A book that is there is shown as it stands, never overwritten.
    """
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import demo, plain, show  # noqa: PLC0415

    made = demo.demo(folder)
    board = show.board(made.path)
    if as_json:
        options.say_json({"book": str(made.path), "created": made.created, "board": plain.board(board)})
        return 0
    click.echo(f"{made.path}: {'made' if made.created else 'was there, left as it is'}")
    tables.board(tables.console(), board)
    return 0
