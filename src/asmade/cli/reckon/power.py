"""asmade reckon power."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command("power", cls=_shown.QuickSumCommand, example=("20", "--depth", "1", "--feed", "0.1", "--motor", "370 W"),
               short_help="Force and power of a cut.")  # fmt: skip
@click.argument("diameter", nargs=-1, metavar="[DIAMETER]")
@click.option("--operation", default="turning", show_default=True, metavar="NAME", help="turning, drilling or milling.")
@click.option("--material", default="bright mild steel", show_default=True, metavar="NAME", help="What is cut.")
@click.option("--depth", default="", metavar="SIZE", help="On the radius, or of the milling cut.")
@click.option("--feed", default="", metavar="SIZE", help="Per turn, or per tooth in milling.")
@click.option("--width", default="", metavar="SIZE", help="How far a milling cutter is in, across.")
@click.option("--teeth", default="", metavar="N", help="Of a milling cutter.")
@click.option("--speed", default="", metavar="M/MIN", help="Cutting speed; 25 where not said.")
@click.option("--rpm", "rev_min", default="", metavar="SPEED", help="Of the spindle, in its place.")
@click.option("--motor", default="", metavar="POWER", help="370 W, 1/2 hp.")
@click.option("--efficiency", default="", metavar="SHARE", help="Of the drive; 0.7 where not said.")
@click.option("--book", default="", metavar="BOOK", help="Take the machine from this book's shop.")
@click.option("--machine", default="", metavar="NAME", help="Which machine of the book.")
@_shown.working
@options.as_json
def command(
    diameter: tuple[str, ...], *, operation: str, material: str, depth: str, feed: str, width: str, teeth: str,
    speed: str, rev_min: str, motor: str, efficiency: str, book: str, machine: str, with_working: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Give force, torque and power of a cut on DIAMETER (work, drill, cutter), and the deepest cut the motor bears."""
    from asmade.verbs.sums.power import power as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(diameter), operation=operation, material_name=material, depth=depth, feed=feed, width=width,
        teeth=teeth, speed=speed, rev_min=rev_min, motor=motor, efficiency=efficiency, book=book,
        machine_name=machine,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
