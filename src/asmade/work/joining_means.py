"""By what means a joint is made: what to lay out, how to clean, try and hold, how to undo, and its cautions."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

from asmade.standards.tables import Row, load
from asmade.work.cautions import Caution, cautions, operations

Sets = Literal["cures", "cools", "at once", "not known"]


@dataclass(frozen=True, slots=True)
class Means:
    """One means: its name, how it sets, and its words for the bench."""

    name: str
    sets: Sets
    needs: tuple[str, ...]
    clean: str
    trial: str
    ticks: tuple[str, ...]
    after: str
    undo: str
    operations: tuple[str, ...]
    undoing: tuple[str, ...]
    source: str


UNSAID: Final = Means(
    name="not said",
    sets="not known",
    needs=(),
    clean="Both surfaces clean and without burrs.",
    trial="Put together dry, in full, with the very pieces, before anything is fixed.",
    ticks=("tried together dry, marks read aloud", "right way round"),
    after="What it fixes or disturbs is measured.",
    undo="By the reverse of how it was made; both surfaces are measured again.",
    operations=(),
    undoing=(),
    source="common practice, no source",
)


def means_of(by: str) -> Means:
    """The means that the words of a joint's ``by`` speak of; `UNSAID` where they name none that is known.

    The first row of the table of which a word stands in ``by``, so "taper pin" is pinned and "silver solder" is not
    soft solder.
    """
    table = load("joining_means", "asmade.work")
    said = by.strip().lower()
    for row in table.rows:
        if any(word in said for word in _texts(row, "words")):
            return _means(row, f"{table.meta.source}")
    return UNSAID


def cautions_of(
    means: Means, materials: Iterable[str] = (), *, also: Iterable[str] = (), undoing: bool = False
) -> tuple[Caution, ...]:
    """Cautions of making (or undoing) a joint in these materials, and of the operations named ``also``, each once."""
    known = set(operations())
    wanted = [*(means.undoing if undoing else means.operations), *also]
    found: dict[str, Caution] = {}
    last: dict[str, Caution] = {}
    for operation in [*(each for each in wanted if each in known), ""]:
        for material in ("", *materials):
            for caution in cautions(operation, material_name=material):
                (last if caution.shown == ("page",) else found).setdefault(caution.name, caution)
    kept = {name: each for name, each in found.items() if {"joint", "operation"} & set(each.shown)}
    return (*kept.values(), *last.values())


def _means(row: Row, source: str) -> Means:
    sets = str(row["sets"])
    return Means(
        name=str(row["name"]),
        sets="cures" if sets == "cures" else "cools" if sets == "cools" else "at once",
        needs=_texts(row, "needs"),
        clean=str(row["clean"]),
        trial=str(row["trial"]),
        ticks=_texts(row, "ticks"),
        after=str(row["after"]),
        undo=str(row["undo"]),
        operations=_texts(row, "operations"),
        undoing=_texts(row, "undoing"),
        source=source,
    )


def _texts(row: Row, column: str) -> tuple[str, ...]:
    value = row[column]
    return tuple(str(each) for each in value) if isinstance(value, tuple) else ()
