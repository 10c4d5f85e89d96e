"""asmade reckon hole."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "hole",
    cls=_shown.QuickSumCommand,
    example=("25 H7",),
    short_help="Limits of a hole; its reamer; a hole made to suit a shaft.",
)
@click.argument("size", nargs=-1, metavar="[SIZE CLASS]")
@click.option("--to-suit", default="", metavar="SIZE", help="The shaft as measured ('15.86 to 15.87' if it varies).")
@click.option("--want", default="", metavar="WORDS|CLASSES", help="The fit wanted: running, push, press, H7/g6 ...")
@click.option("--clearance", default="", metavar="'LEAST to MOST'", help="... or the clearance wanted, on diameter.")
@click.option("--made", default="", metavar="SIZE", help="The hole as measured: which class takes it in.")
@_shown.working
@options.as_json
def command(
    size: tuple[str, ...], *, to_suit: str, want: str, clearance: str, made: str, with_working: bool, as_json: bool
) -> int:
    """Give the limits of a hole of a class, such as 25 H7.

    Made to suit its shaft: asmade reckon hole --to-suit 15.86 --want running
    """
    from asmade.verbs.sums.holes import hole  # noqa: PLC0415

    found = hole(_shown.words(size), to_suit=to_suit, want=want, clearance=clearance, made=made)
    return _shown.say(found, as_json=as_json, with_working=with_working)
