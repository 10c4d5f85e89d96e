"""asmade reckon stock."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "stock",
    cls=_shown.QuickSumCommand,
    example=("11/16 in",),
    short_help="Bar and sheet as sold, its tolerance and mass.",
)
@click.argument("size", nargs=-1, metavar="[SIZE]")
@click.option("--shape", default="round bar", show_default=True, metavar="SHAPE",
              help="round, ground, hexagon or square bar; flat width, flat thickness, sheet.")  # fmt: skip
@click.option("--system", default="", metavar="SYSTEM", help="Only of: metric, inch, SWG, BWG.")
@click.option("--material", default="", metavar="NAME", help="Of the bar, for its mass.")
@click.option("--thickness", default="", metavar="SIZE", help="Of a flat, for its mass.")
@_shown.working
@options.as_json
def command(
    size: tuple[str, ...], *, shape: str, system: str, material: str, thickness: str, with_working: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Give the stock nearest to SIZE, the limits it is delivered to, its corners and its mass."""
    from asmade.verbs.sums.stock import stock as reckon  # noqa: PLC0415

    found = reckon(_shown.words(size), shape=shape, system=system, material_name=material, thickness=thickness)
    return _shown.say(found, as_json=as_json, with_working=with_working)
