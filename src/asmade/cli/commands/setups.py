"""asmade setups."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Set-ups of all pieces put together, as few as the order allows.")
@options.book
@options.as_json
def command(book: str, *, as_json: bool) -> int:
    """List the set-ups of every piece still to be made, those alike done together."""
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import route as verb  # noqa: PLC0415

    result = verb.setups(book)
    if as_json:
        options.say_json(verb.setups_data(result))
        return 0
    to = tables.console()
    found = result.batches
    made = tables.table(f"{len(found.batches)} set-ups ({found.each_alone} piece by piece; "
    f"{found.words})", "no.", "machine", "held", "pieces",
                        right=(0,))  # fmt: skip
    for at, batch in enumerate(found.batches, start=1):
        setup, _ = result.setup(batch.members[0])
        pieces = ", ".join(piece for piece, _ in batch.members)
        made.add_row(str(at), setup.machine, escape(setup.held), escape(pieces))
    to.print(made)
    to.print(f"\n{result.standing}", markup=False)
    for part, _ in result.without:
        to.print(f"! {part} has no form: it is not planned", markup=False)
    return 0
