"""Spread of readings and what they prove: the statistics of measurement that need no book.

Values and uncertainties are in whatever unit the caller uses, the same for all of one call. scipy is imported only by
the functions that need a quantile of Student's t.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, fsum, inf, isfinite, isnan, sqrt
from typing import TYPE_CHECKING

from asmade.measure.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Sequence

GUARD_FACTOR = 1.65
"""ISO 14253-1:2017, default: 95 % sure of one limit, u normally distributed (1.645, which the standard rounds)."""

# AIAG, Measurement Systems Analysis, 4th ed. (2010), average and range method: one over d2* for the number of trials,
# appraisers and parts. K1 and K2 and the last K3 as the worked example prints them; the rest of K3 from memory.
K1 = {2: 0.8862, 3: 0.5908}
K2 = {2: 0.7071, 3: 0.5231}
K3 = {2: 0.7071, 3: 0.5231, 4: 0.4467, 5: 0.4030, 6: 0.3742, 7: 0.3534, 8: 0.3375, 9: 0.3249, 10: 0.3146}


@dataclass(frozen=True, slots=True)
class Repeats:
    """Repeated readings of one thing: ``count``, ``mean``, standard deviation ``sd`` of one reading (n - 1)."""

    count: int
    mean: float
    sd: float

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty of the mean, sd / sqrt(n) (JCGM 100:2008, 4.2.3)."""
        return self.sd / sqrt(self.count)

    @property
    def freedom(self) -> int:
        """Degrees of freedom, n - 1."""
        return self.count - 1


