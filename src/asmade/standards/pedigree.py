"""Where each formula comes from, read from its docstring: the convention, and the list for the page of sources.

Every public function of ``standards`` and ``reckon.joints`` that returns a number carries these lines in its docstring,
each possibly running on over further lines (one that only hands out rows of a table has that table's pedigree)::

    Source: the standard, handbook or textbook, or "common practice, no source", or "from memory".
    Range:  for what it holds; outside it raises.
    Anchor: a worked case that someone else printed, or that was worked by hand.

Lines indented by eight above them are the formula in the source's symbols. Examples (``>>>``) below are run by the
tests.
"""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from asmade.measure.errors import Refused

if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FunctionType, ModuleType

MARKS = ("Source", "Range", "Anchor")

# Modules of the rooms that hold no formulas but the tools to read tables, check inputs and write workings.
TOOLS = frozenset({"tables", "pedigree", "checks", "worked"})


_MARK = re.compile(r"\b(Source|Range|Anchor)s?(?:\s[a-z ]+)?:")
_NUMBER = re.compile(r"\b(float|int|Fraction|Values|NDArray|Worked)\b")


@dataclass(frozen=True, slots=True)
class Formula:
    """One public function with its pedigree."""

    module: str
    name: str
    meaning: str
    formula: str
    source: str
    range: str
    anchor: str


def formulas(package: str) -> tuple[Formula, ...]:
    """Every formula of a package's modules with its pedigree; refuses one that lacks a line, by name."""
    return tuple(pedigree(function) for module in modules(package) for function in formula_functions(module))


def modules(package: str) -> Iterator[ModuleType]:
    """Modules of a package and the packages in it that hold formulas, in order of name."""
    for found in pkgutil.walk_packages(importlib.import_module(package).__path__, f"{package}."):
        if found.name.rpartition(".")[2] not in TOOLS:
            yield importlib.import_module(found.name)


def formula_functions(module: ModuleType) -> Iterator[FunctionType]:
    """Functions of a module itself that return a number, or that carry all three lines, in their order."""
    for name, item in vars(module).items():
        function = inspect.unwrap(item) if callable(item) else item
        if inspect.isfunction(function) and not name.startswith("_") and function.__module__ == module.__name__:
            returned = str(function.__annotations__.get("return", ""))
            if _NUMBER.search(returned) or all(_marked(inspect.getdoc(function) or "").values()):
                yield function


def pedigree(function: FunctionType) -> Formula:
    """Read the pedigree of one function from its docstring."""
    text = inspect.getdoc(function) or ""
    found = _marked(text)
    if missing := [mark for mark, words in found.items() if not words]:
        raise Refused(
            "docstring of a formula",
            got=f"{function.__module__}.{function.__name__}",
            reason=f"{', '.join(missing)} missing: a figure without a source is not shown",
        )
    lines = text.splitlines()
    examples = text.partition(">>>")[0].splitlines()[1:]
    formula = "\n".join(line.strip() for line in examples if line.startswith("    ") and not _runs_on(line, examples))
    meaning = _MARK.split(lines[0])[0].strip()
    return Formula(function.__module__, function.__name__, meaning, formula, *found.values())


def _runs_on(line: str, lines: list[str]) -> bool:
    """Whether an indented line belongs to the mark above it and not to the formula."""
    above = lines[: lines.index(line)]
    for earlier in reversed(above):
        if not earlier.strip():
            return False
        if _MARK.search(earlier):
            return True
    return False


def _marked(text: str) -> dict[str, str]:
    """Text after each mark, up to the next mark, a blank line or the examples."""
    found = dict.fromkeys(MARKS, "")
    for paragraph in re.split(r"\n\s*\n", text):
        pieces = _MARK.split(paragraph.partition(">>>")[0])
        for mark, words in zip(pieces[1::2], pieces[2::2], strict=True):
            found[mark] = " ".join(f"{found[mark]} {words}".split())
    return found
