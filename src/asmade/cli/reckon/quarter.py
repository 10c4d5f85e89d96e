"""asmade reckon quarter."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown

EXAMPLE = ("--leading", "70.96", "--following", "71.02", "--over-journal", "59.0", "--journal", "18", "--pin", "8",
           "--radius", "24")  # fmt: skip


@click.command("quarter", cls=_shown.QuickSumCommand, example=EXAMPLE, short_help="Quarter of a wheelset from heights.")
@click.option("--leading", default="", metavar="SIZE", help="Height over the leading crank's pin.")
@click.option("--following", default="", metavar="SIZE", help="Height over the other pin.")
@click.option("--over-journal", default="", metavar="SIZE", help="Height over the axle journal.")
@click.option("--journal", default="", metavar="SIZE", help="Diameter of the journal.")
@click.option("--pin", default="", metavar="SIZE", help="Diameter of the crank pins.")
@click.option("--radius", default="", metavar="SIZE", help="Crank radius.")
@click.option("--pin-following", default="", metavar="SIZE", help="Of the other pin, where it differs.")
@click.option("--radius-following", default="", metavar="SIZE", help="Of the other crank, where it differs.")
@click.option(
    "--reads-to", default="0.01", show_default=True, metavar="SIZE", help="Standard uncertainty of a reading."
)
@_shown.working
@options.as_json
def command(
    leading: str, following: str, over_journal: str, journal: str, pin: str, radius: str, pin_following: str,
    radius_following: str, reads_to: str, *, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Stand the wheelset on vee blocks or between centres, both pins up at about 45 degrees, and measure heights.

    asmade reckon quarter --leading 70.96 --following 71.02 --over-journal 59 --journal 18 --pin 8 --radius 24
    """
    from asmade.verbs.sums.quarter import quarter as reckon  # noqa: PLC0415

    found = reckon(
        leading=leading, following=following, over_journal=over_journal, journal=journal, pin=pin, radius=radius,
        pin_following=pin_following, radius_following=radius_following, reads_to=reads_to,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
