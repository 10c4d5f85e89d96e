"""Published tables and formulas, each with its source."""

from __future__ import annotations
