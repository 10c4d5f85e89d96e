"""asmade reckon: the quick sums; each is a module of `asmade.cli.reckon`, found by name and imported when wanted."""

from __future__ import annotations

import difflib
import importlib
import pkgutil

import click

ORDER = (
    "fit", "hole", "shaft", "thread", "tap", "drill", "gauge", "stock", "material", "speed", "press", "bond", "pin",
    "length",
)  # fmt: skip


class QuickSums(click.Group):
    """Finds a quick sum by the name of its module; names with an underscore in front are no commands."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's own way of asking
        """Quick sums in the order of the trade, then any others."""
        package = importlib.import_module("asmade.cli.reckon")
        found = {info.name for info in pkgutil.iter_modules(package.__path__) if not info.name.startswith("_")}
        known = [name for name in ORDER if name in found]
        return [*known, *sorted(found.difference(known))]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the quick sum's module; None where there is none of that name."""
        if cmd_name not in self.list_commands(ctx):
            return None
        found: click.Command = importlib.import_module(f"asmade.cli.reckon.{cmd_name}").command
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Say which quick sum was probably meant."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as fault:
            near = difflib.get_close_matches(args[0], self.list_commands(ctx), 2)
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            raise click.UsageError(f"there is no quick sum {args[0]!r}{hint}", ctx) from fault


@click.group(
    cls=QuickSums, invoke_without_command=True, no_args_is_help=False,
    short_help="Quick sums at the bench, without any book.",
    epilog="Each shows an example when nothing is given, --working the sum written out, and --json plain data.",
)  # fmt: skip
@click.pass_context
def command(ctx: click.Context) -> None:
    """Do a quick sum from published tables and formulas; no book is wanted.

    Sizes are written as shops write them: 12.5, 1 3/16 in, No. 40, 30 thou. A bare figure is millimetres.
    """
    if ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())
