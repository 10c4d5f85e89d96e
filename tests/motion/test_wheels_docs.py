"""The example in docs/wheels.md runs and prints what stands there."""

from __future__ import annotations

import doctest
from pathlib import Path

DOCS = Path(__file__).parents[2] / "docs" / "wheels.md"


def test_example_runs():
    result = doctest.testfile(str(DOCS), module_relative=False)
    assert result.attempted >= 6
    assert result.failed == 0
