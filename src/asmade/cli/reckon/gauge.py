"""asmade reckon gauge."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "gauge", cls=_shown.QuickSumCommand, example=("16 SWG",), short_help="Sheet and wire gauge, SWG and BWG."
)
@click.argument("gauge", nargs=-1, metavar="[GAUGE|SIZE]")
@_shown.working
@options.as_json
def command(gauge: tuple[str, ...], *, with_working: bool, as_json: bool) -> int:
    """Give the thickness of a gauge (16 SWG, 20 BWG), or the gauges nearest to a thickness (1.5 mm)."""
    from asmade.verbs.sums.drill import gauge as reckon  # noqa: PLC0415

    return _shown.say(reckon(_shown.words(gauge)), as_json=as_json, with_working=with_working)
