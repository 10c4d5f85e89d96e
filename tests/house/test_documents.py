"""The documents: their examples come out as printed, their links lead somewhere, none is left unlisted."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = [
    *(ROOT / name for name in ("README.md", "CONTRIBUTING.md", "CHANGELOG.md")),
    *sorted((ROOT / "docs").glob("*.md")),
]


@pytest.fixture(scope="module")
def examples(tool):
    return tool("examples")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_examples_come_out_as_printed(examples, document):
    assert examples.faults(document) == ()


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.name)
def test_links_lead_somewhere(document):
    text = re.sub(r"```.*?```", "", document.read_text(encoding="utf-8"), flags=re.DOTALL)
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if re.match(r"[a-z]+:", target):
            continue
        file, _, heading = target.partition("#")
        page = (document.parent / file) if file else document
        assert page.exists(), f"{target} is not there"
        if heading:
            assert heading in headings(page), f"{target} has no such heading"


def headings(page):
    """Names that headings get on a page: small letters, no punctuation, hyphens for spaces."""
    lines = page.read_text(encoding="utf-8").splitlines()
    found = [line.lstrip("#").strip().lower() for line in lines if re.match(r"#{1,6} ", line)]
    return {re.sub(r"[^\w\- ]", "", words).replace(" ", "-") for words in found}


def test_every_page_is_listed():
    listed = (ROOT / "docs" / "README.md").read_text(encoding="utf-8")
    pages = {path.name for path in (ROOT / "docs").glob("*.md")} - {"README.md"}
    assert {name for name in pages if f"]({name})" not in listed} == set()


PAGE = """
# A page

```console
$ asmade one
first
...
last
$ asmade two \\
      --three
```

```text
$ not run
```
"""


def test_reading_the_examples_of_a_page(examples):
    one, two = examples.examples(PAGE)
    assert (one.command, one.printed) == ("asmade one", ("first", "...", "last"))
    assert (two.command, two.printed) == ("asmade two --three", ())
    assert PAGE.splitlines()[one.start : one.end] == list(one.printed)


@pytest.mark.parametrize(
    ("block", "words"),
    [("asmade one", "begins with a command"), ("$ rm book.asmade", "only asmade is run")],
)
def test_a_block_that_cannot_be_run_is_refused(examples, block, words):
    with pytest.raises(ValueError, match=words):
        examples.examples(f"```console\n{block}\n```\n")


@pytest.mark.parametrize(
    ("printed", "came", "same"),
    [
        (["one", "two"], ["one", "two"], True),
        (["one  ", "two"], ["one", "two   "], True),
        (["one", "two"], ["one", "two", "three"], False),
        (["one", "two"], ["one", "2"], False),
        (["one", "...", "four"], ["one", "two", "three", "four"], True),
        (["one", "...", "four"], ["one", "four"], True),
        (["one", "..."], ["one", "two"], True),
        (["...", "two"], ["one", "three"], False),
        (["a.c"], ["abc"], False),
    ],
)
def test_output_as_printed(examples, printed, came, same):
    assert examples.matches(printed, came) is same


def test_an_example_that_lies_is_named(examples, tmp_path):
    page = tmp_path / "page.md"
    page.write_text("```console\n$ asmade --version\nasmade, version 0.0.0\n```\n", encoding="utf-8")
    (fault,) = examples.faults(page)
    assert "line 2: $ asmade --version" in fault
    assert "-asmade, version 0.0.0" in fault
    page.write_text(examples.rewritten(page), encoding="utf-8")
    assert examples.faults(page) == ()


def test_an_example_that_fails_is_named(examples, tmp_path):
    page = tmp_path / "page.md"
    page.write_text("```console\n$ asmade show missing.asmade\n```\n", encoding="utf-8")
    (fault,) = examples.faults(page)
    assert "exit code 2" in fault
