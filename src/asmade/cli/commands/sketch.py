"""asmade sketch."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Dimensioned sketch of a part or piece, as SVG.")
@options.book
@click.argument("piece", metavar="PIECE|PART", shell_complete=options.complete_address)
@click.option("--values", default="best", show_default=True, metavar="best|drawn|chosen|made|aim",
              help="Which figures are written; aim: limits to make it to.")  # fmt: skip
@click.option("--svg", default="", metavar="FILE", help="Write the sketch there.")
@click.option("--width", default="", metavar="SIZE", help="Width on paper it is laid out for (128 mm).")
@click.option("--replace", is_flag=True, help="FILE may be there already.")
@options.as_json
def command(
    book: str, piece: str, *, values: str, svg: str, width: str, replace: bool, as_json: bool
) -> int:  # fmt: skip
    """Draw PIECE (wheel@2L) or a PART with its dimensions, or say them in words.

    A framed figure is made, one with a ring is only drawn; what the views do not show stands below them. The sketch is
    laid out for its width: for a page of A5 128 mm, for a phone 95 mm.
    """
    from asmade.verbs import sketch as verb  # noqa: PLC0415

    result = verb.sketch(book, piece, figures=values)
    if svg:
        from asmade.book.files import write_file  # noqa: PLC0415
        from asmade.measure.lengths import read_length  # noqa: PLC0415
        from asmade.show.sketches import sketch_svg  # noqa: PLC0415

        wide = float(read_length(width, unit="mm", thing="--width").mm) if width else None
        text = sketch_svg(result, width_mm=wide, paper=wide is not None)
        write_file(svg, text.encode(), replace=replace)
    if as_json:
        options.say_json(verb.plain(result))
        return 0
    for line in verb.words(result):
        click.echo(line)
    if svg:
        click.echo(f"sketch written to {svg}")
    return 0
