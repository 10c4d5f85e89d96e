"""How figures of the quick sums are put into words, and what their plain data may hold."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.measure.errors import OutOfRange, Refused
from asmade.verbs.sums import result

positive = st.floats(1e-5, 1e9)


@given(positive)
def test_a_figure_keeps_its_significant_digits(value):
    assert float(result.figure(value)) == pytest.approx(value, rel=6e-4, abs=6e-7)


def test_figures_that_are_none():
    assert result.figure(None) == "not known"
    assert result.figure(math.inf) == "no limit"
    assert result.figure(0.0) == "0"


def test_deviations_have_a_sign():
    """+21, 0 and -7 as ISO 286-2 prints them; JS of an odd grade keeps its half."""
    assert [result.um(v) for v in (21.0, 0.0, -7.0, 10.5)] == ["+21", "0", "-7", "+10.5"]


def test_clearance_is_told_as_the_trade_says_it():
    assert result.clearance_words(0.007, 0.041) == "0.007 to 0.041 mm clear on diameter"
    assert result.clearance_words(-0.035, -0.001) == "tight by 0.001 to 0.035 mm on diameter"
    assert result.clearance_words(-0.010, 0.020) == "from tight by 0.010 to 0.020 mm clear on diameter"


def test_plain_data_has_no_nan_no_infinity_and_no_noise():
    given_data = {"a": math.nan, "b": [math.inf, 0.1 + 0.2], "c": Fraction(1, 4), "d": -0.0, "e": 11.5e-6}
    assert result.rounded(given_data) == {"a": None, "b": [None, 0.3], "c": 0.25, "d": 0.0, "e": 11.5e-6}
    assert str(result.rounded(-0.0)) == "0.0"


def test_ranges_of_quantities():
    assert result.pair("0.05 to 0.12", "friction", "friction")[:2] == (0.05, 0.12)
    assert result.pair("0.1", "friction", "friction")[:2] == (0.1, 0.1)
    assert result.length_pair("0.03 to 0.10 mm", "gap")[:2] == (0.03, 0.1)
    with pytest.raises(OutOfRange, match="exchange"):
        result.pair("0.2 to 0.1", "friction", "friction")
    for text in ("0.1 to 0.2 to 0.3", "to", " to 0.1"):
        with pytest.raises(Refused):
            result.pair(text, "friction", "friction")
    with pytest.raises(Refused, match="two sizes"):
        result.length_pair("0.1", "gap")


def test_a_size_is_one_plain_size_above_nothing():
    assert float(result.size("5/8 in", "hole").mm) == 15.875
    with pytest.raises(OutOfRange, match="above 0"):
        result.size("0", "hole")
    for text in ("12.5 +0.1/-0", "12.5 mm h8", "1/2 in full"):
        with pytest.raises(Refused, match="one plain size"):
            result.size(text, "hole")


def test_every_listed_thread_of_the_trade_has_its_sizes_and_a_drill():
    """To 25 mm, where the drills of the tables end."""
    from asmade.standards.threads import all_threads, series_names
    from asmade.verbs.sums.thread import tap, thread

    listed = [one for series in series_names() for one in all_threads(series) if one.major_mm <= 25]
    assert len(listed) > 200
    for one in listed:
        data = thread(one.designation).plain()
        assert data["core_mm"] < data["effective_mm"] < data["major_mm"]
        assert data["core_mm"] * 0.999 < tap(one.designation).data["drill_mm"] < data["major_mm"]


def test_every_material_shows_and_every_fit_word_reckons():
    from asmade.standards.fits import fit_words, recommended_fits
    from asmade.standards.materials import materials
    from asmade.verbs.sums.fit import fit
    from asmade.verbs.sums.stock import material

    for one in materials():
        for name in (one.name, *one.also):
            assert material(name).data["material"] == one.name
    for word in fit_words():
        data = fit(f"12 {word}").data
        assert data["clearance_min_mm"] < data["clearance_max_mm"]
    for one in recommended_fits():
        assert fit(f"12 {one.hole_basis}").notes[0].startswith("a recommended fit")
