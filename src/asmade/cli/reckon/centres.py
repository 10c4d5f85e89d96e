"""asmade reckon centres."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown

EXAMPLE = ("164.05", "164.07", "164.06", "--pins", "18", "--slack", "0.06")


@click.command("centres", cls=_shown.QuickSumCommand, example=EXAMPLE, short_help="Centres over pins, axles or horns.")
@click.argument("over", nargs=-1, metavar="OVER...")
@click.option("--pins", multiple=True, metavar="SIZE", help="Diameter measured over; twice where the two differ.")
@click.option("--loose", default="0", show_default=True, metavar="SIZE", help="Looseness of the pins in their holes.")
@click.option("--slack", default="", metavar="SIZE", help="Each-way slack of the rod bored to them: does it suffice?")
@click.option("--horns", is_flag=True, help="The two readings are between fore faces and between aft faces of horns.")
@click.option(
    "--reads-to", default="0.01", show_default=True, metavar="SIZE", help="Standard uncertainty of a reading."
)
@_shown.working
@options.as_json
def command(
    over: tuple[str, ...], *, pins: tuple[str, ...], loose: str, slack: str, horns: bool, reads_to: str,
    with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """One reading OVER two pins stood in the holes; or several over two axles, whose mean the rod is bored to."""
    from asmade.verbs.sums.centres import centres as reckon  # noqa: PLC0415

    found = reckon(over, pins=pins, loose=loose, slack=slack, horns=horns, reads_to=reads_to)
    return _shown.say(found, as_json=as_json, with_working=with_working)
