"""Examples in docstrings come out as printed; those of the rooms of formulas are run with their pedigree."""

from __future__ import annotations

import doctest
import importlib

ELSEWHERE = ("asmade.standards", "asmade.reckon.joints")  # tests/standards runs these


def test_docstring_examples(tree):
    run = 0
    for path, text in tree.items():
        if path.parts[0] != "src" or path.suffix != ".py" or ">>>" not in text:
            continue
        name = ".".join(path.with_suffix("").parts[1:]).removesuffix(".__init__")
        if not name.startswith(ELSEWHERE):
            outcome = doctest.testmod(importlib.import_module(name))
            assert outcome.failed == 0, name
            run += outcome.attempted
    assert run > 0
