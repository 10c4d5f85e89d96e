"""asmade new."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Start a book for an arrangement of wheels, composed from kits.")
@options.book
@click.option("--arrangement", default="0-6-0", show_default=True, help="Wheels: 0-4-0, 0-6-0, 2-6-0 ...")
@click.option("--unit", default="inch", show_default=True, metavar="inch|mm", help="Unit of bare drawn figures.")
@click.option("--title", default="", help="Name of the engine; the file's name if left out.")
@click.option("--rods", default="plain", show_default=True, metavar="plain|knuckle", help="Coupling rods.")
@click.option("--driven", default="", metavar="AXLE", help="Coupled axle that the connecting rods work on.")
@click.option("--leads", default="R", show_default=True, metavar="R|L", help="Side whose crank is ahead.")
@click.option(
    "--gear",
    default="",
    metavar="NAME",
    help="Valve gear to put in too: walschaerts, stephenson, fixed-eccentric, slip-eccentric, joy.",
)
@options.what_if
@options.as_json
def command(
    book: str, *, arrangement: str, unit: str, title: str, rods: str, driven: str, leads: str, gear: str, what_if: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Start BOOK with the parts, places and relations of its running gear; the sizes are yours to fill in."""
    from asmade.verbs import new as starting  # noqa: PLC0415

    result = starting.new(
        book,
        arrangement=arrangement,
        unit=unit,
        title=title,
        rods=rods,
        driven=driven,
        leads=leads,
        gear=gear,
        what_if=what_if,
    )
    if as_json:
        options.say_json({
            "book": str(result.path), "arrangement": result.arrangement, "parts": result.parts,
            "dimensions": result.dimensions, "relations": result.relations, "to_fill_in": list(result.to_fill_in),
            "saved": {"entries": list(result.saved.entries), "what_if": result.saved.what_if},
        })  # fmt: skip
        return 0
    click.echo(f"{result.path}: {result.arrangement}, {result.parts} parts, {result.dimensions} dimensions, "
               f"{result.relations} relations")  # fmt: skip
    click.echo(f"A bare drawn figure is in {result.saved.build.design.drawing_unit}.")
    click.echo(f"{len(result.to_fill_in)} sizes to fill in from the drawing: asmade drawn {book} ADDRESS SIZE, or")
    click.echo(f"asmade export {book} NAME.xlsx, fill in its column drawn, asmade import {book} NAME.xlsx --what-if")
    if what_if:
        click.echo("what if: nothing saved")
    return 0
