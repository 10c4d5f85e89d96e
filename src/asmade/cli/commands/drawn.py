"""asmade drawn."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Enter a size as the drawing states it.")
@options.book
@options.address
@click.argument("text", metavar="SIZE")
@click.option("--kind", default="", metavar="KIND", help="Kind of a dimension that the part does not have yet.")
@click.option("--process", default="", metavar="PROCESS", help="How it is made: turned, bored, reamed ...")
@click.option("--reference", default="", help="Sheet or view of the drawing.")
@options.what_if
@options.as_json
def command(
    book: str, address: str, text: str, *, kind: str, process: str, reference: str, what_if: bool, as_json: bool
) -> int:
    """Enter SIZE as drawn for ADDRESS (wheel.bore; wheel@2L.bore where one place is drawn apart; a figure's name).

    SIZE is written as the drawing has it: 1 3/16, 0.375, No. 40, 1/4 x 40, 12.5 mm. How it was read is shown back.
    """
    from asmade.verbs import drawn, plain  # noqa: PLC0415

    result = drawn.drawn(book, address, text, kind=kind, process=process, reference=reference, what_if=what_if)
    if as_json:
        options.say_json(plain.drawn(result))
        return 0
    entry = f"entry {result.saved.entries[0]}" if result.saved.entries else "what if: nothing saved"
    click.echo(f"{result.dimension} drawn {result.how or 'not known'}  ({entry})")
    return 0
