"""What the quick sums of the bench share: lists of gears and circles as typed, the machine of a book, angles."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Final

from asmade.measure.angles import read_angle
from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.quantities import read_quantity
from asmade.work.machines import Dial, Machine, machine

USUAL_PLATES: Final = ((15, 16, 17, 18, 19, 20), (21, 23, 27, 29, 31, 33), (37, 39, 41, 43, 47, 49))
"""A common set of three plates for a 40:1 head: Machinery's Handbook, from memory."""


def wholes(text: str, thing: str, *, least: int, most: int) -> tuple[int, ...]:
    """Whole numbers parted by spaces or commas; ``2x20`` is 20 twice."""
    found = []
    for part in re.split(r"[\s,]+", text.strip()):
        many, _, one = part.rpartition("x")
        if not one.isdigit() or (many and not many.isdigit()):
            raise Refused(thing, got=text, reason=f"{part!r} is no whole number", way_out="write '20 2x25 30 40'")
        if not least <= int(one) <= most or (many and not 1 <= int(many) <= 50):
            raise OutOfRange(thing, got=part, allowed=f"{least} to {most}", way_out="write what is stamped on them")
        found += [int(one)] * (int(many) if many else 1)
    return tuple(found)


def whole_number(text: str, thing: str, *, least: int = 1, most: int = 10_000) -> int:
    """One whole number."""
    found = wholes(text, thing, least=least, most=most)
    if len(found) != 1:
        raise Refused(thing, got=text, reason="one whole number is wanted", way_out="write 7")
    return found[0]


def plates(text: str) -> tuple[tuple[int, ...], ...]:
    """Plates parted by ``/``, the circles of each by spaces; nothing typed: the usual three."""
    if not text.strip():
        return USUAL_PLATES
    return tuple(wholes(part, "hole circles", least=2, most=1000) for part in text.split("/"))


def number(text: str, thing: str, *, above: float = 0.0) -> float:
    """A plain number above a limit."""
    value = float(read_quantity(text, kind="number", thing=thing).value)
    if value <= above:
        raise OutOfRange(thing, got=text, allowed=f"above {above:g}")
    return value


def angle_rad(text: str, thing: str) -> tuple[float, Fraction, str]:
    """An angle in radians, the same exact in degrees, and how it was read; a bare figure is degrees."""
    bare = re.fullmatch(r"\s*[-+]?[0-9]+(?:\.[0-9]+)?\s*", text) is not None
    found = read_angle(f"{text.strip()} deg" if bare else text, thing=thing)
    return math.radians(float(found.degrees)), found.degrees, f"{thing} {found.how}"


def machine_of(book: str, name: str, kind: str) -> Machine | None:
    """The machine of a book, by name or the only one of a kind; None where no book is given."""
    if not book:
        if name:
            raise Refused("machine", got=name, reason="it stands in a book", way_out="give --book BOOK too")
        return None
    from asmade.verbs.store import read_build  # noqa: PLC0415

    return machine(read_build(book).shop, name, kind=kind)


def dial_of(text: str, name: str, thing: str) -> Dial:
    """A dial as typed: ``2 mm / 0.02 mm``, a turn and a division; ``diameter`` or ``radius`` first if it reads that."""
    from asmade.work.machines import read_machine  # noqa: PLC0415

    reads, rest = "length", text.strip()
    for word in ("diameter", "radius", "length"):
        if rest.startswith(f"{word} "):
            reads, rest = word, rest.removeprefix(word).strip()
    turn, slash, division = (part.strip() for part in rest.partition("/"))
    if not slash or not turn or not division:
        raise Refused(thing, got=text, reason="it is a turn and a division", way_out="write '2 mm / 0.02 mm'")
    table = {"kind": "mill", name: {"reads": reads, "per_turn": turn, "division": division}}
    return read_machine("as_typed", table).dial(name)
