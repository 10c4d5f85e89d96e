"""The rack: which section a blank comes from, what there is of it, and what is sold where the rack has none."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from asmade.book.model import Stock
from asmade.measure.errors import AsmadeError, Refused
from asmade.standards.materials import family_of, material
from asmade.standards.stock import SYSTEMS, StockSize, is_preferred, mass_per_metre_kg, nearest_stock
from asmade.work.blanks import ALSO, Blank, read_section
from asmade.work.cutlist import Bar, CutPlan

SAME_MM: Final = 0.02
"""Two sections are one size within this."""
WASTEFUL: Final = 1.35
"""Bar in the rack is not turned down from more than so many times what is wanted: ours."""
ROUND: Final = ("round bar", "ground bar")


@dataclass(frozen=True, slots=True)
class Section:
    """One material in one section."""

    material: str
    shape: str
    size_mm: float
    thickness_mm: float | None = None

    @property
    def words(self) -> str:
        """``round bar 18 mm``."""
        thick = "" if self.thickness_mm is None else f" x {self.thickness_mm:g}"
        return f"{self.shape} {self.size_mm:g}{thick} mm"

    def mass_kg(self, length_mm: float) -> float | None:
        """Mass of a length; None where the material's density is not held."""
        if family_of(self.material) is None:
            return None
        density = material(self.material).density_kg_m3
        if self.shape == "sheet":
            return None if self.thickness_mm is None else self.size_mm * self.thickness_mm * length_mm * density * 1e-9
        return mass_per_metre_kg(self.shape, self.size_mm, density, self.thickness_mm) * length_mm / 1000


class Rack:
    """The rack, read: which section a blank comes from, which bars there are of it."""

    def __init__(self, stock: Sequence[Stock], buys: Sequence[str]) -> None:
        self.buys = buys
        self.lines: list[tuple[Section, Stock]] = []
        for at, line in enumerate(stock, 1):
            shape = ALSO.get(line.form, line.form)
            try:
                size, thick = read_section(line.size, f"shop.stock {at}")
            except AsmadeError as fault:
                raise Refused("shop.stock", got=f"{line.form} {line.material} {line.size}", reason=fault.message,
                              way_out=fault.way_out) from fault  # fmt: skip
            if shape == "sheet" and thick is None:
                size, thick = 0.0, size
            self.lines.append((Section(line.material, shape, size, thick), line))

    def section_for(self, blank: Blank) -> Section:
        """The section in the rack that does, the smallest; else the one to buy."""
        if blank.shape == "sheet":
            return Section(blank.material, "sheet", 0.0, blank.thickness_mm)
        shapes = ROUND if blank.shape in ROUND else (blank.shape,)
        does = [
            s for s, line in self.lines
            if s.shape in shapes and _same(s.material, blank.material) and _does(s, blank)
            and (line.length_mm or 0.0) >= blank.length_mm
        ]  # fmt: skip
        if does:
            best = min(does, key=lambda s: (s.size_mm * (s.thickness_mm or s.size_mm), s.shape != blank.shape))
            return Section(blank.material, best.shape, best.size_mm, best.thickness_mm)
        return self._sold(blank)

    def _sold(self, blank: Blank) -> Section:
        if blank.exact and (blank.shape != "flat bar" or blank.exact_width):
            ground = blank.shape == "round bar" and family_of(blank.material) == "tool steel"
            return Section(blank.material, "ground bar" if ground else blank.shape, blank.size_mm, blank.thickness_mm)
        if blank.shape == "flat bar" and blank.thickness_mm is not None:
            return Section(
                blank.material, "flat bar", self._not_below(blank.size_mm, "flat width"),
                blank.thickness_mm if blank.exact else self._not_below(blank.thickness_mm, "flat thickness"),
            )  # fmt: skip
        shape = (
            "ground bar" if blank.shape == "round bar" and family_of(blank.material) == "tool steel" else blank.shape
        )
        return Section(blank.material, shape, self._not_below(blank.size_mm, shape))

    def _not_below(self, size: float, shape: str) -> float:
        found: list[StockSize] = []
        for system in SYSTEMS:
            if system in self.buys:
                found += [
                    near.stock for near in nearest_stock(round(size, 4), shape, system=system, side="not below", most=1)
                ]
        return min((s.size_mm for s in found), default=math.ceil(size))

    def bars(self, section: Section) -> tuple[list[Bar], list[str]]:
        """Bars of a section in the rack, and lines whose length is not said."""
        found, notes = [], []
        for have, line in self.lines:
            if have.shape == section.shape and _same(have.material, section.material) and _equal(have, section):
                name = line.bar or f"rack, {line.length_mm or 0:g} mm"
                if line.length_mm is None:
                    notes.append(f"{line.form} {line.size} in the rack has no length: it is left out of account")
                elif line.count:
                    found.append(Bar(name, line.length_mm, line.count))
        return found, notes

    def doubts(self, section: Section, plan: CutPlan) -> list[str]:
        """What to think of before buying a section that is not sold in the sizes the builder buys."""
        shape = "flat thickness" if section.shape == "flat bar" else section.shape
        size = section.thickness_mm if section.shape == "flat bar" else section.size_mm
        if not plan.buy or size is None:
            return []
        exact = round(size, 6)
        if any(is_preferred(shape, exact, system) for system in SYSTEMS if system in self.buys):
            return []
        have = sorted(
            {s.words for s, _ in self.lines if _same(s.material, section.material) and s.shape == section.shape
             and 0 < abs(s.size_mm - section.size_mm) <= 0.06 * section.size_mm}
        )  # fmt: skip
        near = f"; the rack has {', '.join(have)}" if have else ""
        return [f"{section.words} is no {' or '.join(self.buys)} size: decide the sizes first (asmade choose){near}"]

    def sheets(self, section: Section) -> tuple[str, ...]:
        """Lines of sheet of a thickness in the rack."""
        return tuple(
            f"{line.count} of {line.size}, {line.length_mm:g} mm long" if line.length_mm else line.size
            for have, line in self.lines
            if have.shape == "sheet" and _same(have.material, section.material)
            and abs((have.thickness_mm or 0) - (section.thickness_mm or 0)) <= SAME_MM
        )  # fmt: skip


def _does(have: Section, blank: Blank) -> bool:
    """Whether a section of the rack does for a blank: exactly, or with metal to take off that is not a waste."""
    if (have.thickness_mm is None) != (blank.thickness_mm is None):
        return False
    over = have.size_mm - blank.size_mm
    if have.thickness_mm is not None and blank.thickness_mm is not None:
        thick_over = have.thickness_mm - blank.thickness_mm
        if blank.exact:
            widest = SAME_MM if blank.exact_width else (WASTEFUL - 1) * blank.size_mm
            return abs(thick_over) <= SAME_MM and -SAME_MM <= over <= widest
        return thick_over >= -SAME_MM and over >= -SAME_MM and (
            have.size_mm * have.thickness_mm <= WASTEFUL**2 * blank.size_mm * blank.thickness_mm
        )  # fmt: skip
    return abs(over) <= SAME_MM if blank.exact else -SAME_MM <= over <= (WASTEFUL - 1) * blank.size_mm


def _equal(one: Section, other: Section) -> bool:
    thick = abs((one.thickness_mm or 0) - (other.thickness_mm or 0)) <= SAME_MM
    return abs(one.size_mm - other.size_mm) <= SAME_MM and thick


def _same(one: str, other: str) -> bool:
    """Whether two names mean one material: by the standards' names where both are known, else as written."""
    if family_of(one) is None or family_of(other) is None:
        return one.strip().lower() == other.strip().lower()
    return material(one).name == material(other).name
