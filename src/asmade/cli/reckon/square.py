"""asmade reckon square."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("square", cls=_shown.QuickSumCommand, example=("8", "--sides", "6"),
               short_help="Squares and hexagons from round bar.")  # fmt: skip
@click.argument("across", nargs=-1, metavar="[ACROSS FLATS]")
@click.option("--sides", default="4", show_default=True, metavar="N", help="Number of flats: 2, 4, 6, 8 ...")
@click.option("--bar", default="", metavar="SIZE", help="The bar there is; else the least that does.")
@_shown.working
@options.as_json
def command(
    across: tuple[str, ...], *, sides: str, bar: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give bar, depth and width of each flat, and size over the corners, for a size ACROSS the flats."""
    from asmade.verbs.sums.square import square as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(across), sides=sides, bar=bar,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
