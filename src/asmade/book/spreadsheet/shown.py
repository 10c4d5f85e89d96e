"""The text that a spreadsheet shows for a number it holds, from its number format; refused where the two differ.

The number format codes are those of ISO/IEC 29500-1 (SpreadsheetML), section 18.8.31, as far as lengths need them.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction

from asmade.measure.errors import Refused

_PADDING = re.compile(
    r"_.|\*.|\[(?:Black|Blue|Cyan|Green|Magenta|Red|White|Yellow|Color ?\d+|\$-?[^\]]*)\]", re.IGNORECASE
)
_LITERAL = re.compile(r'"([^"]*)"|\\(.)')
_DECIMAL = re.compile(r"[#,]*0+(?:\.(?P<places>[0#?]+))?")
_FRACTION = re.compile(r"(?P<whole>[#0?]+ +)?(?P<over>[#?0]+) ?/ ?(?P<under>[#?0]+|\d+)")
_MONTH = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_DATE_TEXT = re.compile(
    rf"(?P<d>\d{{1,2}})[- /.](?P<m>{_MONTH})[a-z]*(?:[- /.](?P<y>\d{{2,4}}))?"
    rf"|(?P<m2>{_MONTH})[a-z]*[- /.](?P<y2>\d{{2,4}})"
    r"|(?P<y3>\d{4})-(?P<m3>\d{2})-(?P<d3>\d{2})(?:[ T].*)?|(?P<a>\d{1,2})[/.](?P<b>\d{1,2})[/.](?P<y4>\d{4})",
    re.IGNORECASE,
)
_MONTHS = _MONTH.split("|")


def shown(value: float, number_format: str, thing: str) -> str:
    """The text of a number cell as the sheet shows it.

    Anchors (worked by hand): 0.375 in format ``0.000`` is ``0.375``, in ``# ?/?`` is ``3/8``; 12.5 in ``0.0" mm"``
    is ``12.5 mm``. Where the text shown is another number than the one held, neither is taken: raises `Refused`.
    """
    held = Decimal(format(value, ".15g"))
    code = _PADDING.sub("", number_format.partition(";")[0]).replace("\\ ", " ").strip()
    literals = "".join(a or b for a, b in _LITERAL.findall(code))
    bare = _LITERAL.sub("", code).strip() if not _LITERAL.match(code) else code  # nothing may stand before a figure
    if bare.casefold() in ("general", "@", ""):
        text, worth = _plain(held), Fraction(held)
    elif found := _DECIMAL.fullmatch(bare):
        text = _rounded(held, found["places"] or "")
        worth = Fraction(text)
    elif found := _FRACTION.fullmatch(bare):
        text, worth = _fraction(held, found)
    else:
        raise Refused(
            thing, got=_plain(held), reason=f"the cell has the number format {number_format!r}",
            way_out="format the cells as text and type the figure as the drawing has it",
        )  # fmt: skip
    if abs(worth - Fraction(held)) > Fraction(1, 10**12):
        raise Refused(
            thing, got=text, reason=f"the sheet shows {text} but holds {_plain(held)}",
            way_out="show more places, or format the cell as text and type the figure as the drawing has it",
        )  # fmt: skip
    return f"{text} {literals.strip()}".strip()


def _plain(held: Decimal) -> str:
    text = format(held, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _rounded(held: Decimal, places: str) -> str:
    text = format(round(held, len(places)), "f") if places else format(round(held, 0), "f")
    for mark in reversed(places):
        if mark == "0" or not text.endswith("0"):
            break
        text = text[:-1]
    return text.rstrip(".") if "." in text else text


def _fraction(held: Decimal, found: re.Match[str]) -> tuple[str, Fraction]:
    under = found["under"]
    exact = Fraction(held)
    if under.isdigit() and int(under):
        parts = round(exact * int(under))
        worth, below = Fraction(parts, int(under)), int(under)
    else:
        worth = exact.limit_denominator(10 ** len(under) - 1)
        below = worth.denominator
    above = abs(worth.numerator) * (below // worth.denominator)
    whole, rest = divmod(above, below) if found["whole"] else (0, above)
    sign = "-" if worth < 0 else ""
    if not rest:
        return f"{sign}{whole}", worth
    return f"{sign}{f'{whole} ' if whole else ''}{rest}/{below}", worth


def date_refused(value: datetime | date | time, thing: str) -> Refused:
    """The refusal of a cell in which the spreadsheet has turned what was typed into a date."""
    if isinstance(value, time):
        return Refused(thing, got=value.isoformat(), reason="the sheet holds a time here", way_out=_way_out(""))
    typed = _perhaps(value.day, value.month, value.year)
    words = f"{value.day} {_MONTHS[value.month - 1].capitalize()} {value.year}"
    return Refused(
        thing, got=words, reason=f"the sheet has turned it into a date{_asked(typed)}", way_out=_way_out(typed)
    )


def refuse_date_text(text: str, thing: str) -> None:
    """Refuse a text that is a date as a spreadsheet writes one into a CSV file (``01-Feb``, ``2026-02-01``)."""
    found = _DATE_TEXT.fullmatch(text.strip())
    if found is None:
        return
    year = int(found["y"] or found["y2"] or found["y3"] or found["y4"] or 2000)
    if found["a"]:
        day, month = int(found["a"]), int(found["b"])
    else:
        month_word = found["m"] or found["m2"]
        month = _MONTHS.index(month_word.lower()) + 1 if month_word else int(found["m3"])
        day = int(found["d"] or found["d3"] or 1)
    typed = _perhaps(day, month, year)
    raise Refused(thing, got=text, reason=f"it is a date{_asked(typed)}", way_out=_way_out(typed))


def _perhaps(day: int, month: int, year: int) -> str:
    """Which fractions would have become this date: day and month in either order, or month and year (1/32)."""
    pairs = [(day, month), (month, day)]
    if day == 1:
        pairs.append((month, year % 100))
    fractions = [f"{a}/{b}" for a, b in pairs if 0 < a < b and Fraction(a, b).denominator == b]
    usual = [text for text in fractions if int(text.partition("/")[2]) in (2, 4, 8, 16, 32, 64)]
    return " or ".join(dict.fromkeys(usual or fractions))


def _asked(typed: str) -> str:
    return f", perhaps from {typed}" if typed else ""


def _way_out(typed: str) -> str:
    figure = typed.partition(" or ")[0] or "the figure"
    return f"format the column as text first, then type {figure} again; or type it with an apostrophe before it"
