"""asmade aim."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="What a size may be made to now.")
@options.book
@options.address
@click.option("--instrument", default="", metavar="NAME", help="What it will be measured with (guard band).")
@click.option("--to-bench", is_flag=True, help="Write the aim down: the size goes to the bench, its reading can teach.")
@options.what_if
@options.as_json
def command(book: str, address: str, *, instrument: str, to_bench: bool, what_if: bool, as_json: bool) -> int:
    """Say what the size at ADDRESS may be made to now, why, and with what chance it will be hit."""
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import aim, plain  # noqa: PLC0415

    result = aim.aim(book, address, instrument=instrument, to_bench=to_bench, what_if=what_if)
    if as_json:
        options.say_json(plain.aim_result(result))
    else:
        to = tables.console()
        for line in tables.aim(result.aim):
            to.print(line)
        if result.saved and result.saved.entries:
            to.print(f"written down as entry {result.saved.entries[0]}")
    return 1 if result.aim.state == "empty" else 0
