"""Arrangements of wheels, and the book that the kits make of one: every part and relation, nothing drawn yet.

An arrangement is written as the trade writes it: carrying wheels ahead, coupled wheels, carrying wheels behind. Axles
are numbered from the front; carrying axles are b1, b2 ahead and t1 behind.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from asmade.book.kits import kits
from asmade.book.kits.expand import Composed, expand
from asmade.book.kits.writing import write_book
from asmade.measure.errors import Refused, Unknown, near

RODS: Final = ("plain", "knuckle")
LEADS: Final = ("R", "L")
UNITS: Final = ("inch", "mm")
SIDES: Final = ("L", "R")
ORDINALS: Final[Mapping[str, str]] = {"2": "second", "3": "third", "4": "fourth"}
TRUCKS: Final[Mapping[tuple[str, int], str]] = {
    ("b", 1): "pony_truck", ("b", 2): "bogie", ("t", 1): "trailing_truck", ("t", 2): "trailing_bogie",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Arrangement:
    """How many axles carry ahead, are coupled, and carry behind; which coupled axle is usually driven."""

    name: str
    ahead: int
    coupled: int
    behind: int
    driven: int


ARRANGEMENTS: Final[Mapping[str, Arrangement]] = {
    each.name: each
    for each in (
        Arrangement("0-4-0", 0, 2, 0, 2),
        Arrangement("0-6-0", 0, 3, 0, 2),
        Arrangement("0-8-0", 0, 4, 0, 3),
        Arrangement("2-6-0", 1, 3, 0, 2),
        Arrangement("4-4-0", 2, 2, 0, 1),
        Arrangement("4-6-0", 2, 3, 0, 2),
        Arrangement("4-6-2", 2, 3, 1, 2),
    )
}


def arrangement(name: str) -> Arrangement:
    """The arrangement of a name such as ``0-6-0``; raises `Unknown` with the near names."""
    found = ARRANGEMENTS.get(name.strip())
    if found is None:
        raise Unknown("arrangement", got=name, near=near(name, ARRANGEMENTS),
                      way_out=f"one of: {', '.join(ARRANGEMENTS)}")  # fmt: skip
    return found


@dataclass(frozen=True)
class Wheels:
    """The places of one arrangement with one driven axle, in the words the kits use."""

    of: Arrangement
    driven: str

    @cached_property
    def axles(self) -> tuple[str, ...]:
        """Coupled axles from the front."""
        return tuple(str(n) for n in range(1, self.of.coupled + 1))

    @cached_property
    def sections(self) -> tuple[str, ...]:
        """Between neighbouring coupled axles."""
        return tuple(f"{n}{n + 1}" for n in range(1, self.of.coupled))

    @cached_property
    def carrying(self) -> tuple[str, ...]:
        """Carrying axles: those ahead, then those behind."""
        return (*(f"b{n + 1}" for n in range(self.of.ahead)), *(f"t{n + 1}" for n in range(self.of.behind)))

    @cached_property
    def groups(self) -> Mapping[str, tuple[str, ...]]:
        """What the kits call groups of places."""
        plain = tuple(axle for axle in self.axles if axle != self.driven)
        return {
            "engine": ("engine",),
            "axles": self.axles,
            "first axle": self.axles[:1],
            "inner axles": self.axles[1:-1],
            "last axle": self.axles[-1:],
            "driven axle": (self.driven,),
            "plain axles": plain,
            "leading pins": tuple(axle for axle in plain if axle == "1"),
            "intermediate pins": tuple(axle for axle in plain if "1" < axle < self.driven),
            "sections": self.sections,
            "last section": self.sections[-1:],
            "carrying sections": self.sections[1:],
            "hanging sections": self.sections[:-1],
            "carrying axles": self.carrying,
        }

    def places(self, text: str) -> tuple[str, ...]:
        """Places meant by ``axles``, ``sides`` or ``axles x sides``."""
        if text == "sides":
            return SIDES
        group, _, sides = text.partition(" x ")
        if group not in self.groups or sides not in ("", "sides"):
            raise Unknown("places of a kit", got=text, near=near(group, self.groups),
                          way_out=f"one of: {', '.join(self.groups)}, sides; or one of them x sides")  # fmt: skip
        found = self.groups[group]
        return tuple(axle + side for axle in found for side in SIDES) if sides else found

    def which(self, axle: str) -> str:
        """What the pin of a coupled axle is called."""
        if axle == self.driven:
            return "driving"
        if axle == "1":
            return "leading"
        if axle == self.axles[-1]:
            return "trailing"
        between = [each for each in self.axles[1:-1] if each != self.driven]
        return "intermediate" if len(between) == 1 else ORDINALS[axle]

    def rod(self, section: str) -> str:
        """Part name of the coupling rod of a section."""
        return f"coupling_rod{self._rod_place(section)}"

    def _rod_place(self, section: str) -> str:
        at = self.sections.index(section)
        last = len(self.sections) - 1
        return "" if not last else "_front" if not at else "_rear" if at == last else "_middle"

    def words(self, place: str) -> Mapping[str, str]:
        """What the kits' ``<words>`` stand for at a place."""
        found = {"driven": self.driven}
        bare = place.rstrip("LR")
        if bare in self.axles:
            found |= {"which": self.which(bare)}
            at = self.axles.index(bare)
            if at > 0:
                section = self.sections[at - 1]
                found["rod_ahead"] = f"{self.rod(section)}@{section}{{side}}"
            if at < len(self.sections):
                section = self.sections[at]
                found["rod_behind"] = f"{self.rod(section)}@{section}{{side}}"
        elif bare in self.sections:
            name = self._rod_place(bare).strip("_")
            found |= {"rod": self.rod(bare), "rod_words": f"{name} coupling rod".strip(),
                      "fore": self.which(bare[0]), "aft": self.which(bare[1])}  # fmt: skip
            at = self.sections.index(bare) + 1
            if at < len(self.sections):
                section = self.sections[at]
                found["behind"] = f"{self.rod(section)}@{section}{{side}}"
        elif bare in self.carrying:
            count = sum(each[0] == bare[0] for each in self.carrying)
            found["truck"] = TRUCKS[bare[0], count]
        return found


