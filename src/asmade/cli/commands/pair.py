"""asmade pair."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Which pin to which hole.")
@options.book
@click.argument("fit")
@click.option("--forbid", multiple=True, metavar="HOLE=SHAFT", help="A pair that must not be.")
@options.as_json
def command(book: str, fit: str, *, forbid: tuple[str, ...], as_json: bool) -> int:
    """Pair all measured pieces of FIT, spares included: most pairs first, then the poorest pair's margin."""
    from asmade.verbs import pair, plain  # noqa: PLC0415

    result = pair.pair(book, fit, forbid=forbid)
    if as_json:
        options.say_json(plain.pair(result))
        return 0
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    made = tables.table(fit, "hole", "shaft", "gap", "margin", "chance", right=(2, 3, 4))
    for p in result.pairing.pairs:
        chance = tables.per_cent(p.chance)
        made.add_row(escape(p.first), escape(p.second), tables.mm(p.gap), tables.mm(p.margin), chance)
    to.print(made)
    for kind, left in (("hole", result.pairing.unpaired_first), ("shaft", result.pairing.unpaired_second)):
        for one in left:
            need = f"{tables.mm(one.low) or '...'} to {tables.mm(one.high) or '...'}, best {tables.mm(one.wanted)}"
            near = f"; nearest {one.nearest}, {tables.mm(one.take_off)} to come off" if one.nearest else ""
            to.print(f"{kind} left over: {one.name} needs a mate of {need}{near}", markup=False)
    if result.unmeasured:
        to.print(f"not measured yet: {', '.join(result.unmeasured)}", markup=False)
    return 0
