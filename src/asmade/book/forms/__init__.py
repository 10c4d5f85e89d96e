"""Forms: what a part is as a body. One file per form, found by name: a file here with ``KIND`` and ``read``.

`form_of` reads a part's ``form`` table and its dimension names into a typed frozen form. It knows no sizes; what
comes of them (outline, envelope, mass) is in ``asmade.reckon.shapes``.
"""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module
from types import ModuleType
from typing import Protocol

from asmade.book.forms.measures import Hole, Measure, Measures, Opening, Sizes
from asmade.book.model import Part
from asmade.book.schema import Taker
from asmade.measure.errors import Refused, Unknown, near


class Form(Protocol):
    """What every form has."""

    @property
    def kind(self) -> str:
        """Name of the form: turned, rod, plate, block, casting, wheel."""

    @property
    def part(self) -> str:
        """Name of the part it is the form of."""

    @property
    def lacks(self) -> tuple[str, ...]:
        """Dimensions that its outline or mass needs and that the part has not yet."""


@cache
def forms() -> dict[str, ModuleType]:
    """Every form by its name."""
    found: dict[str, ModuleType] = {}
    for entry in pkgutil.iter_modules(__path__):
        module = import_module(f"{__name__}.{entry.name}")
        if hasattr(module, "KIND"):
            found[module.KIND] = module
    return found


def form_of(part: Part) -> Form | None:
    """The form of a part, or None where none is said.

    Raises ``Unknown`` for a form, a key or a dimension that is not there (with the near names) and ``Refused`` for a
    table that cannot be read. A dimension that is merely lacking is no error: see ``Form.lacks``.
    """
    return None if not part.form else read_form(part, Taker(part.form, f"part.{part.name}.form"))


def read_form(part: Part, taker: Taker) -> Form:
    """Read the table in ``taker`` as a form of ``part``."""
    known = forms()
    kind = taker.text("kind")
    if not kind:
        raise Refused(
            taker.where, got=dict(taker.table), reason="kind is missing",
            way_out=f'add kind = one of: {", ".join(sorted(known))}',
        )  # fmt: skip
    if kind not in known:
        raise Unknown(f"{taker.where}.kind", got=kind, near=near(kind, known),
                      way_out=f"forms are: {', '.join(sorted(known))}")  # fmt: skip
    found: Form = known[kind].read(part, taker)
    taker.inner("blank")  # what it is cut from: `asmade.work.blanks` reads it
    taker.done()
    return found


__all__ = ["Form", "Hole", "Measure", "Measures", "Opening", "Sizes", "form_of", "forms", "read_form"]
