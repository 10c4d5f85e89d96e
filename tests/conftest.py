"""Fixtures shared by all tests: a book from a text."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from dataclasses import replace

import pytest

from asmade.book.fold import fold
from asmade.book.model import Build
from asmade.book.text import read_text

HEAD = """
[book]
title = "a book of a test"
drawing_unit = "mm"
[shop.instrument.mic]
unit = "mm"
zero = 0.0
reads_to = 0.002
"""


def build_of(text: str) -> Build:
    """Fold a text form; without its own [book] it gets a plain one in mm with one micrometer."""
    text = textwrap.dedent(text)
    whole = text if "[book]" in text else HEAD + text
    return fold([replace(draft, number=n) for n, draft in enumerate(read_text(whole), start=1)])


@pytest.fixture(scope="session")
def fold_text() -> Callable[[str], Build]:
    """Fold any text into a build."""
    return build_of
