"""Addresses: how a size is named, in commands, text, sums and sheets alike.

``wheel.bore`` is the size on the part's drawing, ``wheel@2L.bore`` that of whichever piece sits at place 2L (axle 2,
left, facing forward), ``wheel#W3.bore`` that of the individual stamped W3. A quantity that belongs to no part has no
dimension: ``centres_axles@12L``; a figure of the whole engine is a bare name: ``working_pressure``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from asmade.measure.errors import Refused

NAME = r"[A-Za-z_][A-Za-z0-9_]*"
PLACE = r"[A-Za-z0-9_]+"
DIMENSION = r"[A-Za-z0-9_]+(?:\.[A-Za-z0-9_]+)*"
PATTERN = re.compile(
    rf"(?P<part>{NAME})(?:@(?P<place>{PLACE})|#(?P<mark>{PLACE}))?(?:\.(?P<dim>{DIMENSION}))?",
)
_NAME = re.compile(NAME)
_PLACE = re.compile(PLACE)
_AXLE_SIDE = re.compile(r"(?P<axle>[1-9]|[bt][1-9])(?P<side>[LR])?")
_SECTION = re.compile(r"(?P<fore>[1-9])(?P<aft>[1-9])(?P<side>[LR])?")
SIDE_WORDS = {"L": "left", "R": "right"}


@dataclass(frozen=True, slots=True, order=True)
class Address:
    """One size: part, then place or mark (never both), then dimension. Empty strings mean "not said"."""

    part: str
    place: str = ""
    mark: str = ""
    dim: str = ""

    def __str__(self) -> str:
        """Give the text form, which `read_address` reads back."""
        seat = f"@{self.place}" if self.place else f"#{self.mark}" if self.mark else ""
        return f"{self.part}{seat}{'.' + self.dim if self.dim else ''}"

    @property
    def of_part(self) -> Address:
        """The same dimension on the part's drawing, without place or mark."""
        return Address(self.part, dim=self.dim)

    @property
    def seat(self) -> str:
        """``wheel@2L`` or ``wheel#W3`` or ``wheel``: the thing without the dimension."""
        return str(Address(self.part, self.place, self.mark))


def read_address(text: str) -> Address:
    """Read an address; raises `Refused` with the form to use."""
    found = PATTERN.fullmatch(text.strip())
    if found is None:
        raise Refused(
            "address",
            got=text,
            reason="an address is a part, then @place or #mark, then .dimension",
            way_out="write for example wheel.bore, wheel@2L.bore or wheel#W3.bore",
        )
    return Address(found["part"], found["place"] or "", found["mark"] or "", found["dim"] or "")


def is_name(text: str) -> bool:
    """Whether ``text`` can name a part, a figure or a quantity."""
    return _NAME.fullmatch(text) is not None


def is_place(text: str) -> bool:
    """Whether ``text`` can be a place or a mark (letters, digits and underscores only)."""
    return _PLACE.fullmatch(text) is not None


def words_of_place(place: str) -> dict[str, str]:
    """Give what the braces of a relation stand for at ``place``.

    ``2L`` gives axle, side, other, side_word, place; ``12L`` gives section, fore, aft and the side's words; a side
    alone, an axle alone and a named place give what they hold. ``12`` is a section, since axles are single digits.
    """
    words = {"place": place}
    side = None
    if place in SIDE_WORDS:
        side = place
    elif found := _SECTION.fullmatch(place):
        words |= {"section": found["fore"] + found["aft"], "fore": found["fore"], "aft": found["aft"]}
        side = found["side"]
    elif found := _AXLE_SIDE.fullmatch(place):
        words["axle"] = found["axle"]
        side = found["side"]
    if side is not None:
        other = "R" if side == "L" else "L"
        words |= {
            "side": side,
            "other": other,
            "side_word": SIDE_WORDS[side],
            "other_word": SIDE_WORDS[other],
        }
    return words


def spread_out(template: str, place: str) -> str:
    """Put the words of ``place`` into the braces of ``template``; raises `Refused` if a brace has no meaning there."""
    if "{" not in template:
        return template
    words = words_of_place(place)

    def put(found: re.Match[str]) -> str:
        word = found[1]
        if word not in words:
            raise Refused(
                "relation",
                got=template,
                reason=f"{{{word}}} has no meaning at place {place!r}",
                way_out=f"there it may use {', '.join('{' + w + '}' for w in sorted(words))}",
            )
        return words[word]

    return re.sub(r"\{([a-z_]*)\}", put, template)
