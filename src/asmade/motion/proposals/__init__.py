"""Design aid, one file for each kind of gear: a whole gear from what is wanted and the room there is."""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module

from asmade.measure.errors import Unknown
from asmade.motion.proposals.aid import Aid, Ask, Line, Proposal


@cache
def aids() -> dict[str, Aid]:
    """Every design aid by the gear it is for."""
    found = {}
    for entry in pkgutil.iter_modules(__path__):
        aid = getattr(import_module(f"{__name__}.{entry.name}"), "AID", None)
        if isinstance(aid, Aid):
            found[aid.gear] = aid
    return found


def aid_for(gear: str) -> Aid:
    """The design aid for a kind of gear."""
    known = aids()
    if gear not in known:
        raise Unknown("gear to propose", got=gear, way_out=f"there are {', '.join(sorted(known))}")
    return known[gear]


__all__ = ["Aid", "Ask", "Line", "Proposal", "aid_for", "aids"]
