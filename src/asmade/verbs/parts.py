"""parts: every part of a book at a glance: its pieces, how much is made, how its requirements stand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from asmade.book.model import Build, Part
from asmade.reckon.requirement import Finding
from asmade.reckon.values import MADE, Values
from asmade.verbs.check import findings_of
from asmade.verbs.store import Path_, read


@dataclass(frozen=True, slots=True)
class PartLine:
    """One part: pieces in use, sizes cut over all of them, how many are made, verdicts of what reads them."""

    part: Part
    pieces: int
    sizes: int
    made: int
    drawn: int
    counts: Mapping[str, int]


def parts(path: Path_) -> tuple[PartLine, ...]:
    """Every part of a book, in the order of the book."""
    opened = read(path)
    return parts_of(opened.build, opened.values, findings_of(opened.values, opened.found))


def parts_of(build: Build, values: Values, found: tuple[Finding, ...]) -> tuple[PartLine, ...]:
    """Every part of a build; ``found`` are all findings."""
    system = values.system
    sizes: Counter[str] = Counter()
    made: Counter[str] = Counter()
    for at, dimension in enumerate(system.dimensions):
        if dimension is None or at in system.computed:
            continue
        sizes[system.names[at].part] += 1
        made[system.names[at].part] += int(values.source[at] == MADE)
    verdicts: dict[str, Counter[str]] = {}
    by_subject = {(f.code, f.subject): f.verdict for f in found}
    for requirement in system.requirements:
        verdict = by_subject.get((requirement.code, requirement.subject))
        if verdict is not None:
            for name in {address.part for address in requirement.reads}:
                verdicts.setdefault(name, Counter())[verdict] += 1
    pieces = Counter(piece.part for piece in build.pieces.values() if not piece.scrapped)
    return tuple(
        PartLine(
            part, pieces[part.name], sizes[part.name], made[part.name], sum(bool(d.drawn) for d in part.dims.values()),
            verdicts.get(part.name, Counter()),
        )
        for part in build.design.parts.values()
    )  # fmt: skip


def plain(lines: tuple[PartLine, ...]) -> dict[str, Any]:
    """Parts as plain data."""
    return {
        "parts": [
            {
                "part": line.part.name, "material": line.part.material, "places": list(line.part.places),
                "pieces": line.pieces, "sizes": line.sizes, "made": line.made, "dimensions": len(line.part.dims),
                "drawn": line.drawn, "counts": dict(line.counts),
            }
            for line in lines
        ]
    }  # fmt: skip
