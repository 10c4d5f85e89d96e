"""asmade sheet."""

from __future__ import annotations

from pathlib import Path

import click

from asmade.cli import options
from asmade.measure.errors import Refused


@click.command(short_help="Job sheets for the bench, as text or PDF.")
@options.book
@click.argument("piece", metavar="PIECE|PART", required=False, default="", shell_complete=options.complete_address)
@click.option("--all", "every", is_flag=True, help="Sheets of every piece.")
@click.option("--set-up", "by_set_up", is_flag=True, help="Sheets by set-up: all pieces that go through it together.")
@click.option("-o", "--output", default="", metavar="FILE", help="Write it there: a PDF if FILE ends so, else text.")
@click.option("--paper", default="a5", show_default=True, metavar="a4|a5|a6", help="Paper of a PDF; a6: pocket.")
@click.option("--at", default="", metavar="ADDRESS", help="Address of the pages, for a QR code that opens the piece's.")
@click.option("--replace", is_flag=True, help="FILE may be there already.")
@options.as_json
def command(
    book: str, piece: str, *, every: bool, by_set_up: bool, output: str, paper: str, at: str, replace: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Give the job sheet of PIECE (wheel@2L), of every piece of a PART, or of all: sizes, operations, cautions."""
    from asmade.book.files import write_file  # noqa: PLC0415
    from asmade.verbs import sheet as verb  # noqa: PLC0415
    from asmade.verbs import sheet_text  # noqa: PLC0415

    if by_set_up and (piece or every):
        raise Refused(
            "sheet", got=piece or "--all", reason="sheets by set-up are of all pieces", way_out="--set-up alone"
        )
    pdf = Path(output).suffix.casefold() == ".pdf"
    made: bytes = b""
    if by_set_up:
        batches = verb.set_up_sheets(book)
        without, texts = batches.without, {f"set-up {s.number}": sheet_text.set_up_text(s) for s in batches.sheets}
        if pdf:
            from asmade.show.papers.sheets import set_ups_pdf  # noqa: PLC0415

            made = set_ups_pdf(batches.sheets, paper=paper)
    else:
        result = verb.sheet(book, piece, every=every)
        without, texts = result.without, {s.piece: sheet_text.text_of(s) for s in result.sheets}
        if pdf:
            from asmade.show.papers.sheets import sheets_pdf  # noqa: PLC0415

            made = sheets_pdf(result.sheets, paper=paper, at=at)
    if output:
        write_file(output, made or "\f".join(texts.values()).encode(), replace=replace)
    if as_json:
        options.say_json({"sheets": [{"piece": name, "text": text} for name, text in texts.items()],
                          "without_form": [{"part": p, "why": w} for p, w in without]})  # fmt: skip
        return 0
    if output:
        click.echo(f"{len(texts)} sheet{'s' if len(texts) != 1 else ''} written to {output}")
    else:
        click.echo("\f".join(texts.values()))
    for part, _ in without:
        click.echo(f"! {part} has no form: no sheet", err=True)
    return 0
