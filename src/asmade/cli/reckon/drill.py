"""asmade reckon drill."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "drill",
    cls=_shown.QuickSumCommand,
    example=("#40",),
    short_help="A drill by number, letter or size, and the drills near it.",
)
@click.argument("drill", nargs=-1, metavar="[DRILL|SIZE]")
@click.option("--series", default="", metavar="NAME", help="Near it only of: number, letter, fractional, metric.")
@click.option("--material", default="", metavar="NAME", help="What is drilled, for the hole it leaves.")
@click.option("--most", default=4, show_default=True, type=click.IntRange(1, 50), help="How many near ones to list.")
@_shown.working
@options.as_json
def command(drill: tuple[str, ...], *, series: str, material: str, most: int, with_working: bool, as_json: bool) -> int:
    """Give the size of a drill (#40, No. 40, letter F, 17/64 in, 4.2), those near it, and the hole it leaves."""
    from asmade.verbs.sums.drill import drill as reckon  # noqa: PLC0415

    found = reckon(_shown.words(drill), series=series, material_name=material, count=most)
    return _shown.say(found, as_json=as_json, with_working=with_working)
