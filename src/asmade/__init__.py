"""asmade: one build, one book; every dimension as drawn, as chosen, as made."""

from __future__ import annotations

__version__ = "0.1.0"
