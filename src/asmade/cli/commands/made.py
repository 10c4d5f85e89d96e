"""asmade made."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Enter a reading; see at once what it changes.")
@options.book
@options.address
@click.argument("readings", nargs=-1, metavar="[READING]...")
@click.option("--goes", default="", metavar="SIZE", help="A plug or gauge that goes ...")
@click.option("--stops", default="", metavar="SIZE", help="... and one that does not.")
@click.option("--spots", is_flag=True, help="The readings are at different spots: keep their extremes.")
@click.option("--instrument", default="", metavar="NAME", help="What it was measured with.")
@click.option("--tool", default="", metavar="NAME", help="The tool that cut it.")
@click.option("--stage", default="finished", metavar="STAGE", help="finished (default), check, or on the way.")
@click.option("--note", default="", help="Anything worth remembering.")
@click.option("--key", default="", help="Your own name for this reading: sent twice, it is saved once.")
@options.what_if
@options.as_json
def command(  # a reading has so much to say
    book: str, address: str, readings: tuple[str, ...], *, goes: str, stops: str, spots: bool, instrument: str,
    tool: str, stage: str, note: str, key: str, what_if: bool, as_json: bool,
) -> int:  # fmt: skip
    """Enter what the size at ADDRESS (wheel@2R.bore, or wheel#W3.bore by its mark) was measured to be.

    Several readings are repeats at one spot and are averaged; with --spots they are different spots. A slip is warned
    of, never asked about; take it back with: asmade withdraw BOOK ENTRY.
    """
    from asmade.verbs import made, plain  # noqa: PLC0415

    result = made.made(
        book, address, readings, goes=goes, stops=stops, spots=spots, instrument=instrument, tool=tool, stage=stage,
        note=note, what_if=what_if, key=key,
    )  # fmt: skip
    if as_json:
        options.say_json(plain.made(result))
        return 0
    from rich.markup import escape  # noqa: PLC0415

    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    entry = f"entry {result.saved.entries[0]}" if result.saved.entries else "what if: nothing saved"
    to.print(f"[bold]{escape(str(result.piece))}[/] {escape(result.how)}  ({result.stage})  {entry}")
    for warning in result.warnings:
        to.print(f"  [yellow]! {escape(warning)}[/]")
    if result.aims:
        shown = tables.table("Aims that moved", "size", "was", "is now", whole=(0,))
        for change in result.aims:
            was, now = tables.aim_short(change.before), tables.aim_short(change.after)
            shown.add_row(escape(str(change.dimension)), was, now)
        to.print(shown)
    if result.verdicts:
        shown = tables.table("Verdicts that moved", "what", "was", "is now", "margin", right=(3,))
        for verdict in result.verdicts:
            shown.add_row(
                escape(verdict.subject), tables.verdict(verdict.before), tables.verdict(verdict.after),
                tables.mm(verdict.margin),
            )  # fmt: skip
        to.print(shown)
    if not result.aims and not result.verdicts:
        to.print("No aim and no verdict moved.")
    return 0
