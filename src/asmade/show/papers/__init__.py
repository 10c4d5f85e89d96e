"""Papers: job sheets, pocket cards, cutting and buying lists and the build record set as PDF, black on white."""

from __future__ import annotations
