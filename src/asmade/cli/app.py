"""The command group: commands are modules of `asmade.cli.commands`, found by name and imported when wanted.

Exit codes: 0 holds, 1 something fails its limits (or a choice ends in a conflict), 2 bad input.
"""

from __future__ import annotations

import difflib
import importlib
import json
import pkgutil
import sys
from collections.abc import Sequence
from typing import Any

import click

from asmade import __version__
from asmade.measure.errors import AsmadeError

HOLDS, FAILS, BAD = 0, 1, 2
ORDER = (
    "demo", "new", "import", "export", "show", "drawn", "shop", "check", "choose", "aim", "made", "next", "pair",
    "piece", "last-look", "joined", "undone", "done", "note", "record", "history", "withdraw",
)  # fmt: skip


class Commands(click.Group):
    """Finds a command by the name of its module: ``last_look`` is ``last-look``; a trailing underscore is dropped."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002  # click's own way of asking
        """Commands in the order of the job, then any others."""
        package = importlib.import_module("asmade.cli.commands")
        found = {info.name.removesuffix("_").replace("_", "-") for info in pkgutil.iter_modules(package.__path__)}
        known = [name for name in ORDER if name in found]
        return [*known, *sorted(found.difference(known))]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command's module; None where there is none of that name."""
        names = self.list_commands(ctx)
        if cmd_name not in names:
            return None
        module_name = cmd_name.replace("-", "_")
        for name in (module_name, f"{module_name}_"):
            try:
                module = importlib.import_module(f"asmade.cli.commands.{name}")
            except ModuleNotFoundError as missing:
                if missing.name == f"asmade.cli.commands.{name}":
                    continue
                raise
            found: click.Command = module.command
            return found
        return None

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Say which command was probably meant."""
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as fault:
            near = difflib.get_close_matches(args[0], self.list_commands(ctx), 2)
            hint = f"; did you mean {' or '.join(near)}?" if near else ""
            raise click.UsageError(f"there is no command {args[0]!r}{hint}", ctx) from fault


@click.group(
    cls=Commands,
    context_settings={"help_option_names": ["--help", "-h"], "max_content_width": 110},
    epilog="Exit codes: 0 holds, 1 something fails its limits, 2 bad input. Each command has --help and --json.",
)
@click.version_option(__version__, prog_name="asmade")
def group() -> None:
    """One build, one book: every dimension of a miniature steam locomotive as drawn, as chosen, as made."""


def run(arguments: Sequence[str]) -> int:
    """Run one command and give its exit code; every refusal is one message, never a stack trace."""
    as_json = "--json" in arguments
    try:
        answer = group.main(args=list(arguments), prog_name="asmade", standalone_mode=False)
    except AsmadeError as fault:
        return _refused(fault, as_json=as_json)
    except click.exceptions.NoArgsIsHelpError as fault:
        click.echo(fault.ctx.get_help())
        return BAD
    except click.ClickException as fault:
        if as_json:
            _say({"error": {"code": "usage", "message": fault.format_message(), "way_out": ""}})
        else:
            fault.show()
        return BAD
    except click.exceptions.Abort:
        click.echo("stopped; nothing was saved", err=True)
        return 130
    except BrokenPipeError:
        sys.stderr.close()
        return HOLDS
    return answer if isinstance(answer, int) else HOLDS


def _refused(fault: AsmadeError, *, as_json: bool) -> int:
    if as_json:
        from asmade.verbs.plain import error  # noqa: PLC0415

        _say(error(fault))
    else:
        click.echo(f"{fault.message}", err=True)
        if fault.way_out:
            click.echo(f"  -> {fault.way_out}", err=True)
    return BAD


def _say(data: Any) -> None:
    click.echo(json.dumps(data, ensure_ascii=False, indent=2))
