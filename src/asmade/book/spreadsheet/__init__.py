"""A dimension list in a spreadsheet, both ways: cells in, a plan of what would change out; rows in, a file out."""

from __future__ import annotations
