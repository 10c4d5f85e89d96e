"""Change gears: every train of the gears owned that cuts a pitch on this lathe's screw, exact ones first.

    pitch = leadscrew x (turns of the first gear to a turn of the spindle) x drivers / driven

A train is written driver/driven x driver/driven from the spindle. Everything is reckoned in exact fractions: a train
is called exact only when it is, and all others carry their error over the length of thread that is engaged.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, permutations
from math import prod
from typing import Final

from asmade.measure.errors import OutOfRange, Refused
from asmade.work.checks import above_zero, whole

CLEAR_TEETH: Final = 15
"""By how many teeth a pair must outreach the next gear for the studs to clear: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Train:
    """One train and the pitch it cuts."""

    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    pitch_mm: Fraction
    wanted_mm: Fraction
    fits: bool

    @property
    def exact(self) -> bool:
        """Whether the pitch is the one wanted and no other."""
        return self.pitch_mm == self.wanted_mm

    @property
    def ratio_error(self) -> float:
        """By what share the pitch is too coarse (above 0) or too fine."""
        return float(self.pitch_mm / self.wanted_mm - 1)

    def error_over_mm(self, length_mm: float) -> float:
        """How far the last thread of a length is from where it should be, mm.

        Anchor: 80/63 in place of 127/100, 10 mm: 0.00125 mm.
        """
        return self.ratio_error * above_zero("engaged length", length_mm)

    @property
    def words(self) -> str:
        """``40/80 x 63/50``."""
        return " x ".join(f"{a}/{b}" for a, b in zip(self.drivers, self.driven, strict=True))


@dataclass(frozen=True, slots=True)
class Trains:
    """What the gears owned can do for a pitch: exact trains (simplest first), and else the nearest, best first."""

    wanted_mm: Fraction
    exact: tuple[Train, ...]
    nearest: tuple[Train, ...]
    tried: int


def pitch_cut_mm(
    leadscrew_mm: Fraction, drivers: Sequence[int], driven: Sequence[int], first: Fraction = Fraction(1)
) -> Fraction:
    """Pitch that a train cuts, mm, exact: leadscrew x first x drivers / driven.

    Source: screw-cutting rules, Rose, Modern Machine-Shop Practice (1887); Machinery's Handbook.
    Range: gears of 8 to 300 teeth, as many drivers as driven.
    Anchor: 4 tpi, 48/36 x 18/66: 11 tpi (Rose); 3 mm, 50/60 x 38/65: 1.46153846 mm.
    """
    _positive("leadscrew", leadscrew_mm)
    _positive("spindle to first gear", first)
    if len(drivers) != len(driven) or not drivers:
        raise Refused("train", got=(tuple(drivers), tuple(driven)), reason="there are as many drivers as driven gears")
    for teeth in (*drivers, *driven):
        whole("teeth of a change gear", teeth, 8, 300)
    return leadscrew_mm * first * Fraction(prod(drivers), prod(driven))


def translation_error(ratio: Fraction, wanted: Fraction = Fraction(127, 100)) -> float:
    """By what share a pair of gears in place of a translating one is out: ratio / wanted - 1.

    Source: definition; 127 teeth stand for 25.4 mm (Turning and Boring, 1914). Range: above 0.
    Anchor: 80/63 for 127/100: -0.012498 per cent.
    """
    _positive("ratio", ratio)
    _positive("ratio wanted", wanted)
    return float(ratio / wanted - 1)


def gear_for(ratio: Fraction, driver: int) -> int | None:
    """The driven gear that makes a ratio driver/driven with a driver, or None where it is no whole gear.

    Source: Rose, Modern Machine-Shop Practice (1887). Range: ratio above 0.
    Anchor: 6 tpi screw, 17 tpi wanted, driver 24: 68 teeth (Rose).
    """
    _positive("ratio", ratio)
    teeth = Fraction(whole("driver", driver, 8, 300)) / ratio
    return int(teeth) if teeth.denominator == 1 else None


