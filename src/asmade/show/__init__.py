"""Pictures and papers: strokes first, then SVG and more. No sums."""

from __future__ import annotations
