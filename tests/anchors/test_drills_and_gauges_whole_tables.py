"""Number and letter drills (ASME B94.11M), Imperial standard wire gauge (1883) and Birmingham gauge, whole, from memory.

From memory, not confirmed against printed copies: the lists were written down apart from the tables of the program, in
thousandths of an inch.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from asmade.measure.gauges import drill_size, drills, gauge_size, gauges

NUMBER = """228 221 213 209 205.5 204 201 199 196 193.5 191 189 185 182 180 177 173 169.5 166 161 159 157 154 152 149.5 147 144 140.5 136
128.5 120 116 113 111 110 106.5 104 101.5 99.5 98 96 93.5 89 86 82 81 78.5 76 73 70 67 63.5 59.5 55 52 46.5 43 42 41 40 39 38 37 36
35 33 32 31 29.2 28 26 25 24 22.5 21 20 18 16 14.5 13.5 13 12.5 12 11.5 11 10.5 10 9.5 9.1 8.7 8.3 7.9 7.5 7.1 6.7 6.3 5.9"""
LETTER = "234 238 242 246 250 257 261 266 272 277 281 290 295 302 316 323 332 339 348 358 368 377 386 397 404 413"
SWG_NOUGHTS = "500 464 432 400 372 348"
SWG = """324 300 276 252 232 212 192 176 160 144 128 116 104 92 80 72 64 56 48 40 36 32 28 24 22 20 18 16.4 14.8 13.6 12.4 11.6 10.8 10 9.2
8.4 7.6 6.8 6 5.2 4.8 4.4 4 3.6 3.2 2.8 2.4 2 1.6 1.2 1"""
BWG_NOUGHTS = "454 425 380"
BWG = """340 300 284 259 238 220 203 180 165 148 134 120 109 95 83 72 65 58 49 42 35 32 28 25 22 20 18 16 14 13 12 10 9 8 7 5 4"""


def thou(text: str) -> list[Fraction]:
    return [Fraction(word) / 1000 for word in text.split()]


def test_recalled_number_drills() -> None:
    """ASME B94.11M, numbers 1 to 97."""
    found = [drill_size(f"No. {number}").inch for number in range(1, 98)]
    assert found == thou(NUMBER)
    assert len(drills("number")) == 97


def test_recalled_letter_drills() -> None:
    """ASME B94.11M, A to Z."""
    assert [drill_size(f"letter {letter}").inch for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"] == thou(LETTER)


@pytest.mark.parametrize(
    ("gauge", "noughts", "listing"), [("SWG", SWG_NOUGHTS, SWG), ("BWG", BWG_NOUGHTS, BWG)], ids=["SWG", "BWG"]
)
def test_recalled_sheet_and_wire_gauges(gauge: str, noughts: str, listing: str) -> None:
    """Order in Council of 1883 (SWG, 7/0 to 50) and Stubs iron wire (BWG, 4/0 to 36)."""
    many = len(noughts.split()) + 1
    named = [f"{count}/0 {gauge}" for count in range(many, 1, -1)] + [f"{number} {gauge}" for number in range(51)]
    wanted = thou(noughts + " " + listing)
    found = [gauge_size(name).inch for name in named[: len(wanted)]]
    assert found == wanted


def test_gauge_tables_hold_no_more_than_the_lists() -> None:
    """SWG 7/0 to 50 is 57 sizes (7/0 to 2/0, 0 to 50)."""
    assert len(gauges("SWG")) == 57


@pytest.mark.parametrize(
    ("written", "name", "inch"),
    [
        *((text, "No. 40", "0.098") for text in ("#40", "# 40", "No.40", "No. 40", "no 40", "No 40 drill")),
        *((text, "letter F", "0.257") for text in ("F", "letter F", "f", "drill F")),
    ],
)
def test_drills_as_written(written: str, name: str, inch: str) -> None:
    """ASME B94.11M; spellings of shops, common practice, no source."""
    found = drill_size(written)
    assert (found.name, found.inch) == (name, Fraction(inch))


@pytest.mark.parametrize("written", ["16 SWG", "16 s.w.g.", "16SWG", "SWG 16", "No. 16 SWG", "16 swg"])
def test_gauges_as_written(written: str) -> None:
    """16 SWG is 0.064 in (1883); spellings of shops, common practice, no source."""
    assert gauge_size(written).inch == Fraction("0.064")
