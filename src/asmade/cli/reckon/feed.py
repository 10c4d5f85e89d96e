"""asmade reckon feed."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("feed", cls=_shown.QuickSumCommand, example=("6", "--operation", "drilling"),
               short_help="Feeds, and the ridges they leave.")  # fmt: skip
@click.argument("diameter", nargs=-1, metavar="[DIAMETER]")
@click.option("--operation", default="drilling", show_default=True, metavar="NAME",
              help="turning, roughing; turning, finishing; milling; reaming ...")  # fmt: skip
@click.option("--rpm", "rev_min", default="", metavar="SPEED", help="Of the spindle, for the feed along the work.")
@click.option("--teeth", default="", metavar="N", help="Of a milling cutter.")
@click.option("--nose", default="", metavar="MM", help="Radius of a turning tool's nose, for the ridges it leaves.")
@_shown.working
@options.as_json
def command(
    diameter: tuple[str, ...], *, operation: str, rev_min: str, teeth: str, nose: str, with_working: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Give the usual feed for DIAMETER of the work, drill or cutter, high-speed steel on a small machine."""
    from asmade.verbs.sums.feed import feed as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(diameter), operation=operation, rev_min=rev_min, teeth=teeth, nose=nose,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
