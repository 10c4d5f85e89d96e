"""Kinds of requirement, one module each, found by name: ``KIND``, ``HELP``, ``requirements(relation, scope)``."""

from __future__ import annotations
