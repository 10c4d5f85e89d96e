"""Indexing: direct plate, worm and hole circles, angles, compound and differential; all in exact fractions.

The crank of a head of ratio R (40, 60, 90 ...) makes R / N turns from one of N divisions to the next. On a circle of
c holes that is exact where R c / N is whole. What no circle gives exactly may be had by compound or differential
indexing; else `nearest_plain` counts every division to its nearest hole and says by how much it is out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import gcd, pi

from asmade.measure.errors import OutOfRange, Refused
from asmade.work.checks import above_zero, whole


@dataclass(frozen=True, slots=True)
class Move:
    """A move of the crank: whole turns and extra spaces on a hole circle (spaces, not holes counted)."""

    circle: int
    turns: int
    spaces: int

    @property
    def crank_turns(self) -> Fraction:
        """Turns of the crank in all."""
        return self.turns + Fraction(self.spaces, self.circle)

    @property
    def words(self) -> str:
        """``3 turns and 21 spaces on the 33 circle``."""
        if not self.spaces:
            return f"{self.turns} turn{'s' if self.turns != 1 else ''}"
        turned = f"{self.turns} turn{'s' if self.turns != 1 else ''} and " if self.turns else ""
        return f"{turned}{self.spaces} space{'s' if self.spaces != 1 else ''} on the {self.circle} circle"


@dataclass(frozen=True, slots=True)
class NearestPlain:
    """Divisions counted to the nearest hole: holes from the start for each division, and how far out the worst is."""

    divisions: int
    circle: int
    spaces: tuple[int, ...]
    worst_rad: float
    step_worst_rad: float

    @property
    def exact(self) -> bool:
        """Never called exact unless it is."""
        return self.worst_rad == 0

    def worst_mm(self, diameter_mm: float) -> float:
        """The worst division out by so much along the rim of a diameter, mm."""
        return self.worst_rad * above_zero("diameter", diameter_mm) / 2


@dataclass(frozen=True, slots=True)
class NearestAngle:
    """The move nearest to an angle where no circle gives it exactly, and the angle that it does give."""

    move: Move
    angle_deg: Fraction
    wanted_deg: Fraction

    @property
    def exact(self) -> bool:
        """Whether it is the angle wanted and no other."""
        return self.angle_deg == self.wanted_deg

    @property
    def error_deg(self) -> Fraction:
        """Angle got less angle wanted."""
        return self.angle_deg - self.wanted_deg


@dataclass(frozen=True, slots=True)
class Compound:
    """Two moves on two circles of one plate: the crank by the first, crank and plate together by the second.

    ``second`` below 0: against the first. ``every``: it goes so many divisions at a time and comes to all of them
    after as many rounds.
    """

    divisions: int
    first: tuple[int, int]
    second: tuple[int, int]
    every: int = 1

    @property
    def crank_turns(self) -> Fraction:
        """Turns of the crank that both make together."""
        return Fraction(*self.first) + Fraction(*self.second)

    @property
    def words(self) -> str:
        """``23 spaces on 29, then 11 back on 33``."""
        (m1, c1), (m2, c2) = self.first, self.second
        way = "on in the same sense" if m2 > 0 else "back"
        each = "" if self.every == 1 else f", {self.every} divisions at a time"
        return f"{m1} spaces on the {c1} circle, then {abs(m2)} {way} on the {c2} circle{each}"


@dataclass(frozen=True, slots=True)
class Differential:
    """Indexing as for ``approximate`` divisions while gears turn the plate; ``ratio`` spindle to plate.

    ``ratio`` above 0: the plate turns with the crank; below: against it. The number of idlers follows from the head.
    """

    divisions: int
    approximate: int
    move: Move
    ratio: Fraction
    drivers: tuple[int, ...]
    driven: tuple[int, ...]

    @property
    def words(self) -> str:
        """What to set."""
        gears = " x ".join(f"{a}/{b}" for a, b in zip(self.drivers, self.driven, strict=True))
        way = "with" if self.ratio > 0 else "against"
        return f"index {self.move.words}, gears {gears} from the spindle, plate turning {way} the crank"


def crank_turns(ratio: int, divisions: int) -> Fraction:
    """Turns of the crank from one division to the next, exact: R / N.

    Source: US Army Ordnance subcourse OD1644; Machinery's Handbook (1916 ed.). Range: whole numbers of 1 or more.
    Anchor: 40:1, 6 divisions: 6 2/3 turns (OD1644).
    """
    return Fraction(whole("ratio of the head", ratio, 1, 1000), whole("divisions", divisions))


def direct(divisions: int, plate: int) -> int | None:
    """Spaces of a plate on the spindle itself (24 holes or slots) for each division; None where it does not go.

    Source: US Army Ordnance subcourse OD1644. Range: whole numbers. Anchor: 24 holes, 6 divisions: 4; 5: none.
    """
    spaces, over = divmod(whole("holes of the plate", plate, 2, 1000), whole("divisions", divisions))
    return None if over else spaces


def plain(ratio: int, divisions: int, circles: Iterable[int]) -> tuple[Move, ...]:
    """Every circle on which N divisions come out exactly, smallest circle first; empty where none does.

    Where the turns are whole any circle will do, and the smallest is returned alone.
    Anchor: 40:1, 7 divisions on 21: 5 turns and 15 spaces.
    """
    turns = crank_turns(ratio, divisions)
    return _moves(turns, circles)


def angular(ratio: int, angle_deg: Fraction, circles: Iterable[int]) -> tuple[Move, ...]:
    """Every circle on which an angle comes out exactly: turns = R angle / 360.

    Anchor: 40:1, 11.5 degrees on 18: 1 turn and 5 spaces (Machinery's Handbook, 1916 ed.).
    """
    return _moves(_angle_turns(ratio, angle_deg), circles)


def nearest_angle(ratio: int, angle_deg: Fraction, circles: Iterable[int]) -> NearestAngle:
    """The circle and move that come nearest to an angle, and what angle that is; smallest circle of equally near.

    Anchor: 24 minutes at 40:1, one space of 23: 23.478 minutes (US Army Ordnance subcourse OD1644).
    """
    turns = _angle_turns(ratio, angle_deg)
    best: tuple[Fraction, int, Move] | None = None
    for circle in _circles(circles):
        spaces = round(turns * circle)
        move = Move(circle, *divmod(spaces, circle))
        out = abs(move.crank_turns - turns)
        if best is None or (out, circle) < best[:2]:
            best = (out, circle, move)
    if best is None:
        raise _no_circles()
    return NearestAngle(best[2], best[2].crank_turns * 360 / ratio, angle_deg)


def spaces_needed(ratio: int, angle_deg: Fraction) -> Fraction:
    """Holes that a circle would need for one space to be the angle: 360 / (R angle).

    Source: US Army Ordnance subcourse OD1644. Range: above 0. Anchor: 24 minutes at 40:1: 22.5.
    """
    return 1 / _angle_turns(ratio, angle_deg)


def nearest_plain(ratio: int, divisions: int, circles: Iterable[int]) -> NearestPlain:
    """N divisions each counted from the start to its nearest hole, on the circle that does best.

    The error does not add up: it is at most half a space of the best circle. ``step_worst_rad`` is the most that the
    distance from one division to the next is out. Anchor: where a circle is exact the error is nothing.
    """
    turns = crank_turns(ratio, divisions)
    best: NearestPlain | None = None
    for circle in _circles(circles):
        spaces = tuple(round(k * turns * circle) for k in range(divisions))
        out = [Fraction(s, circle) - k * turns for k, s in enumerate(spaces)]
        worst = max(abs(o) for o in out)
        step = max(abs(b - a) for a, b in zip(out, [*out[1:], out[0]], strict=True))
        found = NearestPlain(
            divisions, circle, spaces, float(worst) * 2 * pi / ratio, float(step) * 2 * pi / ratio
        )  # fmt: skip
        if best is None or found.worst_rad < best.worst_rad:
            best = found
    if best is None:
        raise _no_circles()
    return best


def compound(
    ratio: int, divisions: int, plates: Sequence[Sequence[int]], *, most_every: int = 1, most: int = 5
) -> tuple[Compound, ...]:
    """Compound indexing on two circles of one plate: k R / N = m1/c1 +- m2/c2, exact, shortest moves first.

    m1 and m2 are less than a turn each; k up to ``most_every`` (it must share no factor with N). Moves that are no
    compound at all (one of them nothing) are left to `plain`. Anchor: 40:1, 87 divisions: 23/29 - 11/33.
    """
    whole("divisions", divisions)
    found = []
    for every in range(1, whole("divisions at a time", most_every, 1, 50) + 1):
        if gcd(every, divisions) != 1:
            continue
        turns = crank_turns(ratio, divisions) * every
        for plate in plates:
            for c1, c2 in combinations(sorted(set(_circles(plate))), 2):
                found += [Compound(divisions, *pair, every) for pair in _pairs(turns, c1, c2)]
    found.sort(key=lambda c: (c.every, c.first[0] + abs(c.second[0]), c.first[1] + c.second[1], c.first))
    return tuple(found[:most])


def _pairs(turns: Fraction, c1: int, c2: int) -> Iterable[tuple[tuple[int, int], tuple[int, int]]]:
    """Moves on two circles that add up to ``turns``, the positive one first; each less than a turn."""
    for m1 in range(1 - c1, c1):
        rest = (turns - Fraction(m1, c1)) * c2
        if not m1 or rest.denominator != 1 or not 0 < abs(rest) < c2:
            continue
        one, two = (m1, c1), (int(rest), c2)
        yield (one, two) if m1 > 0 else (two, one)


def gear_ratio(ratio: int, divisions: int, approximate: int) -> Fraction:
    """Gears from spindle to plate for differential indexing: R (x - N) / x; above 0 the plate turns with the crank.

    Source: Machinery's Handbook. Range: whole numbers, x not N. Anchor: N 57, x 60: 2; N 61, x 60: -2/3.
    """
    crank_turns(ratio, divisions)
    whole("approximate divisions", approximate)
    return Fraction(ratio * (approximate - divisions), approximate)


def differential(
    ratio: int, divisions: int, circles: Iterable[int], gears: Iterable[int], *, within: int = 0, most: int = 5
) -> tuple[Differential, ...]:
    """Differential indexing with the gears owned: a near number that a circle gives, and gears for the difference.

    Searches near numbers up to ``within`` away (0: a tenth of N, at least 6), simple trains and compound ones; nearest
    number and fewest gears first. Only exact trains are returned. Anchor: N 57, x 60, gears 2:1.
    """
    whole("divisions", divisions)
    holes, owned = _circles(circles), sorted(gears)
    reach = within or max(6, divisions // 10)
    made = _gear_pairs(owned)
    found = []
    for away in range(1, reach + 1):
        for near in (divisions + away, divisions - away):
            moves = plain(ratio, near, holes) if near > 0 else ()
            if not moves:
                continue
            wanted = gear_ratio(ratio, divisions, near)
            train = made.get(abs(wanted))
            if train is not None:
                found.append(Differential(divisions, near, moves[0], wanted, *train))
    found.sort(key=lambda d: (len(d.drivers), abs(d.approximate - d.divisions), sum(d.drivers) + sum(d.driven)))
    return tuple(found[:most])


def _gear_pairs(owned: Sequence[int]) -> dict[Fraction, tuple[tuple[int, ...], tuple[int, ...]]]:
    """Every ratio of one or two pairs of the gears owned, with the simplest train for it."""
    found: dict[Fraction, tuple[tuple[int, ...], tuple[int, ...]]] = {}
    for teeth in owned:
        whole("teeth of a change gear", teeth, 8, 300)
    for i, a in enumerate(owned):
        for j, b in enumerate(owned):
            if i != j:
                found.setdefault(Fraction(a, b), ((a,), (b,)))
    for (i, a), (j, b) in combinations(enumerate(owned), 2):
        rest = [g for k, g in enumerate(owned) if k not in (i, j)]
        for c, d in combinations(rest, 2):
            found.setdefault(Fraction(a * b, c * d), ((a, b), (c, d)))
    return found


def _moves(turns: Fraction, circles: Iterable[int]) -> tuple[Move, ...]:
    known = _circles(circles)
    if not known:
        raise _no_circles()
    if turns.denominator == 1:
        return (Move(known[0], int(turns), 0),)
    found = []
    for circle in known:
        spaces = turns * circle
        if spaces.denominator == 1:
            found.append(Move(circle, *divmod(int(spaces), circle)))
    return tuple(found)


def _angle_turns(ratio: int, angle_deg: Fraction) -> Fraction:
    whole("ratio of the head", ratio, 1, 1000)
    if not 0 < angle_deg <= 360:
        raise OutOfRange("angle", got=f"{float(angle_deg):g} deg", allowed="over 0 up to 360 deg")
    return ratio * Fraction(angle_deg) / 360


def _circles(circles: Iterable[int]) -> tuple[int, ...]:
    return tuple(sorted({whole("hole circle", circle, 2, 1000) for circle in circles}))


def _no_circles() -> Refused:
    return Refused("hole circles", got=(), reason="there are none to index on",
                   way_out="give the circles of your plates, such as 15 16 17 18 19 20")  # fmt: skip
