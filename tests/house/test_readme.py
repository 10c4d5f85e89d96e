"""The README keeps the promises a newcomer relies on: the job first, then the two commands, and the way for any system."""

from __future__ import annotations

import re

import pytest


@pytest.fixture(scope="module")
def readme(root):
    return (root / "README.md").read_text(encoding="utf-8")


def test_it_opens_with_the_job_in_one_paragraph_and_then_the_commands(readme):
    title, job, after = readme.split("\n\n", 2)
    assert title == "# asmade"
    assert len(job.split()) > 40
    assert not job.startswith(("#", "`", "-", "|", "<"))
    assert re.search(r"```sh\n(?:.*\n)*?\./start\b", after)
    assert re.search(r"```sh\n(?:.*\n)*?\./test\b", after)


@pytest.mark.parametrize("line", ["python -m pip install .", "asmade demo", "./start BOOK"])
def test_it_shows(readme, line):
    assert line in readme


def test_it_walks_through_the_main_job_with_real_output(readme, tool):
    shown = tool("examples").examples(readme)
    commands = {example.command.split()[1] for example in shown if example.printed}
    assert {"show", "choose", "made"} <= commands


def test_documents_that_the_program_speaks_of_are_there(root, tree):
    spoken = {
        (str(path), name)
        for path, text in tree.items()
        if path.parts[0] in ("src", "docs", "tools") and path.suffix in (".py", ".md", ".toml")
        for name in re.findall(r"\b(?:docs|tests|tools|bench)/[\w/.-]+\.(?:md|py|csv|sh|toml)\b", text)
    }
    assert {(path, name) for path, name in spoken if not (root / name).exists()} == set()
