"""The page on lengths says what the reader does: every row of its tables is read here."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from asmade.measure.errors import Refused
from asmade.measure.lengths import read_angle, read_length, read_thread

PAGE = Path(__file__).parents[2] / "docs" / "lengths.md"


def rows():
    """Heading of the section, heads of the table, cells of the row."""
    section, heads = "", []
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        if line.startswith("## "):
            section, heads = line[3:], []
        elif not line.startswith("|"):
            heads = []
        elif not heads:
            heads = [cell.strip() for cell in line.strip("|").split("|")]
        elif not line.startswith("|---"):
            cells = [cell.strip() for cell in line.strip("|").split("|")]
            yield section, dict(zip(heads, cells, strict=True))


ROWS = list(rows())


def read(section, row):
    text = row["written"].strip("`")
    if section == "Angles":
        return read_angle(text)
    if section == "Thread callouts":
        return read_thread(text)
    return read_length(text, unit=row["bare figures"], signed="read as" in row and text.startswith("-"))


def test_the_page_has_its_tables():
    assert {section for section, _ in ROWS} == {
        "What is accepted",
        "What is refused, and why",
        "Angles",
        "Thread callouts",
    }
    assert len(ROWS) > 100


@pytest.mark.parametrize(
    ("section", "row"), [(section, row) for section, row in ROWS if "read as" in row], ids=lambda each: str(each)[:40]
)
def test_accepted(section, row):
    assert read(section, row).how == row["read as"]


@pytest.mark.parametrize(
    ("section", "row"),
    [(section, row) for section, row in ROWS if "refused because" in row],
    ids=lambda each: str(each)[:40],
)
def test_refused(section, row):
    with pytest.raises(Refused) as caught:
        read(section, row)
    assert caught.value.got == row["written"].strip("`")
    assert caught.value.reason == row["refused because"]
    assert caught.value.way_out == row["way out"]
    if section.startswith("What is refused") and caught.value.way_out.startswith("write "):
        for spelling in re.findall(r"'([^']*)'", caught.value.way_out):
            read_length(spelling, unit=row["bare figures"])
