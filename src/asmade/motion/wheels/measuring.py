"""Sums that turn readings at the bench into sizes of wheels and rods, each with its standard uncertainty.

A reading is a value and its standard uncertainty (what one reading with that instrument scatters and is off by).
Lengths in mm, angles in rad. Uncertainties of different readings count as independent (JCGM 100:2008, 5.1.2); an
instrument's own zero error cancels in differences taken with it, and is to be left out of such readings.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, degrees, hypot, isfinite, pi, sin, sqrt
from typing import TYPE_CHECKING, Self

from asmade.measure.errors import Contradiction, OutOfRange
from asmade.measure.spread import combined_uncertainty, effective_freedom, repeats, student_factor

if TYPE_CHECKING:
    from collections.abc import Sequence

_STEEPEST = 0.94  # sine of 70 degrees: nearer to upright a height no longer tells the angle
_DISAGREE = 3.0  # standard uncertainties; two ways to one figure that differ by more contradict each other


@dataclass(frozen=True, slots=True)
class Reading:
    """A value and its standard uncertainty, both in mm (or rad). Refuses nan, inf and a negative uncertainty."""

    value: float
    uncertainty: float

    def __post_init__(self) -> None:
        """Check once, where the figure enters."""
        if not isfinite(self.value):
            raise OutOfRange("reading", got=self.value, allowed="finite numbers", way_out="measure again")
        if not isfinite(self.uncertainty) or self.uncertainty < 0:
            raise OutOfRange("standard uncertainty of a reading", got=self.uncertainty, allowed="0 or more")

    @classmethod
    def combined(cls, value: float, *terms: tuple[float, float]) -> Self:
        """A value whose independent inputs have (sensitivity, standard uncertainty)."""
        return cls(value, combined_uncertainty([u for _, u in terms], [c for c, _ in terms]))


@dataclass(frozen=True, slots=True)
class Crank:
    """One end of a wheelset on the surface plate: heights and sizes that place its crank pin above the axle.

    over_pin: height of the top of the crank pin; pin: its diameter; radius: crank radius;
    forward: whether the pin lies forward of the axle as the wheelset stands.
    """

    over_pin: Reading
    pin: Reading
    radius: Reading
    forward: bool


def quarter_from_heights(leading: Crank, following: Crank, over_journal: Reading, journal: Reading) -> Reading:
    """Quarter (rad) of a wheelset from the heights of both crank pins over a plate, on vee blocks or between centres.

        h = (over pin - pin / 2) - (over journal - journal / 2),   angle of a pin above level = asin(h / r)

    Stand it with both pins above the axle at about 45 degrees, one forward and one back: then the sum of the two
    heights tells the quarter and how far it is turned does not matter. x forward, seen with the front to the right;
    the leading crank is the one further on in forward running, clockwise so seen.
    Raises: OutOfRange for a pin within 20 degrees of upright, where its height tells nothing, or for pins both on
    one side. Anchor: r 24, both pins 24 sin 45 = 16.9706 above the axle -> 90 degrees; r 24 and 17.1403 (1.0 per
    cent more on one) -> 89.424 degrees (by hand: asin 0.71418 = 45.576).
    """
    if leading.forward == following.forward:
        raise OutOfRange(
            "crank pins on the plate",
            got="both on the same side of the axle",
            allowed="one forward of the axle and one back of it, both above",
            way_out="turn the wheelset by a quarter",
        )
    if not leading.forward:
        raise OutOfRange(
            "crank pins on the plate",
            got="the leading crank's pin lies back of the axle",
            allowed="leading pin forward: the other is then a quarter behind it, back of the axle",
            way_out="turn the wheelset by a quarter, or check which side leads",
        )
    axle_height = over_journal.value - journal.value / 2
    total, terms = 0.0, []
    height_change = 0.0
    for crank in (leading, following):
        h = crank.over_pin.value - crank.pin.value / 2 - axle_height
        sine = h / crank.radius.value
        if not 0.0 <= sine <= _STEEPEST:
            raise OutOfRange(
                "height of a crank pin above its axle",
                got=f"{h:.3f} mm at a crank radius of {crank.radius.value:.3f} mm",
                allowed="level to 70 degrees above level",
                way_out="turn the wheelset until both pins stand about 45 degrees above level",
            )
        angle = asin(sine)
        per_height = 1.0 / (crank.radius.value * cos(angle))
        total += angle
        height_change += per_height
        terms += [
            (per_height, crank.over_pin.uncertainty),
            (per_height / 2, crank.pin.uncertainty),
            (per_height * sine, crank.radius.uncertainty),
        ]
    terms += [(height_change, over_journal.uncertainty), (height_change / 2, journal.uncertainty)]
    return Reading.combined(pi - total, *terms)


def crank_radius_from_edges(inside: Reading, outside: Reading, *, sizes: Reading | None = None) -> Reading:
    """Crank radius from the distance between the near edges and over the far edges of axle (or bore) and pin.

        r = (inside + outside) / 2;   outside - inside = axle diameter + pin diameter

    sizes: that sum of diameters, if measured: it must agree. Anchor: inside 14.0, outside 34.0 -> 24.0.
    Raises: Contradiction when the sizes disagree by more than three standard uncertainties, which says that one of
    the readings was not taken through the middles.
    """
    if outside.value <= inside.value:
        raise OutOfRange("outside distance", got=outside.value, allowed=f"more than the inside, {inside.value}")
    if sizes is not None:
        differ = outside.value - inside.value - sizes.value
        allowed = _DISAGREE * hypot(inside.uncertainty, outside.uncertainty, sizes.uncertainty)
        if abs(differ) > allowed:
            raise Contradiction(
                f"crank radius: outside less inside is {outside.value - inside.value:.3f} mm, axle and pin together "
                f"are {sizes.value:.3f} mm; they differ by {differ:+.3f} mm, readings allow {allowed:.3f} mm",
                way_out="measure across the middles again; the least outside and the greatest inside reading count",
            )
    return Reading.combined((inside.value + outside.value) / 2, (0.5, inside.uncertainty), (0.5, outside.uncertainty))


def centres_over_pins(over: Reading, pin_one: Reading, pin_two: Reading, *, looseness: float) -> Reading:
    """Hole centres from the distance over two pins stood in the holes: over - (one + two) / 2.

    looseness: diametral looseness of each pin in its hole (0 for a push fit); a loose pin may stand anywhere, so each
    adds looseness / (2 sqrt 3) of standard uncertainty (rectangular, JCGM 100:2008, 4.3.7).
    Anchor: over 128.0, pins 8.0 and 8.0 -> 120.0.
    """
    if not isfinite(looseness) or looseness < 0:
        raise OutOfRange("looseness of a pin in its hole", got=looseness, allowed="0 mm or more")
    stand = looseness / (2 * sqrt(3))
    return Reading.combined(
        over.value - (pin_one.value + pin_two.value) / 2,
        (1.0, over.uncertainty),
        (0.5, pin_one.uncertainty),
        (0.5, pin_two.uncertainty),
        (1.0, stand),
        (1.0, stand),
    )


@dataclass(frozen=True, slots=True)
class MeanCentres:
    """Centres to bore a rod to, and how good they are.

    centres: the mean and its standard uncertainty; half_width: of the 95 % interval; suffices: whether that is within
    what the slack can spare; more_readings: how many more of the same scatter would be needed, 0 when it suffices,
    none when no number of them would (the instrument itself is the limit).
    """

    centres: Reading
    half_width: float
    suffices: bool
    more_readings: int | None


def centres_to_bore(
    over_axles: Sequence[float],
    *,
    sizes: Reading,
    instrument: float,
    each_way_slack: float,
    share: float = 0.25,
) -> MeanCentres:
    """Rod centres to bore from repeated readings over two axles (or pins): mean over less half the sum of their sizes.

    sizes: half the sum of the two diameters measured over. instrument: standard uncertainty that all readings share
    (zero, scale), which no repeating mends. each_way_slack: of the rod to be bored; ``share`` of it is what the
    centres may be out by at 95 % (a quarter: common practice, no source).
    Student's t with the degrees of freedom of the repeats (JCGM 100:2008, 4.2 and G.4). Two readings or more.
    Anchor: 136.01, 136.03, 136.02 over 16.000 -> 120.02, scatter 0.010, of the mean 0.0058 (by hand).
    """
    if not isfinite(each_way_slack) or each_way_slack <= 0:
        raise OutOfRange("each-way slack of the rod", got=each_way_slack, allowed="more than 0 mm")
    if not 0 < share <= 1:
        raise OutOfRange("share of the slack", got=share, allowed="over 0 to 1")
    if not isfinite(instrument) or instrument < 0:
        raise OutOfRange("standard uncertainty of the instrument", got=instrument, allowed="0 mm or more")
    series = repeats(over_axles)
    fixed = hypot(instrument, sizes.uncertainty)
    allowed = share * each_way_slack

    def half(count: int) -> float:
        of_mean = series.sd / sqrt(count)
        total = hypot(of_mean, fixed)
        if total == 0:
            return 0.0
        freedom = float("inf") if of_mean == 0 else effective_freedom([of_mean, fixed], [count - 1, float("inf")])
        return student_factor(0.95, freedom) * total

    now = half(series.count)
    more: int | None = 0
    if now > allowed:
        more = None
        most = 200
        if half(series.count + most) <= allowed:
            more = next(extra for extra in range(1, most + 1) if half(series.count + extra) <= allowed)
    centres = Reading(series.mean - sizes.value, hypot(series.uncertainty, fixed))
    return MeanCentres(centres, now, now <= allowed, more)


def horn_centres(fore_faces: Reading, aft_faces: Reading) -> Reading:
    """Centres of two horn gaps from the distance between their fore faces and between their aft faces: the mean.

    Each distance is taken from like face to like face, so gaps of unequal width do not matter.
    Anchor: 120.04 and 119.98 -> 120.01.
    """
    return Reading.combined(
        (fore_faces.value + aft_faces.value) / 2, (0.5, fore_faces.uncertainty), (0.5, aft_faces.uncertainty)
    )


@dataclass(frozen=True, slots=True)
class BackToBack:
    """Back-to-back of a wheelset: the mean round the wheels, its standard uncertainty, and how far the wheels lean."""

    mean: Reading
    least: float
    greatest: float

    @property
    def lean(self) -> float:
        """Greatest less least: what the wheels swash against each other."""
        return self.greatest - self.least


def back_to_back(round_the_wheels: Sequence[float], *, instrument: float) -> BackToBack:
    """Back-to-back from readings at evenly spaced places round the wheels (three or more).

    The mean is free of swash; the readings' spread is swash, not uncertainty, so only the instrument counts in it.
    Anchor: 118.9, 119.1, 119.1, 118.9 -> 119.0, lean 0.2.
    """
    if len(round_the_wheels) < 3:
        raise OutOfRange("readings round the wheels", got=len(round_the_wheels), allowed="3 or more, evenly spaced")
    readings = [Reading(value, instrument) for value in round_the_wheels]
    mean = sum(reading.value for reading in readings) / len(readings)
    return BackToBack(Reading(mean, instrument / sqrt(len(readings))), min(round_the_wheels), max(round_the_wheels))


@dataclass(frozen=True, slots=True)
class RunOut:
    """Run-out of a wheel or pin: eccentricity, the angle of its high side, what is left as out of round.

    The dial reads twice the eccentricity between its least and its greatest.
    """

    eccentricity: Reading
    high_at_rad: float
    left_over: float

    @property
    def reading(self) -> float:
        """What a dial indicator shows from least to greatest for this eccentricity."""
        return 2 * self.eccentricity.value


def run_out(dial: Sequence[float], *, instrument: float) -> RunOut:
    """Eccentricity from dial readings at evenly spaced angles over one turn (first reading at angle 0).

        a = 2/n sum d cos,  b = 2/n sum d sin,  eccentricity = hypot(a, b),  high side at atan2(b, a)

    The first harmonic of the readings; what it leaves (greatest departure) is out-of-round, flats or dirt.
    Three readings give no left-over; take six or more to see it. Anchor: 0.05, 0, -0.05, 0 -> eccentricity 0.05,
    high side at 0, reading 0.10.
    """
    count = len(dial)
    if count < 3:
        raise OutOfRange("dial readings round a turn", got=count, allowed="3 or more, evenly spaced")
    readings = [Reading(value, instrument).value for value in dial]
    turns = [2 * pi * number / count for number in range(count)]
    a = 2 / count * sum(d * cos(turn) for d, turn in zip(readings, turns, strict=True))
    b = 2 / count * sum(d * sin(turn) for d, turn in zip(readings, turns, strict=True))
    mean = sum(readings) / count
    left = max(abs(d - mean - a * cos(turn) - b * sin(turn)) for d, turn in zip(readings, turns, strict=True))
    return RunOut(Reading(hypot(a, b), instrument * sqrt(2 / count)), atan2(b, a) % (2 * pi), left)


def minutes(angle_rad: float) -> float:
    """Minutes of arc. Anchor: 1 degree -> 60."""
    return 60 * degrees(angle_rad)


def dial_for_angle(angle_rad: float, radius: float) -> float:
    """How far a dial indicator square to the crank moves at ``radius`` when the axle turns: radius x angle.

    Anchor: 10 minutes at 24 mm -> 0.0698 mm.
    """
    if not isfinite(radius) or radius <= 0:
        raise OutOfRange("radius at which the dial indicator stands", got=radius, allowed="more than 0 mm")
    return radius * angle_rad


def packing_for_offset(offset: float) -> float:
    """Packing under one jaw of a three-jaw chuck for a bush offset: 1.5 x the offset (small offsets).

    The other two jaws close on the shifted work: their line of contact moves by half as much again.
    Source: geometry. Anchor: 0.2 mm offset -> 0.3 mm packing. Range: up to a tenth of the work's radius or so.
    """
    if not isfinite(offset) or offset < 0:
        raise OutOfRange("bush offset", got=offset, allowed="0 mm or more")
    return 1.5 * offset
