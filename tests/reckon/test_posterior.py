"""Capability: against the printed example of a textbook, scipy.stats, and plain numerical integration."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from asmade.measure.errors import OutOfRange
from asmade.reckon.pooling import MOST_BIAS_PIECES, pool, prior_from_others
from asmade.reckon.posterior import (
    FLOOR_MM,
    Posterior,
    Posteriors,
    from_prior,
    from_process,
    update,
    update_many,
)
from asmade.standards.capability import process_prior

ANCHORS = Path(__file__).parents[1] / "anchors" / "published_statistics.csv"
REAMER = Posterior(0.01, 1.0, 3.0, 0.012**2)


def hoff_rows():
    with ANCHORS.open(encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if row["category"] == "normal-inverse-gamma update"]


def hoff_case():
    inputs = dict(pair.split("=") for pair in hoff_rows()[-1]["inputs"].split(";"))
    prior = Posterior(*(float(inputs[f"prior_{name}"]) for name in ("mean", "kappa", "nu", "sigma2")))
    return prior, [float(x) for x in inputs["data_mm"].split("|")]


@pytest.mark.parametrize("row", hoff_rows(), ids=lambda row: row["id"])
def test_textbook_example(row):
    """Hoff, A First Course in Bayesian Statistical Methods (2009), sec. 5.3."""
    prior, data = hoff_case()
    one = update(prior, data)
    many = update_many(prior, [0] * len(data), data, groups=1)[0]
    for found in (one, many):
        quantities = {
            "sample mean": np.mean(data),
            "sample variance": np.var(data, ddof=1),
            "posterior kappa": found.kappa,
            "posterior mean of the mean": found.mean,
            "posterior nu": found.nu,
            "posterior scale sigma_n^2": found.sigma2,
            "95 % interval of the mean, lower": found.bias_interval()[0],
            "95 % interval of the mean, upper": found.bias_interval()[1],
        }
        assert quantities[row["quantity"]] == pytest.approx(float(row["value"]), abs=float(row["tolerance"]) + 1e-12)


@pytest.mark.parametrize("nu", [0.7, 1.0, 2.0, 3.5, 12.0, 400.0])
@pytest.mark.parametrize("level", [0.5, 0.95, 0.999])
def test_intervals_and_chances_against_scipy_stats(nu, level):
    belief = Posterior(0.02, 2.5, nu, 0.01**2)
    bias = stats.t(nu, 0.02, math.sqrt(0.01**2 / 2.5))
    piece = stats.t(nu, 0.02, math.sqrt(0.01**2 * (1 + 1 / 2.5)))
    scatter = stats.invgamma(nu / 2, scale=nu * 0.01**2 / 2)
    assert belief.bias_interval(level) == pytest.approx(bias.interval(level), rel=1e-9)
    assert belief.next_interval(level) == pytest.approx(piece.interval(level), rel=1e-9)
    assert np.square(belief.scatter_interval(level)) == pytest.approx(scatter.interval(level), rel=1e-9)
    assert belief.chance_within(0.01, 0.05) == pytest.approx(piece.cdf(0.05) - piece.cdf(0.01), rel=1e-9)
    assert belief.chance_within(None, 0.0) == pytest.approx(piece.cdf(0.0), rel=1e-9)
    assert belief.chance_within(0.03, None) == pytest.approx(piece.sf(0.03), rel=1e-9)
    assert belief.chance_within(None, None) == 1.0
    low, high = Posteriors.of([belief]).next_interval(level)
    assert (low[0], high[0]) == pytest.approx(piece.interval(level), rel=1e-9)


def test_sigmas_for_sums_of_variances_have_the_interval_of_the_next_piece():
    belief = Posterior(0.0, 3.0, 1.5, 0.01**2)
    sigma = math.hypot(belief.bias_sigma, belief.scatter_sigma)
    assert sigma * stats.norm.ppf(0.975) == pytest.approx(belief.next_interval()[1], rel=1e-9)
    assert belief.bias_sigma / belief.scatter_sigma == pytest.approx(3.0**-0.5)


def exact_expectations(prior, y, v):
    """E of 1/s2, log s2, m/s2, m^2/s2 and the 95 % tails of the bias by brute integration over bias and log s2."""
    t = np.linspace(math.log(prior.sigma2) - 12, math.log(prior.sigma2 + np.max(np.square(y))) + 25, 3001)
    spread = 12 * math.sqrt(prior.sigma2 + np.max(v) + np.var(y))
    m = np.linspace(min(prior.mean, *y) - spread, max(prior.mean, *y) + spread, 2001)
    s2 = np.exp(t)[:, None]
    log_p = -prior.nu / 2 * t[:, None] - prior.nu * prior.sigma2 / (2 * s2)
    log_p = log_p + stats.norm.logpdf(m[None, :], prior.mean, np.sqrt(s2 / prior.kappa))
    for reading, variance in zip(y, v, strict=True):
        log_p = log_p + stats.norm.logpdf(reading, m[None, :], np.sqrt(s2 + variance))
    p = np.exp(log_p - log_p.max())

    def mean_of(f):
        return integrate.trapezoid(integrate.trapezoid(p * f, m, axis=1), t) / integrate.trapezoid(
            integrate.trapezoid(p, m, axis=1), t
        )

    marginal = integrate.trapezoid(p, t, axis=0)
    cdf = np.cumsum(marginal) / marginal.sum()
    return (mean_of(1 / s2), mean_of(np.log(s2)), mean_of(m / s2), mean_of(m**2 / s2)), np.interp(
        [0.025, 0.975], cdf, m
    )


@pytest.mark.parametrize(
    ("y", "u"),
    [
        ([0.031], [0.01]),
        ([0.031, 0.033, 0.029], [0.004, 0.004, 0.004]),
        ([0.00, 0.05, 0.02, 0.04], [0.002, 0.02, 0.01, 0.0]),
        ([0.03, 0.03, 0.03, 0.03, 0.03], [0.012] * 5),
    ],
)
def test_less_the_instruments_against_brute_integration(y, u):
    v = np.square(u)
    found = update(REAMER, y, list(v))
    (precision, log_s2, first, second), bias = exact_expectations(REAMER, y, v)
    assert 1 / found.sigma2 == pytest.approx(precision, rel=2e-4)
    assert math.log(found.nu * found.sigma2 / 2) - stats.gamma(found.nu / 2).expect(np.log) == pytest.approx(
        log_s2, abs=2e-3
    )
    assert found.mean / found.sigma2 == pytest.approx(first, rel=2e-3)
    assert found.mean**2 / found.sigma2 + 1 / found.kappa == pytest.approx(second, rel=2e-3)
    # the nearest of the family is not the posterior itself: its 95 % interval agrees within a tenth of its width
    width = bias[1] - bias[0]
    assert found.bias_interval() == pytest.approx(tuple(bias), abs=0.1 * width)


def test_a_perfect_instrument_is_the_limit_of_a_good_one():
    y = [0.031, 0.012, 0.045, 0.022]
    plain, fine = update(REAMER, y), update(REAMER, y, 1e-16)
    for name in ("mean", "kappa", "nu", "sigma2"):
        assert getattr(fine, name) == pytest.approx(getattr(plain, name), rel=1e-6)


def test_thousands_of_readings_and_far_ones_stay_exact():
    rng = np.random.default_rng(7)
    y = rng.normal(0.03, 0.01, 20_000)
    plain, fine = update(REAMER, list(y)), update(REAMER, list(y), 1e-14)
    for name in ("mean", "kappa", "nu", "sigma2"):
        assert getattr(fine, name) == pytest.approx(getattr(plain, name), rel=1e-4)
    far = update(REAMER, [5.0, 5.1], 1e-12), update(REAMER, [5.0, 5.1])
    assert far[0].sigma2 == pytest.approx(far[1].sigma2, rel=1e-6)


def test_a_poor_instrument_teaches_little_and_never_below_the_belief():
    """Ten alike readings of a caliper do not prove a perfect reamer."""
    alike = [0.03] * 10
    poor, good = update(REAMER, alike, 0.05**2), update(REAMER, alike, 0.0001**2)
    assert 0.8 * REAMER.sigma2 < poor.sigma2 < 1.3 * REAMER.sigma2
    assert good.sigma2 < 0.5 * REAMER.sigma2
    assert poor.nu < 0.5 * good.nu
    assert poor.bias_scale > good.bias_scale


def test_scatter_is_found_back_when_the_instrument_is_as_coarse_as_the_scatter():
    rng = np.random.default_rng(11)
    groups, per = 400, 6
    group = np.repeat(np.arange(groups), per)
    bias = rng.normal(0.0, 0.01, groups)
    y = bias[group] + rng.normal(0.0, 0.01, group.size) + rng.normal(0.0, 0.01, group.size)
    prior = Posterior(0.0, 1.0, 3.0, 0.01**2)
    found = update_many(prior, group, y, 0.01**2, groups=groups)
    low, high = found.next_interval()
    new = bias + rng.normal(0.0, 0.01, groups)
    covered = np.mean((low < new) & (new < high))
    assert stats.binom.ppf(1e-4, groups, 0.95) / groups < covered  # honest ...
    assert np.median(high - low) < 2 * 2.6 * 0.0145  # ... without being idle
    blind = update_many(prior, group, y, 0.0, groups=groups)
    assert np.median(found.sigma2) < 0.8 * np.median(blind.sigma2)


def test_repeats_on_one_piece_are_one_observation():
    once = update(REAMER, [0.02, 0.04], [1e-5, 1e-5 / 4])
    assert update(REAMER, [0.02, [0.03, 0.05, 0.04, 0.04]], 1e-5) == once
    assert once.pieces == 2


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 4), st.floats(-0.2, 0.2), st.sampled_from([0.0, 0.002, 0.01])), max_size=25))
def test_many_is_one_by_one_and_order_does_not_matter(rows):
    priors = [Posterior(0.01 * k, 0.5 + k, 1.0 + k, (0.005 + 0.002 * k) ** 2) for k in range(5)]
    found = update_many(
        Posteriors.of(priors), [g for g, _, _ in rows], [x for _, x, _ in rows], [u * u for _, _, u in rows], groups=5
    )
    for k, prior in enumerate(priors):
        mine = [(x, u * u) for g, x, u in reversed(rows) if g == k]
        alone = update(prior, [x for x, _ in mine], [v for _, v in mine])
        assert found[k].pieces == alone.pieces == len(mine)
        for name in ("mean", "kappa", "nu", "sigma2"):
            assert getattr(found[k], name) == pytest.approx(getattr(alone, name), rel=1e-7, abs=1e-12)


def test_many_groups_cross_the_chunks():
    rng = np.random.default_rng(3)
    group = rng.integers(0, 1500, 9000)
    y = rng.normal(0.02, 0.01, 9000)
    found = update_many(REAMER, group, y, 0.004**2, groups=1500)
    for k in (0, 7, 700, 1499):
        alone = update(REAMER, list(y[group == k]), 0.004**2)
        assert found[k].sigma2 == pytest.approx(alone.sigma2, rel=1e-9)
        assert found[k].mean == pytest.approx(alone.mean, rel=1e-9)


def test_no_pieces_give_the_prior_back_and_the_floor_holds():
    assert update(REAMER, []) == REAMER
    assert update_many(REAMER, [], [], groups=2)[1] == REAMER
    fine = Posterior(0.0, 1.0, 1.0, 1e-12)
    assert update(fine, [0.0, 0.0]).sigma2 == FLOOR_MM**2
    assert update_many(fine, [0, 0], [0.0, 0.0], groups=1)[0].sigma2 == FLOOR_MM**2
    assert update(fine, [0.0, 0.0], floor_mm=0.0).sigma2 < 1e-12


def test_plain_words():
    seven = Posterior(0.0312, 7.5, 9.0, 0.0075**2, 7)
    low, high = seven.next_interval()
    assert seven.in_words("this reamer", one="hole", many="holes") == (
        f"this reamer: +0.031 over, 7 holes; next hole between {low:+.3f} and {high:+.3f} (95 %)"
    )
    assert "-0.020 under, 1 piece;" in Posterior(-0.02, 1.0, 2.0, 1e-4, 1).in_words()
    assert "as aimed, 4 pieces" in Posterior(-0.0001, 4.0, 5.0, 1e-4, 4).in_words()
    assert "no holes measured yet, taken to be +0.010 over" in REAMER.in_words(one="hole", many="holes")


def test_prior_of_a_process():
    assert from_process(0.01, 0.012, bias_pieces=1.0, scatter_pieces=3.0) == REAMER
    said = process_prior("reamed")
    prior = from_prior(said)
    assert (prior.mean, prior.nu, prior.pieces) == (said.bias_mm, said.strength, 0)
    assert math.sqrt(prior.sigma2) == pytest.approx(said.scatter_mm)
    assert prior.bias_scale == pytest.approx(said.between_mm)
    for wrong in (0.0, -0.01, math.nan):
        with pytest.raises(OutOfRange, match="scatter"):
            from_process(0.0, wrong, bias_pieces=1.0, scatter_pieces=3.0)


def test_pooling_without_others_is_the_process():
    assert prior_from_others(REAMER, [], []) == REAMER
    pooled = pool(REAMER, {"reamer 6": [0.02, 0.03], "reamer 8": []})
    assert pooled.tools["reamer 6"] == update(REAMER, [0.02, 0.03])
    assert pooled.tools["reamer 8"] == pooled.next_tool
    assert pooled.next_tool.pieces == 0


def test_pooling_tells_scatter_from_difference_between_tools():
    """Three tools that each repeat within 2 um but lie 50 um apart: small scatter, weak word on the next tool's bias."""
    tools = {f"drill {k}": [0.05 * k + d for d in (-0.002, 0.0, 0.002, 0.001)] for k in range(3)}
    process = Posterior(0.05, 1.0, 2.0, 0.002**2)
    found = pool(process, tools).next_tool
    assert math.sqrt(found.sigma2) < 0.003
    assert found.bias_scale > 0.02
    assert found.mean == pytest.approx(0.05, abs=0.005)
    assert found.nu == pytest.approx(11.0)  # 2 of the prior and 3 from each tool


