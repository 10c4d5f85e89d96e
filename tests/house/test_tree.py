"""What must not stand in the tree, and what every file of it must have."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

# Written so that no pattern finds itself.
FORBIDDEN = {
    "a path of one machine": r"(?<![\w.])/(?:wor[k]|tm[p]|roo[t]|hom[e]|op[t]|User[s])/",
    "an address of a package registry": r"https?://[^\s\"')]*(?:pyp[i]|pythonhoste[d]|npmj[s]|/simpl[e]\b|\.wh[l]\b|\.tar\.g[z]\b)",
    "a word about how it was written": r"(?i:\b(?:brie[f]|transcrip[t]s?|seed documen[t]|issu[e] \d+)\b)|\b(?:A[I]|LL[M])\b",
}
LONGEST = 600  # lines of a module; one that grows past it has two reasons to change


@pytest.mark.parametrize("what", FORBIDDEN)
def test_the_tree_is_free_of(what, tree):
    pattern = re.compile(FORBIDDEN[what])
    found = [
        f"{path}:{count}: {line.strip()[:100]}"
        for path, text in tree.items()
        for count, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]
    assert found == []


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("a path of one machine", "see /wor~k/main"),
        ("an address of a package registry", "https://pyp~i.org/simp~le"),
        ("a word about how it was written", "as issu~e 3 says"),
    ],
)
def test_what_is_forbidden_would_be_found(what, text):
    assert re.search(FORBIDDEN[what], text.replace("~", ""))


def test_faces_hold_no_sums(tree):
    """Commands and pages may round what they show; arrays and solvers belong below."""
    found = [
        f"{path}: {name}"
        for path, text in tree.items()
        if path.suffix == ".py" and path.parts[:3] in (("src", "asmade", "cli"), ("src", "asmade", "web"))
        for name in _imported(text)
        if name.partition(".")[0] in ("numpy", "scipy", "highspy", "shapely", "statistics")
    ]
    assert found == []


def test_no_test_is_skipped(tree):
    pattern = re.compile(r"pytest\.(?:mark\.(?:ski[p]|xfai[l])|ski[p]|importorski[p])")
    assert [str(path) for path, text in tree.items() if path.parts[0] == "tests" and pattern.search(text)] == []


def test_modules_stay_readable(tree):
    long = {
        str(path): text.count("\n") for path, text in tree.items() if path.suffix == ".py" and path.parts[0] == "src"
    }
    assert {path: lines for path, lines in long.items() if lines > LONGEST} == {}


def test_modules_say_what_they_are_for(tree):
    silent = [
        str(path)
        for path, text in tree.items()
        if path.suffix == ".py"
        and path.parts[0] in ("src", "bench", "tools")
        and not ast.get_docstring(ast.parse(text))
    ]
    assert silent == []


def test_commands_have_their_run_bits(root):
    for name in ("start", "test", ".ci/run", "tools/pins.sh"):
        assert (root / name).stat().st_mode & 0o111, name


def _imported(text):
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


def test_every_table_is_listed_with_its_source(root, tool):
    """A data file without a pedigree cannot be loaded, and one outside the listed rooms would be missed."""
    from asmade.standards.tables import all_tables

    rooms = tool("docs").table_rooms()
    listed = {
        (room, table.name) for room in rooms for table in all_tables(room) if table.meta.source and table.meta.read
    }
    files = {
        (".".join(path.parent.parent.relative_to(root / "src").parts), path.stem)
        for path in Path(root / "src").rglob("data/*")
        if path.is_file()
    }
    assert files
    assert listed == files
