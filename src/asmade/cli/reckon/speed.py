"""asmade reckon speed."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("speed", cls=_shown.QuickSumCommand, example=("20", "--material", "bright mild steel"),
               short_help="Spindle speeds.")  # fmt: skip
@click.argument("diameter", nargs=-1, metavar="[DIAMETER]")
@click.option("--material", default="bright mild steel", show_default=True, metavar="NAME", help="What is cut.")
@click.option("--operation", default="turning", show_default=True, metavar="NAME",
              help="turning, facing, drilling, reaming, milling, tapping ...")  # fmt: skip
@click.option("--tool", default="HSS", show_default=True, metavar="NAME", help="HSS or carbide.")
@click.option("--speeds", default="", metavar="'60 110 190'", help="Steps of your machine: the nearest below is named.")
@click.option("--book", default="", metavar="BOOK", help="Take the machine from this book's shop.")
@click.option("--machine", default="", metavar="NAME", help="Which machine of the book, where there are several.")
@_shown.working
@options.as_json
def command(
    diameter: tuple[str, ...], *, material: str, operation: str, tool: str, speeds: str, book: str, machine: str,
    with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give the spindle speeds for DIAMETER: of the work turned, or of the drill, reamer or cutter."""
    from asmade.verbs.sums.speed import speed as reckon  # noqa: PLC0415

    found = reckon(_shown.words(diameter), material_name=material, operation=operation, tool=tool, speeds=speeds,
                   book=book, machine_name=machine)  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
