"""Sizes written out: exactly, so that they can be read again, or rounded to a step that is named where it is asked for.

Rounding takes a half to the even digit (ISO 80000-1:2009 annex B rule A, from memory), so that rounding a column of
figures does not shift its mean. Nothing is ever shown as ``-0.00``.
"""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from math import isfinite
from typing import TYPE_CHECKING

from asmade.measure.angles import Angle, show_degrees
from asmade.measure.errors import OutOfRange, Refused
from asmade.measure.gauges import EVERY_SERIES, Series, nearest_drills
from asmade.measure.writing import DIVISIONS, MM_PER_INCH, decimal, mixed, rounded_decimal

if TYPE_CHECKING:
    from asmade.measure.lengths import Length

Number = Fraction | float | int

_BINARY = (2, 4, 8, 16, 32, 64)
_LONGEST_DECIMAL = 11
_DECADES = {step: Decimal(step) for step in ("1", "0.1", "0.01", "0.001", "0.0001")}
_QUICK = 1e15
"""Floats below this go to the decimal library for such steps: the same digits as by fractions, a tenth of the time."""


def exact(value: Number) -> Fraction:
    """Return ``value`` as a fraction; a float is taken as the shortest decimal that names it (0.1 is one tenth).

    Raises ``OutOfRange`` for nan and infinity.
    """
    if isinstance(value, float):
        if not isfinite(value):
            raise OutOfRange("number to show", got=value, allowed="finite numbers", way_out="find the sum that gave it")
        return Fraction(float.__repr__(value))
    return Fraction(value)


def show_to(value: Number, step: str) -> str:
    """Write ``value`` to the nearest whole multiple of ``step`` (a positive decimal such as "0.01" or "0.05"), no unit.

    Anchors: 30.1625 to "0.01" is 30.16, 30.165 and 30.155 too (half to even), -0.004 is 0.00, 7.94 to "0.05" is 7.95.
    """
    if isinstance(value, float) and step in _DECADES and abs(value) < _QUICK:
        text = format(Decimal(float.__repr__(value)).quantize(_DECADES[step], ROUND_HALF_EVEN), "f")
        return text.removeprefix("-") if text.startswith("-") and not text.strip("-0.") else text
    size = _step(step)
    places = len(step.partition(".")[2])
    return rounded_decimal(round(exact(value) / size) * size, places)


def _step(step: str) -> Fraction:
    whole, _, part = step.partition(".")
    if not (whole.isascii() and whole.isdigit() and (part.isdigit() or "." not in step)) or not Fraction(step):
        raise Refused("rounding step", got=step, reason="it is no positive decimal", way_out="write '0.01' or '0.05'")
    return Fraction(step)


def show_mm(mm: Number, step: str = "0.01") -> str:
    """Write a length in mm to the named ``step``, no unit. Anchor: 1 3/16 in is 30.1625 mm, shown 30.16."""
    return show_to(mm, step)


def show_inch(mm: Number, step: str = "0.0001") -> str:
    """Write a length given in mm as decimal inches to the named ``step``, no unit. Anchor: 30.1625 mm is 1.1875."""
    return show_to(exact(mm) / MM_PER_INCH, step)


def show_thou(mm: Number, step: str = "0.1") -> str:
    """Write a length given in mm in thousandths of an inch to the named ``step``, no unit. Anchor: 0.762 mm is 30.0."""
    return show_to(exact(mm) / MM_PER_INCH * 1000, step)


def show_64ths(mm: Number, step: str = "0.1") -> str:
    """Write a length given in mm as the nearest 64th of an inch and what remains in thou, rounded to ``step``.

    `read_length` reads it back. Anchors: 30.1625 mm is ``1 3/16 in``; 30.2133 mm is ``1 3/16 in + 2 thou``.
    """
    inches = exact(mm) / MM_PER_INCH
    nearest = Fraction(round(inches * 64), 64)
    size = _step(step)
    remainder = round((inches - nearest) * 1000 / size) * size
    thou = mixed(abs(remainder)) if remainder.denominator == 1 else decimal(abs(remainder))
    if not remainder:
        return f"{mixed(nearest)} in"
    if not nearest:
        return f"{'-' if remainder < 0 else ''}{thou} thou"
    return f"{mixed(nearest)} in {'-' if remainder < 0 else '+'} {thou} thou"


