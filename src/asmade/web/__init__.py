"""The pages and the JSON API. No sums."""

from __future__ import annotations
