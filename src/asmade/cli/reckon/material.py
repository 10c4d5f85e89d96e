"""asmade reckon material."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "material",
    cls=_shown.QuickSumCommand,
    example=("EN1A", "--at", "12"),
    short_help="Strength, elasticity, density and cutting of a material.",
)
@click.argument("name", nargs=-1, metavar="[NAME]")
@click.option("--at", default="", metavar="SIZE", help="Only figures that hold at this size.")
@click.option("--condition", default="", metavar="NAME", help="Only of this delivery condition.")
@_shown.working
@options.as_json
def command(name: tuple[str, ...], *, at: str, condition: str, with_working: bool, as_json: bool) -> int:
    """Give what is known of a material by any of its names: EN1A, bright mild steel, CZ121, cast iron 250."""
    from asmade.verbs.sums.stock import material as reckon  # noqa: PLC0415

    found = reckon(_shown.words(name), at=at, condition=condition)
    return _shown.say(found, as_json=as_json, with_working=with_working)
