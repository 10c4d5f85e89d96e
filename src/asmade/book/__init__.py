"""The build: model, ledger, text and spreadsheet exchange, kits and arrangements."""

from __future__ import annotations
