"""Fixtures shared by all tests: a book from a test's own docstring, and one on disk."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

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


@pytest.fixture
def book(request: pytest.FixtureRequest) -> Build:
    """The build that stands in the test's docstring as TOML."""
    doc = request.function.__doc__
    assert doc, "the test's docstring is its book"
    return build_of(doc)


@pytest.fixture(scope="session")
def fold_text() -> Callable[[str], Build]:
    """Fold any text into a build."""
    return build_of


@pytest.fixture
def book_file(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Path]:
    """A book on disk, from the test's docstring."""
    from asmade.verbs.store import start

    doc = textwrap.dedent(request.function.__doc__ or "")
    path = tmp_path / "test.asmade"
    start(path, read_text(doc if "[book]" in doc else HEAD + doc))
    yield path
