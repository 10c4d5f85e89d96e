"""asmade reckon fit."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "fit",
    cls=_shown.QuickSumCommand,
    example=("25 H7/g6",),
    short_help="Limits and clearance of a fit, by class or in the trade's words.",
)
@click.argument("fit", nargs=-1, metavar="[SIZE [CLASSES|WORDS]]")
@click.option("--hole", default="", metavar="SIZE", help="The hole as measured, with --shaft.")
@click.option("--shaft", default="", metavar="SIZE", help="The shaft as measured, with --hole.")
@click.option("--clearance", default="", metavar="'LEAST to MOST'", help="Wanted on diameter: find the classes.")
@click.option("--basis", default="hole", type=click.Choice(["hole", "shaft"]), help="Of the classes to be found.")
@click.option("--hot", default="", metavar="DEGREES", help="... and what is left of it warm, both parts alike.")
@click.option("--hole-material", default="", metavar="NAME", help="Of the part with the hole, for --hot.")
@click.option("--shaft-material", default="", metavar="NAME", help="Of the shaft, for --hot.")
@_shown.working
@options.as_json
def command(fit: tuple[str, ...], *, with_working: bool, as_json: bool, **given: str) -> int:
    """Give limits and clearance of a fit: 25 H7/g6, 5/8 in running; a SIZE alone lists the fits there are.

    With --hole and --shaft as measured: what fit that is. With --clearance: the classes that give it.
    """
    from asmade.verbs.sums.fit import fit as reckon  # noqa: PLC0415

    found = reckon(_shown.words(fit), **given)
    return _shown.say(found, as_json=as_json, with_working=with_working)
