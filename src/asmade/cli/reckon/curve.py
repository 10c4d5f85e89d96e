"""asmade reckon curve."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown

EXAMPLE = ("--centres", "110", "--centres", "110", "--freedom", "1")


@click.command("curve", cls=_shown.QuickSumCommand, example=EXAMPLE, short_help="Least curve, versine, flange room.")
@click.option("--centres", multiple=True, metavar="SIZE", help="Between neighbouring axles, from the front; repeat it.")
@click.option(
    "--freedom", multiple=True, metavar="SIZE", help="Sideways, each way: one for all axles, or one for each."
)
@click.option("--gauge", default="", metavar="SIZE", help="Between the rails.")
@click.option("--back-to-back", default="", metavar="SIZE", help="Between the backs of the wheels.")
@click.option("--flange", default="", metavar="SIZE", help="Thickness of a flange.")
@click.option("--radius", default="", metavar="SIZE", help="Of a curve, for its versine ...")
@click.option("--chord", default="", metavar="SIZE", help="... on this chord.")
@_shown.working
@options.as_json
def command(
    centres: tuple[str, ...], freedom: tuple[str, ...], *, gauge: str, back_to_back: str, flange: str, radius: str,
    chord: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give the least radius of curve that the axles' sideways freedom allows.

    asmade reckon curve --centres 146 --centres 133 --freedom 0.8 --gauge 127 --back-to-back 119 --flange 2.4
    """
    from asmade.verbs.sums.curve import curve as reckon  # noqa: PLC0415

    found = reckon(centres=centres, freedom=freedom, gauge=gauge, back_to_back=back_to_back, flange=flange,
                   radius=radius, chord=chord)  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
