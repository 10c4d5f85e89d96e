"""asmade reckon index."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("index", cls=_shown.QuickSumCommand, example=("7",),
               short_help="Indexing: divisions and angles.")  # fmt: skip
@click.argument("divisions", nargs=-1, metavar="[DIVISIONS]")
@click.option("--angle", default="", metavar="ANGLE", help="In place of divisions: 11.5, 30d 12m.")
@click.option("--ratio", default="", metavar="N", help="Of the worm: 40, 60, 90; 40 where not said.")
@click.option("--plates", default="", metavar="'15 16 17 / 21 23'", help="Circles of each plate, plates parted by /.")
@click.option("--direct", default="", metavar="N", help="Holes of a plate on the spindle itself.")
@click.option("--gears", default="", metavar="'24 2x28 ...'", help="Gears there are, for differential indexing.")
@click.option("--diameter", default="", metavar="SIZE", help="For the error along the rim.")
@click.option("--book", default="", metavar="BOOK", help="Take the machine from this book's shop.")
@click.option("--machine", default="", metavar="NAME", help="Which machine of the book.")
@_shown.working
@options.as_json
def command(
    divisions: tuple[str, ...], *, angle: str, ratio: str, plates: str, direct: str, gears: str, diameter: str,
    book: str, machine: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give turns and holes for DIVISIONS or an angle: plain, compound, differential, else nearest, with its error."""
    from asmade.verbs.sums.index import index as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(divisions), angle=angle, ratio=ratio, plates_text=plates, direct_plate=direct, gears=gears,
        diameter=diameter, book=book, machine_name=machine,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
