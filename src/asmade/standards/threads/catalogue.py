"""From the tables of the series to whole threads."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from functools import cache

from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.standards.tables import Row, exact, load, number
from asmade.standards.threads.forms import ThreadForm, form
from asmade.standards.threads.sizes import Thread

INCH = Fraction(254, 10)

# ISO 261 pitches; a metric thread of another diameter may take any of them (ISO 261, special diameters)
METRIC_PITCHES = tuple(
    Fraction(hundredths, 100)
    for hundredths in (
        *(20, 25, 30, 35, 40, 45, 50, 60, 70, 75, 80, 100, 125, 150, 175, 200),
        *(250, 300, 350, 400, 450, 500, 550, 600, 800),
    )
)
_ON_ANY_DIAMETER = {"ME": (Fraction(26), Fraction(32), Fraction(40)), "BSB": (Fraction(26),)}
_LEAST_CORE_SHARE = Fraction(1, 2)  # core below half of the major diameter is no thread anyone cuts


def series_names() -> tuple[str, ...]:
    """Names of all series: BA, BSW, BSF, ME, BSB, BSP, M, UNC, UNF, UNEF."""
    return tuple(str(name) for name in load("thread_series").column("series"))


def series_title(series: str) -> str:
    """Full name of a series: "British Standard Fine"."""
    return str(_series(series)["name"])


def usual_percent(series: str) -> float:
    """Share of full depth, in per cent, that a tapping drill of this series is usually chosen for.

    75 in steel, 60 for brass tube threads, 77 for ISO metric (drill = major less pitch).

    Source: common practice, no source. Range: the series of the tables. Anchor: 1 P of 1.299038 P is 77 per cent.
    """
    return number(_series(series)["percent"])


def all_threads(series: str) -> tuple[Thread, ...]:
    """Every listed thread of one ``series``, in the order of its table."""
    return tuple(_catalogue(str(_series(series)["series"])).values())


def find(series: str, size: Fraction | int | str, pitch: Fraction | None = None) -> Thread:
    """Return one thread by series, size and pitch.

    ``size``: BA number; diameter in inches as ``Fraction`` (or "#4" for a Unified number size) for inch series; pipe
    bore in inches for BSP; diameter in mm for M. ``pitch`` in mm is needed where a series has several pitches on one
    diameter (ME) and picks the fine one for M; without it M is coarse. Constant-pitch and metric threads may have a
    diameter that their list does not hold; such a thread says so (``listed`` is false).

    Raises ``Unknown`` for a series or size that is not there, with near names, and ``OutOfRange`` for a pitch too
    coarse for the diameter.

    Source: the standard of the series; the answer names it.
    Range: the tables; ME, BSB and M on other diameters too.
    Anchor: 2 BA, effective 4.215 mm (BS 93).
    """
    name = str(_series(series)["series"])
    found = _by_size(name).get(_size_key(name, size), ())
    if pitch is None and name == "M":
        coarse = [t for t in found if " x " not in t.designation]
        if coarse:
            return coarse[0]
    if pitch is None and len(found) == 1:
        return found[0]
    matching = [t for t in found if t.pitch == pitch]
    if matching:
        return matching[0]
    if pitch is not None:
        return _unlisted(name, size, pitch, found)
    raise _no_such(name, size, found)


def same_threads(thread: Thread) -> tuple[Thread, ...]:
    """Threads of other series that are this very thread under another name (1/4 BSF is 1/4 x 26)."""
    return tuple(
        other
        for series in series_names()
        for other in all_threads(series)
        if other.designation != thread.designation and thread.is_the_same_as(other)
    )


def inch_text(value: Fraction) -> str:
    """Inches as the trade writes them: 7/32, 1 1/8."""
    whole, rest = divmod(value, 1)
    if not rest:
        return str(whole)
    return f"{whole} {rest}" if whole else str(rest)


def inch_value(text: str) -> Fraction:
    """Exact inches of a size as the tables write it: "1 1/8", "7/32", "#4" (Unified: 0.060 + 0.013 n).

    Source: ASME B1.1 (numbered sizes). Range: sizes as the tables write them. Anchor: #4 is 0.112 in.
    """
    if text.startswith("#"):
        return Fraction(60 + 13 * int(text[1:]), 1000)
    return sum((Fraction(part) for part in text.split()), Fraction(0))


def _series(name: str) -> Row:
    table = load("thread_series")
    wanted = name.strip().upper()
    for row in table.rows:
        if str(row["series"]).upper() == wanted:
            return row
    known = tuple(str(row["series"]) for row in table.rows)
    raise Unknown("thread series", got=name, near=near(name, known), way_out=f"known series: {', '.join(known)}")


@cache
def _catalogue(series: str) -> dict[str, Thread]:
    info = _series(series)
    rows = load(str(info["table"])).rows
    if series in ("UNC", "UNF", "UNEF"):
        rows = tuple(row for row in rows if row["series"] == series)
    shape = form(str(info["form"]))
    return {thread.designation: thread for row in rows for thread in (_from_row(series, info, shape, row),)}


@cache
def _by_size(series: str) -> dict[Fraction | int, tuple[Thread, ...]]:
    found: dict[Fraction | int, list[Thread]] = {}
    info = _series(series)
    for row, thread in zip(_rows(series, info), _catalogue(series).values(), strict=True):
        found.setdefault(_size_key(series, _size_of(series, row)), []).append(thread)
    return {key: tuple(threads) for key, threads in found.items()}


def _rows(series: str, info: Row) -> tuple[Row, ...]:
    rows = load(str(info["table"])).rows
    return tuple(row for row in rows if row["series"] == series) if series.startswith("UN") else rows


def _size_of(series: str, row: Row) -> Fraction | int | str:
    if series == "BA":
        return int(number(row["number"]))
    return exact(row["major"]) if series == "M" else str(row["size"])


def _size_key(series: str, size: Fraction | int | str) -> Fraction | int:
    if isinstance(size, str):
        if not re.fullmatch(r"#\d+|\d+(?: \d+/\d+)?|\d+/\d+|\d*\.\d+", size):
            raise Unknown(f"size of a {series} thread", got=size, way_out="write it as 7/32, 1 1/8 or #4")
        return int(size) if series == "BA" else inch_value(size)
    return size


def _from_row(series: str, info: Row, shape: ThreadForm, row: Row) -> Thread:
    source = str(info["source"])
    drill = _optional(row, "tapping_drill")
    clearance = _optional(row, "clearance_drill")
    if series == "BA":
        return _british_association(shape, row, drill, source)
    if series == "M":
        major, pitch = exact(row["major"]), exact(row["pitch"])
        label = f"M{_text(major)}" if row["series"] == "coarse" else f"M{_text(major)} x {_text(pitch)}"
        return _by_form(label, series, shape, "metric", major, pitch, drill, clearance, True, source)
    size, tpi = str(row["size"]), exact(row["tpi"])
    major = exact(row["major"]) if series == "BSP" else inch_value(size) * INCH
    label = f"{size} {series}"
    if series == "ME":
        label = f"{size} x {_text(tpi)}"
    elif series.startswith("UN"):
        label = f"{size}-{_text(tpi)} {series}"
    return _by_form(label, series, shape, str(info["native"]), major, INCH / tpi, drill, clearance, True, source)


def _british_association(shape: ThreadForm, row: Row, drill: float | None, source: str) -> Thread:
    """BS 93 prints depth, effective and core; they are taken as printed. 17 to 25 BA follow the form."""
    label = f"{int(number(row['number']))} BA"
    major, pitch = exact(row["major"]), exact(row["pitch"])
    worked = _by_form(label, "BA", shape, "metric", major, pitch, drill, None, True, source)
    if row["depth"] is None:
        note = "outside BS 93, which ends at 16 BA: pitch and major of the original series, the rest by the form"
        return replace(worked, source="original British Association series, from memory", note=note)
    depth, core = number(row["depth"]), number(row["core"])
    return replace(
        worked,
        effective_mm=number(row["effective"]),
        core_mm=core,
        nut_minor_mm=core,
        depth_mm=depth,
        full_depth_mm=2 * depth,
    )


def _by_form(
    label: str,
    series: str,
    shape: ThreadForm,
    native: str,
    major: Fraction,
    pitch: Fraction,
    drill: float | None,
    clearance: float | None,
    listed: bool,
    source: str,
    note: str = "",
) -> Thread:
    """Work a thread from its form: each diameter is the major less a fixed multiple of the pitch."""
    p, d = float(pitch), float(major)
    # ISO and Unified percentages count 17/24 H of a deeper screw: twice 0.75 H (Machinery's Handbook, 1.299038 p)
    full = 1.5 * shape.triangle if shape.name == "ISO" else shape.core_below_major
    return Thread(
        designation=label,
        series=series,
        form=shape,
        native=native,
        major=major,
        pitch=pitch,
        effective_mm=d - shape.effective_below_major * p,
        core_mm=d - shape.core_below_major * p,
        nut_minor_mm=d - shape.nut_minor_below_major * p,
        depth_mm=shape.depth * p,
        full_depth_mm=full * p,
        printed_drill_mm=drill,
        printed_clearance_mm=clearance,
        listed=listed,
        source=source,
        note=note,
    )


def _unlisted(series: str, size: Fraction | int | str, pitch: Fraction, found: tuple[Thread, ...]) -> Thread:
    """A diameter or pitch that the list does not hold, where the series allows any."""
    key = _size_key(series, size)
    if series in _ON_ANY_DIAMETER and INCH / pitch in _ON_ANY_DIAMETER[series]:
        size_in = inch_text(Fraction(key))
        label = f"{size_in} x {_text(INCH / pitch)}" if series == "ME" else f"{size_in} {series}"
        return _whitworth_special(series, Fraction(key), pitch, label)
    if series == "BSW" and found and 4 <= INCH / pitch <= 80:  # "1/4 x 40 Whit": form and pitch are both stated
        special = _whitworth_special(
            series, Fraction(key), pitch, f"{inch_text(Fraction(key))} x {_text(INCH / pitch)} BSW"
        )
        return replace(
            special, note=f"{special.note}; {found[0].designation} itself has {_text(INCH / found[0].pitch)} per inch"
        )
    if series == "M" and pitch in METRIC_PITCHES:
        major = Fraction(key)
        _not_too_coarse(f"M{_text(major)} x {_text(pitch)}", major, pitch, form("ISO"))
        note = "combination not in ISO 261; sizes by the ISO 68-1 profile"
        label = f"M{_text(major)} x {_text(pitch)}"
        return _by_form(label, "M", form("ISO"), "metric", major, pitch, None, None, False, "ISO 68-1:1998", note)
    per_inch = f"{_text(INCH / pitch)} threads per inch"
    with_pitch = f"pitch {_text(pitch)} mm" if series in ("M", "BA") else per_inch
    raise _no_such(series, f"{_shown(series, size)} with {with_pitch}", found)


def _whitworth_special(series: str, major_in: Fraction, pitch: Fraction, label: str) -> Thread:
    shape = form("Whitworth")
    major = major_in * INCH
    _not_too_coarse(label, major, pitch, shape)
    note = "not in a list of the trade; sizes by the Whitworth form"
    return _by_form(label, series, shape, "inch", major, pitch, None, None, False, "Whitworth form of BS 84:1956", note)


def _not_too_coarse(label: str, major: Fraction, pitch: Fraction, shape: ThreadForm) -> None:
    core = float(major) - shape.core_below_major * float(pitch)
    if core < float(major * _LEAST_CORE_SHARE):
        raise OutOfRange(
            f"core of {label}",
            got=f"{core:.3f} mm",
            allowed=f"at least {float(major * _LEAST_CORE_SHARE):.3f} mm, half of the major diameter",
            source="common practice, no source",
            way_out="look at the pitch again: it is too coarse for this diameter",
        )


def _no_such(series: str, size: Fraction | int | str, found: tuple[Thread, ...]) -> Unknown:
    names = tuple(_catalogue(series))
    way_out = f"{series} has: {_span(names)}"
    if found:
        way_out = f"on this diameter {series} has: {_with_pitch(found)}"
    shown = _shown(series, size)
    return Unknown(f"{series} thread", got=shown, near=near(shown, names), way_out=way_out)


def _shown(series: str, size: Fraction | int | str) -> str:
    if not isinstance(size, Fraction):
        return str(size)
    return _text(size) if series in ("M", "BA") else inch_text(size)


def _with_pitch(threads: tuple[Thread, ...]) -> str:
    return ", ".join(
        t.designation
        if " x " in t.designation or "-" in t.designation or t.native == "metric"
        else f"{t.designation} ({_text(INCH / t.pitch)} per inch)"
        for t in threads
    )


def _span(names: tuple[str, ...]) -> str:
    return ", ".join(names) if len(names) <= 24 else f"{', '.join(names[:8])} ... {', '.join(names[-4:])}"


def _optional(row: Row, column: str) -> float | None:
    value = row.get(column)
    return None if value is None else number(value)


def _text(value: Fraction) -> str:
    """Write a size without needless digits: 5, 0.8, 7/32 as 0.21875."""
    return str(value.numerator) if value.denominator == 1 else f"{float(value):.6f}".rstrip("0")
