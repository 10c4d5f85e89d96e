"""asmade reckon length."""

from __future__ import annotations

import click

from asmade.cli import options
from asmade.cli.reckon import _shown


@click.command(
    "length",
    cls=_shown.QuickSumCommand,
    example=("1 3/16 in",),
    short_help="A length in mm, inches and 64ths; corrected to 20 °C.",
)
@click.argument("length", nargs=-1, metavar="[LENGTH]")
@click.option("--inch", is_flag=True, help="A bare figure is inches.")
@click.option("--temperature", default="", metavar="DEGREES", help="Of the part as measured: gives its size at 20 C.")
@click.option("--material", default="", metavar="NAME", help="Of the part, with --temperature.")
@click.option("--tool", default="20 C", show_default=True, metavar="DEGREES", help="Of the steel it is measured with.")
@_shown.working
@options.as_json
def command(
    length: tuple[str, ...], *, inch: bool, temperature: str, material: str, tool: str, with_working: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Give LENGTH in mm, inches, thou and 64ths: 1 3/16 in, 3/8 in + 1/64 in, 30 thou, 12.5 +0.1/-0."""
    from asmade.verbs.sums.drill import length as reckon  # noqa: PLC0415

    found = reckon(_shown.words(length), unit="inch" if inch else "mm", temperature=temperature,
                   material_name=material, tool=tool)  # fmt: skip
    return _shown.say(found, as_json=as_json, with_working=with_working)
