"""asmade check."""

from __future__ import annotations

import click

from asmade.cli import options


@click.command(short_help="Every requirement, worst first; --drawing for the drawing alone.")
@options.book
@click.option("--drawing", is_flag=True, help="Check the drawn figures against each other, in exact fractions.")
@click.option("--about", default="", metavar="TEXT", help="Only those whose name or sizes hold TEXT.")
@click.option("--working", is_flag=True, help="Open each to its working, shares and source.")
@options.as_json
def command(book: str, *, drawing: bool, about: str, working: bool, as_json: bool) -> int:
    """Look at every requirement of BOOK at the best known sizes. Exit code 1 if any fails."""
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs import check, plain  # noqa: PLC0415

    to = tables.console()
    if drawing:
        drawn = check.check_drawing_of(book)
        if as_json:
            options.say_json(plain.drawing(drawn))
        else:
            _say_drawing(drawn)
        return 1 if drawn.fails else 0
    result = check.check(book, about=about)
    if as_json:
        options.say_json(plain.check(result))
    elif working:
        for finding in result.findings:
            to.print(tables.explained(finding))
    else:
        to.print(tables.findings(result.findings, f"{result.made} of {result.sizes} sizes made"))
    if about and not result.findings and not as_json:
        to.print(f"No requirement's name or sizes hold {about!r}.", markup=False)
    return 1 if result.fails else 0


def _say_drawing(drawn: object) -> None:
    from asmade.cli import tables  # noqa: PLC0415
    from asmade.verbs.check import DrawingResult  # noqa: PLC0415

    if not isinstance(drawn, DrawingResult):
        raise TypeError
    to = tables.console()
    to.print(f"{drawn.stated} dimensions drawn, {drawn.not_stated} not; "
             f"{len(drawn.left_to_builder)} fits left to the builder (hole and shaft drawn alike)")  # fmt: skip
    for paragraph in tables.drawing(drawn.findings):
        to.print(paragraph)
    if not drawn.findings:
        to.print("Nothing contradicts, nothing is missing.")
