"""The commands. No sums."""

from __future__ import annotations

import sys


def main() -> None:
    """Run the command line; the console script ``asmade`` calls this."""
    from asmade.cli.app import run  # noqa: PLC0415  # nothing is imported before it is wanted

    sys.exit(run(sys.argv[1:]))
