"""asmade reckon gears."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown

EXAMPLE = ("1 mm", "--leadscrew", "8 tpi", "--owned", "20 2x25 30 35 40 45 50 55 60 63 65 80")


@click.command("gears", cls=_shown.QuickSumCommand, example=EXAMPLE,
               short_help="Change gears for a pitch.")  # fmt: skip
@click.argument("pitch", nargs=-1, metavar="[PITCH]")
@click.option("--leadscrew", default="", metavar="PITCH", help="8 tpi, 3 mm.")
@click.option("--owned", default="", metavar="'20 2x25 30'", help="Gears there are.")
@click.option("--length", default="", metavar="SIZE", help="Of thread engaged, for the error; 10 mm where not said.")
@click.option("--pairs", default="2", show_default=True, metavar="N", help="Pairs of gears at most: 1, 2, 3.")
@click.option("--book", default="", metavar="BOOK", help="Take the machine from this book's shop.")
@click.option("--machine", default="", metavar="NAME", help="Which machine of the book.")
@click.option("--all", "all_trains", is_flag=True, help="Also trains whose studs may not clear.")
@_shown.working
@options.as_json
def command(
    pitch: tuple[str, ...], *, leadscrew: str, owned: str, length: str, pairs: str, book: str, machine: str,
    all_trains: bool, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give the trains that cut PITCH (0.75 mm, 40 tpi) or that of a thread (M5, 2 BA): exact, else with their error."""
    from asmade.verbs.sums.gears import gears as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(pitch), leadscrew=leadscrew, owned=owned, length=length, pairs=pairs, book=book,
        machine_name=machine, all_trains=all_trains,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
