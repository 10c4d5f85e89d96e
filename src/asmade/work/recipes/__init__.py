"""Recipes: how one kind of feature is made by one process. One file each, found by name.

A recipe is a module here with ``NAME``, ``HELP``, ``SOURCE`` and ``operations(feature, bench)``.
"""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module
from types import ModuleType

from asmade.measure.errors import Unknown, near
from asmade.work.recipes.bench import Bench
from asmade.work.recipes.model import Feature, Operation


@cache
def recipes() -> dict[str, ModuleType]:
    """Every recipe by its name."""
    found: dict[str, ModuleType] = {}
    for entry in pkgutil.iter_modules(__path__):
        module = import_module(f"{__name__}.{entry.name}")
        if hasattr(module, "NAME"):
            found[module.NAME] = module
    return found


def operations_of(feature: Feature, bench: Bench) -> tuple[Operation, ...]:
    """The operations that make a feature; raises ``Unknown`` for a recipe that is not there."""
    known = recipes()
    if feature.recipe not in known:
        raise Unknown("recipe", got=feature.recipe, near=near(feature.recipe, known), way_out=", ".join(sorted(known)))
    made: tuple[Operation, ...] = known[feature.recipe].operations(feature, bench)
    return made
