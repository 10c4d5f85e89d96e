"""asmade reckon press."""

from __future__ import annotations

from typing import Any

import click

from asmade.cli import options
from asmade.cli.reckon import _shown

EXAMPLE = (
    "--shaft", "12", "--hub", "30", "--length", "14", "--tight", "0.012", "--hub-material", "cast iron 250",
)  # fmt: skip


@click.command(
    "press",
    cls=_shown.QuickSumCommand,
    example=EXAMPLE,
    short_help="Press and shrink joints: stress, grip, force, heat.",
)
@click.option(
    "--shaft", default="", metavar="SIZE", help="Diameter of the joint; the shaft itself where --hole is given."
)
@click.option("--hub", default="", metavar="SIZE", help="Outside diameter of the hub (twice its thinnest wall more).")
@click.option("--length", default="", metavar="SIZE", help="Length of the joint.")
@click.option("--tight", default="", metavar="SIZE", help="Tight by, on diameter.")
@click.option("--hole", default="", metavar="SIZE", help="... or the hole as measured.")
@click.option("--want", default="", metavar="WORDS|CLASSES", help="... or a fit: press, drive, H7/s6.")
@click.option("--pressure", default="", metavar="STRESS", help="... or the pressure wanted: gives the tightness.")
@click.option("--shaft-bore", default="", metavar="SIZE", help="Bore of the shaft or bush; solid if not said.")
@click.option("--hub-material", default="cast iron 250", show_default=True, metavar="NAME")
@click.option("--shaft-material", default="bright mild steel", show_default=True, metavar="NAME")
@click.option(
    "--friction", default="", metavar="FRICTION", help="0.12, or '0.05 to 0.12'; that of the metals if not said."
)
@click.option("--shrunk", is_flag=True, help="Shrunk on clean, not pressed in with oil: other friction.")
@click.option("--hub-rz", default="", metavar="MICRONS", help="Roughness Rz of the bore, with --shaft-rz.")
@click.option("--shaft-rz", default="", metavar="MICRONS", help="Roughness Rz of the shaft.")
@click.option("--turning", default="", metavar="TORQUE", help="Torque it has to carry: 1.8 N m.")
@click.option("--along", default="", metavar="FORCE", help="Force along it has to carry: 600 N.")
@click.option("--hub-modulus", default="", metavar="STRESS", help="Modulus of elasticity of the hub: 110 GPa.")
@click.option("--hub-poisson", default="", metavar="RATIO", help="Poisson's ratio of the hub.")
@click.option("--shaft-modulus", default="", metavar="STRESS", help="Modulus of elasticity of the shaft: 210 GPa.")
@click.option("--shaft-poisson", default="", metavar="RATIO", help="Poisson's ratio of the shaft.")
@click.option("--hole-spread", default="", metavar="SIZE", help="Standard deviation of the hole: gives chances.")
@click.option("--shaft-spread", default="", metavar="SIZE", help="Standard deviation of the shaft.")
@_shown.working
@options.as_json
def command(*, with_working: bool, as_json: bool, **given: Any) -> int:
    """Work out a press or shrink joint: pressure, stress against strength, what it holds, force and heat to assemble.

    asmade reckon press --shaft 12 --hub 30 --length 14 --tight 0.012 --hub-material "cast iron 250"
    """
    from asmade.verbs.sums.press import Asked, press  # noqa: PLC0415

    return _shown.say(press(Asked(**given)), as_json=as_json, with_working=with_working)
