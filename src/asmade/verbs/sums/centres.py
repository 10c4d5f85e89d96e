"""Quick sum: centres from readings over two pins or axles, or between horn faces; how good their mean is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from asmade.measure.errors import Refused
from asmade.motion.wheels.measuring import Reading, centres_over_pins, centres_to_bore, horn_centres
from asmade.verbs.sums.quarter import READS_TO
from asmade.verbs.sums.result import QuickSum, Rows, amount, mm, size

_SOURCE = "JCGM 100:2008, 4.2, 4.3.7, 5.1.2 and G.4 (Student's t for few readings)"


def centres(
    over: Sequence[str], *, pins: Sequence[str] = (), loose: str = "0", slack: str = "", horns: bool = False,
    reads_to: str = READS_TO,
) -> QuickSum:  # fmt: skip
    """Centres: one reading over two pins; several over two axles (``slack`` says what they must suffice for); horns.

    pins: one diameter, or both. loose: diametral looseness of the pins in their holes. slack: each-way slack of the
    rod that is bored to them. horns: the two readings are between fore faces and between aft faces.
    """
    u = float(amount(reads_to, "uncertainty of a reading").mm)
    read = [size(text, "reading") for text in over]
    if not read:
        raise Refused(
            "centres", got="no readings", reason="nothing was measured", way_out="asmade reckon centres 128 --pins 8"
        )
    if horns:
        return _horns([float(each.mm) for each in read], [each.how for each in read], u)
    held = [size(text, "pin") for text in pins]
    if not 1 <= len(held) <= 2:
        raise Refused("pins", got=", ".join(pins) or "none", reason="centres over pins want one or two diameters",
                      way_out="--pins 8, or --pins 8 --pins 8.02")  # fmt: skip
    one, two = Reading(float(held[0].mm), u), Reading(float(held[-1].mm), u)
    how = (*(f"over {each.how}" for each in read), *(f"pin {each.how}" for each in held))
    if len(read) == 1:
        found = centres_over_pins(Reading(float(read[0].mm), u), one, two,
                                  looseness=float(amount(loose, "looseness of the pins").mm))  # fmt: skip
        rows = (
            ("centres", mm(found.value), "mm"),
            ("give or take", mm(found.uncertainty), "mm (standard uncertainty)"),
        )
        working = f"{mm(float(read[0].mm))} - ({mm(one.value)} + {mm(two.value)})/2 = {mm(found.value)} mm"
        return QuickSum("centres", how, (Rows("centres over pins", ("", "", ""), rows, (1,)),), (working,), (_SOURCE,),
                        {"centres_mm": found.value, "uncertainty_mm": found.uncertainty, "reads_to_mm": u})  # fmt: skip
    return _mean([float(each.mm) for each in read], one, two, how, slack, u)


def _mean(values: list[float], one: Reading, two: Reading, how: tuple[str, ...], slack: str, u: float) -> QuickSum:
    half = Reading.combined((one.value + two.value) / 2, (0.5, u), (0.5, u))
    room = float(size(slack, "each-way slack").mm) if slack else 1.0  # not told then
    found = centres_to_bore(values, sizes=half, instrument=u, each_way_slack=room)
    more = "never: the instrument is the limit" if found.more_readings is None else str(found.more_readings)
    rows = [
        ("centres to bore", mm(found.centres.value), "mm"),
        ("within, at 95 %", mm(found.half_width), "mm either way"),
    ]
    data: dict[str, Any] = {
        "centres_mm": found.centres.value, "uncertainty_mm": found.centres.uncertainty,
        "half_width_mm": found.half_width, "readings": len(values), "reads_to_mm": u,
    }  # fmt: skip
    notes: tuple[str, ...] = ("give --slack, each way, to hear whether that suffices",)
    if slack:
        rows += [("may be out by, a quarter of the slack", mm(room / 4), "mm"),
                 ("readings more that are wanted", more, "")]  # fmt: skip
        data |= {"suffices": found.suffices, "more_readings": found.more_readings, "slack_mm": room}
        notes = ("the mean suffices" if found.suffices else "the mean does not suffice yet",)
    mean = sum(values) / len(values)
    return QuickSum(
        "centres", how, (Rows(f"mean of {len(values)} readings", ("", "", ""), tuple(rows), (1,)),),
        (f"mean {mm(mean)} - ({mm(one.value)} + {mm(two.value)})/2 = {mm(found.centres.value)} mm",),
        (_SOURCE, "a quarter of the slack: common practice, no source"), data, notes=notes,
    )  # fmt: skip


def _horns(values: list[float], how: list[str], u: float) -> QuickSum:
    if len(values) != 2:
        raise Refused("horn centres", got=f"{len(values)} readings", reason="they are two: between the fore faces, "
                      "and between the aft faces", way_out="asmade reckon centres 120.04 119.98 --horns")  # fmt: skip
    found = horn_centres(Reading(values[0], u), Reading(values[1], u))
    rows = (
        ("horn centres", mm(found.value), "mm"),
        ("give or take", mm(found.uncertainty), "mm (standard uncertainty)"),
    )
    return QuickSum("centres", tuple(how), (Rows("horn centres", ("", "", ""), rows, (1,)),),
                    (f"({mm(values[0])} + {mm(values[1])})/2 = {mm(found.value)} mm: unequal gaps fall out",),
                    (_SOURCE,), {"centres_mm": found.value, "uncertainty_mm": found.uncertainty, "reads_to_mm": u})  # fmt: skip
