"""Pieces cut from one bar: what a measured one says of the others.

Held to the conditional of a multivariate normal, mean mu_1 + S_12 S_22^-1 (y - mu_2) and covariance S_11 - S_12 S_22^-1
S_21 (M. L. Eaton, Multivariate Statistics: a Vector Space Approach, Wiley 1983, prop. 3.13, from memory), written out
here from the whole covariance of bar, pieces, readings and instrument.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.book.address import read_address
from asmade.reckon.bars import Measured, bar_given
from asmade.reckon.values import compute

MIC = 'zero = 0.004\nreads_to = 0.002\nunit = "mm"'
RACK = f"""
[book]
title = "rack"
drawing_unit = "mm"
[part.pin]
places = ["1", "2", "3", "4"]
material = "silver steel"
[part.pin.dim]
journal = {{ kind = "shaft", drawn = "6", process = "stock as is", stock = "round bar" }}
[part.stud]
places = ["1"]
material = "silver steel"
[part.stud.dim]
body = {{ kind = "shaft", drawn = "6", process = "stock as is", stock = "round bar" }}
other = {{ kind = "shaft", drawn = "8", process = "stock as is", stock = "round bar" }}
turned = {{ kind = "shaft", drawn = "6", process = "turned" }}
[shop.instrument.mic]
{MIC}
"""


def reading(place, figure, more=""):
    return f'[[made]]\npiece = "pin@{place}"\ndim = "journal"\nreading = "{figure}"\ninstrument = "mic"\n{more}'


def size(values, text):
    at = values.system.at(read_address(text))
    return float(values.best[at]), values.spread(at)[0], at


def conditional(departures, *, mean, bar, piece, reads, zero):
    """Mean and standard deviation of one more piece, from the joint normal of it and the readings."""
    n = len(departures)
    unmade = bar**2 + piece**2
    between = np.full(n, bar**2)
    read = np.full((n, n), bar**2 + zero**2) + (piece**2 + reads**2) * np.eye(n)
    weights = np.linalg.solve(read, between)
    return mean + weights @ (np.array(departures) - mean), math.sqrt(unmade - weights @ between)


@pytest.mark.parametrize("figures", [["5.990"], ["5.990", "5.994"], ["5.985", "5.990", "6.004"]])
def test_measured_pieces_tell_of_the_next(fold_text, figures):
    values = compute(fold_text(RACK + "".join(reading(k + 1, figure) for k, figure in enumerate(figures))))
    belief = values.capability.of("stock as is", "round bar", "silver steel", 6.0).belief
    wanted = conditional(
        [float(f) - 6.0 for f in figures], mean=belief.mean, bar=belief.bias_scale, piece=math.sqrt(belief.sigma2),
        reads=0.002, zero=0.004,
    )  # fmt: skip
    for text in ("pin@4.journal", "stud.body"):
        best, spread, _ = size(values, text)
        assert (best - 6.0, spread) == pytest.approx(wanted)
    plain = compute(fold_text(RACK))
    for text in ("stud.other", "stud.turned"):  # another bar, and what is cut to size, are not touched
        assert size(values, text)[:2] == size(plain, text)[:2]


def test_a_measured_piece_and_the_next_share_the_instrument(fold_text):
    """Their difference is known better than their spreads added would say: by hand from the weights of one reading."""
    values = compute(fold_text(RACK + reading(1, "5.990")))
    belief = values.capability.of("stock as is", "round bar", "silver steel", 6.0).belief
    bar, piece = belief.bias_scale, math.sqrt(belief.sigma2)
    weight = bar**2 / (bar**2 + piece**2 + 0.002**2 + 0.004**2)
    one, two = (
        values.rates[[size(values, t)[2]]].toarray()[0] * values.sigma for t in ("pin@1.journal", "pin@2.journal")
    )
    assert one @ two == pytest.approx(weight * (0.002**2 + 0.004**2))


def test_two_unmeasured_pieces_still_share_their_bar(fold_text):
    values = compute(fold_text(RACK + reading(1, "5.990")))
    one, two = (
        values.rates[[size(values, t)[2]]].toarray()[0] * values.sigma for t in ("pin@2.journal", "pin@3.journal")
    )
    piece = math.sqrt(values.capability.of("stock as is", "round bar", "silver steel", 6.0).belief.sigma2)
    assert one @ two == pytest.approx(size(values, "pin@2.journal")[1] ** 2 - piece**2)


def test_what_was_aimed_at_has_taught_the_process_and_is_not_counted_twice(fold_text):
    aimed = '[[aimed]]\npiece = "pin@1"\ndim = "journal"\ntarget = "6 mm"\n'
    values = compute(fold_text(RACK + aimed + reading(1, "5.990")))
    assert len(values.capability.departures) == 1
    assert not [name for name in values.causes if "others of it measured" in name]


def test_a_scrapped_piece_tells_of_its_bar_too(fold_text):
    there = compute(fold_text(RACK + reading(1, "5.990")))
    scrapped = compute(fold_text(RACK + reading(1, "5.990") + '[[scrapped]]\npiece = "pin@1"\nwhy = "too short"\n'))
    assert size(scrapped, "pin@2.journal")[:2] == size(there, "pin@2.journal")[:2]


@given(
    st.lists(st.floats(-0.1, 0.1), min_size=1, max_size=5), st.floats(0.001, 0.1), st.floats(0.001, 0.1),
    st.floats(-0.05, 0.05),
)  # fmt: skip
def test_a_bar_by_hand(departures, bar, piece, mean):
    """Exact readings: the precision-weighted mean of n pieces and the prior, the textbook normal update."""
    found = bar_given(
        [Measured(d, {}) for d in departures], [], mean=mean, bar_sigma=bar, piece_sigma=piece
    )  # fmt: skip
    precision = 1 / bar**2 + len(departures) / piece**2
    assert found.mean == pytest.approx((mean / bar**2 + sum(departures) / piece**2) / precision, abs=1e-9)
    assert found.sigma == pytest.approx(precision**-0.5, rel=1e-6)
