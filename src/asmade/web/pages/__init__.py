"""The pages, by what they are for; each module has one ``router``."""

from __future__ import annotations
