"""Steps of a turned part: each section with its figures at the bench, and which recipe makes a hole."""

from __future__ import annotations

import math
from dataclasses import dataclass

from asmade.book.forms.turned import Section
from asmade.work.flats import across_corners_mm
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.die_cut_thread import blank_mm
from asmade.work.routes.schemes.result import dims, value


@dataclass(frozen=True, slots=True)
class Step:
    """A section with its figures."""

    section: Section
    diameter: float
    length: float
    as_bought: bool

    @property
    def name(self) -> str:
        """The section's name."""
        return self.section.name


def hole_recipe(process: str, *, threaded: bool) -> str:
    """Which recipe makes a hole by a process."""
    if threaded:
        return "drilled and tapped hole"
    return {"reamed": "reamed hole", "bored": "bored hole", "jig bored": "bored hole", "drilled": "drilled hole"}.get(
        process, "drilled hole"
    )


def step_of(section: Section, bench: Bench) -> Step:
    """A section at the bench's sizes; a square or hexagon by what it is turned from, a thread by its blank."""
    length = value(section.length, bench)
    if section.shape in ("hexagon", "square"):
        flats = value(section.across_flats, bench)
        count = 6 if section.shape == "hexagon" else 4
        diameter = across_corners_mm(count, flats) if math.isfinite(flats) and flats > 0 else math.nan
        own = dims(section.across_flats)
        return Step(section, diameter, length, as_bought=bool(own) and bench.made_by(own[0]) == "stock as is")
    diameter = value(section.diameter, bench)
    if section.thread:
        blank = blank_mm(bench.callout_of(section.thread))
        diameter = blank if math.isfinite(blank) else diameter
    own = dims(section.diameter)
    return Step(section, diameter, length, as_bought=bool(own) and bench.made_by(own[0]) == "stock as is")
