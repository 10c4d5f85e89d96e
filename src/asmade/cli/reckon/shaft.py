"""asmade reckon shaft."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "shaft",
    cls=_shown.QuickSumCommand,
    example=("25 g6",),
    short_help="Limits of a shaft; a shaft made to suit a hole.",
)
@click.argument("size", nargs=-1, metavar="[SIZE CLASS]")
@click.option("--to-suit", default="", metavar="SIZE", help="The hole as measured ('15.86 to 15.87' if it varies).")
@click.option("--want", default="", metavar="WORDS|CLASSES", help="The fit wanted: running, push, press, H7/g6 ...")
@click.option("--clearance", default="", metavar="'LEAST to MOST'", help="... or the clearance wanted, on diameter.")
@click.option("--made", default="", metavar="SIZE", help="The shaft as measured: which class takes it in.")
@_shown.working
@options.as_json
def command(
    size: tuple[str, ...], *, to_suit: str, want: str, clearance: str, made: str, with_working: bool, as_json: bool
) -> int:
    """Give the limits of a shaft of a class, such as 25 g6.

    Made to suit its hole: asmade reckon shaft --to-suit 15.90 --want running
    """
    from asmade.verbs.sums.holes import shaft  # noqa: PLC0415

    found = shaft(_shown.words(size), to_suit=to_suit, want=want, clearance=clearance, made=made)
    return _shown.say(found, as_json=as_json, with_working=with_working)
