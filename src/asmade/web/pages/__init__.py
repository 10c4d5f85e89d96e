"""The pages by area, found by name: a module here with a ``router`` is served, and its ``LINKS`` stand in the menu.

``LINKS`` are (place, name, path): the menu is ordered by place, and a new group begins where its tens change.
"""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache
from typing import Any


@cache
def every() -> tuple[Any, ...]:
    """All page modules, by name."""
    found = sorted(module.name for module in pkgutil.iter_modules(__path__) if not module.name.startswith("_"))
    modules = [importlib.import_module(f"{__name__}.{name}") for name in found]
    return tuple(module for module in modules if hasattr(module, "router"))


@cache
def menu() -> tuple[tuple[str, str], ...]:
    """The links of the menu (name, path) in order; an empty pair stands between groups."""
    links = sorted(link for module in every() for link in getattr(module, "LINKS", ()))
    made: list[tuple[str, str]] = []
    for before, (place, name, path) in zip((None, *links), links, strict=False):
        if before is not None and before[0] // 10 != place // 10:
            made.append(("", ""))
        made.append((name, path))
    return tuple(made)
