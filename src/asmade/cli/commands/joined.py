"""asmade joined."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from asmade.verbs.joined import JoinedResult


@click.command(short_help="Enter that a joint has been made; refused with reasons if the last look says stop.")
@options.book
@options.joint
@click.option("--despite", default="", metavar="REASON", help="Why all the same; kept with the entry.")
@click.option("--temperature", default="", metavar="T", help="The workshop's, such as 12 C: adhesive minds it.")
@options.at
@options.by
@click.option("--note", default="", help="Anything worth remembering.")
@click.option("--key", default="", help="Your own name for this entry: sent twice, it is saved once.")
@options.what_if
@options.as_json
def command(
    book: str, joint: str, *, despite: str, temperature: str, at: str, by: str, note: str, key: str, what_if: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Enter that JOINT ('first wheel on axle@1') has been made.

    If its last look says stop it is refused with the reasons (exit code 1), unless --despite says why it was made all
    the same. Answers until when it may not be handled, machined or loaded, and what must be measured now.
    """
    from asmade.verbs import joined, plain_joining  # noqa: PLC0415

    try:
        result = joined.joined(
            book, joint, despite=despite, at=at, by=by, temperature=temperature, note=note, what_if=what_if, key=key
        )
    except joined.Stopped as fault:
        if as_json:
            options.say_json(plain_joining.stopped(fault))
        else:
            click.echo(fault.message, err=True)
            click.echo(f"  -> {fault.way_out}", err=True)
        return 1
    if as_json:
        options.say_json(plain_joining.joined(result))
    else:
        _say(result)
    return 0


def _say(result: JoinedResult) -> None:
    from asmade.cli.commands.last_look import hours  # noqa: PLC0415

    entry = f"entry {result.saved.entries[0]}" if result.saved.entries else "what if: nothing saved"
    click.echo(f"{result.joint} joined {result.at[:16].replace('T', ' ')}  {entry}")
    if result.look.despite:
        click.echo(f"  despite: {result.look.despite}")
        for r in result.look.stops:
            click.echo(f"    overruled: {r.words}")
    for until in result.until:
        when = f" until {until.at[:16].replace('T', ' ')} ({hours(until.hours)})" if until.at and until.hours else ""
        click.echo(f"  not to be {until.what}{when}: {until.words}" if until.hours != 0 else f"  {until.words}")
    if result.frozen:
        click.echo(f"  out of reach now: {', '.join(map(str, result.frozen))}")
    for address in result.measure:
        unknown = "not known any more: " if address in result.unknown else ""
        click.echo(f"  {unknown}measure {address} now and enter it")
