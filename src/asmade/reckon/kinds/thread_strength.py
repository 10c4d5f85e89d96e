"""A thread chosen in place of the drawn one carries its strength ratio as a limit: chosen over drawn, in tension.

    [[thread_strength]]
    name = "cap screws"
    places = ["1L", "1R"]
    of = "crank_pin_cap@{place}.thread"
    least = 0.85

Every thread that is chosen otherwise than drawn is held to at least 0.9 of the drawn one's strength (common
practice, no source) unless a relation of this kind names it with a limit of its own. Strength goes by the area that
carries tension.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from asmade.book.address import Address
from asmade.book.model import Relation
from asmade.measure.errors import Refused
from asmade.reckon.computed import Computed, Reader
from asmade.reckon.requirement import Limits
from asmade.reckon.scope import Scope, only, places_of, subject_at

KIND = "thread_strength"
HELP = "strength of a thread as chosen over that of the drawn one: of (the thread), least (a ratio)"
LEAST: Final = 0.9
SOURCE: Final = "common practice, no source: a substitute thread should be about as strong as the drawn one"


def requirements(relation: Relation, scope: Scope) -> Iterator[Computed]:
    """One requirement at each of its places."""
    only(relation, "of", "least")
    for place in places_of(relation):
        reader = Reader(relation, place, scope)
        of = scope.address(relation.text("of"), place, relation)
        dimension = scope.dimension(of)
        if dimension is None or not dimension.of_kind.thread:
            raise Refused(f"thread_strength {relation.name!r}", got=str(of), reason="it is no thread",
                          way_out="name a dimension of the kind thread")  # fmt: skip
        least = reader.factor("least", LEAST)
        source = relation.text("source") or ("set by the builder" if "least" in relation.fields else SOURCE)
        yield _ratio(of, scope, subject_at(relation, place), Limits(least, None, source))


def unasked(scope: Scope) -> Iterator[Computed]:
    """Threads chosen otherwise than drawn that no relation of this kind names."""
    named = {
        str(scope.address(relation.text("of"), place, relation))
        for relation in scope.design.of_kind(KIND)
        for place in places_of(relation)
    }
    for address, chosen in scope.callouts.items():
        if str(address) not in named and (drawn := _drawn(address, scope)) and drawn != chosen:
            yield _ratio(address, scope, f"{address}, strength", Limits(LEAST, None, SOURCE))


def _ratio(of: Address, scope: Scope, subject: str, limits: Limits) -> Computed:
    chosen, drawn = scope.callouts.get(of, ""), _drawn(of, scope)
    if not chosen or not drawn:
        lacks = (f"{of}: {'drawn' if not drawn else 'chosen'} thread",)
        return Computed(KIND, subject, subject, limits, "", "area chosen / area drawn", (), _nothing, lacks=lacks)
    from asmade.standards.threads import thread  # noqa: PLC0415  # only books with such threads read the tables

    new, old = thread(chosen), thread(drawn)
    ratio = new.stress_area_mm2 / old.stress_area_mm2
    return Computed(
        KIND, subject, subject, limits, "",
        f"area chosen / area drawn = {new.designation} {new.stress_area_mm2:.2f} mm2 / {old.designation} "
        f"{old.stress_area_mm2:.2f} mm2", (), lambda: ratio,
    )  # fmt: skip


def _nothing() -> float:
    return float("nan")


def _drawn(of: Address, scope: Scope) -> str:
    """Designation of the thread as drawn at its place; empty where none is."""
    from asmade.measure.threads import read_thread  # noqa: PLC0415

    dimension = scope.dimension(of)
    text = "" if dimension is None else dimension.drawn_at.get(of.place, dimension.drawn)
    return read_thread(text).designation if text else ""
