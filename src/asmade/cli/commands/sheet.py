"""asmade sheet."""

from __future__ import annotations

from pathlib import Path

import click

from asmade.cli import options


@click.command(short_help="The job sheet of a piece, for the bench.")
@options.book
@click.argument("piece", metavar="PIECE|PART", required=False, default="", shell_complete=options.complete_address)
@click.option("--all", "every", is_flag=True, help="Sheets of every piece.")
@click.option("-o", "--output", default="", metavar="FILE", help="Write it there (text).")
@options.as_json
def command(book: str, piece: str, *, every: bool, output: str, as_json: bool) -> int:
    """Give the job sheet of PIECE (wheel@2L), of every piece of a PART, or of all: sizes, operations, cautions."""
    from asmade.verbs import sheet as verb  # noqa: PLC0415

    result = verb.sheet(book, piece, every=every)
    if as_json:
        options.say_json({"sheets": [{"piece": s.piece, "text": s.text} for s in result.sheets],
                          "without_form": [{"part": p, "why": w} for p, w in result.without]})  # fmt: skip
        return 0
    if output:
        Path(output).write_text(result.text, encoding="utf-8")
        click.echo(f"{len(result.sheets)} sheets written to {output}")
    else:
        click.echo(result.text)
    for part, _ in result.without:
        click.echo(f"! {part} has no form: no sheet", err=True)
    return 0
