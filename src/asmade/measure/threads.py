"""Thread callouts as drawings write them. What the callout says, no more: the diameters stand in the thread tables."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from asmade.measure.tables import read_table
from asmade.measure.writing import MM_PER_INCH, NUMBER, Doubt, decimal, fraction, mixed, number, plain, refusal

Series = Literal["BA", "BSW", "BSF", "BSB", "ME", "BSP", "M", "MF", "UNC", "UNF", "UNEF"]

MODEL_PITCHES = (26, 32, 40)
"""Threads per inch of the constant-pitch model series."""
_BRASS_PITCH = 26
_MOST_BA, _MOST_UNIFIED_NUMBER = 25, 12
_LEAST_NUMBERED_PITCH = 24
"""Numbered Unified sizes have 24 threads per inch or more, sizes of an inch and over fewer: 4-40 and 1-8 do not mix."""

_SIZE = (
    r"(?:(?P<whole>[0-9]+)[ -](?P<above>[0-9]+)/(?P<below>[0-9]+)|(?P<n>[0-9]+)/(?P<d>[0-9]+)|(?P<inches>[0-9]+))"
    r'(?:\ ?(?:in\b|"))?'
)
_TPI = r"(?P<tpi>[0-9]+)(?:\ ?(?:t\.?p\.?i\.?|t))?"
_BA = re.compile(r"(?:no\.? ?)?(?P<number>[0-9]+) ?b\.?a\.?|b\.?a\.? ?(?:no\.? ?)?(?P<after>[0-9]+)", re.IGNORECASE)
_METRIC = re.compile(rf"m\ ?(?P<size>{NUMBER})(?:\ ?x\ ?(?P<pitch>{NUMBER}))?(?:\ ?mm)?", re.IGNORECASE)
_INCH = re.compile(
    rf"{_SIZE}(?:\ ?x\ ?{_TPI}|\ ?-\ ?(?P<dashed>[0-9]+)(?=\ ?[a-z]))?(?:\ ?(?P<series>[a-z][a-z.]*))?", re.IGNORECASE
)
_UNIFIED = re.compile(
    rf"(?:(?P<prefix>\#\ ?|no\.?\ ?)?(?P<gauge>[0-9]+)|{_SIZE})"
    rf"(?:\ ?-\ ?(?P<dashed>[0-9]+)|\ ?x\ ?{_TPI})?\ ?(?P<series>unc|unf|unef)",
    re.IGNORECASE,
)
_CLASS = re.compile(
    r"(?P<thread>.*[^ -]) ?-? ?(?:[3-9][efgh](?:[3-9][efgh])?|[123][ab]|(?:close|medium|free|normal)(?: screw| nut)?)",
    re.IGNORECASE,
)
_TAPER_FIRST = re.compile(rf"(?P<series>rc|rp|r)\ ?{_SIZE}", re.IGNORECASE)
_PIPE = re.compile(rf"g\ ?{_SIZE}", re.IGNORECASE)
_NAMES: dict[str, Series] = {
    "BSW": "BSW", "WHIT": "BSW", "WHITWORTH": "BSW", "BSF": "BSF", "BSB": "BSB", "BRASS": "BSB",
    "ME": "ME", "BSP": "BSP", "BSPP": "BSP",
}  # fmt: skip
_TAPER_NAMES = {"BSPT", "BSPTR", "NPT", "NPTF", "R", "RC"}
_UNIFIED_NAMES: dict[str, Series] = {"UNC": "UNC", "UNF": "UNF", "UNEF": "UNEF"}
_EXAMPLES = "write a thread like '2 BA', '1/4 x 40', '1/4 BSF', 'M5', 'M5 x 0.5' or '#4-40 UNC'"


@dataclass(frozen=True, slots=True)
class ThreadCallout:
    """A thread as called out. Two are equal when they call for the same thing, however they are written.

    ``nominal_mm`` is the nominal diameter where the callout states it: not for BA and the numbered Unified sizes, whose
    ``number`` stands for one in a table, nor for BSP, whose ``size`` names the bore of a pipe. ``pitch_mm`` and
    ``tpi`` likewise (a metric callout without pitch means the coarse one, which is filled in).
    """

    series: Series
    designation: str
    size: str
    number: int | None = None
    nominal_mm: Fraction | None = None
    pitch_mm: Fraction | None = None
    tpi: int | None = None
    text: str = field(default="", compare=False)

    @property
    def how(self) -> str:
        """How the callout was read, in words."""
        return f"{self.designation} thread ({_WORDS[self.series]})"


_WORDS: dict[Series, str] = {
    "BA": "British Association",
    "BSW": "British Standard Whitworth",
    "BSF": "British Standard Fine",
    "BSB": "British Standard brass thread, 26 to the inch",
    "ME": "constant-pitch model series, Whitworth form",
    "BSP": "British Standard pipe, parallel",
    "M": "ISO metric coarse",
    "MF": "ISO metric fine",
    "UNC": "Unified coarse",
    "UNF": "Unified fine",
    "UNEF": "Unified extra fine",
}


def read_thread(text: str, *, thing: str = "thread") -> ThreadCallout:
    """Read a thread callout; anything else, or one that could be two threads, raises ``Refused``.

    ``2 BA``, ``1/4 x 40`` (constant-pitch model series), ``1/4 BSW``, ``1/4 BSF``, ``1/4 BSB``, ``1/8 BSP``, ``M5``,
    ``M5 x 0.5``, ``1/4-20 UNC``, ``#4-40 UNC``. Anchor: ``M5 x 0.8`` is ``M5``, for 0.8 is the coarse pitch (ISO 261).
    """
    clean = plain(text, thing)
    try:
        return _callout(clean, text)
    except Doubt as doubt:
        spellings = [each for each in doubt.whole_spellings(clean) if _is_read(each)]
        raise refusal(thing, text, doubt.reason, *spellings, otherwise=doubt.advice or _EXAMPLES) from None


def _is_read(clean: str) -> bool:
    try:
        _callout(clean, clean)
    except Doubt:
        return False
    return True


def _callout(clean: str, text: str) -> ThreadCallout:
    if found := _BA.fullmatch(clean):
        return _ba(found["number"] or found["after"], text)
    if found := _METRIC.fullmatch(clean):
        return _metric(found, text)
    if found := _UNIFIED.fullmatch(clean):
        return _unified(found, text)
    if found := _PIPE.fullmatch(clean):
        size, _ = _inch_size(found)
        return ThreadCallout("BSP", f"{size} BSP", size, text=text)
    if found := _INCH.fullmatch(clean):
        return _inch(found, text)
    raise _unreadable(clean)


def _ba(digits: str, text: str) -> ThreadCallout:
    size = int(digits) if len(digits) <= 2 else _MOST_BA + 1
    if size > _MOST_BA or (digits[0] == "0" and digits != "0"):
        raise Doubt(f"BA threads run from 0 to {_MOST_BA}", advice="write the number alone, as in '2 BA'")
    return ThreadCallout("BA", f"{size} BA", str(size), number=size, text=text)


def _metric(found: re.Match[str], text: str) -> ThreadCallout:
    nominal = number(found["size"], decimals=3)
    written = decimal(nominal)
    coarse = read_table("metric_coarse").sizes().get(written or "")
    if not Fraction(1, 2) <= nominal <= 300:
        raise Doubt(f"M{written} is no metric thread (M0.5 to M300)", advice=_EXAMPLES)
    if found["pitch"] is None:
        if coarse is None:
            raise Doubt(
                f"M{written} has no coarse pitch in ISO 261",
                advice=f"write the pitch as well, as in 'M{written} x 0.5'",
            )
        return ThreadCallout("M", f"M{written}", f"{written}", nominal_mm=nominal, pitch_mm=coarse, text=text)
    pitch = number(found["pitch"], decimals=3)
    most = coarse or nominal / 3
    if not 0 < pitch <= most:
        reason = f"{found['pitch']} is no pitch for it: at most {decimal(most) or float(most)} mm"
        spelling = f"M{written}" if coarse else f"M{written} x {decimal(round(nominal / 4, 1))}"
        raise Doubt(f"{reason}; is it the length of a screw?" if pitch > most else reason, spelling)
    if pitch == coarse:
        return ThreadCallout("M", f"M{written}", f"{written}", nominal_mm=nominal, pitch_mm=pitch, text=text)
    return ThreadCallout(
        "MF", f"M{written} x {decimal(pitch)}", f"{written}", nominal_mm=nominal, pitch_mm=pitch, text=text
    )


def _inch_size(found: re.Match[str]) -> tuple[str, Fraction]:
    """Return an inch size as written and its exact mm; over 6 in no thread of this trade goes."""
    if found["whole"] is not None:
        inches = fraction(found["above"], found["below"], found["whole"])
    elif found["n"] is not None:
        inches = fraction(found["n"], found["d"])
    else:
        inches = number(found["inches"], decimals=0)
    if not 0 < inches <= 6:
        raise Doubt(f"{mixed(inches)} in is no thread size (over 0 to 6 in)", advice=_EXAMPLES)
    return mixed(inches), inches * MM_PER_INCH


def _threads_per_inch(written: str | None) -> int | None:
    if written is None:
        return None
    tpi = int(written) if len(written) <= 3 else 0
    if not 3 <= tpi <= 100 or written[0] == "0":
        raise Doubt(f"{written} threads per inch are not cut (3 to 100)", advice=_EXAMPLES)
    return tpi


def _inch(found: re.Match[str], text: str) -> ThreadCallout:
    size, nominal = _inch_size(found)
    tpi = _threads_per_inch(found["dashed"] or found["tpi"])
    written = (found["series"] or "").replace(".", "").upper()
    series = _NAMES.get(written)
    if tpi is None and not written:
        raise Doubt("a size without a thread", f"{size} x 40", f"{size} BSF")
    if written in _TAPER_NAMES:
        raise _taper(size, british=not written.startswith("N"))
    if written and series is None:
        model = [f"{size} x {tpi}"] if tpi in MODEL_PITCHES else []
        near = [f"{size} {name}" for name in ("BSP", "BSF", "BSW", "BSB", "UNC", "UNF") if written.startswith(name)]
        raise Doubt(f"there is no thread series {found['series']!r} here", *near, *model, advice=_EXAMPLES)
    if series is None or series == "ME":
        return _model(size, nominal, tpi, text)
    if series == "BSB":
        if tpi not in {None, _BRASS_PITCH}:
            raise Doubt(f"the brass thread has {_BRASS_PITCH} threads per inch", f"{size} BSB")
        return ThreadCallout("BSB", f"{size} BSB", size, nominal_mm=nominal, tpi=_BRASS_PITCH, text=text)
    pitch = f" x {tpi}" if tpi else ""
    stated = None if series == "BSP" else nominal
    return ThreadCallout(series, f"{size}{pitch} {series}", size, nominal_mm=stated, tpi=tpi, text=text)


def _model(size: str, nominal: Fraction, tpi: int | None, text: str) -> ThreadCallout:
    if tpi is None:
        raise Doubt("the model series needs its threads per inch", f"{size} x 40")
    if tpi not in MODEL_PITCHES:
        known = ", ".join(map(str, MODEL_PITCHES))
        ways = _with_series(size, tpi)
        what = "could be Whitworth or Unified form" if len(ways) > 1 else "are not of the model series"
        raise Doubt(f"{tpi} threads per inch {what} (the model series has {known})", *(ways or [f"{size} x {tpi} BSW"]))
    return ThreadCallout("ME", f"{size} x {tpi}", size, nominal_mm=nominal, tpi=tpi, text=text)


def _unified(found: re.Match[str], text: str) -> ThreadCallout:
    tpi = _threads_per_inch(found["dashed"] or found["tpi"])
    series = _UNIFIED_NAMES[found["series"].upper()]
    pitch = f"-{tpi}" if tpi else ""
    gauge = found["gauge"]
    if gauge is None:
        size, nominal = _inch_size(found)
        return ThreadCallout(series, f"{size}{pitch} {series}", size, nominal_mm=nominal, tpi=tpi, text=text)
    if len(gauge) > 2 or (gauge[0] == "0" and gauge != "0"):
        raise Doubt(f"{gauge} is no size of a Unified thread", advice=_EXAMPLES)
    if found["prefix"] is None and tpi is None:
        raise Doubt("a number or inches?", f"#{gauge} {series}", f"{gauge}-8 {series}")
    if found["prefix"] is None and tpi is not None and tpi < _LEAST_NUMBERED_PITCH:
        inches = int(gauge)
        if not 1 <= inches <= 6:
            raise Doubt(f"{gauge} in is no thread size (1 to 6 in)", advice=_EXAMPLES)
        nominal = inches * MM_PER_INCH
        return ThreadCallout(series, f"{inches}{pitch} {series}", f"{inches}", nominal_mm=nominal, tpi=tpi, text=text)
    if int(gauge) > _MOST_UNIFIED_NUMBER:
        raise Doubt(f"numbered sizes run from #0 to #{_MOST_UNIFIED_NUMBER}", advice=_EXAMPLES)
    return ThreadCallout(series, f"#{gauge}{pitch} {series}", f"#{gauge}", number=int(gauge), tpi=tpi, text=text)


def _with_series(size: str, tpi: int) -> list[str]:
    """Return the listed inch threads of ``size`` with ``tpi`` threads per inch, as they are written."""
    listed = [name for name, pitch in _pitches_on(size) if pitch == tpi]
    return [f"{size}-{tpi} {name}" if name.startswith("UN") else f"{size} x {tpi} {name}" for name in listed]


def _pitches_on(size: str) -> list[tuple[str, int]]:
    series = ("BSW", "BSF", "UNC", "UNF", "UNEF")
    row = next((row[1:] for row in read_table("inch_pitches").rows if row[0] == size), (0,) * len(series))
    return [(name, pitch) for name, pitch in zip(series, row, strict=True) if pitch]


def _listed_on(size: str) -> str:
    """Return advice that names the pitches there are on ``size``; empty for a size that is not listed."""
    known = ", ".join(f"{pitch} ({name})" for name, pitch in _pitches_on(size))
    return f"threads per inch on {size} are {known}" if known else ""


def _taper(size: str, *, british: bool) -> Doubt:
    reason = "it belongs to the taper pipe threads; only the parallel ones are held"
    return Doubt(reason, *([f"{size} BSP"] if british else []), advice="make it to its mate or a gauge")


def _unreadable(clean: str) -> Doubt:
    if found := re.fullmatch(r"([0-9 /]*[0-9])\"?-([0-9]+)", clean):
        size, tpi = found[1], int(found[2][:4])
        model = [f"{size} x {tpi}"] if tpi in MODEL_PITCHES else []
        ways = [*model, *_with_series(size, tpi), *(_with_series(f"#{size}", tpi) if size.isdigit() else [])]
        return Doubt("a size and a pitch without a series", *ways, advice=_listed_on(size) or _EXAMPLES)
    if found := re.fullmatch(r"(?:#|no\.?) ?([0-9]+)-([0-9]+)", clean, re.IGNORECASE):
        size = f"#{found[1]}"
        ways = _with_series(size, int(found[2][:4]))
        return Doubt("a size and a pitch without a series", *ways, advice=_listed_on(size) or _EXAMPLES)
    if found := re.fullmatch(rf"({NUMBER}) ?x ?({NUMBER})", clean):
        return Doubt("a metric thread begins with M", f"M{found[1]} x {found[2]}", *_decimal_inches(found[1], found[2]))
    if found := re.fullmatch(rf"mf ?({NUMBER}) ?x ?({NUMBER})", clean, re.IGNORECASE):
        return Doubt("a fine thread is written with its pitch", f"M{found[1]} x {found[2]}")
    if found := _TAPER_FIRST.fullmatch(clean):
        return _taper(_inch_size(found)[0], british=True)
    if found := _CLASS.fullmatch(clean):
        return Doubt("the class of limits is no part of the callout: name it apart", found["thread"])
    return Doubt("it is no thread callout", advice=_EXAMPLES)


def _decimal_inches(size: str, tpi: str) -> list[str]:
    """Return what 0.25 x 40 is in the model series, where the decimal is a whole number of sixty-fourths."""
    inches = number(size, decimals=6)
    if tpi.isdigit() and int(tpi[:4]) in MODEL_PITCHES and (inches * 64).denominator == 1:
        return [f"{mixed(inches)} x {tpi}"]
    return []
