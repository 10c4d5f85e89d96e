"""How figures are written: cleaning a text as typed or pasted, numbers into exact fractions and back."""

from __future__ import annotations

import re
from fractions import Fraction

from asmade.measure.errors import Refused

MM_PER_INCH = Fraction(254, 10)
LONGEST_TEXT = 100
MOST_DIGITS = 8
"""Digits before the point: more is a slip, and keeps sums of garbage small."""

# The divisions found on rules and drawings: halves to 128ths, twelfths of the scale modeller, and decimal divisions.
# Others (3/15, 3/18) are far more often a slip of the finger than a size. Common practice, no source.
DIVISIONS = frozenset((2, 4, 8, 16, 32, 64, 128, 3, 6, 12, 24, 48, 96, 5, 10, 20, 25, 40, 50, 100, 200, 500, 1000))

NUMBER = r"(?:[0-9]+(?:[.,][0-9]+)?|[.][0-9]+)(?![.,0-9])"
"""A number without sign; a point or comma behind it, or a second one within it, makes it none."""

_SPACES = "\u00a0\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u202f\u205f\u3000"
_UNSEEN = "\u200b\u200c\u200d\u2060\ufeff"
_ALIKE = {
    **dict.fromkeys(map(ord, _SPACES), " "),
    **dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2212\ufe63\uff0d"), "-"),
    **dict.fromkeys(map(ord, "\u2033\u201d\u201c\u201f\u02ba\u3003"), '"'),
    **dict.fromkeys(map(ord, "\u2032\u2019\u2018\u02b9\u00b4"), "'"),
    **dict.fromkeys(map(ord, "\u2044\u2215\u29f8"), "/"),
    **dict.fromkeys(map(ord, "\u00d7\u2715\u2a2f"), "x"),
    **dict.fromkeys(map(ord, "\u00ba\u02da"), "°"),
    **dict.fromkeys(map(ord, "\u2300\u00f8"), "Ø"),
    ord("\u03bc"): "µ",
    ord("\u2116"): "No.",
    **{code: chr(code - 0xFEE0) for code in range(0xFF01, 0xFF5F) if code != 0xFF0D},  # full-width forms
}
_KEPT = "°±Øµ"
_UPPER_DIGITS, _LOWER_DIGITS = "⁰¹²³⁴⁵⁶⁷⁸⁹", "₀₁₂₃₄₅₆₇₈₉"
_SPLIT_FRACTION = re.compile(f"([{_UPPER_DIGITS}]+)[/\u2044\u2215]([{_LOWER_DIGITS}]+)")
_TO_PLAIN_DIGITS = str.maketrans(_UPPER_DIGITS + _LOWER_DIGITS, "01234567890123456789")


class Doubt(Exception):
    """A text that cannot be read without guessing: the reason, what may be meant, advice if that is not accepted.

    No error yet: a reader tries the spellings and makes it a refusal.

    ``of`` is the part of the text that ``spellings`` would take the place of; empty for the whole.
    """

    def __init__(self, reason: str, *spellings: str, advice: str = "", of: str = "") -> None:
        self.reason = reason
        self.spellings = spellings
        self.advice = advice
        self.of = of
        super().__init__(reason)

    def whole_spellings(self, text: str) -> list[str]:
        """Return what ``text`` would be with each of the spellings, without repeats."""
        found = [text.replace(self.of, each, 1) if self.of and self.of in text else each for each in self.spellings]
        return [each for each in dict.fromkeys(found) if each]


def refusal(thing: str, text: str, reason: str, *spellings: str, otherwise: str = "") -> Refused:
    """Build the refusal of ``text``: ``spellings`` are accepted ones nearest to it, ``otherwise`` other advice."""
    way_out = "write " + " or ".join(f"'{spelling}'" for spelling in spellings) if spellings else otherwise
    return Refused(thing, got=text, reason=reason, way_out=way_out)


