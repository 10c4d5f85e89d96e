"""Schemes: which features a form has and in which set-ups they are made. One file per form, found by name.

A scheme is a module here with ``KIND`` (the form's name) and ``scheme(form, bench)``.
"""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module
from types import ModuleType

from asmade.book.forms import Form
from asmade.measure.errors import Unknown
from asmade.work.recipes.bench import Bench
from asmade.work.routes.schemes.result import Scheme


@cache
def schemes() -> dict[str, ModuleType]:
    """Every scheme by the form it is for."""
    found: dict[str, ModuleType] = {}
    for entry in pkgutil.iter_modules(__path__):
        module = import_module(f"{__name__}.{entry.name}")
        if hasattr(module, "KIND"):
            found[module.KIND] = module
    return found


def scheme_of(form: Form, bench: Bench) -> Scheme:
    """The scheme of a form; raises ``Unknown`` for a form without one."""
    known = schemes()
    if form.kind not in known:
        raise Unknown("scheme of a form", got=form.kind, way_out=f"there are: {', '.join(sorted(known))}")
    made: Scheme = known[form.kind].scheme(form, bench)
    return made
