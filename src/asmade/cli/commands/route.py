"""asmade route."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from collections.abc import Iterator

    from rich.console import Console

    from asmade.verbs.route import RouteResult
    from asmade.work.recipes.model import Operation

CHANGES = ("remove", "add", "move", "edit", "note")


@click.command(short_help="How a piece is made: set-ups and operations in order.")
@options.book
@click.argument("piece", metavar="PIECE", shell_complete=options.complete_address)
@click.option("--remove", default="", metavar="OPERATION", help="Leave an operation out.")
@click.option("--add", default="", metavar="NAME", help="Add one of your own (with --before or --after, and --text).")
@click.option("--move", default="", metavar="OPERATION", help="Put an operation elsewhere (with --before or --after).")
@click.option("--edit", default="", metavar="OPERATION", help="Say an operation in your own words (with --text).")
@click.option("--note", default="", metavar="OPERATION", help="Put a note to an operation (with --text).")
@click.option("--before", default="", metavar="OPERATION", help="Before which one.")
@click.option("--after", default="", metavar="OPERATION", help="After which one.")
@click.option("--text", default="", metavar="WORDS", help="Your words: what to do, or why.")
@options.what_if
@options.as_json
def command(
    book: str, piece: str, *, before: str, after: str, text: str, what_if: bool, as_json: bool, **asked: str
) -> int:
    """Say how PIECE is made (wheel@2L, wheel#W3, or a part): what is held in what, cuts, speeds, checks, cautions.

    Operations go by feature and process ("bore reamed"), so your changes stay when sizes change; they are listed with
    the numbers of their entries, and `asmade withdraw` takes one back.
    """
    from asmade.verbs import route as verb  # noqa: PLC0415

    changes = [(name, asked[name]) for name in CHANGES if asked[name]]
    if len(changes) > 1:
        raise click.UsageError("one change at a time: --remove, --add, --move, --edit or --note")
    if not changes:
        result = verb.route(book, piece)
    else:
        ((do, operation),) = changes
        if do in ("add", "move") and bool(before) == bool(after):
            raise click.UsageError("say beside which operation: --before OPERATION, or --after OPERATION")
        if do in ("edit", "note") and not text:
            raise click.UsageError("say it: --text WORDS")
        match do:
            case "remove":
                result = verb.remove(book, piece, operation, text=text, what_if=what_if)
            case "add":
                result = verb.add(book, piece, operation, before=before, after=after, text=text, what_if=what_if)
            case "move":
                result = verb.move(book, piece, operation, before=before, after=after, text=text, what_if=what_if)
            case "edit":
                result = verb.edit(book, piece, operation, text, what_if=what_if)
            case _:
                result = verb.note(book, piece, operation, text, what_if=what_if)
    if as_json:
        options.say_json(verb.route_data(result))
    else:
        from asmade.cli import tables  # noqa: PLC0415

        _say(tables.console(), result)
    return 0


def _more(op: Operation) -> Iterator[str]:
    """What an operation wants beside its words: tool, feed, cuts, what is left, its check, what there is to mind."""
    if op.tool:
        yield f"tool: {op.tool}" + (f"; feed {op.feed_words}" if op.feed_words else "")
    if op.passes is not None and op.passes.cuts:
        last = op.passes.cuts[-1]
        dial = f"; dial {last.dial.words} at the last" if last.dial is not None else ""
        yield f"cuts: {len(op.passes.cuts)}, from {op.passes.start_mm:.2f} to {last.size_mm:.3f}{dial}"
    if op.left:
        yield f"left: {op.left}"
    if op.check:
        yield f"check: {op.check}" + (f" ({op.instrument})" if op.instrument else "")
    yield from (f"! {warning}" for warning in op.warnings)
    if op.note:
        yield f"your note: {op.note}"
    if op.is_done:
        yield op.done_words


def _say(to: Console, result: RouteResult) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

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
            made.add_row(op.key, escape("\n".join((op.words, *_more(op)))), speed)
        to.print(made)
    sources = dict.fromkeys(part.strip() for op in route.operations for part in op.source.split(";"))
    to.print(f"Sources: {'; '.join(sources)}", markup=False)
    if route.done:
        to.print(f"{route.done} of {len(route.operations)} operations done", highlight=False)
    if route.next is not None and route.done:
        to.print(f"next: {route.next.key} ({route.next.setup.name})", markup=False)
    for each in route.edits:
        to.print(f"your change, entry {each.entry or 'not saved'}: {each.shown}", markup=False, soft_wrap=True)
    to.print(f"\n{route.standing}", markup=False)
    if result.saved and result.saved.entries:
        to.print(f"written down as entry {result.saved.entries[0]}")
