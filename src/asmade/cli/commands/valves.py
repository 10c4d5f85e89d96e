"""asmade valves."""

from __future__ import annotations

import sys

import click

from asmade.cli import options

PICTURES = ("oval", "openings", "polar", "gear", "sweeps")


@click.command(short_help="Valve events; what is uneven and what to set.")
@options.book
@click.option("--values", default="best", show_default=True, metavar="best|drawn|chosen|made", help="Which sizes.")
@click.option(
    "--position",
    "positions",
    type=float,
    multiple=True,
    metavar="REVERSER",
    help="+1 full forward to -1 full backward; may be given again. Without: by quarters.",
)
@click.option("--gear", default="", metavar="NAME", help="Which gear, where the book has several.")
@click.option("--set", "to_set", is_flag=True, help="What to adjust, step by step.")
@click.option("--adjust", multiple=True, metavar="DIMENSION", help="With --set: adjust only these; may be given again.")
@click.option("--matters", is_flag=True, help="Which lengths matter, and which parts are worth making again.")
@click.option("--propose", is_flag=True, help="Propose a whole gear from --wish and the sizes the book has.")
@click.option(
    "--wish",
    multiple=True,
    metavar="NAME=AMOUNT",
    help="With --propose: cutoff, lead, travel or lap, and room the book has not; may be given again.",
)
@click.option(
    "--step",
    default="",
    metavar="LENGTH",
    help="With --propose: refine all lengths in such steps (1/64 in, 0.1 mm); Ctrl-C keeps the best.",
)
@click.option("--svg", type=click.Path(dir_okay=False, writable=True), metavar="FILE", help="Write a picture.")
@click.option("--picture", default="oval", show_default=True, metavar="|".join(PICTURES), help="Which picture.")
@click.option("--side", default="R", show_default=True, metavar="R|L", help="Side of the picture.")
@click.option(
    "--crank",
    type=float,
    default=60.0,
    show_default=True,
    metavar="DEG",
    help="Crank angle of the gear's picture, forward running, from straight ahead.",
)
@click.option("--width", type=float, default=720.0, show_default=True, metavar="PX", help="Width of the picture.")
@options.as_json
def command(
    book: str, *, values: str, positions: tuple[float, ...], gear: str, to_set: bool, adjust: tuple[str, ...],
    matters: bool, propose: bool, wish: tuple[str, ...], step: str,
    svg: str | None, picture: str, side: str, crank: float, width: float, as_json: bool,
) -> int:  # fmt: skip
    """Look at the valve gear of BOOK: advice first, then every event at both ends and sides.

    Percentages are of the piston's stroke. Exit code 1 if a limit of the book on valve events fails, or a port never
    opens somewhere.
    """
    from asmade.cli import tables, tables_valves  # noqa: PLC0415
    from asmade.verbs import valve_plain  # noqa: PLC0415
    from asmade.verbs import valves as verb  # noqa: PLC0415

    to = tables.console()
    if propose:
        from asmade.verbs.valve_proposal import propose_gear  # noqa: PLC0415

        proposed = propose_gear(book, _wishes(wish), step=step, gear_name=gear, progress=_rounds)
        if as_json:
            options.say_json(valve_plain.proposal(proposed))
        else:
            tables_valves.proposal(to, proposed)
        return 0
    if to_set:
        setting = verb.set_valves(book, values=values, gear_name=gear, adjust=adjust)
        if as_json:
            options.say_json(valve_plain.set_valves(setting))
        else:
            tables_valves.setting(to, setting)
        return 0
    if matters:
        found = verb.matters(book, values=values, gear_name=gear, progress=_progress)
        if as_json:
            options.say_json(valve_plain.matters(found))
        else:
            tables_valves.matters(to, found)
        return 0
    result = verb.valves(book, values=values, positions=positions, gear_name=gear)
    if svg:
        from asmade.show.valve_pictures import write_picture  # noqa: PLC0415

        write_picture(svg, result.gears, picture, side=side, positions=positions, crank_deg=crank, width_px=width)
        click.echo(f"{svg}: {picture}", err=as_json)
    if as_json:
        options.say_json(valve_plain.valves(result))
    elif not svg:
        tables_valves.valves(to, result)
    return 1 if result.fails else 0


def _wishes(wish: tuple[str, ...]) -> dict[str, str]:
    """Names and amounts as typed."""
    for each in wish:
        if "=" not in each:
            raise click.BadParameter(f'{each!r} is not NAME=AMOUNT, such as "cutoff=75 %"', param_hint="--wish")
    return {name.strip(): text.strip() for name, _, text in (each.partition("=") for each in wish)}


def _rounds(count: int, score: object) -> None:
    """How far the search is, where somebody looks on."""
    if sys.stderr.isatty():
        click.echo(f"round {count}: {getattr(score, 'total', 0.0):.3f} (Ctrl-C keeps the best)", err=True)


def _progress(done: int, of: int) -> None:
    """How far the trials are, where somebody looks on."""
    if sys.stderr.isatty():
        click.echo(f"\rparts tried again: {done} of {of}", err=True, nl=done == of)
