"""next: what can be made now, by piece, ordered by what it frees; and what waits for what."""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.model import Build
from asmade.reckon.upnext import Step, known_share, steps
from asmade.reckon.values import Values
from asmade.verbs.store import Path_, read


@dataclass(frozen=True, slots=True)
class PieceSteps:
    """The sizes of one piece that can be made now."""

    piece: str
    place: str
    sizes: tuple[Step, ...]

    @property
    def frees(self) -> tuple[str, ...]:
        """Everything the piece frees."""
        return tuple(sorted({name for step in self.sizes for name in step.frees}))

    @property
    def measure(self) -> tuple[str, ...]:
        """What must be measured again, and why."""
        return tuple(f"{step.dimension}: {step.measure}" for step in self.sizes if step.measure)


@dataclass(frozen=True, slots=True)
class NextResult:
    """Pieces that can be made now, best first; sizes that wait; sizes not drawn yet; how much is made."""

    pieces: tuple[PieceSteps, ...]
    waiting: tuple[Step, ...]
    not_drawn: tuple[Step, ...]
    made: int
    sizes: int


def upnext(path: Path_) -> NextResult:
    """What can be made next."""
    opened = read(path)
    return upnext_of(opened.build, opened.values)


def upnext_of(build: Build, values: Values) -> NextResult:
    """What can be made next in a build."""
    every = steps(build, values)
    by_piece: dict[str, list[Step]] = {}
    for step in every:
        if step.ready:
            by_piece.setdefault(step.piece.seat, []).append(step)
    pieces = tuple(
        PieceSteps(piece, found[0].dimension.place, tuple(found)) for piece, found in by_piece.items()
    )  # fmt: skip
    ordered = sorted(pieces, key=lambda p: (not p.measure, -len(p.frees), p.piece))
    made, sizes = known_share(values)
    waiting = tuple(step for step in every if not step.ready and not step.not_drawn)
    return NextResult(tuple(ordered), waiting, tuple(step for step in every if step.not_drawn), made, sizes)
