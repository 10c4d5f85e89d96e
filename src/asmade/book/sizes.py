"""From a size as written to its exact value: lengths in mm, angles in degrees (exact) and radians (for sums)."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from asmade.book.model import Dimension
from asmade.measure.angles import read_angle
from asmade.measure.errors import AsmadeError, Refused
from asmade.measure.lengths import read_length
from asmade.measure.threads import read_thread


@dataclass(frozen=True, slots=True)
class Written:
    """A size as written, read: exact mm (degrees for an angle), its tolerance if it has one, and how it was read."""

    text: str
    exact: Fraction
    how: str
    angle: bool = False
    lower: Fraction | None = None
    upper: Fraction | None = None
    fit_class: str = ""
    remark: str = ""

    @property
    def value(self) -> float:
        """Mm, or radians for an angle: what the sums use."""
        return to_inside(self.exact, angle=self.angle)


def to_inside(exact: Fraction, *, angle: bool) -> float:
    """Mm as they are; degrees to radians."""
    from math import radians  # noqa: PLC0415

    return radians(float(exact)) if angle else float(exact)


def _read(text: str, kind_is_angle: bool, unit: str, signed: bool, thing: str) -> Written:
    """Read a text once, whatever it is for; one that cannot be read is refused in the name of what it is for."""
    try:
        return _known(text, kind_is_angle, unit, signed)
    except AsmadeError:
        return _read_anew(text, kind_is_angle, unit, signed, thing)


@lru_cache(maxsize=50_000)
def _known(text: str, kind_is_angle: bool, unit: str, signed: bool) -> Written:
    return _read_anew(text, kind_is_angle, unit, signed, "size")


def _read_anew(text: str, kind_is_angle: bool, unit: str, signed: bool, thing: str) -> Written:
    if kind_is_angle:
        angle = read_angle(text, thing=thing)
        if not signed and angle.degrees < 0:
            raise Refused(thing, got=text, reason="it is negative", way_out="say signed = true if it may be")
        return Written(text, angle.degrees, angle.how, angle=True)
    length = read_length(text, unit="inch" if unit == "inch" else "mm", signed=signed, thing=thing)
    return Written(
        text, length.mm, length.how, lower=length.lower, upper=length.upper,
        fit_class=length.fit_class or "", remark=length.remark or "",
    )  # fmt: skip


def read_size(text: str, dimension: Dimension, unit: str, thing: str = "") -> Written | None:
    """Read a size of ``dimension``; ``unit`` ("inch" or "mm") is that of a bare number. Empty text gives None.

    A thread has no single size and is refused here: see `read_callout`.
    """
    if not text.strip():
        return None
    kind = dimension.of_kind
    if kind.thread:
        raise Refused(thing or dimension.name, got=text, reason="it is a thread callout, not a length")
    return _read(text, kind.angle, unit, dimension.signed or kind.name == "position", thing or dimension.name)


def read_limit(text: str, *, angle: bool = False, unit: str = "mm", thing: str = "limit") -> Fraction | None:
    """Read a limit such as ``least = "-0.02 mm"``: signed, exact mm or degrees; empty gives None (no limit)."""
    return _read(text, angle, unit, True, thing).exact if text.strip() else None


def check_written(text: str, dimension: Dimension, unit: str, thing: str = "") -> str:
    """Read any size of a dimension, thread or length, and say how it was read; raises `Refused`; empty gives empty."""
    if not text.strip():
        return ""
    if dimension.of_kind.thread:
        return read_thread(text).designation
    found = read_size(text, dimension, unit, thing)
    return "" if found is None else found.how
