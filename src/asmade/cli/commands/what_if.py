"""asmade what-if."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.measure.errors import Refused


@click.command("what-if", short_help="Sizes put otherwise for a moment: every verdict that would move.")
@options.book
@click.argument("sizes", metavar="ADDRESS=SIZE...", nargs=-1, required=True)
@options.as_json
def command(book: str, sizes: tuple[str, ...], *, as_json: bool) -> int:
    """Try sizes on BOOK (wheel.bore=15.9 mm) and show what would move; nothing is saved.

    A size that is made is tried as if it measured so, any other as if it were chosen so.
    """
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415
    from asmade.reckon.values import compute  # noqa: PLC0415
    from asmade.verbs import what_if as verb  # noqa: PLC0415
    from asmade.verbs.check import findings_of  # noqa: PLC0415
    from asmade.verbs.store import read  # noqa: PLC0415

    asked = {}
    for each in sizes:
        address, equals, size = each.partition("=")
        if not equals:
            raise Refused("what if", got=each, reason="there is no = in it", way_out="wheel.bore=15.9")
        asked[address.strip()] = size.strip()
    opened = read(book)
    values = compute(opened.build)
    result = verb.what_if(opened, values, findings_of(values), asked)
    if as_json:
        options.say_json(verb.plain(result))
        return 0
    to = tables.console()
    for put in result.put:
        to.print(f"{put.address}: {put.how}{' as if measured' if put.made else ''}", markup=False)
    rows = tables.table("What would move", "what", "was", "margin", "would be", "margin", right=(2, 4))
    for pair in result.moved:
        was, now = pair.before, pair.after
        rows.add_row(
            escape(now.subject),
            tables.verdict(was.verdict),
            tables.figure(was.margin, was.unit),
            tables.verdict(now.verdict),
            tables.figure(now.margin, now.unit),
        )
    to.print(rows)
    to.print(f"{result.still} findings stay as they are; nothing was saved", markup=False)
    return 0
