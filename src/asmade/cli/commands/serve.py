"""asmade serve."""

from __future__ import annotations

import importlib

import click

from asmade.cli import options


@click.command(short_help="Open the book as pages in the browser; with --lan for phones too.")
@options.book
@click.option("--port", default=0, metavar="N", help="Port to serve at; the usual 8640 or the next that is free.")
@click.option("--no-browser", is_flag=True, help="Only say the address.")
@click.option("--lan", is_flag=True, help="Let paired phones of the home network in; shows a QR code.")
@click.option("--certificate", default="", metavar="FILE", help="Serve over https with this certificate (PEM).")
@click.option("--key", default="", metavar="FILE", help="The key of the certificate (PEM).")
def command(book: str, *, port: int, no_browser: bool, lan: bool, certificate: str, key: str) -> int:
    """Serve BOOK as pages for desk and bench, at an address of this machine alone, until Ctrl-C.

    With --lan phones and tablets of the home network may come in, once each has been paired by the code shown here.
    A paired device can read and write the whole book, and over plain http anybody on the same network can read along:
    for a home network with a password of its own only. docs/pages.md says what holds without a network.
    """
    pages = importlib.import_module("asmade.web.serve")  # by name: the two faces know nothing of each other
    pages.serve(
        book, port=port, browser=not no_browser, lan=lan, certificate=certificate, key=key, say=click.echo
    )  # fmt: skip
    return 0