def plain(text: str, thing: str) -> str:
    """Return ``text`` in plain signs: one space between words, one sort of dash, quote, slash and multiplication sign.

    Fractions written as one sign stand apart from the digits around them, so that ``1½`` is ``1 1/2`` and never 11/2.
    Signs with no plain counterpart are refused by name. ``±`` and ``+/-`` become ``±``.
    """
    if len(text) > LONGEST_TEXT:
        shown = text[:40] + "..."
        raise refusal(
            thing,
            shown,
            f"it is longer than {LONGEST_TEXT} signs",
            otherwise="write the figure alone, the rest as a note",
        )
    clean = text if text.isascii() else _without_special_signs(text, thing)
    clean = " ".join(clean.split())
    if not clean:
        raise refusal(
            thing, text, "nothing is written", otherwise="leave the entry out while it is not known; empty is never 0"
        )
    if "+" in clean:
        clean = re.sub(r"\+ ?/ ?-|\+-", "±", clean)
    if "/" in clean:
        clean = re.sub(r" ?/ ?", "/", clean)
    return clean.replace("''", '"')


def _without_special_signs(text: str, thing: str) -> str:
    clean = text.strip(_UNSEEN + _SPACES + " ")
    clean = _SPLIT_FRACTION.sub(lambda found: _apart(found.group().translate(_TO_PLAIN_DIGITS), found), clean)
    clean = "".join(_fraction_sign(clean, at) for at in range(len(clean)))
    clean = clean.translate(_ALIKE)
    for sign in clean:
        if not sign.isascii() and sign not in _KEPT:
            name = _name_of(sign)
            raise refusal(
                thing,
                text,
                f"the sign {sign!r} ({name}) has no place in it",
                otherwise="write plain digits, points and letters",
            )
    return clean


def _apart(fraction: str, found: re.Match[str]) -> str:
    """Set ``fraction`` apart from a digit on either side, lest they run together into another number."""
    text, start, end = found.string, *found.span()
    before = " " if text[:start][-1:].isdigit() else ""
    after = " " if text[end : end + 1].isdigit() else ""
    return before + fraction + after


def _fraction_sign(text: str, at: int) -> str:
    """Return the sign at ``at``, written out as numerator and denominator if it is a fraction in one sign."""
    sign = text[at]
    if sign.isascii():
        return sign
    import unicodedata  # noqa: PLC0415  # only texts with such signs pay for it

    kind, _, parts = unicodedata.decomposition(sign).partition(" ")
    if kind != "<fraction>":
        return sign
    written = "".join(chr(int(code, 16)) for code in parts.split()).replace("\u2044", "/")
    before = " " if at and text[at - 1].isdigit() else ""
    after = " " if text[at + 1 : at + 2].isdigit() and not written.endswith("/") else ""
    return before + written + after


def _name_of(sign: str) -> str:
    import unicodedata  # noqa: PLC0415  # only refusals pay for it

    return unicodedata.name(sign, f"U+{ord(sign):04X}").lower()


def number(written: str, *, decimals: int) -> Fraction:
    """Read one number without sign (``12``, ``.375``, ``12,5``) exactly; raises ``Doubt``.

    A comma is a decimal comma, unless three digits follow and one to three not beginning with 0 go before: that might
    as well be a thousand. Leading zeros are refused, for ``0375`` may have lost its point.
    """
    whole, _, part = written.replace(",", ".").partition(".")
    if "," in written and len(part) == 3 and len(whole) <= 3 and whole[0] != "0":
        raise Doubt(f"{written} may be a decimal comma or a thousand", f"{whole}.{part}", f"{whole}{part}", of=written)
    if len(whole) > 1 and whole[0] == "0":
        stripped = whole.lstrip("0") or "0"
        spellings = (
            (f"{stripped}.{part}",) if part else (stripped, f"0.{whole[1:]}" if whole[1] != "0" else f"0.{whole}")
        )
        raise Doubt(f"{written} begins with 0: a point may be missing", *spellings, of=written)
    if len(whole) > MOST_DIGITS or len(part) > decimals:
        limits = f"at most {MOST_DIGITS} before the point, {decimals} after"
        raise Doubt(f"{written} has more digits than can be meant ({limits})", advice="write it with fewer digits")
    return Fraction(int(whole + part), _power_of_ten(len(part))) if part else Fraction(int(whole))


