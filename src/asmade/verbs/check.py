"""check: every requirement of a book, or its drawing alone, looked at; worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from asmade.book.model import Build
from asmade.reckon.drawing import DrawingCheck, check_drawing
from asmade.reckon.findings import in_order, look, measured_against_sums
from asmade.reckon.found import Findings
from asmade.reckon.requirement import Finding
from asmade.reckon.upnext import known_share
from asmade.reckon.values import Values, compute
from asmade.verbs.store import Path_, read


@dataclass(frozen=True, slots=True)
class CheckResult:
    """All findings, worst first; how many of each verdict; how many sizes are made of all that are cut."""

    findings: tuple[Finding, ...]
    counts: Mapping[str, int]
    made: int
    sizes: int

    @property
    def fails(self) -> bool:
        """Whether anything fails its limits."""
        return self.counts.get("fails", 0) > 0


@dataclass(frozen=True, slots=True)
class DrawingResult:
    """What the drawn figures say of themselves."""

    findings: tuple[Finding, ...]
    stated: int
    not_stated: int
    left_to_builder: tuple[str, ...]

    @property
    def fails(self) -> bool:
        """Whether the drawing contradicts itself."""
        return any(f.verdict == "fails" for f in self.findings)


def findings_of(values: Values, found: Findings | None = None) -> tuple[Finding, ...]:
    """Findings of all requirements and of all sizes both measured and computed, worst first.

    ``found`` are those of the requirements, where they have been looked at.
    """
    return in_order([*(look(values) if found is None else found), *measured_against_sums(values)])


def check(path: Path_, *, about: str = "") -> CheckResult:
    """Look at every requirement of a book; ``about`` keeps those whose name or sizes hold that text."""
    opened = read(path)
    return check_values(opened.values, findings_of(opened.values, opened.found), about=about)


def check_build(build: Build, *, about: str = "") -> CheckResult:
    """Look at every requirement of a build."""
    values = compute(build)
    return check_values(values, findings_of(values), about=about)


def check_values(values: Values, found: tuple[Finding, ...], *, about: str = "") -> CheckResult:
    """The same of values and findings already at hand."""
    if about:
        found = tuple(f for f in found if about in f.subject or about in f.working)
    made, sizes = known_share(values)
    return CheckResult(found, Counter(f.verdict for f in found), made, sizes)


def check_drawing_of(path: Path_) -> DrawingResult:
    """Check the drawn figures of a book against each other."""
    opened = read(path)
    return drawing_result(check_drawing(opened.build, opened.system))


def drawing_result(found: DrawingCheck) -> DrawingResult:
    """The drawing check as a verb's result."""
    return DrawingResult(in_order(found.findings), found.stated, found.not_stated, found.left_to_builder)
