"""asmade gaps."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

from asmade.cli import options

if TYPE_CHECKING:
    from rich.console import Console

    from asmade.verbs.gaps import GapsResult, PairResult

MOST_WAITED_FOR = 8


@click.command(short_help="Does anything that moves touch what is near it; where to take it from.")
@options.book
@click.option("--gap", default="", metavar="NAME", help="Which [[gap]] of the book, where it has several.")
@click.option("--wanted", default="", metavar="SIZE", help="Gap wanted between any two, in place of the book's.")
@click.option("--side", default="", metavar="L|R", help="One side only.")
@click.option("--near", default="", metavar="SIZE", help="Tell pairs with up to so much more than wanted (3 mm).")
@click.option("--curve", default="", metavar="RADIUS", help="Who touches first on a curve of this radius.")
@click.option("--gauge", default="", metavar="SIZE", help="Between the rails: counts the flanges' room in the curve.")
@click.option("--svg", default="", metavar="FILE", help="Draw the side view with the nearest pair marked.")
@click.option("--at", default="", metavar="DEGREES", help="Draw it at this crank angle, not at the nearest place.")
@click.option("--stack", default="", metavar="PLACE", help="Draw the width stack on the pin at PLACE (1R) instead.")
@click.option("--working", is_flag=True, help="Layers, shares of the spread, and every size to take it from.")
@options.as_json
def command(
    book: str, *, gap: str, wanted: str, side: str, near: str, curve: str, gauge: str, svg: str, at: str, stack: str,
    working: bool, as_json: bool,
) -> int:  # fmt: skip
    """Turn the running gear of BOOK right round and look at the room between what moves and what is near it.

    Sideways play, end float and axle rise are taken at their worst. Angles are of each side's own crank from its front
    dead centre; links of the valve gear are looked at over the reverser too. Exit code 1 if a gap is less than wanted,
    2 if on some side nothing can be looked at.
    """
    from asmade.verbs import gaps, gaps_plain  # noqa: PLC0415

    result = gaps.gaps(book, gap=gap, wanted=wanted, side=side, near=near, curve=curve, gauge=gauge)
    if svg:
        from asmade.cli.pictures import write_svg  # noqa: PLC0415
        from asmade.show.gap_pictures import STACK_MOST_PX_PER_MM, side_picture, stack_picture  # noqa: PLC0415

        if stack:
            write_svg(svg, stack_picture(book, result, stack), f"width stack on pin {stack}", STACK_MOST_PX_PER_MM)
        else:
            write_svg(svg, side_picture(result, at=at), "running gear in side view")
    if as_json:
        options.say_json(gaps_plain.plain(result))
    else:
        _say(result, svg=svg, working=working)
    return 1 if result.fails else 2 if result.not_told else 0


def _say(result: GapsResult, *, svg: str, working: bool) -> None:
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    to.print(f"[bold]{escape(result.name)}[/]: wanted {result.wanted_mm:.3f} mm between any two unless said otherwise")
    made = tables.table(
        "", "side", "", "between", "and", "gap", "wanted", "at", "which way", "worst", right=(4, 5, 6, 8)
    )
    for side in result.sides:
        for pair in side.pairs:
            made.add_row(*_row(pair))
        for one, other, _ in side.not_known:
            made.add_row(side.side, tables.verdict("not known"), one, other, "", "", "", "", "")
    to.print(made)
    for side in result.sides:
        looked = f"{len(side.bodies)} bodies, {side.looked_at} pairs of layers looked at"
        to.print(f"side {side.side}: {looked if side.told else '[yellow]? nothing can be looked at[/]'}")
        for name, why in side.left_out:
            to.print(f"  left out: {escape(name)}: {escape(why)}")
        for size, names in side.waits_for[:MOST_WAITED_FOR]:
            to.print(f"  {escape(size)} is wanted for {escape(', '.join(names))}")
        if len(side.waits_for) > MOST_WAITED_FOR:
            to.print(f"  and {len(side.waits_for) - MOST_WAITED_FOR} more sizes are wanted")
    _say_cures(to, result, working=working)
    _say_ends(to, result)
    _say_curve(to, result)
    for note in result.notes:
        to.print(f"  {escape(note)}")
    if result.drawn_only:
        more = f" and {len(result.drawn_only) - 6} more" if len(result.drawn_only) > 6 else ""
        to.print(f"  drawn only: {escape(', '.join(result.drawn_only[:6]))}{more}")
    if svg:
        to.print(f"  drawn: {escape(svg)}")


def _row(pair: PairResult) -> tuple[str, ...]:
    from asmade.cli import tables  # noqa: PLC0415

    f = pair.finding
    reverser = "" if pair.reverser is None else f", reverser {pair.reverser:+g}"
    return (
        pair.side, tables.verdict(f.verdict), pair.one, pair.other, f"{f.least.gap_mm:.3f}", f"{f.pair.wanted_mm:.3f}",
        f"{math.degrees(f.least.at_rad) % 360:.0f}°{reverser}", f.least.where, f"{f.worst.gap_mm:.3f}",
    )  # fmt: skip


def _say_cures(to: Console, result: GapsResult, *, working: bool) -> None:
    from rich.markup import escape  # noqa: PLC0415

    for pair in (pair for side in result.sides for pair in side.pairs):
        if working:
            to.print(f"[bold]{pair.side}: {escape(pair.finding.pair.name)}[/], freedoms in their middle "
                     f"{pair.finding.middle_mm:.3f}")  # fmt: skip
            for name, share in pair.shares:
                to.print(f"  {share:>3.0f} %  {escape(name)}")
        if not pair.cures or not (working or pair.finding.verdict == "fails"):
            continue
        to.print(f"[bold]{pair.side}: where {escape(pair.one)} - {escape(pair.other)} could take it from[/]")
        for cure in pair.cures:
            spoils = "; ".join(f"{e.pair} then {e.margin_mm:+.3f} over its wanted" for e in cure.spoils)
            to.print(
                f"  {escape(cure.size)} {cure.change_mm:+.3f} mm" + (f", spoils {escape(spoils)}" if spoils else "")
            )


def _say_ends(to: Console, result: GapsResult) -> None:
    """Room between piston and covers, and the connecting rod that shares it."""
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    if not result.ends:
        return
    made = tables.table("Piston and covers", "side", "end", "", "room", "wanted", "worst", right=(3, 5))
    for ends in result.ends:
        for end, f in (("front", ends.front), ("back", ends.back)):
            made.add_row(
                ends.side, end, tables.verdict(f.verdict), _mm(f.value), tables.limits(f), _mm(f.worst)
            )  # fmt: skip
    to.print(made)
    for ends in result.ends:
        by = "bumping marks as read" if ends.marks_read else "marks as the sizes give them"
        if ends.shares_mm is None:
            to.print(f"  side {ends.side}, {by}: {escape(ends.fault)}")
        elif ends.change_mm is not None and ends.each_mm is not None:
            to.print(f"  side {ends.side}, {by}: connecting rod {ends.shares_mm:.3f} mm ({ends.change_mm:+.3f}) shares "
                     f"the room, {ends.each_mm:.3f} at each end")  # fmt: skip


def _mm(value: float | None) -> str:
    return "" if value is None else f"{value:.3f}"


def _say_curve(to: Console, result: GapsResult) -> None:
    from rich.markup import escape  # noqa: PLC0415

    curve = result.curve
    if curve is None:
        return
    how = "side play and flanges" if curve.with_flanges else "side play alone"
    if curve.least.axles:
        axles = ", ".join(curve.axles[at] for at in curve.least.axles)
        to.print(f"least curve by {how}: radius {curve.least.radius:.0f} mm, set by axles {axles}")
    if curve.radius_mm is not None:
        if curve.fault:
            to.print(f"  {escape(curve.fault)}")
        for side in result.sides:
            for touch in side.touches_on_curve[:3]:
                to.print(f"  on {curve.radius_mm:.0f} mm, side {side.side}: {escape(touch.pair.name)} "
                         f"{touch.least.gap_mm:.3f} mm at {math.degrees(touch.least.at_rad) % 360:.0f}°")  # fmt: skip
