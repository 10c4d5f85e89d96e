"""asmade profile."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Profile of a rod or plate for laser or water-jet cutting, as DXF.")
@options.book
@click.argument("piece", metavar="PIECE|PART", shell_complete=options.complete_address)
@click.option("-o", "--output", default="", metavar="FILE.dxf", help="Write it there (R2010, mm).")
@click.option("--allowance", default="0.5 mm", show_default=True, metavar="SIZE", help="Metal left all round.")
@click.option(
    "--holes-under", default="", metavar="SIZE", help="Cut holes so much smaller; else what a reamer of the size wants."
)
@click.option("--replace", is_flag=True, help="FILE may be there already.")
@options.as_json
def command(
    book: str, piece: str, *, output: str, allowance: str, holes_under: str, replace: bool, as_json: bool
) -> int:  # fmt: skip
    """Give the outline, openings, holes and marks of PIECE, or of a PART, to be cut from sheet.

    Holes smaller than the sheet is thick are only marked. Layers: CUT, HOLES, MARK, NOTE.
    """
    from asmade.measure.lengths import read_length  # noqa: PLC0415
    from asmade.verbs import profile as verb  # noqa: PLC0415

    result = verb.profile(
        book, piece, allowance_mm=float(read_length(allowance, unit="mm", thing="--allowance").mm),
        holes_under_mm=float(read_length(holes_under, unit="mm", thing="--holes-under").mm) if holes_under else None,
    )  # fmt: skip
    if output:
        from asmade.book.files import write_file  # noqa: PLC0415
        from asmade.show.profile_dxf import profile_dxf  # noqa: PLC0415

        write_file(output, profile_dxf(result), replace=replace)
    if as_json:
        options.say_json(verb.plain(result))
        return 0
    for note in result.notes:
        click.echo(note)
    if output:
        click.echo(f"profile written to {output}")
    return 0
