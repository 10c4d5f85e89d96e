"""asmade demo."""

from __future__ import annotations

import importlib
import sys

import click

from asmade.cli import options


@click.command(short_help="Make the invented demo book, show its board, open its pages.")
@click.option("--to", "folder", default=".", show_default=True, metavar="DIR", help="Folder for harrowgill.asmade.")
@click.option("--no-serve", is_flag=True, help="Board in the terminal only.")
@click.option("--no-browser", is_flag=True, help="Serve the pages and only say their address.")
@click.option("--port", default=0, metavar="N", help="Port to serve at; the usual 8640 or the next that is free.")
@options.as_json
def command(folder: str, *, no_serve: bool, no_browser: bool, port: int, as_json: bool) -> int:
    """Write harrowgill.asmade, an invented engine, into DIR if it is not there; show its board and open its pages.

    A book that is there is shown as it stands, never overwritten. The pages are served until Ctrl-C, as by
    asmade serve; where the output goes to a file or another program, and with --json, the board is all.
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
    if no_serve or not sys.stdout.isatty():
        return 0
    click.echo()
    pages = importlib.import_module("asmade.web.serve")  # by name: the two faces know nothing of each other
    pages.serve(made.path, port=port, browser=not no_browser, say=click.echo)
    return 0
