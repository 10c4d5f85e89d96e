"""asmade reckon radius."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("radius", cls=_shown.QuickSumCommand, example=("14.02", "34.00", "--sizes", "20"),
               short_help="Crank radius from inside and outside.")  # fmt: skip
@click.argument("inside", default="")
@click.argument("outside", default="")
@click.option("--sizes", default="", metavar="SIZE", help="Axle and pin diameter together, to prove the readings.")
@click.option(
    "--reads-to", default="0.01", show_default=True, metavar="SIZE", help="Standard uncertainty of a reading."
)
@_shown.working
@options.as_json
def command(inside: str, outside: str, *, sizes: str, reads_to: str, with_working: bool, as_json: bool) -> int:
    """Measure between the near edges of axle and pin (INSIDE) and over their far edges (OUTSIDE)."""
    from asmade.verbs.sums.radius import radius as reckon  # noqa: PLC0415

    found = reckon(inside, outside, sizes=sizes, reads_to=reads_to)
    return _shown.say(found, as_json=as_json, with_working=with_working)
