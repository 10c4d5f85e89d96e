"""asmade import."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from asmade.verbs.exchange import Imported


@click.command("import", short_help="Bring in a dimension list (.csv, .xlsx) or a text form (.toml).")
@click.argument("book", type=click.Path(dir_okay=False), metavar="BOOK", required=False, default="")
@click.argument("file", type=click.Path(), metavar="FILE", required=False, default="")
@click.option("--new", is_flag=True, help="Into a new book of that name.")
@click.option("--unit", default="", metavar="inch|mm", help="Unit of bare drawn figures, for a new book from a list.")
@click.option("--title", default="", help="Title of a new book from a list.")
@click.option("--leave-out-refused", is_flag=True, help="Save the rows that can be read, though others are refused.")
@click.option("--template", default="", metavar="FILE", help="Write an empty list (.csv or .xlsx) to fill in; no BOOK.")
@click.option("--replace", is_flag=True, help="The template may replace a file of that name.")
@options.what_if
@options.as_json
def command(
    book: str, file: str, *, new: bool, unit: str, title: str, leave_out_refused: bool, template: str, replace: bool,
    what_if: bool, as_json: bool,
) -> int:  # fmt: skip
    """Bring FILE into BOOK: what is new, what would change, what is the same, and every row refused, with its reason.

    If any row is refused, nothing is saved: mend it, or say --leave-out-refused. A .toml is merged (its design and
    shop), or with --new becomes a book; so do the entries (.jsonl) that export --entries writes.
    """
    from asmade.verbs import exchange  # noqa: PLC0415

    if template:
        if book or file:
            raise click.UsageError("--template writes an empty list and takes no BOOK and FILE beside it")
        made = exchange.template(template, replace=replace)
        if as_json:
            options.say_json(exchange.plain_export(made))
            return 0
        click.echo(f"{made.path}: fill it in, then: asmade import BOOK {made.path} --what-if")
        for note in made.notes:
            click.echo(f"  {note}")
        return 0
    if not book or not file:
        raise click.UsageError("it takes BOOK and FILE; --template FILE writes an empty list to fill in")
    if replace:
        raise click.UsageError("--replace goes with --template only: an import overwrites nothing")
    result = exchange.import_(
        book, file, new=new, unit=unit, title=title, leave_out_refused=leave_out_refused, what_if=what_if
    )
    if as_json:
        options.say_json(exchange.plain(result))
    else:
        _say(result)
    return 2 if result.saved is None else 0


FEW, MOST = 8, 40
"""Names in a line and rows of a table that are shown; the rest is counted."""


def _say(result: Imported) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    for part in result.new_parts[:MOST]:
        to.print(f"new part {part.name} at {' '.join(part.places)}", markup=False)
    _more(len(result.new_parts))
    if result.new_dimensions:
        shown = tables.table(f"New dimensions ({len(result.new_dimensions)})", "dimension", "kind", "drawn", "read as")
        for new in result.new_dimensions[:MOST]:
            shown.add_row(escape(str(new.address)), new.kind, escape(new.drawn), escape(new.how or "not known"))
        to.print(shown)
        _more(len(result.new_dimensions))
    if result.changed:
        shown = tables.table(f"Changed ({len(result.changed)})", "of", "what", "was", "is now")
        for change in result.changed[:MOST]:
            shown.add_row(*(escape(text) for text in (change.of, change.what, change.before, change.after)))
        to.print(shown)
        _more(len(result.changed))
    if result.new_relations:
        few = "; ".join(result.new_relations[:FEW])
        more = f"; and {len(result.new_relations) - FEW} more" if len(result.new_relations) > FEW else ""
        to.print(f"{len(result.new_relations)} new relations: {few}{more}", markup=False)
    if result.refused:
        shown = tables.table(f"Refused ({len(result.refused)})", "row", "value", "why", "way out", right=(0,))
        for row in result.refused:
            shown.add_row(str(row.row), escape(row.value), escape(row.reason), escape(row.way_out))
        to.print(shown)
    if result.not_read:
        to.print(f"columns not read: {', '.join(result.not_read)}", markup=False)
    for note in result.notes:
        to.print(f"note: {note}", markup=False)
    if result.same:
        to.print(f"{result.same} dimension{'s are' if result.same > 1 else ' is'} the same")
    if result.saved is None:
        to.print("nothing saved: mend the refused rows, or say --leave-out-refused")
    elif result.saved.what_if:
        to.print("what if: nothing saved")
    elif not result.saved.entries:
        to.print("nothing to save")
    else:
        first, last = result.saved.entries[0], result.saved.entries[-1]
        to.print(f"saved as entry {first}" if first == last else f"saved as entries {first} to {last}")


def _more(count: int) -> None:
    if count > MOST:
        click.echo(f"... and {count - MOST} more (--json gives all)")
