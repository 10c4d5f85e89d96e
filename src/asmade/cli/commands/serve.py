"""asmade serve."""

from __future__ import annotations

import importlib

import click

from asmade.cli import options


@click.command(short_help="Open the book as pages in the browser, on this machine.")
@options.book
@click.option("--port", default=0, metavar="N", help="Port to serve at; the usual 8640 or the next that is free.")
@click.option("--no-browser", is_flag=True, help="Only say the address.")
def command(book: str, *, port: int, no_browser: bool) -> int:
    """Serve BOOK as pages for desk and bench, at an address of this machine alone, until Ctrl-C.

    Other machines cannot reach it: pages over the home network are not made yet.
    """
    pages = importlib.import_module("asmade.web.serve")  # by name: the two faces know nothing of each other
    pages.serve(book, port=port, browser=not no_browser, say=click.echo)
    return 0
