"""asmade record."""

from __future__ import annotations

from pathlib import Path

import click

from asmade.cli import options


@click.command(short_help="The build record as text: drawn, chosen, made, joints, notes, where it was left.")
@options.book
@click.option("-o", "--output", default="", metavar="FILE", help="Write it to FILE: a PDF if FILE ends so, else text.")
@click.option("--replace", is_flag=True, help="FILE may be there already.")
@click.option("--photos", default="", metavar="DIR", help="Write the photographs of the book into DIR as well.")
@click.option("--paper", default="a4", show_default=True, metavar="a4|a5", help="Paper of a PDF.")
@options.as_json
def command(book: str, *, output: str, replace: bool, photos: str, paper: str, as_json: bool) -> int:
    """Write the build record of BOOK: every part as drawn, chosen and made, joints, notes, open findings."""
    from asmade.verbs import photographs, plain_joining, record, record_text  # noqa: PLC0415

    found = record.record(book)
    pdf = Path(output).suffix.casefold() == ".pdf"
    if pdf:
        from asmade.book.files import write_file  # noqa: PLC0415
        from asmade.show.papers.record import record_pdf  # noqa: PLC0415

        write_file(output, record_pdf(found, photographs.photographs(book), paper=paper), replace=replace)
        if not as_json:
            click.echo(f"{output}: written")
    elif output:
        text = record_text.write_record(found, output, replace=replace)
        if not as_json:
            click.echo(f"{output}: {text.count(chr(10))} lines")
    written = photographs.write_photographs(book, photos) if photos else ()
    if as_json:
        options.say_json(plain_joining.record(found))
    elif not output:
        click.echo(record_text.record_text(found), nl=False)
    for photo in written:
        click.echo(f"{photo.file}{' was there, left as it is' if photo.was_there else ''}", err=True)
    return 0
