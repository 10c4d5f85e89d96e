"""asmade next."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="What can be made now, ordered by what it frees.")
@options.book
@click.option(
    "--most", default=20, type=click.IntRange(min=1), show_default=True, metavar="N", help="How many pieces to list."
)
@options.as_json
def command(book: str, *, most: int, as_json: bool) -> int:
    """List the pieces whose sizes can be made now, and what waits for what."""
    from asmade.verbs import plain, upnext  # noqa: PLC0415

    result = upnext.upnext(book)
    if as_json:
        options.say_json(plain.upnext(result))
        return 0
    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    to.print(f"{result.made} of {result.sizes} sizes made")
    for piece in result.pieces:
        for line in piece.measure:
            to.print(f"measure again: {line}", markup=False)
    to.print(tables.steps(result.pieces, most))
    waiting = tables.table(f"Waiting ({len(result.waiting)})", "size", "until these are measured")
    for step in result.waiting[:most]:
        waiting.add_row(str(step.dimension), ", ".join(step.waits_for))
    if result.waiting:
        to.print(waiting)
    if len(result.waiting) > most:
        to.print(f"and {len(result.waiting) - most} more that wait")
    if result.not_drawn:
        to.print(f"{len(result.not_drawn)} sizes have no figure yet, such as {result.not_drawn[0].dimension}: "
                 "asmade drawn BOOK ADDRESS SIZE", markup=False)  # fmt: skip
    return 0
