"""The commands. No sums."""

from __future__ import annotations
