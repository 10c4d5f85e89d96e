from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asmade.book.address import PATTERN, Address, read_address, spread_out, words_of_place
from asmade.measure.errors import Refused


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("wheel.bore", Address("wheel", dim="bore")),
        ("wheel@2L.bore", Address("wheel", "2L", dim="bore")),
        ("wheel#W3.bore", Address("wheel", mark="W3", dim="bore")),
        ("frame@L.horn_at.1", Address("frame", "L", dim="horn_at.1")),
        ("axle@b1.seat_left.diameter", Address("axle", "b1", dim="seat_left.diameter")),
        ("centres_axles@12L", Address("centres_axles", "12L")),
        ("working_pressure", Address("working_pressure")),
    ],
)
def test_addresses_read_and_show(text, address):
    assert read_address(text) == address
    assert str(address) == text


@pytest.mark.parametrize("text", ["", "wheel@2-L.bore", "wheel@", "@2L.bore", "2wheel.bore", "wheel@2L#W3.bore", "a b"])
def test_what_is_no_address_is_refused(text):
    with pytest.raises(Refused, match="address"):
        read_address(text)


@given(st.from_regex(PATTERN, fullmatch=True).filter(lambda t: "\n" not in t))
def test_an_address_shows_as_it_was_read(text):
    assert str(read_address(text)) == text.strip()


def test_words_of_a_place():
    assert words_of_place("2L") == {
        "place": "2L", "axle": "2", "side": "L", "other": "R", "side_word": "left", "other_word": "right"
    }  # fmt: skip
    assert words_of_place("12R")["fore"] == "1"
    assert words_of_place("12R")["aft"] == "2"
    assert words_of_place("b1")["axle"] == "b1"
    assert words_of_place("engine") == {"place": "engine"}


def test_a_brace_without_meaning_is_refused_with_what_may_stand_there():
    assert spread_out("wheel@{axle}{other}.bore", "2L") == "wheel@2R.bore"
    with pytest.raises(Refused, match="fore") as caught:
        spread_out("rod@{fore}.x", "2L")
    assert "{axle}" in caught.value.way_out
