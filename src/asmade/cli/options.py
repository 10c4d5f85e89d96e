"""Options and arguments that many commands share, and how an answer is given."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])


def _named(ctx: click.Context, param: click.Parameter, value: str) -> str:
    if not value.strip():
        raise click.BadParameter("it has no name", ctx, param)
    return value


book = click.argument("book", type=click.Path(dir_okay=False), metavar="BOOK", callback=_named)
as_json = click.option("--json", "as_json", is_flag=True, help="Answer as JSON (docs/json.md).")
what_if = click.option("--what-if", is_flag=True, help="Show what would be; write nothing.")


at = click.option("--at", default="", metavar="TIME", help="When: 2026-11-25T14:30; now unless said.")
by = click.option("--by", default="", metavar="NAME", help="Who did it.")


def complete_address(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:  # noqa: ARG001
    """Addresses of the book that begin as typed, for the shell's completion."""
    path = ctx.params.get("book")
    if not path:
        return []
    from asmade.verbs.addresses import beginning_with  # noqa: PLC0415

    return list(beginning_with(path, incomplete))


address = click.argument("address", metavar="ADDRESS", shell_complete=complete_address)


def complete_joint(ctx: click.Context, param: click.Parameter, incomplete: str) -> list[str]:  # noqa: ARG001
    """Joints of the book that begin as typed, for the shell's completion."""
    path = ctx.params.get("book")
    if not path:
        return []
    from asmade.verbs.last_look import joints_beginning_with  # noqa: PLC0415

    return list(joints_beginning_with(path, incomplete))


joint = click.argument("joint", metavar="JOINT", shell_complete=complete_joint)


def say_json(data: Any) -> None:
    """Print plain data as JSON."""
    click.echo(json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False))
