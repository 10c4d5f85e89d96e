"""asmade note."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Write a note, with photographs, about a part, a joint, or the book.")
@options.book
@click.argument("about", metavar="ADDRESS", shell_complete=options.complete_address)
@click.argument("text", required=False, default="", metavar="[TEXT]")
@click.option(
    "--photo", "photos", multiple=True, type=click.Path(), metavar="FILE",
    help="Keep this picture in the book (JPEG, PNG, WebP, HEIF, PDF; up to 20 MiB); may be repeated.",
)  # fmt: skip
@options.at
@options.by
@click.option("--key", default="", help="Your own name for this entry: sent twice, it is saved once.")
@options.what_if
@options.as_json
def command(
    book: str, about: str, text: str, *, photos: tuple[str, ...], at: str, by: str, key: str, what_if: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Write TEXT about ADDRESS: a part, piece (wheel#W4), size, a joint or relation by its name, or: book."""
    from asmade.verbs import done, plain_joining  # noqa: PLC0415

    result = done.note(book, about, text, photos=photos, at=at, by=by, what_if=what_if, key=key)
    if as_json:
        options.say_json(plain_joining.note(result))
        return 0
    entries = ", ".join(map(str, result.saved.entries))
    click.echo(f"{result.about}: {result.text}".rstrip(": ") + (f"  entry {entries}" if entries else "  nothing saved"))
    for photo in result.photos:
        click.echo(f"  {photo.name}  {photo.media_type}  {photo.size} bytes  {photo.digest[:12]}")
    return 0
