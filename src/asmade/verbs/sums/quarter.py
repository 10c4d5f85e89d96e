"""Quick sum: the quarter of a wheelset from the heights of its two crank pins on a plate."""

from __future__ import annotations

import math

from asmade.measure.errors import Refused
from asmade.motion.wheels.measuring import Crank, Reading, dial_for_angle, minutes, quarter_from_heights
from asmade.verbs.sums.result import QuickSum, Rows, amount, mm, size

READS_TO = "0.01"
"""Standard uncertainty of one reading unless said: common practice, no source."""


def quarter(
    *, leading: str, following: str, over_journal: str, journal: str, pin: str, radius: str,
    pin_following: str = "", radius_following: str = "", reads_to: str = READS_TO,
) -> QuickSum:  # fmt: skip
    """Quarter from the heights over both pins and over the journal, both pins up at about 45 degrees.

    pin, radius: of the leading crank, and of the other where it is not said. reads_to: standard uncertainty of a
    reading, mm. Raises ``OutOfRange`` for a pin too near upright or below the axle.
    """
    u = float(amount(reads_to, "uncertainty of a reading").mm)
    asked = {
        "height over the leading pin": leading, "height over the following pin": following,
        "height over the journal": over_journal, "journal": journal, "crank pin": pin, "crank radius": radius,
    }  # fmt: skip
    lacking = [name for name, text in asked.items() if not text]
    if lacking:
        raise Refused("quarter", got="some of the readings", reason=f"missing are {', '.join(lacking)}",
                      way_out="asmade reckon quarter shows an example")  # fmt: skip
    read = {name: size(text, name) for name, text in asked.items()}
    value = {name: Reading(float(found.mm), u) for name, found in read.items()}
    behind_pin = Reading(float(size(pin_following, "following pin").mm), u) if pin_following else value["crank pin"]
    behind_radius = value["crank radius"]
    if radius_following:
        behind_radius = Reading(float(size(radius_following, "following radius").mm), u)
    ahead = Crank(value["height over the leading pin"], value["crank pin"], value["crank radius"], forward=True)
    behind = Crank(value["height over the following pin"], behind_pin, behind_radius, forward=False)
    found = quarter_from_heights(ahead, behind, value["height over the journal"], value["journal"])
    off = found.value - math.pi / 2
    dial = dial_for_angle(off, value["crank radius"].value)
    rows = (
        ("quarter", f"{math.degrees(found.value):.3f}", "degrees"),
        ("give or take", f"{minutes(found.uncertainty):.1f}", "minutes (standard uncertainty)"),
        ("off 90 degrees", f"{minutes(off):+.1f}", "minutes"),
        ("that is at the crank pin", f"{dial:+.3f}", "mm"),
    )
    working = []
    for words, crank in (("leading", ahead), ("following", behind)):
        above = crank.over_pin.value - crank.pin.value / 2
        above -= value["height over the journal"].value - value["journal"].value / 2
        angle = math.degrees(math.asin(above / crank.radius.value))
        axle = f"{mm(value['height over the journal'].value)} - {mm(value['journal'].value)}/2"
        working.append(
            f"{words}: ({mm(crank.over_pin.value)} - {mm(crank.pin.value)}/2) - ({axle}) = {mm(above)} above the axle, "
            f"asin({mm(above)} / {mm(crank.radius.value)}) = {angle:.3f} deg"
        )
    working.append("quarter = 180 deg - both angles: how far the wheelset is turned falls out")
    return QuickSum(
        "quarter", tuple(f"{name} {each.how}" for name, each in read.items()),
        (Rows("the quarter of the wheelset", ("", "", ""), rows, (1,)),), tuple(working),
        ("geometry of two pins on a plate; uncertainty by JCGM 100:2008, 5.1.2, readings independent",),
        {
            "quarter_deg": math.degrees(found.value), "uncertainty_minutes": minutes(found.uncertainty),
            "off_90_minutes": minutes(off), "off_at_pin_mm": dial, "reads_to_mm": u,
        },
        notes=("equally off on all axles does no harm: it is the difference between axles that binds",),
    )  # fmt: skip
