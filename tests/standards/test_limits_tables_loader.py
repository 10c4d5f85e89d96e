"""The loader of table files refuses what it cannot vouch for, by file and line."""

from __future__ import annotations

from fractions import Fraction

import pytest

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.standards import tables

GOOD = """\
[meta]
title = "Invented table"
source = "invented for this test"
edition = "1"
unit = {a = "um"}
native = "metric"
read = "typed in"

[check]
unique = ["name"]
steps = ["over", "upto"]
rising = ["a"]
across = ["a", "b"]
positive = ["a"]

[data]
columns = ["name", "over", "upto", "a", "b"]
rows = [
  ["p", 0, 3, 1, 2],
  ["q", 3, 6, "-", 2.5],
  ["r", 6, 10, 3, 3],
]
"""


def test_reads_rows_gaps_steps_and_units() -> None:
    table = tables.read("invented", GOOD)
    assert table.column("a") == (1, None, 3)
    assert table.row("q")["b"] == 2.5
    assert table.step(3)["name"] == "p"  # "over 0 up to and including 3"
    assert table.step(Fraction(301, 100))["name"] == "q"
    assert table.lines == (19, 20, 21)
    assert (table.meta.unit_of("a"), table.meta.unit_of("name")) == ("um", "1")
    assert tables.exact(table.row("q")["b"]) == Fraction(5, 2)


@pytest.mark.parametrize(
    ("old", "new", "line", "word"),
    [
        ('source = "invented for this test"\n', "", 1, "lacks source"),
        ('edition = "1"', 'edition = ""', 1, "lacks edition"),
        ('native = "metric"', 'native = "imperial"', 6, "native"),
        ('["q", 3,', '["q", 4,', 20, "ended at 3"),
        ('["r", 6, 10,', '["r", 6, 6,', 21, "empty"),
        ("6, 10, 3, 3", "6, 10, 0.5, 3", 21, "a falls"),
        ("6, 10, 3, 3", "6, 10, 3, 2", 21, "b falls"),
        ("0, 3, 1, 2", "0, 3, 0, 2", 19, "not above 0"),
        ("0, 3, 1, 2", "0, 3, 'x', 2", 19, "not a number"),
        ("0, 3, 1, 2", "0, 3, nan, 2", 19, "nan"),
        ('["r", 6', '["p", 6', 21, "stands on line 19"),
        ("6, 10, 3, 3", "6, 10, 3", 21, "4 values for 5"),
        ('across = ["a", "b"]', 'across = ["a", "c"]', 13, "names no column"),
        ("positive", "posative", 9, "unknown check"),
        ("columns =", "columns :", 17, "line 17"),
    ],
)
def test_fault_names_file_and_line(old: str, new: str, line: int, word: str) -> None:
    assert old in GOOD
    with pytest.raises(Refused, match=word) as refusal:
        tables.read("invented", GOOD.replace(old, new))
    assert f"invented.toml, line {line}" in str(refusal.value)


def test_two_rows_on_one_line_are_refused() -> None:
    joined = GOOD.replace('],\n  ["r"', '], ["r"')
    with pytest.raises(Refused, match="one row per line"):
        tables.read("invented", joined)


def test_block_rows() -> None:
    text = (
        GOOD.split("[check]", maxsplit=1)[0]
        + '[check]\nunique = ["name"]\n\n\n[[rows]]\nname = "x"\n\n[[rows]]\nname = "y"\nnote = "n"\n'
    )
    table = tables.read("blocks", text)
    assert table.row("x").get("note") is None
    assert table.lines == (13, 16)
    with pytest.raises(Refused, match=r"line 13.*note missing"):
        tables.read("blocks", text.replace('unique = ["name"]', 'required = ["name", "note"]'))


def test_unknown_names_offer_near_ones() -> None:
    table = tables.read("invented", GOOD)
    with pytest.raises(Unknown, match="there is no 'zz'"):
        table.row("zz")
    with pytest.raises(Unknown, match="upto"):
        table.column("uptoo")
    with pytest.raises(Unknown):
        tables.load("no_such_table")


@pytest.mark.parametrize("value", [0, -1, 10.001, float("nan"), float("inf")])
def test_no_silent_extrapolation(value: float) -> None:
    with pytest.raises(OutOfRange, match="over 0 up to 10"):
        tables.read("invented", GOOD).step(value)


def test_every_table_of_the_house_loads_and_has_its_pedigree() -> None:
    found = tables.all_tables()
    assert found
    for table in found:
        assert table.meta.source
        assert table.meta.read
