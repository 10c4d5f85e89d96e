"""asmade last-look."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from rich.console import Console

    from asmade.verbs.last_look import JointState, LastLook

MOST_NAMED = 12


@click.command("last-look", short_help="Before a joint that cannot be undone: go, or stop and why.")
@options.book
@click.argument("joint", required=False, default="", metavar="[JOINT]", shell_complete=options.complete_joint)
@click.option("--temperature", default="", metavar="T", help="The workshop's, such as 12 C: adhesive minds it.")
@click.option("--despite", default="", metavar="REASON", help="A written reason to go all the same.")
@options.as_json
def command(book: str, joint: str, *, temperature: str, despite: str, as_json: bool) -> int:
    """Look at everything that rests on what JOINT will fix or hide: 'first wheel on axle@1'. Without JOINT: list all.

    Findings at best known sizes, what must be measured first, the order of assembly and what cannot be reached
    afterwards, which side leads, what to lay out, cautions, a list to tick. Exit code 0: go. 1: stop.
    """
    from asmade.verbs import last_look, plain_joining  # noqa: PLC0415

    if not joint:
        states = last_look.every_joint(book)
        if as_json:
            options.say_json(plain_joining.every_joint(states))
        else:
            _say_all(states)
        return 0
    look = last_look.last_look(book, joint, despite=despite, temperature=temperature)
    if as_json:
        options.say_json(plain_joining.last_look(look))
    else:
        from asmade.cli import tables  # noqa: PLC0415

        _say(tables.console(), look)
    return 1 if look.verdict == "stop" else 0


def _say_all(states: tuple[JointState, ...]) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    shown = tables.table("Joints, in an order in which they can be made", "joint", "by", "", "first reason")
    for s in states:
        words = f"joined {s.joined[:10]}" if s.joined else f"{s.verdict}, {s.reasons}" if s.reasons else s.verdict
        shown.add_row(escape(s.joint), escape(s.by), words, escape(s.first))
    tables.console().print(shown)
    if not states:
        click.echo("the book has no [[joint]]")


def _say(to: Console, look: LastLook) -> None:
    from rich.markup import escape  # noqa: PLC0415

    style = "bold red" if look.verdict == "stop" else "bold green" if look.verdict == "go" else "bold yellow"
    to.print(
        f"[{style}]{look.verdict.upper()}[/]  [bold]{escape(look.joint)}[/]  by {escape(look.by or 'means not said')}"
    )
    if look.note:
        to.print(f"  {escape(look.note)}")
    if look.despite:
        to.print(f"  despite: {escape(look.despite)}")
    for r in look.stops:
        to.print(f"  [red]x {escape(r.words)}[/]")
        if r.way_out:
            to.print(f"      -> {escape(r.way_out)}")
    for r in look.minds:
        to.print(f"  ! {escape(r.words)}")
        if r.way_out:
            to.print(f"      -> {escape(r.way_out)}")
    _say_sizes(to, look)
    _say_order(to, look)
    _say_bench(to, look)


def _say_sizes(to: Console, look: LastLook) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    sizes = tables.table("Sizes it fixes, hides or disturbs", "size", "piece", "", "best", "known as", "by", right=(3,))
    for known in look.sizes:
        sizes.add_row(
            escape(str(known.address)), escape(known.piece), known.role,
            tables.figure(known.best, "rad" if known.angle else "mm"), known.source, escape(known.instrument),
        )  # fmt: skip
    to.print(sizes)
    if look.gap is not None:
        words = "gap" if look.gap >= 0 else "tight by"
        to.print(f"As measured: {words} {abs(look.gap):.3f} mm on diameter")
    if look.findings:
        to.print(tables.findings([r.finding for r in look.findings], "What rests on it"))
    if look.not_made_yet:
        names = ", ".join(f"{p.address} ({p.source})" for p in look.not_made_yet[:MOST_NAMED])
        more = len(look.not_made_yet) - MOST_NAMED
        rest = f" and {more} more" if more > 0 else ""
        to.print(f"Not made yet, can still be made to suit: {names}{rest}", markup=False)


def _say_order(to: Console, look: LastLook) -> None:
    from rich.markup import escape  # noqa: PLC0415

    to.print("\n[bold]Order of assembly[/]")
    for count, step in enumerate(look.order, 1):
        mark = " <- this" if step.this else ""
        to.print(f"  {count}. {escape(step.name)} ({step.kind}): {escape(step.state)}{mark}")
    for line in look.unreachable:
        to.print(f"  afterwards out of reach: {escape(line)}")
    for address in look.disturbs:
        to.print(f"  disturbed, not known until measured: {escape(str(address))}")
    for name in look.later:
        to.print(f"  waits for this: {escape(name)}")


def _say_bench(to: Console, look: LastLook) -> None:
    from asmade.reckon.cure_times import WORDS  # noqa: PLC0415

    to.print("\n[bold]At the bench[/]")
    if look.means.needs:
        to.print(f"  lay out: {'; '.join(look.means.needs)}", markup=False)
    to.print(f"  clean:   {look.means.clean}", markup=False)
    to.print(f"  try:     {look.means.trial}", markup=False)
    if look.tried:
        to.print(f"           tried dry on {look.tried[:10]}", markup=False)
    for time in look.times:
        shown = "" if time.hours is None else f"{hours(time.hours)}: "
        to.print(f"  {WORDS[time.what]}: {shown}{time.words}", markup=False)
    to.print(f"  after:   {look.means.after}", markup=False)
    to.print("\n[bold]Cautions[/]")
    for caution in look.cautions:
        to.print(f"  {caution.text}", markup=False)
    to.print("\n[bold]Tick, with the pieces in hand[/]")
    for tick in look.ticks:
        to.print(f"  [ ] {tick}", markup=False)


def hours(value: float) -> str:
    """``3 min``, ``1.5 h``, ``3 days``."""
    if value < 1:
        return f"{value * 60:.0f} min"
    return f"{value:.3g} h" if value < 96 else f"{value / 24:.2g} days"