def fraction(numerator: str, denominator: str, whole: str | None = None) -> Fraction:
    """Read ``3/16`` or, with ``whole``, ``1 3/16``: proper, a division found on rules; raises ``Doubt``."""
    written = f"{numerator}/{denominator}"
    if max(len(numerator), len(denominator), len(whole or "")) > MOST_DIGITS:
        raise Doubt(f"{written} is no fraction of a rule", advice="write it as a decimal")
    above, below = int(numerator), int(denominator)
    if below == 0:
        raise Doubt(f"{written} divides by nothing", *_with_division(above), of=written)
    if above == 0:
        raise Doubt(f"{written} is nothing", whole or "0", of=written if whole is None else f"{whole} {written}")
    if numerator[0] == "0" or denominator[0] == "0":
        raise Doubt(f"{written} begins with 0: a digit may be missing", f"{above}/{below}", of=written)
    if above >= below:
        reason = f"{written} is one or more"
        if whole is None:
            raise Doubt(f"{reason}: a space may be missing", mixed(Fraction(above, below)), of=written)
        raise Doubt(
            f"{reason}, after a whole number", mixed(int(whole) + Fraction(above, below)), of=f"{whole} {written}"
        )
    if below not in DIVISIONS:
        reason = f"{written} is no fraction of a rule (halves to 128ths, thirds to 96ths, fifths to 1000ths)"
        raise Doubt(reason, *_near_fractions(above, below), of=written, advice="write it as a decimal")
    if whole is None:
        return Fraction(above, below)
    if whole[0] == "0":
        raise Doubt(f"{whole} {written} begins with 0: a digit may be missing", written, of=f"{whole} {written}")
    return int(whole) + Fraction(above, below)


def _with_division(above: int) -> tuple[str, ...]:
    """Offer the two smallest divisions of the rule for a numerator that has lost its own."""
    return tuple(f"{above}/{below}" for below in (2, 4, 8, 16, 32, 64) if below > above and above % 2)[:2]


def _near_fractions(above: int, below: int) -> tuple[str, ...]:
    """Offer the nearest division of the rule for the same numerator, and the fraction in lower terms."""
    value = Fraction(above, below)
    near = min((2, 4, 8, 16, 32, 64), key=lambda division: abs(Fraction(above, division) - value))
    spellings = [f"{above}/{near}"] if above < near and above % 2 else []
    return (*spellings, mixed(value)) if value.denominator in DIVISIONS else tuple(spellings)


def _power_of_ten(exponent: int) -> int:
    return int(10**exponent)


def decimal(value: Fraction) -> str | None:
    """Write ``value`` exactly as a decimal, or return None if it has no end (1/3)."""
    below = value.denominator
    if below == 1:
        return str(value.numerator)
    places = twos = fives = 0
    while below % 2 == 0:
        below //= 2
        twos += 1
    while below % 5 == 0:
        below //= 5
        fives += 1
    if below != 1:
        return None
    places = max(twos, fives)
    digits = str(abs(value.numerator) * 10**places // value.denominator).rjust(places + 1, "0")
    return f"{'-' if value < 0 else ''}{digits[:-places]}.{digits[-places:]}"


def rounded_decimal(value: Fraction, places: int) -> str:
    """Write ``value`` to ``places`` decimals, halves to the even digit (ISO 80000-1:2009 annex B rule A, from memory).

    Never ``-0.00``: what rounds to nothing has no sign. 0.125 to two places is 0.12, 0.135 is 0.14.
    """
    units = round(value * _power_of_ten(places))
    digits = str(abs(units)).rjust(places + 1, "0")
    sign = "-" if units < 0 else ""
    return f"{sign}{digits[:-places]}.{digits[-places:]}" if places else f"{sign}{digits}"


def mixed(value: Fraction) -> str:
    """Write ``value`` as whole number and proper fraction in its lowest terms: ``1 3/16``, ``-5 1/4``, ``0``."""
    sign = "-" if value < 0 else ""
    whole, above = divmod(abs(value.numerator), value.denominator)
    if not above:
        return f"{sign}{whole}"
    return f"{sign}{whole} {above}/{value.denominator}" if whole else f"{sign}{above}/{value.denominator}"
