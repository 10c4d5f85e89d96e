"""Student's t for single numbers, without a numerics library: a quick command has no quarter second to load one.

Arrays of them go to scipy.special; the tests hold these functions to it.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from asmade.measure.errors import OutOfRange

_TINY: Final = 1e-300
_STEPS: Final = 400


def t_below(x: float, dof: float) -> float:
    """Probability that Student's t with ``dof`` degrees of freedom (above 0) is at most ``x``.

        P(t <= x) = 1 - I(dof / (dof + x^2); dof/2, 1/2) / 2   for x >= 0

    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.1; I is the incomplete beta function,
    26.5.8 (continued fraction by Lentz's method). Range: any x, dof > 0.
    Anchor: x 2.228 with 10 degrees of freedom, 0.975 (any table of t).
    """
    if not dof > 0:
        raise OutOfRange("degrees of freedom", got=dof, allowed="above 0")
    if math.isnan(x):
        raise OutOfRange("t", got=x, allowed="numbers")
    if math.isinf(x):
        return 1.0 if x > 0 else 0.0
    tail = _tail(x, dof)
    return 1.0 - tail if x >= 0 else tail


def _tail(x: float, dof: float) -> float:
    """Probability beyond ``x`` on its own side of 0; small ones keep their digits."""
    return 0.5 * _beta_share(dof / (dof + x * x), x * x / (dof + x * x), dof / 2, 0.5)


@lru_cache(maxsize=4096)
def t_reach(dof: float, level: float = 0.95) -> float:
    """Half width of the interval about 0 that holds Student's t with probability ``level`` (0 < level < 1).

    Source: the inverse of `t_below`, by Newton's steps kept inside a bracket. Range: dof > 0.
    Anchors: 95 %: 12.706 for 1, 2.228 for 10, 1.960 for very many degrees of freedom (any table of t).
    """
    if not 0 < level < 1:
        raise OutOfRange("level", got=level, allowed="above 0 and below 1")
    wanted = 0.5 - level / 2  # in the tail: near 1 the last digits would be lost
    low, high = 0.0, 1.0
    while _tail(high, dof) > wanted:
        low, high = high, high * 2
    at = 0.5 * (low + high)
    for _ in range(200):
        beyond = _tail(at, dof)
        low, high = (at, high) if beyond > wanted else (low, at)
        after = at + (beyond - wanted) / _density(at, dof)
        if not low < after < high:
            after = 0.5 * (low + high)
        if abs(after - at) <= 4e-16 * at:
            return after
        at = after
    return at


def _density(x: float, dof: float) -> float:
    log = _log_gamma_ratio(dof / 2, 0.5) - 0.5 * math.log(dof * math.pi)
    return math.exp(log - (dof + 1) / 2 * math.log1p(x * x / dof))


def _log_gamma_ratio(a: float, b: float) -> float:
    """Log of gamma(a + b) / gamma(a); for b = 1/2 and a large, by its series, as the difference loses digits.

    Source: Abramowitz and Stegun 6.1.41 for both, subtracted: log(a)/2 - 1/(8 a) + 1/(192 a^3) - ...
    """
    if b == 0.5 and a > 500:
        return 0.5 * math.log(a) - 1 / (8 * a) + 1 / (192 * a**3)
    return math.lgamma(a + b) - math.lgamma(a)


def _beta_share(x: float, rest: float, a: float, b: float) -> float:
    """The incomplete beta function I_x(a, b); ``rest`` is 1 - x, told apart so that no digit of it is lost."""
    if x <= 0 or rest >= 1:
        return 0.0
    if rest <= 0:
        return 1.0
    log_x = math.log(x) if x < 0.5 else math.log1p(-rest)
    log_rest = math.log(rest) if rest < 0.5 else math.log1p(-x)
    front = math.exp(_log_gamma_ratio(a, b) - math.lgamma(b) + a * log_x + b * log_rest)
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(x, a, b) / a
    return 1.0 - front * _fraction(rest, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """The continued fraction of the incomplete beta function, by Lentz's method."""
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    whole = d
    for m in range(1, _STEPS * 50):
        for numerator in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 + numerator * d
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = 1.0 + numerator / c
            c = c if abs(c) > _TINY else _TINY
            whole *= d * c
        if abs(d * c - 1.0) < 1e-15:
            break
    return whole
