"""What the tests of the house share: the tree as it would be handed on, and the tools."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = (".ci", "bench", "docs", "src", "tests", "tools")


@pytest.fixture(scope="session")
def root():
    return ROOT


@pytest.fixture(scope="session")
def tree():
    """Every text file that belongs to the project, by its path within it."""
    inside = [path for folder in FOLDERS for path in (ROOT / folder).rglob("*") if "__pycache__" not in path.parts]
    beside = [
        path for path in ROOT.iterdir() if path.suffix in ("", ".md", ".txt", ".toml") or path.name == ".gitignore"
    ]
    found = {}
    for path in (*beside, *inside):
        if path.is_file() and "results" not in path.parts:
            try:
                found[path.relative_to(ROOT)] = path.read_text(encoding="utf-8")
            except UnicodeDecodeError:  # a picture or a book
                continue
    return found


@pytest.fixture(scope="session")
def tool():
    """Load a module of tools/ by name, as its own command would."""

    def load(name):
        spec = importlib.util.spec_from_file_location(f"asmade_tools_{name}", ROOT / "tools" / f"{name}.py")
        module = importlib.util.module_from_spec(spec)
        sys.modules[spec.name] = module
        spec.loader.exec_module(module)
        return module

    return load
