"""A table without pedigree, out of order or with a repeat is refused."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

import asmade.measure
from asmade.measure.errors import Damaged
from asmade.measure.tables import parse_table, read_table

META = dict.fromkeys(("title", "source", "edition", "unit", "native", "read"), "said")
DATA = Path(asmade.measure.__file__).parent / "data"


def content(rows, *, meta=META, check=None):
    return {"meta": meta, "check": check or {}, "data": {"columns": ["name", "size"], "rows": rows}}


@pytest.mark.parametrize("name", sorted(file.stem for file in DATA.glob("*.toml")))
def test_every_table_loads_with_its_pedigree(name):
    assert read_table(name).meta.source


@pytest.mark.parametrize("lacking", sorted(META))
def test_pedigree_is_demanded(lacking):
    with pytest.raises(Damaged, match=lacking):
        parse_table("made up", content([["a", 1]], meta={**META, lacking: ""}))


@pytest.mark.parametrize(
    ("rows", "check", "reason"),
    [
        ([], {}, "empty"),
        ([["a", 1], ["b"]], {}, "2 values"),
        ([["a", 1], ["a", 2]], {"unique": ["name"]}, "twice"),
        ([["a", 1], ["b", 3], ["c", 2]], {"rising": ["size"]}, "not rising"),
        ([["a", 3], ["b", 1], ["c", 2]], {"falling": ["size"]}, "not falling"),
    ],
)
def test_a_damaged_table_is_refused(rows, check, reason):
    with pytest.raises(Damaged, match=f"made up.*{reason}"):
        parse_table("made up", content(rows, check=check))


def test_steps_with_endings():
    table = parse_table(
        "made up",
        content([]) | {"data": {"columns": list("abcd"), "rows": [[1, 2, Fraction(1, 2), [0, Fraction(1, 5)]]]}},
    )
    assert table.stepped_sizes() == tuple(map(Fraction, ("1", "1.2", "1.5", "1.7", "2")))