def wheels_of(name: str, driven: str = "") -> Wheels:
    """An arrangement with its driven axle; without one, that which is usual for it."""
    found = arrangement(name)
    axle = driven.strip() or str(found.driven)
    wheels = Wheels(found, axle)
    if axle not in wheels.axles:
        raise Refused("driven axle", got=driven, reason=f"a {found.name} has coupled axles {', '.join(wheels.axles)}",
                      way_out="name one of them, counted from the front")  # fmt: skip
    return wheels


def valve_gears() -> tuple[str, ...]:
    """Valve gears that there is a kit for."""
    return tuple(kit.when["valve_gear"] for kit in kits() if "valve_gear" in kit.when)


def kits_for(wheels: Wheels, *, rods: str = "plain", gear: str = "") -> tuple[Composed, ...]:
    """The kits that make the running gear of an arrangement (and its valve gear, if one is named), written out."""
    if gear and gear not in valve_gears():
        raise Unknown("kit of a valve gear", got=gear, near=near(gear, valve_gears()),
                      way_out=f"one of: {', '.join(valve_gears())}")  # fmt: skip
    if rods not in RODS:
        raise Unknown("rods", got=rods, near=near(rods, RODS), way_out=f"one of: {', '.join(RODS)}")
    found = (expand(kit, wheels) for kit in kits() if kit.wanted({"rods": rods, "valve_gear": gear}))
    return tuple(each for each in found if each.parts)


def compose(
    name: str, *, unit: str = "inch", title: str = "", rods: str = "plain", driven: str = "", leads: str = "R",
    gear: str = "",
) -> str:  # fmt: skip
    """The text of a new book: parts and relations of the running gear, with nothing drawn yet.

    ``name`` is the arrangement (``0-6-0``); ``unit`` that of bare drawn figures; ``driven`` the axle on which the
    connecting rods work; ``leads`` the side whose crank is ahead by the quarter in forward running; ``gear`` the valve
    gear, if it is to be in the book.
    """
    for thing, got, among in (("unit", unit, UNITS), ("leads", leads, LEADS)):
        if got not in among:
            raise Unknown(thing, got=got, near=near(got, among), way_out=f"one of: {', '.join(among)}")
    wheels = wheels_of(name, driven)
    book: dict[str, Any] = {
        "format": 1, "title": title.strip() or f"untitled {wheels.of.name}", "drawing_unit": unit,
        "arrangement": wheels.of.name, "leads": leads,
    }  # fmt: skip
    places: dict[str, Any] = {
        "axles": list(wheels.axles), "sides": list(SIDES), "sections": list(wheels.sections), "driven": wheels.driven,
    }  # fmt: skip
    return write_book(book, places, kits_for(wheels, rods=rods, gear=gear))
