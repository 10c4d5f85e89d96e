"""asmade diagnose."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="A finished chassis binds: what is probably wrong, what to measure.")
@options.book
@click.argument("observations", nargs=-1, metavar="OBSERVATION...")
@click.option("--binding", default="", metavar="NAME", help="Which [[binding]] of the book, where it has several.")
@click.option("--builds", default=300, show_default=True, metavar="N", help="Builds drawn for every cause.")
@options.as_json
def command(book: str, observations: tuple[str, ...], *, binding: str, builds: int, as_json: bool) -> int:
    """Rank what may be wrong with the chassis of BOOK by where it was tight at trial turning.

    \b
    An OBSERVATION names the rods that are on, then where it was tight (degrees of the right crank):
      "23: 30-60, 210-240"       sections that are on; all; left or right (else both sides);
      "12: nowhere"              free or blocked boxes (else blocked); forward or backward
      "23: 30-60, 23R bears inside at 45, 23R bears outside at 225"   where the pins press in their bushes
      "23: 30-60, 23R too long at 45, 23R too short at 225"           the same by offering the rod up
    """  # noqa: D301  # \b keeps click from filling the lines
    from asmade.verbs import diagnose  # noqa: PLC0415

    result = diagnose.diagnose_book(book, observations, binding=binding, per_cause=builds)
    if as_json:
        options.say_json(diagnose.plain(result))
        return 0
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    for line in result.read_as:
        to.print(f"read as: {escape(line)}", style="dim")
    made = tables.table("What is probably wrong", "", "what", "out by", right=(0, 2))
    for suspect in result.suspects:
        out = f"{suspect.out_by:+.3f} ± {suspect.deviation:.3f} mm" if suspect.unit == "mm" else ""
        if suspect.unit == "min":
            out = f"{suspect.out_by:+.0f} ± {suspect.deviation:.0f} min"
        made.add_row(tables.per_cent(suspect.probability), escape(suspect.what), out)
    to.print(made)
    if result.measure is not None:
        bits = f"{result.measure.bits:.1f} of {result.measure.doubt_bits:.1f} bits"
        to.print(f"Tells most: {escape(result.measure.what)} (lessens the doubt by {bits})")
    for remark in result.remarks:
        to.print(f"  {escape(remark)}")
    return 0