def trains(
    wanted_mm: Fraction, leadscrew_mm: Fraction, gears: Iterable[int], *, first: Fraction = Fraction(1), pairs: int = 2,
    most: int = 8, only_fitting: bool = True,
) -> Trains:  # fmt: skip
    """Search every train of up to ``pairs`` pairs from the gears owned (each as often as it is there).

    ``only_fitting``: leave out compound trains whose studs would not clear by the usual rule. ``most``: how many of
    each kind to return. Simple trains stand before compound ones, small gears before large. Raises ``Refused`` for
    fewer than two gears. Nothing is rounded: near trains never stand among the exact.
    """
    owned = tuple(sorted(gears))
    _positive("pitch wanted", wanted_mm)
    _positive("leadscrew", leadscrew_mm)
    _positive("spindle to first gear", first)
    whole("pairs of gears", pairs, 1, 3)
    whole("number of trains", most, 1, 1000)
    if len(owned) < 2:
        raise Refused("change gears", got=list(owned), reason="a train wants at least two",
                      way_out="list the gears you own, a gear as often as you have it")  # fmt: skip
    for teeth in owned:
        whole("teeth of a change gear", teeth, 8, 300)
    ratio = wanted_mm / (leadscrew_mm * first)
    exact: list[Train] = []
    near: dict[Fraction, tuple[tuple[int, ...], tuple[int, ...]]] = {}
    tried = 0
    for count in range(1, pairs + 1):
        for up, down in _sets(owned, count):
            tried += 1
            top, bottom = prod(up), prod(down)
            if top * ratio.denominator == bottom * ratio.numerator:
                laid = _laid(up, down) if only_fitting else (up, down)
                if laid is not None:
                    exact.append(_train(*laid, leadscrew_mm * first, wanted_mm))
                continue
            if abs(top / bottom / float(ratio) - 1) < 0.02:
                value = Fraction(top, bottom)
                if value not in near:
                    laid = _laid(up, down) if only_fitting else (up, down)
                    if laid is not None:
                        near[value] = laid
    exact.sort(key=_simplest)
    closest = sorted(near, key=lambda value: (abs(value / ratio - 1), value))[:most]
    return Trains(
        wanted_mm, tuple(exact[:most]), tuple(_train(*near[v], leadscrew_mm * first, wanted_mm) for v in closest),
        tried,
    )  # fmt: skip


def clears(drivers: Sequence[int], driven: Sequence[int]) -> bool:
    """Whether the studs of a train clear: a + b over c by 15 teeth, and c + d over b by 15, for each pair of pairs.

    a/b x c/d: gear c, on the stud of b, must not touch the stud of a; b must not touch the shaft of d. Common
    practice, no source: try it on the lathe before relying on it.
    """
    return all(
        drivers[k] + driven[k] >= drivers[k + 1] + CLEAR_TEETH
        and drivers[k + 1] + driven[k + 1] >= driven[k] + CLEAR_TEETH
        for k in range(len(drivers) - 1)
    )


def _laid(up: tuple[int, ...], down: tuple[int, ...]) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
    """The first order of a set of drivers and driven gears that goes on the studs, or None."""
    for drivers in permutations(up):
        for driven in permutations(down):
            if clears(drivers, driven):
                return drivers, driven
    return None


def _sets(owned: tuple[int, ...], count: int) -> Iterable[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Sets of drivers and driven gears, each gear used as often as it is owned."""
    have = Counter(owned)
    seen = set()
    for up in combinations(owned, count):
        if up in seen:
            continue
        seen.add(up)
        rest = sorted((have - Counter(up)).elements())
        done = set()
        for down in combinations(rest, count):
            if down in done or (count > 1 and not set(up).isdisjoint(down)):
                continue  # a gear on both sides is an idler: the train is a simpler one
            done.add(down)
            yield up, down


def _train(drivers: tuple[int, ...], driven: tuple[int, ...], screw: Fraction, wanted: Fraction) -> Train:
    pitch = screw * Fraction(prod(drivers), prod(driven))
    return Train(drivers, driven, pitch, wanted, fits=clears(drivers, driven))


def _simplest(train: Train) -> tuple[int, int, int, tuple[int, ...], tuple[int, ...]]:
    gears = (*train.drivers, *train.driven)
    return len(train.drivers), max(gears), sum(gears), train.drivers, train.driven


def _positive(thing: str, value: Fraction) -> None:
    if value <= 0:
        raise OutOfRange(thing, got=str(value), allowed="above 0")
