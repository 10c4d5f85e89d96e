"""asmade reckon thread."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "thread",
    cls=_shown.QuickSumCommand,
    example=("2 BA",),
    short_help="Sizes of a thread, its limits, over wires, what may stand for it.",
)
@click.argument("thread", nargs=-1, metavar="[THREAD]")
@click.option("--limits", default="", metavar="CLASS", help="Limits of a class: 6g, 6H, 2A, medium screw, nut ...")
@click.option("--wire", default="", metavar="SIZE", help="Wires to measure over; the best ones if not said.")
@click.option("--over", default="", metavar="READING", help="Reading over three wires: gives the effective diameter.")
@click.option("--instead", default="", metavar="SERIES", help="What may stand for it: M, BA, ME ... or any.")
@click.option("--have", multiple=True, metavar="THREAD", help="Only of these, for which the shop has taps and dies.")
@_shown.working
@options.as_json
def command(
    thread: tuple[str, ...], *, limits: str, wire: str, over: str, instead: str, have: tuple[str, ...],
    with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give the sizes of THREAD: 2 BA, 7/32 x 40, 1/4 BSF, M5, M5 x 0.5, 1/4-20 UNC, 1/8 BSP, 1/4 BSB."""
    from asmade.verbs.sums.thread import thread as reckon  # noqa: PLC0415

    found = reckon(_shown.words(thread), limits=limits, wire=wire, over=over, instead=instead, have=have)
    return _shown.say(found, as_json=as_json, with_working=with_working)
