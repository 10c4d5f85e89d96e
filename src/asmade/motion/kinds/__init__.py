"""Kinds of requirement of what goes round, one module each, found by name."""

from __future__ import annotations
