"""A length taken apart: its figures with their units, the signs between them, and how both stand to one another."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

from asmade.measure.hints import EXAMPLES, doubt_about
from asmade.measure.writing import NUMBER, Doubt, decimal, fraction, mixed, number

if TYPE_CHECKING:
    from fractions import Fraction

# Written decimals at most. A mm may have one more than an inch (25.4 adds one), limits one less (their middle adds
# one), so that whatever is read can be written out exactly and read again.
DECIMALS = {"mm": 11, "in": 10, "thou": 6}

_TOKEN = re.compile(
    rf"""(?P<sign>\ ?[-+±]\ ?)
    | (?P<slash>/)
    | \ ?(?P<term> (?:
          (?P<whole>[0-9]+)[ -](?P<above>[0-9]+)/(?P<below>[0-9]+)(?![.,0-9])
        | (?P<n>[0-9]+)/(?P<d>[0-9]+)(?![.,0-9])
        | (?P<decimal>{NUMBER}) )
        (?:\ ?(?P<unit>(?i:mm|thou|inches|inch|in\.?)(?![A-Za-z0-9.])|"))? )
    | \ ?(?P<word>[A-Za-z]+[0-9]*)""",
    re.VERBOSE,
)


class Term(NamedTuple):
    """One figure: ``value`` in its ``unit`` (None if bare), ``kind`` whole, decimal or fraction, and as spelled."""

    value: Fraction
    unit: str | None
    kind: str
    figure: str

    def spelled(self) -> str:
        """Write the figure with its unit, if it has one."""
        return f"{self.figure} {self.unit}" if self.unit else self.figure


class Parts(NamedTuple):
    """Figures, signs and words of a text, and their order: T a figure, W a word, / a slash, and a letter for each sign.

    A sign with space on both sides is + or -, with none u or v, one that sticks to the figure behind it p or m, one
    that sticks to the figure before it q or n, plus-minus is ~.
    """

    shape: str
    terms: list[Term]
    signs: list[str]
    words: list[str]


def take_apart(body: str, bare: str) -> Parts:
    """Take ``body`` (plain signs, no leading sign) apart; a bare figure is in ``bare`` (mm or in). Raises ``Doubt``."""
    shape: list[str] = []
    parts = Parts("", [], [], [])
    at = 0
    while at < len(body):
        found = _TOKEN.match(body, at)
        if found is None:
            raise doubt_about(body)
        at = found.end()
        if found["term"]:
            parts.terms.append(_term(found, bare))
            shape.append("T")
        elif sign := found["sign"]:
            parts.signs.append(sign.strip())
            shape.append(_letter(sign))
        elif found["slash"]:
            shape.append("/")
        elif found["word"][0] in "eE" and found.group()[0] != " ":
            raise doubt_about(body)  # 1e5 is a power of ten or class e5
        else:
            parts.words.append(found["word"])
            shape.append("W")
    return parts._replace(shape="".join(shape))


def _letter(sign: str) -> str:
    mark = sign.strip()
    if mark == "±":
        return "~"
    spaces = (sign[0] == " ", sign[-1] == " ")
    letters = {(True, True): "+-", (False, False): "uv", (True, False): "pm", (False, True): "qn"}[spaces]
    return letters[0] if mark == "+" else letters[1]


def _term(found: re.Match[str], bare: str) -> Term:
    unit = found["unit"]
    if unit is not None:
        unit = unit.lower() if unit.lower() in {"mm", "thou"} else "in"
    figure = found["decimal"]
    if figure is None:
        above, below = (found["above"], found["below"]) if found["whole"] is not None else (found["n"], found["d"])
        value = fraction(above, below, found["whole"])
        return Term(value, unit, "fraction", mixed(value))
    value = number(figure, decimals=DECIMALS[unit or bare])
    if figure.isdigit():
        return Term(value, unit, "whole", figure)
    plain = figure.replace(",", ".")
    return Term(value, unit, "decimal", plain if plain[0] != "." else f"0{plain}")


def with_unit(body: str, unit: str) -> str:
    """Write ``body`` again with ``unit`` behind every bare figure but a bare 0."""
    written: list[str] = []
    at = 0
    for found in _TOKEN.finditer(body):
        written.append(body[at : found.start()])
        at = found.end()
        bare = found["term"] is not None and found["unit"] is None and found["decimal"] != "0"
        gap = " " if body[at : at + 1].isalpha() else ""
        written.append(f"{found.group()} {unit}{gap}" if bare else found.group())
    return "".join([*written, body[at:]])


def misshapen(parts: Parts, body: str) -> Doubt:
    """Say why figures that are sound one by one stand to one another in no way that is accepted."""
    shape, terms = parts.shape, parts.terms
    spelled = [term.spelled() for term in terms]
    if "W" in shape:
        return doubt_about(body)
    if shape in {"TpT", "TmT"}:
        sign = parts.signs[0]
        if sign == "-" and fraction_behind_whole(*terms):
            return Doubt(
                "a fraction or a difference?", f"{spelled[0]} {spelled[1]}", f"{spelled[0]} in - {spelled[1]} in"
            )
        tolerance = f"{spelled[0]} +{spelled[1]} -0" if sign == "+" else f"{spelled[0]} +0 -{spelled[1]}"
        return Doubt("a sum or a tolerance?", f"{spelled[0]} {sign} {spelled[1]}", tolerance)
    if shape in {"TpTpT", "TmTmT"}:
        sign = parts.signs[0]
        swapped = (terms[1].value > terms[2].value) != (sign == "+")
        upper, lower = (spelled[2], spelled[1]) if swapped else (spelled[1], spelled[2])
        tolerance = f"{spelled[0]} {sign}{upper}/{sign}{lower}"
        return Doubt("a sum or a tolerance?", tolerance, f"{spelled[0]} {sign} {spelled[1]} {sign} {spelled[2]}")
    if re.fullmatch(r"T[-vmn]T[+upq]T", shape):
        tolerance = f"{spelled[0]} +{spelled[2]} -{spelled[1]}"
        total = f"{spelled[0]} - {spelled[1]} + {spelled[2]}"
        return Doubt("a sum, or a tolerance with its lower limit first?", tolerance, total)
    if re.fullmatch(r"T[+upq]T[-vmn]T", shape):
        tolerance = f"{spelled[0]} +{spelled[1]} -{spelled[2]}"
        total = f"{spelled[0]} - {spelled[2]} + {spelled[1]}"
        return Doubt("a sum or a tolerance?", tolerance, total)
    if re.fullmatch(r"T[vmn]T", shape):
        limits = "/".join(spelled) if {term.kind for term in terms} == {"decimal"} else ""
        if fraction_behind_whole(*terms):
            return Doubt("a fraction or a difference?", f"{spelled[0]} {spelled[1]}")
        reason = "a range or a difference? a difference has space on both sides of its sign"
        return Doubt(reason, limits, f"{spelled[0]} - {spelled[1]}")
    if shape == "T/T":
        return _neither_fraction_nor_limits(terms)
    if shape == "TT":
        whole = {term.kind for term in terms} == {"whole"}
        swapped = fraction_behind_whole(*terms[::-1])
        near = "".join(spelled) if whole else f"{spelled[1]} {spelled[0]}" if swapped else ""
        return Doubt("two figures side by side", near, advice=EXAMPLES)
    return doubt_about(body)


def fraction_behind_whole(first: Term, second: Term) -> bool:
    """Say if ``first`` and ``second`` may be a whole number and its fraction, so that ``1 - 3/16`` could be 1 3/16."""
    return first.kind == "whole" and first.unit is None and second.kind == "fraction" and second.value < 1


def _neither_fraction_nor_limits(terms: list[Term]) -> Doubt:
    first, second = terms
    limits = "/".join(f"{term.figure}.0" if term.kind == "whole" else term.figure for term in terms)
    likely = first.value and second.value and abs(first.value - second.value) < min(first.value, second.value) / 4
    fraction_meant = first.figure.replace(".", " ") + "/" + second.figure if second.kind == "whole" else ""
    return Doubt(
        "neither a fraction nor limits (which have a point on both sides)",
        *((limits,) if likely else (fraction_meant, decimal(first.value) or "")),
    )
