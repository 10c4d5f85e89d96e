"""How it is made: routes, set-ups, speeds, stock, cautions."""

from __future__ import annotations
