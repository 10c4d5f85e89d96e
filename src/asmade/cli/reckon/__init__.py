"""Quick sums, one module each, found by name: ``command`` with its ``example``. No sums here."""

from __future__ import annotations