@dataclass(frozen=True, slots=True)
class Interval:
    """An interval from ``low`` to ``high``."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class GaugeStudy:
    """A gauge study by average and range: all but ``categories`` in the unit of the readings.

    Standard deviations: ``repeatability`` EV (the instrument), ``reproducibility`` AV (who measures), ``gauge`` GRR
    (both), ``parts`` PV, ``total`` TV. ``mean_range`` is the average range of the trials, ``categories`` how many sorts
    of part the instrument tells apart.
    """

    mean_range: float
    repeatability: float
    reproducibility: float
    gauge: float
    parts: float
    total: float
    categories: int

    @property
    def gauge_percent(self) -> float:
        """GRR as per cent of the total variation: under 10 good, over 30 not fit for the purpose (AIAG)."""
        return 100 * self.gauge / self.total


def repeats(readings: Sequence[float]) -> Repeats:
    """Evaluate repeated readings (type A): s^2 = sum (x - mean)^2 / (n - 1), u = s / sqrt(n).

    Source: JCGM 100:2008 (GUM), 4.2. Range: two readings or more; one reading says nothing of its own spread.
    Anchor: 1, 2, 3, 4, 5 -> mean 3, s = sqrt(2.5) = 1.5811, u = sqrt(0.5) = 0.7071 (by hand).
    """
    if len(readings) < 2:
        raise OutOfRange("repeated readings", got=len(readings), allowed="2 or more", way_out="measure again")
    _all_finite("reading", readings)
    mean = fsum(readings) / len(readings)
    return Repeats(len(readings), mean, sqrt(fsum((each - mean) ** 2 for each in readings) / (len(readings) - 1)))


def combined_uncertainty(uncertainties: Sequence[float], sensitivities: Sequence[float] | None = None) -> float:
    """Combine standard uncertainties of independent inputs: u_c^2 = sum (c u)^2.

    ``sensitivities`` c default to 1 each. Source: JCGM 100:2008 (GUM), 5.1.2 eq. (10), inputs uncorrelated.
    Anchor: relative 0.25, 0.57 and 0.82 % of a product give 1.03 % (GUM, G.4).
    """
    return sqrt(fsum(each**2 for each in _contributions(uncertainties, sensitivities)))


def effective_freedom(
    uncertainties: Sequence[float], freedoms: Sequence[float], sensitivities: Sequence[float] | None = None
) -> float:
    """Degrees of freedom of a combined uncertainty: nu = u_c^4 / sum ((c u)^4 / nu_i).

    A freedom of ``inf`` is an uncertainty held to be known. Source: Welch-Satterthwaite, JCGM 100:2008 (GUM), G.4.1
    eq. (G.2b), which then takes the whole number below. Range: freedoms above 0, a combined uncertainty above 0.
    Anchor: 0.25, 0.57, 0.82 % with 9, 4, 14 degrees of freedom give 19.0 (GUM, G.4).
    """
    parts = _contributions(uncertainties, sensitivities)
    _same_length("degrees of freedom", freedoms, parts)
    for each in freedoms:
        _freedom(each)
    total = fsum(each**2 for each in parts)
    if not total:
        raise OutOfRange("combined uncertainty", got=0.0, allowed="above 0", way_out="leave out the degrees of freedom")
    # in shares of the whole, so that nothing overflows or vanishes at any unit
    share = fsum((each**2 / total) ** 2 / freedom for each, freedom in zip(parts, freedoms, strict=True))
    return 1 / share if share else inf


def normal_factor(confidence: float) -> float:
    """Give k such that the mean plus and minus k standard deviations hold ``confidence`` of a normal distribution.

    Range: 0 < confidence < 1. Anchor: 0.95 -> 1.960 (any table).
    """
    from statistics import NormalDist  # noqa: PLC0415  # quick commands need no quantile

    return NormalDist().inv_cdf((1 + _confidence(confidence)) / 2)


def student_factor(confidence: float, freedom: float) -> float:
    """Give k such that plus and minus k hold ``confidence`` of Student's t with ``freedom`` degrees (inf: normal).

    Range: 0 < confidence < 1, freedom above 0. Anchor: 0.95 with 19 -> 2.09 (JCGM 100:2008, table G.2).
    """
    _confidence(confidence)
    if _freedom(freedom) == inf:
        return normal_factor(confidence)
    from scipy.special import stdtrit  # noqa: PLC0415  # 0.1 s that only Student's t needs

    return float(stdtrit(freedom, (1 + confidence) / 2))


def coverage(factor: float, freedom: float = inf) -> float:
    """Give the share of Student's t (normal if ``freedom`` is inf) within plus and minus ``factor``; factor 0 or more.

    Anchors: 1 normal -> 0.6827, 2 normal -> 0.9545; 2.09 with 19 -> 0.95 (JCGM 100:2008, table G.2).
    """
    if isnan(factor) or factor < 0:
        raise OutOfRange("coverage factor", got=factor, allowed="0 or more")
    if _freedom(freedom) == inf:
        from math import erf  # noqa: PLC0415

        return erf(factor / sqrt(2))
    from scipy.special import stdtr  # noqa: PLC0415

    return float(1 - 2 * stdtr(freedom, -factor))


def expanded_uncertainty(uncertainty: float, *, confidence: float = 0.95, freedom: float = inf) -> float:
    """Expand a standard uncertainty: U = k u, k from Student's t of the whole degrees of freedom.

    Source: JCGM 100:2008 (GUM), G.4.1 and G.6.4. Range: freedom 1 or more.
    Anchor: 1.03 % with 19 -> 2.2 % (GUM, G.4).
    """
    if freedom != inf and _freedom(freedom) < 1:
        raise OutOfRange("degrees of freedom", got=freedom, allowed="1 or more", way_out="take more readings")
    # the whole number below, but 18.999 is 19: uncertainties of two figures say no more
    whole = freedom if freedom == inf else floor(round(freedom, 1))
    return student_factor(confidence, whole) * _not_negative("standard uncertainty", uncertainty)


def mean_interval(mean: float, sd: float, count: int, *, confidence: float = 0.95, sd_known: bool = False) -> Interval:
    """Interval for the mean of ``count`` readings with standard deviation ``sd``: mean -+ k sd / sqrt(n).

    k is Student's with n - 1 degrees; with ``sd_known`` (or as the large-sample approximation) it is the normal one.
    Range: count 2 or more, 1 if ``sd_known``. Source: any textbook of statistics.
    Anchor: n 50, mean 305.58, s 36.97, 99 %, normal -> 292.12 to 319.04 (Johnson, Miller and Freund, ch. 7).
    """
    least = 1 if sd_known else 2
    if count < least:
        raise OutOfRange("number of readings", got=count, allowed=f"{least} or more", way_out="measure again")
    _all_finite("mean", (mean,))
    factor = normal_factor(confidence) if sd_known else student_factor(confidence, count - 1)
    half = factor * _not_negative("standard deviation", sd) / sqrt(count)
    return Interval(mean - half, mean + half)


def sample_size(sd: float, error: float, *, confidence: float = 0.95) -> int:
    """Give the readings needed for a mean within ``error``: n = (k sd / error)^2, rounded up.

    ``sd`` is held to be known (normal k). Source: Johnson, Miller and Freund, ch. 7. Range: error above 0.
    Anchor: sd 1.6, error 0.5, 95 % -> 39.3, so 40.
    """
    if not isfinite(error) or error <= 0:
        raise OutOfRange("error of the mean", got=error, allowed="above 0")
    return max(1, ceil((normal_factor(confidence) * _not_negative("standard deviation", sd) / error) ** 2))


def guard_band(uncertainty: float, *, factor: float = GUARD_FACTOR) -> float:
    """Give what each limit is drawn in by, so that a reading inside proves the part inside: g = factor x u.

    ``uncertainty`` is the standard uncertainty of one reading. Source: ISO 14253-1:2017, default 1.65 u
    (95 % sure of one limit). Twice this is the narrowest band the instrument can prove.
    Anchor: u 0.004 -> 0.0066 (by hand).
    """
    return _not_negative("guard factor", factor) * _not_negative("standard uncertainty", uncertainty)


def gauge_study(
    readings: Sequence[Sequence[Sequence[float]]],
    *,
    k1: float | None = None,
    k2: float | None = None,
    k3: float | None = None,
) -> GaugeStudy:
    """Study an instrument by average and range; ``readings[appraiser][trial][part]``.

        EV = R K1    AV = sqrt((Xdiff K2)^2 - EV^2 / (n r)), 0 if negative    GRR = sqrt(EV^2 + AV^2)
        PV = Rp K3   TV = sqrt(GRR^2 + PV^2)    categories = 1.41 PV / GRR, whole number below

    R: mean range of the trials, Xdiff: range of the appraisers' means, Rp: range of the parts' means, n parts, r
    trials. With one appraiser AV is 0. ``k1`` to ``k3`` default to the manual's tables (2 or 3 trials, 2 or 3
    appraisers, 2 to 10 parts). Source: AIAG, Measurement Systems Analysis, 4th ed., average and range method.
    Anchor: its worked example (10 parts, 3 appraisers, 3 trials) gives EV 0.2019, AV 0.2297, GRR 0.3058, 26.7 %.
    """
    appraisers, trials, parts = _shape(readings)
    cells = [[[trial[part] for trial in appraiser] for part in range(parts)] for appraiser in readings]
    mean_range = fsum(max(cell) - min(cell) for appraiser in cells for cell in appraiser) / (appraisers * parts)
    by_appraiser = [fsum(map(fsum, appraiser)) / (parts * trials) for appraiser in cells]
    by_part = [fsum(fsum(appraiser[part]) for appraiser in cells) / (appraisers * trials) for part in range(parts)]
    repeatability = mean_range * _constant(K1, trials, k1, "trials")
    reproducibility = 0.0
    if appraisers > 1:
        between = (max(by_appraiser) - min(by_appraiser)) * _constant(K2, appraisers, k2, "appraisers")
        reproducibility = sqrt(max(0.0, between**2 - repeatability**2 / (parts * trials)))
    gauge = sqrt(repeatability**2 + reproducibility**2)
    part_spread = (max(by_part) - min(by_part)) * _constant(K3, parts, k3, "parts")
    if not gauge:
        raise OutOfRange(
            "gauge study", got="no spread at all", allowed="readings that differ", way_out="read to a finer division"
        )
    return GaugeStudy(
        mean_range,
        repeatability,
        reproducibility,
        gauge,
        part_spread,
        sqrt(gauge**2 + part_spread**2),
        floor(1.41 * part_spread / gauge),
    )


def _shape(readings: Sequence[Sequence[Sequence[float]]]) -> tuple[int, int, int]:
    trials = {len(appraiser) for appraiser in readings}
    parts = {len(trial) for appraiser in readings for trial in appraiser}
    if len(trials) != 1 or len(parts) != 1 or min(trials) < 2 or min(parts) < 2:
        raise OutOfRange(
            "gauge study",
            got=f"{len(readings)} appraisers, {sorted(trials)} trials, {sorted(parts)} parts",
            allowed="the same parts and trials for every appraiser, two or more of each",
        )
    for appraiser in readings:
        for trial in appraiser:
            _all_finite("reading", trial)
    return len(readings), trials.pop(), parts.pop()


def _constant(table: dict[int, float], number: int, given: float | None, name: str) -> float:
    if given is not None:
        return _not_negative(f"constant for {name}", given)
    if number not in table:
        raise OutOfRange(
            name,
            got=number,
            allowed=f"{min(table)} to {max(table)}",
            source="AIAG, Measurement Systems Analysis, 4th ed.",
            way_out="give the constant yourself (1 / d2*)",
        )
    return table[number]


def _contributions(uncertainties: Sequence[float], sensitivities: Sequence[float] | None) -> list[float]:
    for each in uncertainties:
        _not_negative("standard uncertainty", each)
    if sensitivities is None:
        return list(uncertainties)
    _same_length("sensitivities", sensitivities, uncertainties)
    _all_finite("sensitivity", sensitivities)
    return [c * u for c, u in zip(sensitivities, uncertainties, strict=True)]


def _same_length(name: str, given: Sequence[float], wanted: Sequence[float]) -> None:
    if len(given) != len(wanted):
        raise OutOfRange(name, got=len(given), allowed=f"as many as there are uncertainties, {len(wanted)}")


def _all_finite(name: str, values: Sequence[float]) -> None:
    for each in values:
        if not isfinite(each):
            raise OutOfRange(name, got=each, allowed="finite numbers")


def _not_negative(name: str, value: float) -> float:
    if not isfinite(value) or value < 0:
        raise OutOfRange(name, got=value, allowed="0 or more")
    return value


def _confidence(confidence: float) -> float:
    if not 0 < confidence < 1:
        raise OutOfRange("confidence", got=confidence, allowed="between 0 and 1, as 0.95")
    return confidence


def _freedom(freedom: float) -> float:
    if isnan(freedom) or freedom <= 0:
        raise OutOfRange("degrees of freedom", got=freedom, allowed="above 0", way_out="take more readings")
    return freedom
