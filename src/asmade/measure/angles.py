"""Angles as shops write them: degrees with a decimal or a fraction, or degrees, minutes and seconds. Exact inside."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from math import pi

from asmade.measure.writing import NUMBER, Doubt, decimal, fraction, mixed, number, plain, refusal, rounded_decimal

MOST_DEGREES = 360
_DECIMALS = 9

_DEGREES_MARK = r"(?:degrees|degree|degs|deg\.?|d|°)"
_MINUTES_MARK = r"(?:minutes|minute|mins|min\.?|m|')"
_SECONDS_MARK = r"(?:seconds|second|secs|sec\.?|s|\")"
_ANGLE = re.compile(
    rf"""(?P<sign>[-+]\ ?)?
    (?: (?P<whole>[0-9]+)[ -](?P<above>[0-9]+)/(?P<below>[0-9]+) | (?P<n>[0-9]+)/(?P<d>[0-9]+) | (?P<degrees>{NUMBER}) )
    (?: \ ?(?P<mark>{_DEGREES_MARK})
        (?: \ ?(?P<minutes>{NUMBER})\ ?{_MINUTES_MARK} (?: \ ?(?P<seconds>{NUMBER})\ ?{_SECONDS_MARK} )? )?
    )?""",
    re.IGNORECASE | re.VERBOSE,
)
_ALONE = re.compile(rf"({NUMBER}) ?(?:({_MINUTES_MARK})|({_SECONDS_MARK}))", re.IGNORECASE)
_RADIANS = re.compile(rf"(-?{NUMBER}) ?(?:radians|radian|rad)", re.IGNORECASE)
_EXAMPLES = "write an angle like '22.5 deg', '90°' or '90d 12m'"


@dataclass(frozen=True, slots=True)
class Angle:
    """An angle: exact ``degrees``, the text as written, and how it was read. Two are equal when their degrees are."""

    degrees: Fraction
    text: str = field(compare=False)
    how: str = field(compare=False)

    @property
    def radians(self) -> float:
        """The angle in radians, for sums; accurate to the last place a float has."""
        return float(self.degrees) * pi / 180


def read_angle(text: str, *, thing: str = "angle") -> Angle:
    """Read an angle within a full turn either way; a bare number is degrees.

    ``90``, ``90°``, ``90 deg``, ``22 1/2 deg``, ``0.2 deg``, ``-0.5 deg``, ``90d 12m``, ``90° 12' 30"``. A decimal only
    in the last of degrees, minutes, seconds; minutes and seconds below 60. Anything else raises ``Refused``.
    Anchor: 90d 12m 30s is 90 + 12/60 + 30/3600 = 90.208333... degrees.
    """
    clean = plain(text, thing)
    try:
        value = _degrees(clean)
    except Doubt as doubt:
        spellings = [each for each in doubt.whole_spellings(clean) if _is_read(each)]
        raise refusal(thing, text, doubt.reason, *spellings, otherwise=doubt.advice or _EXAMPLES) from None
    return Angle(value, text, f"{show_degrees(value)} = {float(value) * pi / 180:.6g} rad")


def _is_read(clean: str) -> bool:
    try:
        _degrees(clean)
    except Doubt:
        return False
    return True


def _degrees(clean: str) -> Fraction:
    found = _ANGLE.fullmatch(clean)
    if found is None:
        raise _unreadable(clean)
    if found["degrees"] is not None:
        value = number(found["degrees"], decimals=_DECIMALS)
    elif found["whole"] is not None:
        value = fraction(found["above"], found["below"], found["whole"])
    else:
        value = fraction(found["n"], found["d"])
    before = found["degrees"]
    for name, of_a_degree in (("minutes", 60), ("seconds", 3600)):
        figure = found[name]
        if figure is None:
            break
        if before is None or not before.isdigit():
            raise Doubt(f"a part before the {name} is not whole", advice=_EXAMPLES)
        part = number(figure, decimals=_DECIMALS)
        if part >= 60:
            raise Doubt(f"{figure} {name} are 60 or more", advice="carry them over")
        value += part / of_a_degree
        before = figure
    if value > MOST_DEGREES:
        raise Doubt(f"it is over a full turn ({MOST_DEGREES} degrees)", advice="take off the whole turns")
    return -value if clean[0] == "-" else value


def _unreadable(clean: str) -> Doubt:
    if alone := _ALONE.fullmatch(clean):
        spelling = f"0d {alone[1]}m" if alone[2] is not None else f"0d 0m {alone[1]}s"
        return Doubt("minutes or seconds without degrees", spelling)
    if radians := _RADIANS.fullmatch(clean):
        degrees = rounded_decimal(Fraction(radians[1].replace(",", ".")) * 180 / Fraction(pi), 4)
        return Doubt("angles are written in degrees", f"{degrees} deg")
    return Doubt("it is no angle", advice=_EXAMPLES)


def show_degrees(degrees: Fraction) -> str:
    """Write ``degrees`` exactly so that `read_angle` reads it back: ``22.5 deg``, else ``90d 12m 30s``.

    Raises ``Refused`` for a value with no exact end in seconds either, which no written angle has.
    """
    short = decimal(degrees)
    if short is not None and len(short.partition(".")[2]) <= _DECIMALS:
        return f"{short} deg"
    sign, rest = ("-", -degrees) if degrees < 0 else ("", degrees)
    whole, rest = divmod(rest, 1)
    minutes, rest = divmod(rest * 60, 1)
    seconds = decimal(rest * 60)
    if seconds is None:
        raise refusal(
            "angle", mixed(degrees), "it has no exact end in degrees, minutes and seconds", otherwise="round it first"
        )
    return f"{sign}{whole}d {minutes}m" + (f" {seconds}s" if rest else "")
