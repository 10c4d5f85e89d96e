"""What the history says of a part or a size: whole names only."""

from __future__ import annotations

import pytest

from asmade.verbs import history


@pytest.mark.parametrize(
    ("words", "names", "spoken"),
    [("wheel#W1.bore made 15.90", ("wheel",), True), ("wheelset#1.quarter made", ("wheel",), False),
     ("wheel.bore chosen 15.9, locked", ("wheel.bore",), True), ("wheel.bore_forward made", ("wheel.bore",), False),
     ("first wheel on axle@1 joined", ("axle",), True), ("driving_axle.bore drawn", ("axle",), False),
     ("wheel@1L.bore: note", ("wheel#W1.bore", "wheel@1L.bore"), True)],
)  # fmt: skip
def test_a_line_speaks_of_a_part_or_a_size_by_its_whole_name(words, names, spoken):
    line = history.Line(1, "note", "2026-11-25", "hand", words, "", {})
    assert bool(history.speaking_of((line,), *names)) is spoken