def show_drills(mm: Number, *, series: tuple[Series, ...] = EVERY_SERIES, count: int = 3) -> str:
    """Name the drills nearest to a diameter in mm and by how much each is over or under; see `nearest_drills`."""
    return ", ".join(str(near) for near in nearest_drills(exact(mm), series=series, count=count))


def show_angle(angle: Angle) -> str:
    """Write an angle exactly, so that `read_angle` reads it back: ``22.5 deg`` or ``90d 12m 30s``."""
    return show_degrees(angle.degrees)


def show_degrees_minutes(degrees: Number) -> str:
    """Write an angle to the nearest minute: ``90° 12′``. Anchors: 89.9999 is ``90° 0′``, -0.001 is ``0° 0′``."""
    minutes = round(exact(degrees) * 60)
    whole, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else ''}{whole}° {rest}′"


def show(length: Length) -> str:
    """Write ``length`` so that `read_length` (with ``signed`` if it is negative) reads the very same.

    The figure comes with its unit, so any drawing or instrument will do: a fraction of an inch where a rule has
    it, else a decimal. Raises ``Refused`` for a value that no accepted text stands for (built by hand only).
    """
    if length.named is not None:
        return length.named
    if length.upper is not None and length.lower is not None:
        base = _one_figure(length.mm, length.unit, length)
        return f"{base} {_tolerance(length.upper, length.lower, base, length)}"
    if length.fit_class is not None:
        return f"{_one_figure(length.mm, length.unit, length)} {length.fit_class}"
    if length.remark is not None:
        return f"{_one_figure(length.mm, length.unit, length)} {length.remark}"
    written = _figure(length.mm, length.unit) or _with_third(length.mm, length.unit)
    if written is None:
        raise _unwritten(length)
    return written


def _one_figure(mm: Fraction, unit: str, length: Length) -> str:
    written = _figure(mm, unit)
    if written is None:
        raise _unwritten(length)
    return written


def _unwritten(length: Length) -> Refused:
    return Refused("length", got=str(length.mm), reason="no written length has this value", way_out="round it first")


def _figure(mm: Fraction, unit: str) -> str | None:
    """Write ``mm`` as one figure in ``unit`` (mm, or inches: fraction, decimal or thou), if that is exact."""
    if unit == "mm":
        return _decimal_or_fraction(mm, "mm", _LONGEST_DECIMAL)
    inches = mm / MM_PER_INCH
    if inches.denominator in _BINARY and abs(inches) < 10**4:
        return f"{mixed(inches)} in"
    return _decimal_or_fraction(inches, "in", _LONGEST_DECIMAL - 1) or _decimal_or_fraction(inches * 1000, "thou", 6)


def _decimal_or_fraction(value: Fraction, unit: str, places: int) -> str | None:
    written = decimal(value)
    if written is not None and len(written.partition(".")[2]) <= places:
        return f"{written} {unit}"
    return f"{mixed(value)} {unit}" if value.denominator in DIVISIONS else None


def _with_third(mm: Fraction, unit: str) -> str | None:
    """Write a sum of a third and a decimal: sums of twelfths and decimals have no shorter exact form."""
    value, name = (mm, "mm") if unit == "mm" else (mm / MM_PER_INCH, "in")
    for third in (Fraction(1, 3), Fraction(2, 3)):
        rest = _decimal_or_fraction(abs(value - third), name, _LONGEST_DECIMAL - (name == "in"))
        if rest is not None:
            return f"{third} {name} {'-' if value < third else '+'} {rest}"
    return None


def _tolerance(upper: Fraction, lower: Fraction, base: str, length: Length) -> str:
    unit = base.rpartition(" ")[2]

    def amount(mm: Fraction) -> str:
        factor = {"mm": Fraction(1), "in": MM_PER_INCH, "thou": MM_PER_INCH / 1000}[unit]
        written = _decimal_or_fraction(abs(mm) / factor, "", 6 if unit == "thou" else _LONGEST_DECIMAL - 1)
        if written is not None:
            return written.strip() if "/" not in written else f"{written.strip()} {unit}"
        for system in ("mm", "inch"):
            if other := _figure(abs(mm), system):
                return other
        raise _unwritten(length)

    if upper == -lower:
        return f"+/-{amount(upper)}"
    signs = ("-" if upper < 0 else "+", "+" if lower > 0 else "-")
    joint = " " if signs == ("+", "-") else "/"
    return f"{signs[0]}{amount(upper)}{joint}{signs[1]}{amount(lower)}"
