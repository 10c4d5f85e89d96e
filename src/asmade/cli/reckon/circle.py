"""asmade reckon circle."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("circle", cls=_shown.QuickSumCommand, example=("6", "--diameter", "40"),
               short_help="Hole circles by coordinates.")  # fmt: skip
@click.argument("holes", nargs=-1, metavar="[HOLES]")
@click.option("--diameter", default="", metavar="SIZE", help="Of the circle.")
@click.option("--start", default="0", show_default=True, metavar="ANGLE",
              help="Of the first hole, counter-clockwise from +x.")  # fmt: skip
@click.option("--centre", default="", metavar="'X, Y'", help="Middle of the circle from the datum.")
@click.option("--hole", default="", metavar="SIZE", help="For the metal between the holes.")
@click.option("--dial", default="", metavar="'2 mm / 0.02 mm'", help="A turn and a division of both dials.")
@click.option("--past", default="", metavar="SIZE", help="How far to go past and come back; 2 mm where not said.")
@click.option("--book", default="", metavar="BOOK", help="Take the machine from this book's shop.")
@click.option("--machine", default="", metavar="NAME", help="Which machine of the book.")
@click.option("--in-order", "in_order", is_flag=True, help="Keep the holes in their order round the circle.")
@_shown.working
@options.as_json
def command(
    holes: tuple[str, ...], *, diameter: str, start: str, centre: str, hole: str, dial: str, past: str, book: str,
    machine: str, in_order: bool, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give x and y of HOLES on a circle, the chord to check by, and the dials with backlash always taken up."""
    from asmade.verbs.sums.circle import circle as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(holes), diameter=diameter, start=start, centre=centre, hole=hole, dial=dial, past=past,
        book=book, machine_name=machine, in_order=in_order,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
