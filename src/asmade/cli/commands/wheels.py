"""asmade wheels."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from asmade.verbs.wheels import Section, State, WheelsResult


@click.command(short_help="Will the coupled wheels turn without binding; what cures it.")
@options.book
@click.option("--binding", default="", metavar="NAME", help="Which [[binding]] of the book, where it has several.")
@click.option("--wanted", default="", metavar="SIZE", help="Slack wanted each way, in place of what the book says.")
@click.option("--boxes", default="", metavar="HOW", help="Judge by boxes blocked (trial turning) or free (running).")
@click.option("--samples", default=1000, show_default=True, metavar="N", help="Builds drawn for the chance.")
@click.option("--svg", default="", metavar="FILE", help="Draw the slack left over the turn.")
@click.option("--working", is_flag=True, help="What holds each section, shares of the spread, all cures.")
@options.as_json
def command(
    book: str, *, binding: str, wanted: str, boxes: str, samples: int, svg: str, working: bool, as_json: bool
) -> int:
    """Turn the coupled wheels of BOOK right round at the best known sizes: slack left in every section, and where.

    Angles are the right crank's from its front dead centre, forward running. Exit code 1 if a section has less slack
    than wanted.
    """
    from asmade.verbs import wheels  # noqa: PLC0415

    result = wheels.wheels(book, binding=binding, wanted=wanted, boxes=boxes, samples=samples)
    if svg:
        from asmade.cli.pictures import write_svg  # noqa: PLC0415
        from asmade.show.slack_picture import MOST_PX_PER_MM, slack_picture  # noqa: PLC0415

        write_svg(svg, slack_picture(result), "slack left over a turn of the coupled wheels", most=MOST_PX_PER_MM)
    if as_json:
        options.say_json(wheels.plain(result))
    else:
        _say(result, svg=svg, working=working)
    return 1 if result.fails else 0


def _say(result: WheelsResult, *, svg: str, working: bool) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    known = ", ".join(f"{count} {how}" for how, count in result.known.items())
    to.print(f"[bold]{escape(result.name)}[/]: wanted {result.wanted_mm:.3f} mm each way, boxes {result.boxes}; "
             f"sizes: {known}")  # fmt: skip
    made = tables.table("", "section", "boxes", "", "slack", "at", "rods", "worst", "may bind", right=(3, 4, 6, 7))
    for section in result.sections:
        for state in filter(None, (section.blocked, section.free)):
            made.add_row(*_row(section, state))
        if section.blocked is None:
            made.add_row(section.section, "", tables.verdict("not known"), "", "", "", "", "")
    to.print(made)
    for section in result.sections:
        if section.missing:
            to.print(f"  section {section.section}: not known {escape(', '.join(section.missing[:6]))}")
    _say_cures(to, result, working=working)
    if working:
        _say_working(to, result)
    hides = {cure.hides for section in result.sections for cure in section.cures}
    for note in (note for note in result.notes if note not in hides):
        to.print(f"  {escape(note)}")
    if result.drawn_only:
        to.print(f"  drawn only: {escape(_listed(result.drawn_only))}")
    if result.chosen_only:
        to.print(f"  chosen or to suit, not measured: {escape(_listed(result.chosen_only))}")
    if svg:
        to.print(f"  drawn: {escape(svg)}")


def _row(section: Section, state: State) -> tuple[str, ...]:
    from asmade.cli import tables  # noqa: PLC0415

    rods = "; ".join(f"{rod} {says}" for rod, says in state.rods[:2])
    verdict = "[yellow]? undecided[/]" if state.verdict == "undecided" else tables.verdict(state.verdict)
    return (
        section.section, state.boxes, verdict, f"{state.slack_mm:+.3f}", _degrees(state.at_rad), rods,
        f"{state.worst_mm:+.3f}", tables.per_cent(state.chance_of_binding.value),
    )  # fmt: skip


def _degrees(angle: float) -> str:
    import math  # noqa: PLC0415

    return f"{math.degrees(angle):.0f}°"


def _say_cures(to: object, result: WheelsResult, *, working: bool) -> None:
    from rich.console import Console  # noqa: PLC0415
    from rich.markup import escape  # noqa: PLC0415

    if not isinstance(to, Console):
        raise TypeError
    cures = list({cure.says: cure for section in result.sections for cure in section.cures}.values())
    if not cures:
        return
    cures.sort(key=lambda cure: (not cure.frees, cure.effort if cure.frees else -cure.slack_after, bool(cure.hides)))
    to.print("[bold]What frees it[/] (one at a time; effort 0: not made yet, to 5: wheels off the axle)")
    for hides in dict.fromkeys(cure.hides for cure in cures if cure.hides):
        to.print(f"  [yellow]! {escape(hides)}[/]")
    for cure in cures if working else cures[:5]:
        left = ", ".join(f"{name} {slack:+.3f}" for name, slack in cure.others)
        to.print(f"  {cure.effort}  {escape(cure.says)}")
        to.print(f"     {'frees it' if cure.frees else 'helps'}: slack then {left}; spoils {escape(cure.spoils)}",
                 style="dim")  # fmt: skip


def _say_working(to: object, result: WheelsResult) -> None:
    from rich.console import Console  # noqa: PLC0415
    from rich.markup import escape  # noqa: PLC0415

    if not isinstance(to, Console):
        raise TypeError
    for section in result.sections:
        for state in filter(None, (section.blocked, section.free)):
            chance = state.chance_of_binding
            to.print(f"[bold]section {section.section}, boxes {state.boxes}[/]: of {chance.samples} builds drawn "
                     f"{chance.value:.1%} bind ({chance.low:.1%} to {chance.high:.1%} at 95 %)")  # fmt: skip
            for cause, share in state.shares:
                to.print(f"  {share:>3.0f} %  {escape(cause)}")


def _listed(names: tuple[str, ...], most: int = 6) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more
