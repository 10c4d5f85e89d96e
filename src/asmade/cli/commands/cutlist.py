"""asmade cutlist."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from asmade.cli import options

if TYPE_CHECKING:
    from asmade.verbs.cutlist import CutListResult, Group
    from asmade.work.blanks import NoBlank


@click.command(short_help="How the bars are cut for the pieces still to make.")
@options.book
@click.option("--part", "only", default="", metavar="PART", help="Only this part.")
@click.option("--kerf", default="", metavar="SIZE", help="Width of the saw cut; 2 mm where not said.")
@click.option("--facing", default="", metavar="SIZE", help="Left at each end to face; 0.5 mm where not said.")
@click.option(
    "--hold", default="", metavar="SIZE", help="Left on each piece to hold in the chuck; none where not said."
)
@click.option("--turn-off", default="", metavar="SIZE", help="Left on diameter to turn off; 0.5 mm where not said.")
@click.option("--keep", default="", metavar="SIZE", help="Off-cuts from here on are kept; 25 mm where not said.")
@click.option("--lengths", default="", metavar="'A, B'", help="Lengths in which your dealer sells bar.")
@click.option("--no-rack", is_flag=True, help="As if the rack were empty.")
@click.option("-o", "--output", default="", metavar="FILE", help="Write it there: .csv, .xlsx or .pdf.")
@click.option("--replace", is_flag=True, help="FILE may be there already.")
@click.option("--paper", default="a4", show_default=True, metavar="a4|a5", help="Paper of a PDF.")
@options.as_json
def command(
    book: str, *, only: str, kerf: str, facing: str, hold: str, turn_off: str, keep: str, lengths: str, no_rack: bool,
    output: str, replace: bool, paper: str, as_json: bool,
) -> int:  # fmt: skip
    """Cut the bars of the rack, and the least that must be bought, into the blanks of all pieces not yet begun.

    Exit code 1 if some piece goes on no bar.
    """
    from asmade.verbs.cutlist import cutlist, plain, read_asked  # noqa: PLC0415

    asked = read_asked(
        kerf=kerf,
        facing=facing,
        chucking=hold,
        turning=turn_off,
        keep=keep,
        lengths=lengths,
        no_rack=no_rack,
        only=only,
    )
    result = cutlist(book, asked)
    if output:
        write_list(book, result, "cutting", output, paper=paper, replace=replace)
    if as_json:
        options.say_json(plain(result))
    elif output:
        click.echo(f"{output}: written")
    else:
        _say(result)
    return 1 if result.short else 0


def write_list(book: str, result: CutListResult, which: str, output: str, *, paper: str, replace: bool) -> None:
    """Write a list into a file, whole or not at all."""
    from asmade.book.files import write_file  # noqa: PLC0415
    from asmade.show.papers.lists import list_file  # noqa: PLC0415
    from asmade.verbs.sheet import heading_of  # noqa: PLC0415
    from asmade.verbs.store import read  # noqa: PLC0415

    data = list_file(result, heading_of(read(book)), which, Path(output).suffix, paper=paper)
    write_file(output, data, replace=replace)


def _say(result: CutListResult) -> None:
    from asmade.cli import tables  # noqa: PLC0415

    to = tables.console()
    to.print(f"{result.pieces} pieces, {result.made} of them begun", markup=False)
    for group in result.groups:
        to.print(_bars(group))
        to.print(f"{group.plan.words}; {group.plan.kerf_mm:g} mm a cut", markup=False, style="dim")
        for note in group.notes:
            to.print(f"! {note}", markup=False)
    if result.sheets:
        rows = tables.table("Out of sheet (how they lie on it is not worked out)", "part", "", "material", "thick",
                            "length mm", "width mm", "in the rack", right=(1, 3, 4, 5))  # fmt: skip
        for s in result.sheets:
            rows.add_row(
                s.blank.part,
                str(s.count),
                s.section.material,
                f"{s.section.thickness_mm:g}",
                f"{s.blank.length_mm:.1f}",
                f"{s.blank.size_mm:.1f}",
                "; ".join(s.in_rack) or "none",
            )
        to.print(rows)
    say_no_blank(to, result)


def _bars(group: Group) -> Any:
    from asmade.cli import tables  # noqa: PLC0415

    rows = tables.table(f"{group.section.material}, {group.section.words}", "bar", "cut", "left mm", right=(2,))
    lines: Counter[tuple[str, str, str]] = Counter()
    for cut in group.plan.bars:
        pieces = Counter((name, f"{length:.1f}") for name, length in cut.pieces)
        words = ", ".join(f"{count} x {length} {name}" for (name, length), count in pieces.items())
        lines[cut.bar.name, words, f"{cut.rest_mm:.1f}{' keep' if cut.kept else ''}"] += 1
    for (name, words, rest), count in lines.items():
        rows.add_row(f"{count} x {name}" if count > 1 else name, words, rest)
    missing = Counter(group.plan.missing)
    for (name, length), count in missing.items():
        rows.add_row("NO BAR", f"{count} x {length:.1f} {name}", "")
    return rows


def say_no_blank(to: Any, result: CutListResult) -> None:
    """Parts for which no blank is known, and what to enter."""
    if result.no_blank:
        to.print(f"No blank known for {len(result.no_blank)} parts:", style="bold")
    alike: dict[str, list[NoBlank]] = {}
    for nothing in result.no_blank:
        alike.setdefault(nothing.reason, []).append(nothing)
    for reason, those in alike.items():
        to.print(f"  {', '.join(n.part for n in those)}: {reason}\n      -> {those[0].enter}", markup=False)
