"""``python -m asmade``."""

from __future__ import annotations

from asmade.cli import main

main()
