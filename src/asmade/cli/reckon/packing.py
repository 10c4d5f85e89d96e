"""asmade reckon packing."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("packing", cls=_shown.QuickSumCommand, example=("3", "--diameter", "25"),
               short_help="Packing under one jaw for an eccentric.")  # fmt: skip
@click.argument("offset", nargs=-1, metavar="[OFFSET]")
@click.option("--diameter", default="", metavar="SIZE", help="Of the work where it is held.")
@click.option("--thickness", default="", metavar="SIZE", help="Packing there is: gives the offset.")
@_shown.working
@options.as_json
def command(
    offset: tuple[str, ...], *, diameter: str, thickness: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give the packing under one jaw of a three-jaw chuck for an OFFSET: exactly, and by the rule of 1.5."""
    from asmade.verbs.sums.packing import packing as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(offset), diameter=diameter, thickness=thickness,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