def test_pooling_of_alike_tools_helps_a_new_one_but_not_more_than_its_cap():
    rng = np.random.default_rng(5)
    tools = {f"reamer {k}": list(0.03 + rng.normal(0.0, 0.004, 8)) for k in range(12)} | {"new": [0.05]}
    process = Posterior(0.02, 0.2, 1.0, 0.004**2)
    pooled = pool(process, tools, 0.001**2, most_bias_pieces=0.5)
    assert pooled.next_tool.kappa == 0.5
    pooled = pool(process, tools, 0.001**2)
    assert 0.5 < pooled.next_tool.kappa <= MOST_BIAS_PIECES
    assert pooled.next_tool.mean == pytest.approx(0.03, abs=0.005)
    assert pooled.next_tool.mean < pooled.tools["new"].mean < 0.05
    own = update(process, [0.05], 0.001**2)
    assert pooled.tools["new"].next_scale < own.next_scale


def test_a_tool_does_not_vote_twice():
    """Its own readings are left out of its own prior: with two tools each prior is made of the other's pieces only."""
    tools = {"a": [0.02, 0.03, 0.025], "b": [0.06, 0.065]}
    prior = prior_from_others(REAMER, [tools["b"]], [[0.0, 0.0]])
    assert pool(REAMER, tools).tools["a"] == update(prior, tools["a"])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: Posterior(math.nan, 1.0, 1.0, 1.0), "bias"),
        (lambda: Posterior(0.0, 0.0, 1.0, 1.0), "kappa"),
        (lambda: Posterior(0.0, 1.0, -1.0, 1.0), "nu"),
        (lambda: Posterior(0.0, 1.0, 1.0, math.inf), "variance"),
        (lambda: Posterior(0.0, 1.0, 1.0, 1.0, -1), "pieces"),
        (lambda: update(REAMER, [math.nan]), "departure"),
        (lambda: update(REAMER, [0.1], -1e-6), "instrument"),
        (lambda: update(REAMER, [0.1], [1e-6, 1e-6]), "one per piece"),
        (lambda: update(REAMER, [[]]), "readings of one piece"),
        (lambda: update(REAMER, [0.1], floor_mm=math.inf), "least scatter"),
        (lambda: update_many(REAMER, [0], [math.inf], groups=1), "departure"),
        (lambda: update_many(REAMER, [0], [0.1], -1.0, groups=1), "instrument"),
        (lambda: update_many(REAMER, [2], [0.1], groups=2), "group number"),
        (lambda: update_many(REAMER, [0, 1], [0.1], groups=2), "values"),
        (lambda: update_many(Posteriors.of([REAMER]), [0], [0.1], groups=2), "priors"),
        (lambda: REAMER.next_interval(1.0), "level"),
        (lambda: REAMER.chance_within(0.1, 0.0), "lower limit"),
        (lambda: REAMER.chance_within(math.nan, 0.0), "limit"),
    ],
)
def test_nonsense_is_named(call, words):
    with pytest.raises(OutOfRange, match=words):
        call()
