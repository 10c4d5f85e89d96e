"""What goes round: linkages, coupled wheels, gaps between moving parts, valve gear."""

from __future__ import annotations
