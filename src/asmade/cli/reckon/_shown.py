"""How a quick sum is asked for and shown: the example without arguments, tables, the working, JSON."""

from __future__ import annotations

import re
import shlex
from typing import TYPE_CHECKING, Any

import click

from asmade.cli import options

if TYPE_CHECKING:
    from asmade.verbs.sums.result import QuickSum, Rows

FLAGS = ("--json", "--working")
_FIGURE = re.compile(r"-[.\d]")
working = click.option("--working", "with_working", is_flag=True, help="The sum written out.")


class QuickSumCommand(click.Command):
    """A command that shows its example where nothing is given."""

    def __init__(self, *args: Any, example: tuple[str, ...] = (), **more: Any) -> None:
        super().__init__(*args, **more)
        self.example = example

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Put the example in where nothing but flags is given."""
        if self.example and all(arg in FLAGS for arg in args):
            ctx.meta["asmade.example"] = f"asmade reckon {self.name} {shlex.join(self.example)}"
            args = [*self.example, *args]
        return super().parse_args(ctx, self._negative_figures_are_words(args))

    def _negative_figures_are_words(self, args: list[str]) -> list[str]:
        """Set ``-0.5`` among the arguments behind ``--``, so that it is read as a size and not as an option."""
        takes_value = {
            name
            for p in self.params
            if isinstance(p, click.Option) and not p.is_flag
            for name in (*p.opts, *p.secondary_opts)
        }
        options_: list[str] = []
        plain: list[str] = []
        waiting = iter(args)
        for arg in waiting:
            if arg == "--":
                plain.extend(waiting)
            elif arg.startswith("-") and not _FIGURE.match(arg):
                options_.append(arg)
                if arg in takes_value and (value := next(waiting, None)) is not None:
                    options_.append(value)
            else:
                plain.append(arg)
        return [*options_, "--", *plain] if any(_FIGURE.match(arg) for arg in plain) else args


def words(parts: tuple[str, ...]) -> str:
    """Arguments as one text, so that a fit need not stand in quotes."""
    return " ".join(parts)


def say(result: QuickSum, *, as_json: bool, with_working: bool) -> int:
    """Print a quick sum; 0, for it is an answer."""
    example = click.get_current_context().meta.get("asmade.example", "")
    if as_json:
        options.say_json(({"example": example} if example else {}) | result.plain())
        return 0
    from rich.console import Console  # noqa: PLC0415  # JSON needs no tables
    from rich.markup import escape  # noqa: PLC0415

    to = _console(Console)
    if example:
        to.print(f"for example: {example}", markup=False)
    to.print("; ".join(result.read_as), markup=False)
    for rows in result.tables:
        to.print(_table(rows))
    for note in result.notes:
        if note:
            to.print(note, markup=False)
    if with_working:
        to.print("\n[bold]Working[/]")
        for line in result.working:
            to.print(f"  {line}", markup=False)
    for caution in result.cautions:
        to.print(f"[bold]![/] {escape(caution)}")
    to.print(f"source: {'; '.join(result.sources)}", markup=False, style="dim")
    return 0


def _console(kind: Any) -> Any:
    import os  # noqa: PLC0415

    made = kind(highlight=False, soft_wrap=False)
    return made if made.is_terminal or os.environ.get("COLUMNS") else kind(highlight=False, width=110, soft_wrap=False)


def _table(rows: Rows) -> Any:
    from rich.box import SIMPLE_HEAD  # noqa: PLC0415
    from rich.markup import escape  # noqa: PLC0415
    from rich.table import Table  # noqa: PLC0415

    used = [at for at in range(len(rows.columns)) if any(row[at] for row in rows.rows)]
    made = Table(
        title=escape(rows.title) or None,
        title_justify="left",
        title_style="bold",
        box=SIMPLE_HEAD,
        pad_edge=False,
        show_header=any(rows.columns[at] for at in used),
    )
    for at in used:
        right = at in rows.figures
        made.add_column(rows.columns[at], justify="right" if right else "left", no_wrap=right, overflow="fold")
    for row in rows.rows:
        made.add_row(*(escape(row[at]) for at in used))
    return made
