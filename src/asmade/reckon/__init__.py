"""From the book to findings: best known values, requirements, capability, aims, choice."""

from __future__ import annotations
