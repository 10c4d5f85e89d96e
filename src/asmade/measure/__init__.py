"""What a number is: lengths as shops write them, drills, gauges, angles, uncertainty."""

from __future__ import annotations
