"""asmade reckon bond."""

from __future__ import annotations

from typing import Any

import click

from asmade.cli import options
from asmade.cli.reckon import _shown

EXAMPLE = ("--hole", "15.90", "--shaft", "15.86", "--length", "14")


@click.command("bond", cls=_shown.QuickSumCommand, example=EXAMPLE, short_help="Bonded joints: gap, strength, cure.")
@click.option("--hole", default="", metavar="SIZE", help="The hole.")
@click.option("--shaft", default="", metavar="SIZE", help="The shaft.")
@click.option("--length", default="", metavar="SIZE", help="Length of the joint.")
@click.option("--strength", default="", metavar="STRESS", help="Shear strength by the data sheet (ISO 10123): 20 MPa.")
@click.option("--gap", default="", metavar="'LEAST to MOST'", help="The product's gap, ON DIAMETER.")
@click.option("--sheet", default="", metavar="NAME", help="The data sheet these are taken from.")
@click.option("--hub-material", default="cast iron 250", show_default=True, metavar="NAME")
@click.option("--shaft-material", default="bright mild steel", show_default=True, metavar="NAME")
@click.option("--surface", default="turned and degreased", show_default=True, metavar="NAME",
              help="... ground and degreased, polished or drawn, oily.")  # fmt: skip
@click.option("--warmth", default="room, up to 40 C", show_default=True, metavar="NAME",
              help="In service: ... warm, up to 80 C; hot, up to 120 C.")  # fmt: skip
@click.option("--safety", default="2", show_default=True, metavar="FACTOR", help="Factor of safety.")
@click.option("--factor", default="", metavar="SHARE", help="Share of the strength that counts, in place of all these.")
@click.option("--grooves", default="", metavar="SIZE", help="Length taken up by grooves.")
@click.option("--at", default="20 C", show_default=True, metavar="DEGREES", help="Of the workshop, for the times.")
@click.option("--working-time", default="", metavar="MINUTES", help="By the data sheet, until it grips.")
@click.option("--full-cure", default="", metavar="HOURS", help="By the data sheet, to full strength.")
@click.option("--turning", default="", metavar="TORQUE", help="Torque it has to carry: 1.8 N m.")
@click.option("--along", default="", metavar="FORCE", help="Force along it has to carry: 600 N.")
@_shown.working
@options.as_json
def command(*, with_working: bool, as_json: bool, **given: Any) -> int:
    """Work out a joint with a retaining adhesive: gap against the product's range, what it holds, time to cure.

    asmade reckon bond --hole 15.90 --shaft 15.86 --length 14 --strength "20 MPa" --gap "0.03 to 0.10"
    """
    from asmade.verbs.sums.bond import Asked, bond  # noqa: PLC0415

    return _shown.say(bond(Asked(**given)), as_json=as_json, with_working=with_working)
