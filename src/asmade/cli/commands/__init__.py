"""One command a module, found by name: ``command`` is what click runs."""

from __future__ import annotations
