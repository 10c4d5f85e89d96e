"""asmade reckon taper."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("taper", cls=_shown.QuickSumCommand, example=("--large", "20", "--small", "18", "--length", "40"),
               short_help="Tapers, topslide angles, sine packing.")  # fmt: skip
@click.option("--large", default="", metavar="SIZE", help="Large end, with --small and --length.")
@click.option("--small", default="", metavar="SIZE", help="Small end.")
@click.option("--length", default="", metavar="SIZE", help="Length of the taper.")
@click.option("--one-in", "one_in", default="", metavar="N", help="Or 1 in N on diameter.")
@click.option("--angle", default="", metavar="ANGLE", help="Or the half angle.")
@click.option("--fine", default="", metavar="SHARE",
              help="Or the topslide for fine cuts: 0.1 off the radius for 1 on the dial.")  # fmt: skip
@click.option("--dial", default="", metavar="SIZE", help="A division of the topslide, with --fine.")
@click.option("--between", default="", metavar="SIZE", help="Length between centres, for the tailstock.")
@click.option("--travel", default="", metavar="SIZE",
              help="Of slide or saddle under an indicator; 50 mm where not said.")  # fmt: skip
@click.option("--rollers", default="", metavar="SIZE", help="Centres of a sine bar's rollers.")
@_shown.working
@options.as_json
def command(
    *, large: str, small: str, length: str, one_in: str, angle: str, fine: str, dial: str, between: str, travel: str,
    rollers: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give the angle of a taper and how to set it by indicator, tailstock or sine bar."""
    from asmade.verbs.sums.taper import taper as reckon  # noqa: PLC0415

    found = reckon(
        large=large, small=small, length=length, one_in=one_in, angle=angle, fine=fine, dial=dial, between=between,
        travel=travel, rollers=rollers,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
