"""pair: which pin to which hole, over all measured pieces of a fit."""

from __future__ import annotations

from collections.abc import Sequence

from asmade.measure.errors import Refused
from asmade.reckon.mates import Mates, pair_up
from asmade.reckon.system import compile_system
from asmade.verbs.store import Path_, read_build


def pair(path: Path_, fit: str, *, forbid: Sequence[str] = ()) -> Mates:
    """Pair the measured pieces of a fit; ``forbid`` are pairs ``wheel#W1.bore=axle#2.seat`` that must not be."""
    build = read_build(path)
    forbidden = set()
    for text in forbid:
        hole, equals, shaft = text.partition("=")
        if not equals:
            raise Refused("--forbid", got=text, reason="it is not a pair", way_out="write HOLE=SHAFT by their marks")
        forbidden.add((hole.strip(), shaft.strip()))
    return pair_up(build, compile_system(build), fit, forbidden=frozenset(forbidden))
