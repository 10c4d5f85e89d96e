"""asmade buy."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="What must be bought for the pieces still to make, by material and size.")
@options.book
@click.option("--lengths", default="", metavar="'A, B'", help="Lengths in which your dealer sells bar.")
@click.option("--no-rack", is_flag=True, help="As if the rack were empty.")
@click.option("-o", "--output", default="", metavar="FILE", help="Write it there: .csv, .xlsx or .pdf.")
@click.option("--replace", is_flag=True, help="FILE may be there already.")
@click.option("--paper", default="a4", show_default=True, metavar="a4|a5", help="Paper of a PDF.")
@options.as_json
def command(book: str, *, lengths: str, no_rack: bool, output: str, replace: bool, paper: str, as_json: bool) -> int:
    """List bar, sheet and castings to buy for all pieces not yet begun, with their mass. See cutlist for the cuts.

    Exit code 1 if some piece goes on no bar that is sold.
    """
    from asmade.verbs.cutlist import cutlist, plain_buy, read_asked  # noqa: PLC0415

    result = cutlist(book, read_asked(lengths=lengths, no_rack=no_rack))
    if output:
        from asmade.cli.commands.cutlist import write_list  # noqa: PLC0415

        write_list(book, result, "buying", output, paper=paper, replace=replace)
    if as_json:
        options.say_json(plain_buy(result))
        return 1 if result.short else 0
    if output:
        click.echo(f"{output}: written")
        return 1 if result.short else 0
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.cli.commands.cutlist import say_no_blank  # noqa: PLC0415
    from asmade.verbs.lists import words_of  # noqa: PLC0415

    to = tables.console()
    rows = tables.table("To buy", "material", "what", "", "length mm", "kg", "for", right=(2, 3, 4))
    for line in result.buy:
        rows.add_row(
            line.section.material, words_of(line),
            str(line.count), "" if line.length_mm is None else f"{line.length_mm:.0f}",
            "" if line.mass_kg is None else f"{line.mass_kg:.3f}", ", ".join(line.for_parts),
        )  # fmt: skip
    to.print(rows)
    mass = plain_buy(result)
    unknown = f"; of {mass['mass_not_known']} lines the mass is not known" if mass["mass_not_known"] else ""
    to.print(f"{mass['mass_kg']:.2f} kg in all{unknown}", markup=False)
    for group in result.groups:
        for note in group.notes:
            to.print(f"! {note}", markup=False)
    say_no_blank(to, result)
    return 1 if result.short else 0
