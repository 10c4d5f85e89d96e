"""asmade reckon tap."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "tap", cls=_shown.QuickSumCommand, example=("2 BA",), short_help="Tapping and clearance drills of a thread."
)
@click.argument("thread", nargs=-1, metavar="[THREAD]")
@click.option("--percent", default="", metavar="SHARE", help="Share of full thread wanted, 40 to 100.")
@click.option("--drill", default="", metavar="DRILL", help="What this drill leaves of the thread.")
@click.option("--have", multiple=True, metavar="DRILL", help="Only of these drills, those in the shop.")
@_shown.working
@options.as_json
def command(
    thread: tuple[str, ...], *, percent: str, drill: str, have: tuple[str, ...], with_working: bool, as_json: bool
) -> int:
    """Give the tapping drill of THREAD, the share of thread it leaves, and the clearance drills."""
    from asmade.verbs.sums.thread import tap  # noqa: PLC0415

    found = tap(_shown.words(thread), percent=percent, drill=drill, drills=have)
    return _shown.say(found, as_json=as_json, with_working=with_working)
