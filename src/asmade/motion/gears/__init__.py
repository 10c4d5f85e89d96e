"""Valve gears, one file each, found by name: a file here with a ``GEAR`` in it is a gear."""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module

from asmade.measure.errors import Unknown
from asmade.motion.gears.kind import Anchor, Choice, Gear, Member, Size, Sizes
from asmade.motion.gears.picture import Picture, picture, sweeps


@cache
def gears() -> dict[str, Gear]:
    """Every kind of gear by its name."""
    found = {}
    for entry in pkgutil.iter_modules(__path__):
        gear = getattr(import_module(f"{__name__}.{entry.name}"), "GEAR", None)
        if isinstance(gear, Gear):
            found[gear.name] = gear
    return found


def gear(name: str) -> Gear:
    """The gear of that name; an unknown one is refused with the list of those there are."""
    known = gears()
    if name not in known:
        raise Unknown("valve gear", got=name, way_out=f"there are {', '.join(sorted(known))}")
    return known[name]


__all__ = ["Anchor", "Choice", "Gear", "Member", "Picture", "Size", "Sizes", "gear", "gears", "picture", "sweeps"]
