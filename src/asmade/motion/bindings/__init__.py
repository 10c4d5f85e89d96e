"""From the sizes of a book to the arguments of the sums of motion."""

from __future__ import annotations
