"""Why a text is no length, and what was most likely meant: offered in a refusal, never taken."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from asmade.measure.errors import Refused
from asmade.measure.threads import read_thread
from asmade.measure.writing import NUMBER, Doubt, decimal

NO_LENGTH = "it is no length"
EXAMPLES = "write a length like '1 3/16 in', '0.375 in', '12.5 mm', '30 thou' or 'No. 40'"


class Hint(NamedTuple):
    """A reason, spellings that may be nearer to what was meant, and advice when none of them is accepted."""

    reason: str
    spellings: tuple[str, ...] = ()
    advice: str = EXAMPLES


def doubt_about(clean: str) -> Doubt:
    """Doubt a whole text (in plain signs) by what can be said of it."""
    for rule in _RULES:
        if hint := rule(clean):
            return Doubt(hint.reason, *hint.spellings, advice=hint.advice)
    return Doubt(NO_LENGTH, advice=EXAMPLES)


_DIAMETER = re.compile(r"(?:Ø|dia(?:m(?:eter)?)?\.?) ?(.+)|(.+?) ?(?:Ø|dia(?:m(?:eter)?)?\.?)", re.IGNORECASE)
_RADIUS = re.compile(r"r(?:ad(?:ius)?\.?)? ?([0-9.].*)|(.*[0-9\"m]) ?r(?:ad(?:ius)?\.?)?", re.IGNORECASE)
_FEET = re.compile(r"([0-9]{1,3}) ?(?:'|ft\.?|feet|foot) ?-? ?(.*)", re.IGNORECASE)
_REMARK_FIRST = re.compile(r"(full|bare) (.+)", re.IGNORECASE)
_GAUGE_ALONE = re.compile(r"(?:no\.? ?|#)?([0-9]+) ?(?:gauge|gage|ga|g)\.?", re.IGNORECASE)
_UNIT_ALIAS = re.compile(r"(.*?[0-9]) ?([A-Za-zµ'][A-Za-z'.]*)")
_SAME_UNIT = {
    "mm": ("mm.", "mms", "mil", "milli", "millimetre", "millimetres", "millimeter", "millimeters"),
    "in": ("ins", "ins.", "inchs", "in..", "zoll"),
    "thou": ("thous", "thou.", "th", "thousandth", "thousandths", "mil", "mils"),
}
# Units that no rule in this trade shows: their size in mm, to offer the same length in one that does.
_OTHER_UNIT = {
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), Fraction(10)),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), Fraction(1000)),
    **dict.fromkeys(("um", "µm", "µ", "micron", "microns", "micrometre", "micrometres"), Fraction(1, 1000)),
    **dict.fromkeys(("nm",), Fraction(1, 1_000_000)),
}
_EXPONENT = re.compile(r"([0-9]+(?:[.][0-9]+)?)e ?([-+]? ?[0-9]{1,9})", re.IGNORECASE)
_GROUPED = re.compile(r"([0-9]{1,3}(?:,[0-9]{3})+)\.([0-9]+)(.*)|([0-9]{1,3}(?:\.[0-9]{3})+),([0-9]+)(.*)")
_GROUPED_WHOLE = re.compile(r"([0-9]{1,3}(?:([,.' ])[0-9]{3})(?:\2[0-9]{3})*)( ?[a-z\"]*)")
_OPEN_POINT = re.compile(r"(.*[0-9])[.,]( ?(?:mm|in|inch|thou|\")?)")
_COMMA_FIRST = re.compile(r",([0-9].*)")
_RANGE = re.compile(rf"({NUMBER}) ?(?:-|to|\.\.) ?({NUMBER})( ?(?:mm|in|inch|\")?)", re.IGNORECASE)
_BY = re.compile(r"([0-9][-0-9./ \"]*(?:mm|in)?) ?[x*] ?([0-9][-0-9./ \"]*(?:mm|in)?)", re.IGNORECASE)
_LAST_WORD = re.compile(r"(.*[0-9\"mn]) ?([A-Za-z]{3,}[0-9]*|[A-Z]{1,2}[0-9]+|[a-z]{1,2}[0-9]+)")
_FIT = re.compile(r"(.*?) ?([A-Z]{1,2}[0-9]{1,2})(?:/| ?- ?| )([a-z]{1,2}[0-9]{1,2})")


def _angle(clean: str) -> Hint | None:
    if "°" in clean or re.search(r"\bdeg", clean, re.IGNORECASE):
        return Hint("it is an angle", advice="give the dimension the kind angle, or write a length")
    return None


def _thread(clean: str) -> Hint | None:
    try:
        designation = read_thread(clean).designation
    except Refused:
        return None
    advice = "give the dimension the kind thread, or write the diameter with its unit"
    return Hint(f"it is a thread callout ({designation}), which has no single size", advice=advice)


def _count_of_threads(clean: str) -> Hint | None:
    found = re.fullmatch(r"([0-9]+) ?(?:off )?x? ?(m[0-9].*)", clean, re.IGNORECASE)
    return Hint("it counts threads", advice="enter one thread; how many there are is its quantity") if found else None


def _diameter(clean: str) -> Hint | None:
    found = _DIAMETER.fullmatch(clean)
    return (
        Hint("the sign for a diameter is no part of a size; the kind says it", (found[1] or found[2],))
        if found
        else None
    )


def _radius(clean: str) -> Hint | None:
    found = _RADIUS.fullmatch(clean)
    return (
        Hint("the sign for a radius is no part of a size; the kind says it", (found[1] or found[2],)) if found else None
    )


def _feet(clean: str) -> Hint | None:
    found = _FEET.fullmatch(clean)
    if found is None:
        return None
    inches, rest = 12 * int(found[1]), found[2].rstrip('" ')
    if rest.isdigit():
        return Hint("feet are not read", (f"{inches + int(rest)} in",))
    spelling = f"{inches} {rest} in" if re.fullmatch(r"[0-9]+/[0-9]+", rest) else f"{inches} in + {rest} in"
    if mixed := re.fullmatch(r"([0-9]+)[ -]([0-9]+/[0-9]+)", rest):
        spelling = f"{inches + int(mixed[1])} {mixed[2]} in"
    return Hint("feet are not read", (spelling if rest else f"{inches} in",))


def _remark_first(clean: str) -> Hint | None:
    found = _REMARK_FIRST.fullmatch(clean)
    return Hint("the remark goes after the size", (f"{found[2]} {found[1].lower()}",)) if found else None


def _gauge_alone(clean: str) -> Hint | None:
    found = _GAUGE_ALONE.fullmatch(clean)
    return Hint("which gauge? they differ", (f"{found[1]} SWG", f"{found[1]} BWG")) if found else None


def _other_gauge(clean: str) -> Hint | None:
    """A gauge whose table is not here; to leave its name out would make its number millimetres."""
    found = re.fullmatch(r"(?:no\.? ?|#)?[0-9/]+ ?(AWG|B ?& ?S|MSG|USG|WG|ICG)\.?", clean, re.IGNORECASE)
    return Hint(f"the gauge {found[1]!r} is not held", advice="measure it and write it in mm or in") if found else None


def _unit(clean: str) -> Hint | None:
    found = _UNIT_ALIAS.fullmatch(clean)
    if found is None:
        return None
    figure, word = found[1], found[2].lower()
    spellings = [f"{figure} {unit}" for unit, names in _SAME_UNIT.items() if word in names]
    reason = f"the unit {found[2]!r} is not read"
    if word in _OTHER_UNIT and re.fullmatch(NUMBER, figure) and "," not in figure and len(figure) < 20:
        mm = Fraction(figure) * _OTHER_UNIT[word]
        if mm > 10_000:
            reason += f", and {figure} {word} is over the 10 m that any part here can have"
        spellings = [f"{decimal(mm)} mm" if mm <= 10_000 else f"{figure} mm"]
    return Hint(reason, tuple(spellings), "write it in mm, in or thou, up to 10 m") if spellings else None


def _exponent(clean: str) -> Hint | None:
    found = _EXPONENT.fullmatch(clean)
    if found is None:
        return None
    power = int(found[2].replace(" ", ""))
    spellings = []
    if abs(power) <= 10:
        spellings.append(str(decimal(Fraction(found[1]) * Fraction(10) ** power)))
    if "-" not in found[2] and "+" not in found[2]:
        letter = "E" if "E" in clean else "e"
        spellings.append(f"{found[1]} {letter}{power}")
    return Hint("powers of ten are not read", tuple(spellings))


def _grouped(clean: str) -> Hint | None:
    if found := _GROUPED.fullmatch(clean):
        whole, part, rest = (found[1], found[2], found[3]) if found[1] else (found[4], found[5], found[6])
        digits = re.sub("[.,]", "", whole)
        return Hint("thousands are not parted", (f"{digits}.{part}{rest}",))
    if found := _GROUPED_WHOLE.fullmatch(clean):
        digits = re.sub("[.,' ]", "", found[1])
        return Hint("thousands are not parted", (f"{digits}{found[3]}",))
    return None


def _open_point(clean: str) -> Hint | None:
    if found := _OPEN_POINT.fullmatch(clean):
        return Hint("it ends in a point: a digit may be missing", (f"{found[1]}{found[2]}",))
    if found := _COMMA_FIRST.fullmatch(clean):
        return Hint("it begins with a comma: a digit may be missing", (f"0.{found[1]}",))
    return None


def _range(clean: str) -> Hint | None:
    found = _RANGE.fullmatch(clean)
    if found is None:
        return None
    low, high = (each.replace(",", ".") for each in found.group(1, 2))
    low, high = (each if "." in each else f"{each}.0" for each in (low, high))
    unit = found[3]
    return Hint(
        "a range? a difference needs space on both sides of the sign",
        (f"{low}/{high}{unit}", f"{found[1]} - {found[2]}{unit}"),
    )


def _by(clean: str) -> Hint | None:
    found = _BY.fullmatch(clean)
    return (
        Hint("it is two sizes", advice=f"enter {found[1].strip()} and {found[2].strip()} as two dimensions")
        if found
        else None
    )


def _fit(clean: str) -> Hint | None:
    found = _FIT.fullmatch(clean)
    if found is None:
        return None
    return Hint("a fit is of two parts", (f"{found[1]} {found[2]}", f"{found[1]} {found[3]}"))


def _number_drill(clean: str) -> Hint | None:
    found = re.fullmatch(r"(?:number|num|nr)\.? ?([0-9]+)", clean, re.IGNORECASE)
    return Hint("it is no name of a drill", (f"No. {found[1]}",)) if found else None


def _last_word(clean: str) -> Hint | None:
    found = _LAST_WORD.fullmatch(clean)
    return Hint(f"{found[2]!r} is neither a unit nor a class of limits", (found[1],)) if found else None


def _letter(clean: str) -> Hint | None:
    if re.fullmatch(r"[A-Za-z]", clean):
        return Hint("a letter alone", (f"letter {clean.upper()}",))
    return None


_RULES = (
    _angle, _thread, _count_of_threads, _letter, _fit, _exponent, _grouped, _open_point, _remark_first, _diameter,
    _feet, _gauge_alone, _other_gauge, _unit, _radius, _range, _by, _number_drill, _last_word,
)  # fmt: skip
