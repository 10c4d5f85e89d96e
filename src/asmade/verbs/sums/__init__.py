"""Quick sums at the bench, without any book: one module for each, plain values in, a frozen `QuickSum` out."""

from __future__ import annotations
