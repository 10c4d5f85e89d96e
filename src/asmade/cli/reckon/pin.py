"""asmade reckon pin."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "pin", cls=_shown.QuickSumCommand, example=("3", "--shaft", "12"), short_help="Pins, keys and grub screws."
)
@click.argument("pin", nargs=-1, metavar="[DIAMETER]")
@click.option("--shaft", default="", metavar="SIZE", help="Diameter of the shaft it goes into.")
@click.option("--length", default="", metavar="SIZE", help="Let in along the joint, so long, half in each part.")
@click.option("--height", default="", metavar="SIZE", help="Of a key, whose width stands in place of the diameter.")
@click.option("--material", default="silver steel", show_default=True, metavar="NAME", help="Of the pin.")
@click.option("--shear", default="", metavar="STRESS", help="Shear stress it may bear, in place of the material's.")
@click.option("--crushing", default="", metavar="STRESS", help="Crushing stress of the softest part.")
@click.option("--safety", default="2", show_default=True, metavar="FACTOR", help="Factor of safety on the stress.")
@click.option("--turning", default="", metavar="TORQUE", help="Torque it has to carry: 1.8 N m.")
@click.option("--grub", default="", metavar="THREAD", help="A grub screw instead: M4, 2 BA.")
@_shown.working
@options.as_json
def command(
    pin: tuple[str, ...], *, shaft: str, length: str, height: str, material: str, shear: str, crushing: str,
    safety: str, turning: str, grub: str, with_working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Give what a pin holds: across itself, through a shaft, along a joint; a key; a grub screw.

    asmade reckon pin 3 --shaft 12          asmade reckon pin 3 --shaft 12 --length 10
    """
    from asmade.verbs.sums.pin import pin as reckon  # noqa: PLC0415

    found = reckon(
        _shown.words(pin), shaft=shaft, length=length, height=height, material_name=material, shear=shear,
        crushing=crushing, safety=safety, turning=turning, grub=grub,
    )  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
