"""asmade done."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from asmade.verbs.done import DoneResult
    from asmade.verbs.progress import PieceProgress
    from asmade.work.routes import Route


@click.command(short_help="Enter that an operation has been done to a piece; or see how far pieces have come.")
@options.book
@click.argument("piece", metavar="[PIECE]", required=False, default="", shell_complete=options.complete_address)
@click.argument("operation", metavar="[OPERATION]", required=False, default="")
@options.at
@options.by
@click.option("--note", default="", help="Anything worth remembering.")
@click.option("--undo", is_flag=True, help="Take the entry of that operation back; it stays in the history.")
@click.option("--key", default="", help="Your own name for this entry: sent twice, it is saved once.")
@options.what_if
@options.as_json
def command(
    book: str, piece: str, operation: str, *, at: str, by: str, note: str, undo: bool, key: str, what_if: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Enter that OPERATION ('back faced') has been done to PIECE (wheel#W4, or wheel@2R: whichever sits there).

    Operations go by their names in `asmade route`; other words are kept as they are. Without OPERATION: the piece's
    operations, which are done and which is next. Without PIECE: every piece that has been begun.
    """
    from asmade.verbs import done, plain, plain_joining, progress, route  # noqa: PLC0415

    if not operation:
        if undo:
            raise click.UsageError("say which operation to undo")
        if not piece:
            found = progress.progress(book)
            if as_json:
                options.say_json(progress.progress_data(found))
            else:
                _say_begun(found)
            return 0
        result = route.route(book, piece)
        if as_json:
            options.say_json(route.route_data(result))
        else:
            _say_route(result.route)
        return 0
    if undo:
        saved = done.undo(book, piece, operation, why=note, what_if=what_if)
        if as_json:
            options.say_json(plain.saved(saved))
        else:
            click.echo("what if: nothing saved" if what_if else f"taken back by entry {saved.entries[0]}")
        return 0
    entered = done.done(book, piece, operation, at=at, by=by, note=note, what_if=what_if, key=key)
    if as_json:
        options.say_json(plain_joining.done(entered))
    else:
        _say(entered, what_if=what_if)
    return 0


def _say(result: DoneResult, *, what_if: bool) -> None:
    for name, when in result.done:
        click.echo(f"{result.piece.seat}  {when[:10]}  {name}")
    if result.route is not None and not result.planned:
        like = f"; like it are: {', '.join(result.near)}" if result.near else ""
        click.echo(f"! its route has no operation of that name: kept as your own words{like}")
    for name in result.skipped:
        click.echo(f"! {name!r} comes before it and is not entered")
    if result.next is not None:
        click.echo(f"next: {result.next.key} ({result.next.setup.name})")
    if what_if:
        click.echo("what if: nothing saved")


def _say_route(route: Route) -> None:
    for setup, ops in route.set_ups:
        click.echo(f"{setup.name} ({setup.machine})")
        for op in ops:
            mark = "x" if op.is_done else ">" if route.next is not None and op.key == route.next.key else " "
            click.echo(f"  {mark} {op.key}" + (f"  {op.done_words}" if op.is_done else ""))
    click.echo(f"{route.done} of {len(route.operations)} operations done")


def _say_begun(found: tuple[PieceProgress, ...]) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    begun = [p for p in found if p.begun]
    shown = tables.table(f"Begun ({len(begun)} of {len(found)} pieces)", "piece", "done", "last", "next", right=(1,))
    for p in begun:
        following = "" if p.next is None else f"{p.next.key} ({p.next.setup.name})"
        shown.add_row(escape(p.piece), f"{p.done} of {p.operations}", p.last[:10], escape(following))
    tables.console().print(shown)
    click.echo(f"{sum(p.finished for p in found)} pieces have nothing left to do by their routes")
