"""What axles that rise and fall in the horns ask of the rods and of their boxes."""

from __future__ import annotations

from math import atan2, cos, hypot, isfinite, sqrt, tan

from asmade.measure.errors import OutOfRange


def lengthening(centres: float, rise: float) -> float:
    """How much longer a rod's axle centres get when one axle stands ``rise`` above the other.

        sqrt(L^2 + h^2) - L, about h^2 / 2L

    Source: geometry. Anchor: L 120, h 3 -> 0.03749 mm (h^2 / 2L 0.0375). Range: centres more than 0.
    """
    _more_than_nothing("axle centres", centres)
    _finite("rise of an axle", rise)
    # the difference of two nearly equal lengths, written so that no digits are lost
    return rise * rise / (hypot(centres, rise) + centres)


def most_rise(centres: float, spare: float) -> float:
    """How far one axle may stand above the other before a rod asks for ``spare`` more length.

    sqrt(2 L s + s^2). Anchor: L 120, s 0.0375 -> 3.0002 mm. Range: spare 0 or more.
    """
    _more_than_nothing("axle centres", centres)
    if not isfinite(spare) or spare < 0:
        raise OutOfRange("spare length", got=spare, allowed="0 mm or more")
    return sqrt(2 * centres * spare + spare * spare)


def tilt(rise_left: float, rise_right: float, between_boxes: float) -> float:
    """Tilt (rad) of an axle whose two boxes have risen unequally; positive when the right-hand side is up.

    atan((right - left) / distance between the middles of the boxes). Anchor: 0 and 1 over 100 -> 0.0099997 rad.
    """
    _more_than_nothing("distance between the boxes", between_boxes)
    _finite("rise of a box", rise_left)
    _finite("rise of a box", rise_right)
    return atan2(rise_right - rise_left, between_boxes)


def clearance_for_tilt(journal_length: float, tilt_rad: float) -> float:
    """Clearance on diameter a straight bearing needs for its journal to lean by ``tilt_rad``: length x tan(tilt).

    Less than this and the box must rock in its horns with the axle. Anchor: 20 mm and 0.01 rad -> 0.2 mm.
    """
    _more_than_nothing("length of the bearing", journal_length)
    _finite("tilt", tilt_rad)
    return journal_length * abs(tan(tilt_rad))


def rock_for_tilt(across: float, thickness: float, tilt_rad: float) -> float:
    """Room per side a box must have in its horns to rock with its axle: how much wider a leaning box stands.

    A box ``across`` wide over its flange faces and ``thickness`` deep between them, leaning by the tilt, takes
    across x cos + thickness x sin - across more room; half of it per side.
    Anchor: 22 across, 6 thick, 0.01 rad -> 0.0294 mm per side.
    """
    _more_than_nothing("box across its faces", across)
    _more_than_nothing("depth of the box", thickness)
    _finite("tilt", tilt_rad)
    return max(0.0, (across * cos(tilt_rad) + thickness * abs(tan(tilt_rad)) * cos(tilt_rad) - across) / 2)


def pin_rise(rise_left: float, rise_right: float, between_boxes: float, over_pins: float) -> tuple[float, float]:
    """How far each crank pin's axle line stands up (left, right) at the plane of the rods, when the boxes rise.

    The pins lie outside the boxes, so a tilted axle moves them more: straight-line extension to ``over_pins``, the
    distance between the middles of the rods. Anchor: 0 and 1, boxes 100, rods 140 apart -> -0.2 and 1.2.
    """
    _more_than_nothing("distance between the boxes", between_boxes)
    _more_than_nothing("distance between the rods", over_pins)
    _finite("rise of a box", rise_left)
    _finite("rise of a box", rise_right)
    mean, half = (rise_left + rise_right) / 2, (rise_right - rise_left) / 2 * over_pins / between_boxes
    return mean - half, mean + half


def _more_than_nothing(thing: str, value: float) -> None:
    if not isfinite(value) or value <= 0:
        raise OutOfRange(thing, got=value, allowed="more than 0 mm")


def _finite(thing: str, value: float) -> None:
    if not isfinite(value):
        raise OutOfRange(thing, got=value, allowed="finite numbers")
