"""asmade route."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="How a piece is made: set-ups and operations in order.")
@options.book
@click.argument("piece", metavar="PIECE", shell_complete=options.complete_address)
@click.option("--remove", default="", metavar="OPERATION", help="Leave an operation out.")
@click.option("--add", default="", metavar="NAME", help="Add an operation of your own (with --before and --text).")
@click.option("--move", default="", metavar="OPERATION", help="Put an operation earlier (with --before).")
@click.option("--note", default="", metavar="OPERATION", help="Put a note to an operation (with --text).")
@click.option("--before", default="", metavar="OPERATION", help="Before which one.")
@click.option("--text", default="", metavar="WORDS", help="Your words: what to do, or why.")
@options.what_if
@options.as_json
def command(
    book: str, piece: str, *, remove: str, add: str, move: str, note: str, before: str, text: str, what_if: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Say how PIECE is made (wheel@2L, wheel#W3, or a part): what is held in what, cuts, speeds, checks, cautions.

    Operations go by feature and process ("bore reamed"), so your changes stay when sizes change; `asmade withdraw`
    takes one back.
    """
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import route as verb  # noqa: PLC0415

    asked = [(do, key) for do, key in (("remove", remove), ("add", add), ("before", move), ("note", note)) if key]
    if len(asked) > 1:
        raise click.UsageError("one change at a time: --remove, --add, --move or --note")
    if asked and asked[0][0] in ("add", "before") and not before:
        raise click.UsageError("say before which operation: --before OPERATION")
    edit = verb.Edit("", asked[0][0], asked[0][1], before, text) if asked else None
    result = verb.route(book, piece, edit=edit, what_if=what_if)
    if as_json:
        options.say_json(verb.route_data(result))
        return 0
    to = tables.console()
    route = result.route
    to.print(f"[bold]{route.seat}[/], from {route.stock.name if route.stock else 'stock not known'}", soft_wrap=True)
    for words in (
        *(f"lacking: {each}" for each in route.lacks),
        *route.warnings,
        *(f"not planned: {u}" for u in route.unplanned),
    ):
        to.print(f"  ! {words}", markup=False)
    for setup, ops in route.set_ups:
        made = tables.table(f"{setup.name} ({setup.machine}): {setup.held}", "operation", "what", "speed", whole=())
        for op in ops:
            speed = f"{op.rev_min:g}" if op.rev_min else ""
            extra = "".join(f"\n! {warning}" for warning in op.warnings) + (
                f"\nyour note: {op.note}" if op.note else ""
            )
            made.add_row(op.key, escape(op.words + extra), speed)
        to.print(made)
    if result.saved and result.saved.entries:
        to.print(f"written down as entry {result.saved.entries[0]}")
    return 0
