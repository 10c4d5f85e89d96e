"""What a view asks while it is drawn: sizes in mm, the text of a dimension, and which dimensions stand already."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from asmade.book.forms.measures import Measure
from asmade.reckon.shapes.body import Taken
from asmade.show.sketches.drawing import Written, written
from asmade.show.strokes import width_of
from asmade.verbs.sketch import Figure, SketchResult, ThreadSize
from asmade.verbs.sketch import written as figure_text


@dataclass
class Subject:
    """The piece a sketch is of, the width it is drawn for, and what has been written so far."""

    result: SketchResult
    width_px: float
    size_px: float
    shown: set[str] = field(default_factory=set)
    notes: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Ready to take sizes."""
        self._taken = Taken(self.result.part, lambda name: self.result.sizes[name])

    def mm(self, measure: Measure | None, what: str) -> float:
        """A size of more than nothing."""
        return self._taken.size(measure, what)

    def any_mm(self, measure: Measure | None, what: str) -> float:
        """A size of either sign."""
        return self._taken.any(measure, what)

    def text(self, measure: Measure, *, head: str = "", tail: str = "") -> Written:
        """The text of a measure: the figure of its dimension, or of the sum as it comes out (in round brackets)."""
        name = measure.dimension
        if name is not None and name in self.result.figures:
            self.shown.add(name)
            return written(self.result.figures[name], self.size_px, head=head, tail=tail)
        value = float(measure.value(lambda each: self.result.sizes[each]))
        return self.plain(f"{head}({figure_text(value)}){tail}" if math.isfinite(value) else f"{head}?{tail}")

    def figure(self, dim: str, *, head: str = "") -> Written:
        """The text of a dimension by its name, as a distance: without the sign of a position."""
        self.shown.add(dim)
        found = self.result.figures[dim]
        lines = tuple(line.removeprefix("-") for line in found.lines)
        if lines != found.lines:
            lines = lines[::-1]  # of two limits the larger distance stands over the smaller
        return written(replace(found, lines=lines), self.size_px, head=head)

    def matching(self, mm: float) -> Written:
        """The figure of a length that nothing shows yet and that is just so long; else the figure in brackets."""
        for name, size in self.result.sizes.items():
            if name not in self.shown and abs(size - mm) < 1e-4 and name in self.result.lengths:
                return self.figure(name)
        return self.sum_of(mm)

    def sum_of(self, mm: float, *, head: str = "") -> Written:
        """The text of what follows from others, in round brackets."""
        return self.plain(f"{head}({figure_text(mm)})")

    def called(self, dim: str, *, tail: str = "") -> Written:
        """A thread by its callout."""
        self.shown.add(dim)
        return self.plain(f"{self.callout(dim)}{tail}")

    def callout(self, dim: str) -> str:
        """A thread's callout, or that it is not known."""
        found = self.result.threads.get(dim)
        return found.callout if found else "thread ?"

    def thread(self, dim: str) -> ThreadSize | None:
        """A thread's sizes where they are known."""
        return self.result.threads.get(dim)

    def plain(self, text: str) -> Written:
        """Words or a figure without a mark."""
        return Written((text,), self.size_px)

    @property
    def rest(self) -> tuple[Figure, ...]:
        """Dimensions of the part that the views do not show."""
        return tuple(each for name, each in self.result.figures.items() if name not in self.shown)


def wrapped(words: Sequence[str], width_px: float, size_px: float) -> list[str]:
    """Lines of words no wider than ``width_px``."""
    lines: list[str] = []
    for word in words:
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width_of(longer, size_px) <= width_px:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
