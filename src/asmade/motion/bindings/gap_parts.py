"""A part at its place as a shape: its form, the sizes its form reads, and the shape at given sizes."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cached_property, lru_cache
from typing import Any, Final

from asmade.book.address import Address
from asmade.book.forms import Form, form_of
from asmade.book.forms.measures import Measure
from asmade.book.model import Dimension, Part
from asmade.measure.errors import Refused
from asmade.reckon.scope import Scope
from asmade.reckon.shapes import Shape, shape

Get = Callable[[Address], float]


KEPT: Final = 8


@dataclass(frozen=True, eq=False)
class Fitted:
    """A part at its place, its form read; threads count by their diameter. ``kept``: shapes at sizes seen lately."""

    part: Part
    place: str
    form: Form
    threads: Mapping[str, float]
    kept: OrderedDict[tuple[float, ...], Shape] = field(default_factory=OrderedDict, repr=False)

    @cached_property
    def reads(self) -> tuple[Address, ...]:
        """Every size of the part that its form is a sum of, threads left out."""
        names = dict.fromkeys(_dims(self.form))
        return tuple(Address(self.part.name, self.place, dim=name) for name in names if name not in self.threads)

    @classmethod
    def of(cls, part: Part, place: str, scope: Scope) -> Fitted:
        """Read the form of a part; refuses a part without one, and a form that lacks dimensions, by name."""
        form = form_of(part)
        if form is None:
            raise Refused(f"form of {part.name}", got="none", reason="nothing says what it looks like",
                          way_out='add form = { kind = "..." } to the part')  # fmt: skip
        if form.lacks:
            raise Refused(f"form of {part.name}", got="dimensions missing", reason=f"it lacks {', '.join(form.lacks)}",
                          way_out="add these dimensions, or say in its form what stands for them")  # fmt: skip
        threads = {
            name: _thread(scope.callouts.get(Address(part.name, place, dim=name), ""), dimension)
            for name, dimension in part.dims.items()
            if dimension.of_kind.thread
        }
        return cls(part, place, form, threads)


def _thread(callout: str, dimension: Dimension) -> float:
    return math.nan if not callout else _diameter(callout, male=dimension.sex == "male")


@lru_cache(maxsize=64)
def _diameter(callout: str, *, male: bool) -> float:
    """Major diameter of a male thread, core diameter of a female one."""
    from asmade.measure.threads import read_thread  # noqa: PLC0415  # only forms with threads need the tables
    from asmade.standards.threads import thread  # noqa: PLC0415

    held = thread(read_thread(callout))
    return float(held.major_mm if male else held.core_mm)


def _dims(thing: Any) -> Iterator[str]:
    if isinstance(thing, Measure):
        yield from thing.dims
    elif isinstance(thing, tuple):
        for each in thing:
            yield from _dims(each)
    elif is_dataclass(thing):
        for each in fields(thing):
            yield from _dims(getattr(thing, each.name))


def shape_at(fitted: Fitted, get: Get) -> Shape:
    """The shape at given sizes."""
    values = {address.dim: float(get(address)) for address in fitted.reads}
    key = tuple(values.values())
    found = fitted.kept.get(key)
    if found is None:
        threads = fitted.threads
        found = shape(fitted.form, lambda dim: threads[dim] if dim in threads else values[dim])
        fitted.kept[key] = found
        if len(fitted.kept) > KEPT:
            fitted.kept.popitem(last=False)
    return found
