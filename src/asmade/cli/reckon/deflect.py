"""asmade reckon deflect."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("deflect", cls=_shown.QuickSumCommand, example=("10", "--length", "50"),
               short_help="How far work gives under the cut.")  # fmt: skip
@click.argument("diameter", nargs=-1, metavar="[DIAMETER]")
@click.option("--length", default="", metavar="SIZE", help="Out of the chuck, or between the centres.")
@click.option("--held", default="chuck only", show_default=True, metavar="HOW",
              help="chuck only, chuck and centre, between centres.")  # fmt: skip
@click.option("--material", default="bright mild steel", show_default=True, metavar="NAME", help="Of the work.")
@click.option("--force", default="", metavar="FORCE", help="Radial; else half that of the cut.")
@click.option("--depth", default="", metavar="SIZE", help="Of the cut, on the radius; 0.5 where not said.")
@click.option("--feed", default="", metavar="SIZE", help="Per turn; 0.1 where not said.")
@click.option("--bore", default="", metavar="SIZE", help="Where the work is hollow.")
@click.option("--allowed", default="", metavar="SIZE", help="On diameter, for the longest that may stand out.")
@_shown.working
@options.as_json
def command(
    diameter: tuple[str, ...], *, length: str, held: str, material: str, force: str, depth: str, feed: str,
    bore: str, allowed: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give how much too large work of DIAMETER comes out where it gives under the cut, and where."""
    from asmade.verbs.sums.deflect import deflect as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(diameter), length=length, held=held, material_name=material, force=force, depth=depth,
        feed=feed, bore=bore, allowed=allowed,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
