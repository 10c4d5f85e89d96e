"""Lengths as shops write them, read exactly or refused; never guessed. `docs/lengths.md` says what is accepted.

Angles and thread callouts are read beside this and may be had from here too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from asmade.measure.angles import Angle, read_angle
from asmade.measure.errors import Refused, Unknown
from asmade.measure.figures import DECIMALS, Parts, Term, fraction_behind_whole, misshapen, take_apart, with_unit
from asmade.measure.gauges import drill_size, gauge_size
from asmade.measure.hints import EXAMPLES, doubt_about
from asmade.measure.threads import ThreadCallout, read_thread
from asmade.measure.writing import MM_PER_INCH, Doubt, decimal, plain, refusal, rounded_decimal

__all__ = ["Angle", "Length", "ThreadCallout", "Unit", "read_angle", "read_length", "read_thread"]

Unit = Literal["mm", "inch"]
MOST_MM = 10_000
"""Nothing in a home workshop is longer than 10 m."""

_FACTOR = {"mm": Fraction(1), "in": MM_PER_INCH, "thou": MM_PER_INCH / 1000}
_SYSTEM: dict[str, Unit] = {"mm": "mm", "in": "inch", "thou": "inch"}
_NAMED = re.compile(r"\b(?:no|drill|letter|[sb]\.?w\.?g)(?![a-z])|#|[0-9][sb]\.?w\.?g(?![a-z])", re.IGNORECASE)
_NAME_SHAPED = re.compile(r"(?:no\b\.?|#) ?[0-9]+|[0-9/]+ ?[sb]\.?w\.?g\.?|[sb]\.?w\.?g\.? ?[0-9/]+", re.IGNORECASE)
# ISO 286-1: fundamental deviations by letter (holes capital, shafts small) and tolerance grades 01, 0, 1 to 18.
_FIT_CLASS = re.compile(
    r"(?:A|B|CD?|D|EF?|FG?|G|H|JS?|K|M|N|P|R|S|T|U|V|X|Y|Z[ABC]?|a|b|cd?|d|ef?|fg?|g|h|js?|k|m|n|p|r|s|t|u|v|x|y|z[abc]?)"
    r"(?:01|0|1[0-8]|[1-9])"
)
_THREADLIKE = "MXx"
"""Classes such as M6 and x8 read like threads behind a bare figure: there the unit must stand between."""

_REMARKS: dict[str, Literal["full", "bare"]] = {"full": "full", "bare": "bare"}
_REMARK_MEANS = {"full": "a little over", "bare": "a little under"}
_SUM = re.compile(r"T(?:[-+uq]T)+")
_PLUS_AND_MINUS = re.compile(r"TpTmT|TpTT|TTmT")
_PARTED_TOLERANCE = re.compile(r"T[-+uvpmqn]?T/[uvqn]?T")


@dataclass(frozen=True, slots=True)
class Length:
    """A length as written and as read.

    ``mm`` is exact. ``upper`` and ``lower`` are deviations from it in mm (both or neither); ``fit_class`` names a
    class of limits (``h8``) whose figures stand in a table elsewhere; ``remark`` says "full" or "bare" (a little over,
    a little under, by an amount not stated); ``named`` is the drill or gauge that was written. ``unit`` is the system
    it was written in. ``text`` is the text as written and ``how`` how it was read; two lengths are equal if all but
    these two are.
    """

    mm: Fraction
    text: str = field(compare=False)
    how: str = field(compare=False)
    unit: Unit
    upper: Fraction | None = None
    lower: Fraction | None = None
    fit_class: str | None = None
    remark: Literal["full", "bare"] | None = None
    named: str | None = None

    def __post_init__(self) -> None:
        """Hold that limits come as a pair, in order."""
        if (self.upper is None) != (self.lower is None):
            raise Refused("limits", got=self.text, reason="one of the two deviations is missing")
        if self.upper is not None and self.lower is not None and self.upper < self.lower:
            raise Refused("limits", got=self.text, reason="the upper deviation is below the lower")

    @property
    def inch(self) -> Fraction:
        """The length in inches, exact."""
        return self.mm / MM_PER_INCH

    @property
    def greatest_mm(self) -> Fraction | None:
        """The upper limit in mm if a tolerance was written."""
        return None if self.upper is None else self.mm + self.upper

    @property
    def least_mm(self) -> Fraction | None:
        """The lower limit in mm if a tolerance was written."""
        return None if self.lower is None else self.mm + self.lower


def read_length(text: str, *, unit: Unit, signed: bool = False, thing: str = "length") -> Length:
    """Read a length; ``unit`` is that of a bare number, ``signed`` allows a negative one, ``thing`` is what it is for.

    Raises ``Refused`` with text, reason and nearest accepted spelling for all that is ambiguous, negative unless
    ``signed``, over 10 m, or no length. Anchors (25.4 mm to the inch, exact): ``1 3/16 in`` is 30.1625 mm, ``30 thou``
    0.762 mm; ``0.3745/0.3750`` is its middle with equal deviations.
    """
    if unit not in {"mm", "inch"}:
        raise Unknown("unit", got=unit, near=("mm", "inch"))
    clean = plain(text, thing)
    bare = "in" if unit == "inch" else "mm"
    try:
        return _read(clean, text, bare, signed)
    except Doubt as doubt:
        spellings = _ways_out(doubt, clean, bare, signed)
        raise refusal(thing, text, doubt.reason, *spellings, otherwise=doubt.advice or EXAMPLES) from None


def _ways_out(doubt: Doubt, clean: str, bare: str, signed: bool) -> list[str]:
    """Return the spellings of ``doubt`` that would be read, as they are or with the other unit."""
    negative = signed and clean[0] == "-"
    body = clean[1:].lstrip() if clean[0] in "+-" else clean
    other = "in" if bare == "mm" else "mm"
    found = []
    for spelling in doubt.whole_spellings(body):
        whole = f"-{spelling}" if negative else spelling
        for candidate in (whole, with_unit(whole, other)):
            try:
                _read(plain(candidate, "length"), candidate, bare, signed)
            except (Doubt, Refused):
                continue
            found.append(candidate)
            break
    return list(dict.fromkeys(found))


def _read(clean: str, text: str, bare: str, signed: bool) -> Length:
    if _NAMED.search(clean):
        return _named(clean, text)
    negative = clean[0] == "-"
    body = clean[1:].lstrip() if clean[0] in "+-" else clean
    parts = take_apart(body, bare)
    if body is not clean and not signed:
        reason = "it is negative" if negative else "it has a sign"
        raise Doubt(reason, body, advice="say that it is signed if it may be negative")
    length = _by_shape(parts, body, text, bare, negative)
    least = length.mm if length.lower is None else length.mm + length.lower
    if least < 0 and not signed:
        reason = "it comes out negative" if length.lower is None else "its lower limit is negative"
        raise Doubt(reason, advice="check the figures; say that it is signed if it may be negative")
    if abs(length.mm) > MOST_MM:
        slipped = f"{body} mm" if parts.shape == "T" and parts.terms[0].unit is None else ""
        raise Doubt(
            f"it is {_mm(length.mm)}, over the 10 m that any part here can have",
            slipped,
            advice="check the unit and the point",
        )
    return length


def _named(clean: str, text: str) -> Length:
    for size_of in (drill_size, gauge_size):
        try:
            found = size_of(clean)
        except (Unknown, Refused):
            continue
        kind = "" if size_of is gauge_size else " drill"
        how = f"{found.name}{kind}, {decimal(found.inch)} in = {_mm(found.mm)}"
        return Length(found.mm, text, how, "inch", named=found.name)
    if found_size := re.fullmatch(r"drill ?([0-9]+)|([0-9]+) ?drill", clean, re.IGNORECASE):
        number = found_size[1] or found_size[2]
        raise Doubt("a number drill or a diameter?", f"No. {number}", f"{number} mm")
    if found_size := re.fullmatch(r"drill (.+)|(.+) drill", clean, re.IGNORECASE):
        raise Doubt("there is no drill of that name", found_size[1] or found_size[2])
    if not _NAME_SHAPED.fullmatch(clean):
        raise doubt_about(clean)
    names = "'No. 1' to 'No. 97', 'letter A' to 'letter Z', '7/0 SWG' to '50 SWG', '5/0 BWG' to '36 BWG'"
    raise Doubt("there is no drill or gauge of that name", advice=f"names are {names}, and stand alone")


def _by_shape(parts: Parts, body: str, text: str, bare: str, negative: bool) -> Length:
    """Read what the order of figures and signs means; what could mean two things raises ``Doubt``."""
    shape, terms = parts.shape, parts.terms
    if negative and terms:
        terms = [terms[0]._replace(value=-terms[0].value, figure=f"-{terms[0].figure}"), *terms[1:]]
    if shape == "T":
        return _single(terms[0], body, text, bare)
    if shape == "TW":
        return _with_word(terms[0], parts.words[0], body, text, bare)
    if shape == "T/T" and not negative and {term.kind for term in terms} == {"decimal"}:
        return _limits(terms, text, bare)
    if shape == "T~T" or _PLUS_AND_MINUS.fullmatch(shape) or _PARTED_TOLERANCE.fullmatch(shape):
        return _tolerance(terms, parts, body, text, bare)
    if _SUM.fullmatch(shape):
        return _sum(terms, parts, body, text, bare)
    raise misshapen(parts, body)


def _single(term: Term, body: str, text: str, bare: str) -> Length:
    (term,) = _in_units([term], body, bare)
    mm = term.value * _FACTOR[term.unit or bare]
    return Length(mm, text, _how(term.spelled(), mm), _SYSTEM[term.unit or bare])


def _with_word(term: Term, word: str, body: str, text: str, bare: str) -> Length:
    size = _single(term, body, text, bare)
    if remark := _REMARKS.get(word.lower()):
        how = f"{size.how}, {remark}: {_REMARK_MEANS[remark]}, by how much is not stated"
        return Length(size.mm, text, how, size.unit, remark=remark)
    if not _FIT_CLASS.fullmatch(word):
        raise doubt_about(body)
    if word[0] in _THREADLIKE and term.unit is None:
        raise Doubt("a class of limits, or a thread?", f"{term.spelled()} {bare} {word}")
    return Length(size.mm, text, f"{size.how}, limits of class {word}", size.unit, fit_class=word)


def _limits(terms: list[Term], text: str, bare: str) -> Length:
    """Read ``0.3745/0.3750``: two limits in either order, and no drawing size but their middle."""
    units = {term.unit for term in terms} - {None}
    if len(units) > 1:
        raise Doubt("limits in two units")
    unit = units.pop() or bare if units else bare
    low, high = sorted(term.value * _FACTOR[unit] for term in terms)
    if low == high:
        raise Doubt("both limits are the same", f"{terms[0].figure} {unit}")
    if any(len(term.figure.partition(".")[2]) >= DECIMALS[unit] for term in terms):
        raise Doubt("limits with more decimals than can be meant", advice="write them with fewer digits")
    middle, half = (low + high) / 2, (high - low) / 2
    least, greatest = sorted(terms, key=lambda term: term.value)
    written = f"{least.figure} to {greatest.figure} {unit}"
    converted = "" if unit == "mm" else f" = {_from_to(low, high)}"
    how = f"{written}{converted}, middle {_mm(middle)}"
    return Length(middle, text, how, _SYSTEM[unit], upper=half, lower=-half)


def _tolerance(terms: list[Term], parts: Parts, body: str, text: str, bare: str) -> Length:
    base, *deviations = terms
    for term in deviations:
        if term.unit not in {None, base.unit} and base.unit is None and _SYSTEM[term.unit or bare] != _SYSTEM[bare]:
            raise _bare_beside_unit(body, bare)
    unit = base.unit or bare
    figures = [term if term.unit or not term.value else term._replace(unit=unit) for term in deviations]
    if unit == "mm" and any(
        term.kind == "fraction" and given.unit is None for term, given in zip(figures, deviations, strict=True)
    ):
        raise Doubt("a fraction as tolerance of millimetres", with_unit(body, "mm"))
    size = _single(base, body, text, bare)
    amounts = [term.value * _FACTOR[term.unit or unit] for term in figures]
    if parts.shape == "T~T":
        upper, lower = amounts[0], -amounts[0]
    else:
        upper, lower = _signed_amounts(amounts, parts, body)
    if upper == lower:
        raise Doubt("a tolerance of nothing: no part can be made to it", base.spelled())
    if upper < lower:
        upper_text, lower_text = (
            f"{'-' if each < 0 else '+'}{term.spelled()}" for each, term in zip((upper, lower), deviations, strict=True)
        )
        raise Doubt("the upper limit is below the lower", f"{base.spelled()} {lower_text}/{upper_text}")
    return Length(
        size.mm, text, f"{size.how}, {_from_to(size.mm + lower, size.mm + upper)}", size.unit, upper=upper, lower=lower
    )


def _signed_amounts(amounts: list[Fraction], parts: Parts, body: str) -> tuple[Fraction, Fraction]:
    """Give the two deviations their signs; only a deviation of 0 may go without."""
    behind = re.findall(r"([^T/]?)T", parts.shape)[1:]
    signs = iter(parts.signs)
    signed = []
    for mark, amount in zip(behind, amounts, strict=True):
        sign = next(signs) if mark else ""
        if not sign and amount:
            raise Doubt("a deviation without a sign") if parts.signs else misshapen(parts, body)
        signed.append(-amount if sign == "-" else amount)
    return signed[0], signed[1]


def _sum(terms: list[Term], parts: Parts, body: str, text: str, bare: str) -> Length:
    signs = parts.signs
    for sign, before, after in zip(signs, parts.terms, parts.terms[1:], strict=False):
        if sign == "-" and fraction_behind_whole(before, after):
            unit = after.unit or "in"
            of = f"{before.figure} - {after.spelled()}"
            mixed, apart = f"{before.figure} {after.spelled()}", f"{before.figure} {unit} - {after.figure} {unit}"
            raise Doubt("a fraction or a difference?", mixed, apart, of=of)
    if signs == ["+", "-"]:
        raise misshapen(parts, body)
    kinds = {term.kind for term in terms}
    if re.search("[uq]", parts.shape) and "fraction" not in kinds:
        spaced = " ".join(f"{sign} {term.spelled()}".strip() for sign, term in zip(["", *signs], terms, strict=True))
        raise Doubt("a sum or a tolerance?", spaced, *misshapen(parts._replace(shape="TpT"), body).spellings[1:])
    if signs == ["-"] and kinds == {"decimal"} and abs(terms[0].value - terms[1].value) * 10 < abs(terms[0].value):
        raise Doubt(
            "limits or a difference?",
            f"{terms[0].spelled()}/{terms[1].spelled()}",
            advice="write the difference itself",
        )
    terms = _in_units(terms, body, bare)
    amounts = [term.value * _FACTOR[term.unit or bare] for term in terms]
    total = amounts[0] + sum(
        -amount if sign == "-" else amount for sign, amount in zip(signs, amounts[1:], strict=True)
    )
    systems = {_SYSTEM[term.unit or bare] for term in terms}
    written = " ".join(f"{sign} {term.spelled()}".strip() for sign, term in zip(["", *signs], terms, strict=True))
    return Length(total, text, f"{written} = {_mm(total)}", systems.pop() if len(systems) == 1 else "mm")


def _in_units(terms: list[Term], body: str, bare: str) -> list[Term]:
    """Give every figure its unit; doubt a bare one beside another unit, and a bare fraction of millimetres."""
    units = {term.unit for term in terms}
    if None in units and not units <= {None, bare}:
        raise _bare_beside_unit(body, bare)
    if bare == "mm" and any(term.unit is None and term.kind == "fraction" for term in terms):
        as_decimal = f"{decimal(terms[0].value)}" if len(terms) == 1 and body == terms[0].figure else ""
        reason = "a bare fraction where bare figures are millimetres: inches were likely meant"
        raise Doubt(reason, with_unit(body, "in"), as_decimal)
    return [term if term.unit else term._replace(unit=bare) for term in terms]


def _bare_beside_unit(body: str, bare: str) -> Doubt:
    reason = "a bare figure beside one with another unit: each needs its own"
    return Doubt(reason, *(with_unit(body, unit) for unit in (bare, "mm" if bare == "in" else "in")))


# ---------------------------------------------------------------- how it was read


def _mm(mm: Fraction) -> str:
    exact = decimal(mm)
    if exact is not None and len(exact) <= 12:
        return f"{exact} mm"
    return f"{rounded_decimal(mm, 6)} mm (rounded)"


def _from_to(low: Fraction, high: Fraction) -> str:
    return f"{_mm(low).replace(' mm', '')} to {_mm(high)}"


def _how(written: str, mm: Fraction) -> str:
    return written if written.endswith(" mm") and "/" not in written else f"{written} = {_mm(mm)}"
