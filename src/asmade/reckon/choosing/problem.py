"""What the choice of sizes is asked and what it answers: frozen values, checked when they are made."""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from asmade.measure.errors import OutOfRange, Refused, Unknown

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

HOLD_MM = 1e-6
"""A window counts as held when it is broken by no more than this; no answer ever breaks one by more."""

Status = Literal["proven", "best_found", "nothing_found", "conflict"]
MemberKind = Literal["window", "group", "lock", "low", "high"]
Side = Literal["low", "high", "within", "up", "down"]


@dataclass(frozen=True, slots=True)
class Candidate:
    """One size a variable may take.

    ``cost`` is what this size costs beyond its deviation from the drawing (unround figure, ...), >= 0, in the same
    unit as ``weight`` times millimetres. ``tool`` names the tool that makes it and ``buy`` the thing that must be
    bought for it; each is paid once over the whole problem (`Problem.tool_cost`, `Problem.buy_cost`).
    """

    size_mm: float
    cost: float
    why: str
    tool: str = ""
    buy: str = ""


@dataclass(frozen=True, slots=True)
class Variable:
    """One size to be decided.

    With ``candidates`` it takes one of them; without, any size from ``low_mm`` to ``high_mm`` (None: no limit). With
    candidates the two limits are the builder's own and rule out what lies outside. ``locked_mm`` wins over limits and
    candidates; a candidate of just that size still says which tool makes it. ``weight * |size - drawn|`` is added to
    the objective (nothing where ``drawn_mm`` is None). ``hardness`` says how dear a millimetre of relaxing its lock
    or limits is when nothing satisfies all.
    """

    name: str
    drawn_mm: float | None
    weight: float
    candidates: tuple[Candidate, ...]
    low_mm: float | None
    high_mm: float | None
    locked_mm: float | None = None
    hardness: float = 1.0


@dataclass(frozen=True, slots=True)
class Window:
    """``low <= sum(coefficient * size) + constant <= high``, mm; ``terms`` are (variable, coefficient).

    The caller has already tightened the limits for scatter; a window tightened until ``low > high`` is no error but a
    conflict by itself. ``words`` is how to name it to the builder; ``hardness`` weighs a millimetre of relaxing it.
    A sum in another unit (a ratio, a stress) is brought to millimetres by the caller, ``scale`` times itself, so that
    a millimetre here means much the same in every window; to the builder it is told in its own ``unit``.
    """

    name: str
    terms: tuple[tuple[str, float], ...]
    constant: float
    low: float | None
    high: float | None
    words: str = ""
    hardness: float = 1.0
    scale: float = 1.0
    unit: str = ""

    def told(self, value: float) -> str:
        """A value of the sum as it is told to the builder, in its own unit."""
        return f"{value / self.scale:.3f}{' ' + self.unit if self.unit else ''}"


@dataclass(frozen=True, slots=True)
class Group:
    """Sizes that must be alike: largest less smallest at most ``within_mm`` (0: equal)."""

    name: str
    members: tuple[str, ...]
    within_mm: float
    hardness: float = 1.0


@dataclass(frozen=True, slots=True)
class Problem:
    """Variables, what must hold between them, and what tools and bought things cost, each counted once.

    Raises `Refused`, `OutOfRange` or `Unknown` for what makes no sense: a name used twice, a window over a variable
    that is not there, a tool without a cost, a figure that is no finite number, a negative cost, weight or width.
    """

    variables: tuple[Variable, ...]
    windows: tuple[Window, ...]
    groups: tuple[Group, ...]
    tool_cost: Mapping[str, float]
    buy_cost: Mapping[str, float]

    def __post_init__(self) -> None:
        """Check everything once, so that no sum has to."""
        _unique("variable", (v.name for v in self.variables))
        _unique("window or group", [w.name for w in self.windows] + [g.name for g in self.groups])
        for what, costs in (("tool", self.tool_cost), ("thing to buy", self.buy_cost)):
            for name, cost in costs.items():
                _not_negative(f"cost of {what} {name}", cost)
        for variable in self.variables:
            _check_variable(variable, self.tool_cost, self.buy_cost)
        names = {v.name for v in self.variables}
        for window in self.windows:
            _check_window(window, names)
        for group in self.groups:
            _not_negative(f"group {group.name}, within", group.within_mm)
            _positive(f"group {group.name}, hardness", group.hardness)
            for name in group.members:
                _known(f"variable of group {group.name}", name, names)


@dataclass(frozen=True, slots=True)
class Member:
    """One thing that can stand in a conflict: a window, a group, a variable's lock, its low or its high limit."""

    kind: MemberKind
    name: str

    @property
    def label(self) -> str:
        """Its name as a builder reads it; locks and limits carry their variable's name."""
        prefix = {"lock": "lock of ", "low": "low limit of ", "high": "high limit of "}.get(self.kind, "")
        return prefix + self.name


@dataclass(frozen=True, slots=True)
class Relaxation:
    """How far one limit must give: by ``by_mm`` on its ``side``.

    ``low``/``high``: that limit of a window or variable moves outward; ``within``: a group's width grows;
    ``up``/``down``: a lock moves that way.
    """

    name: str
    by_mm: float
    side: Side
    kind: MemberKind = "window"
    words: str = ""


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why nothing satisfies all.

    ``members`` (labels; ``parts`` the same, taken apart) contradict one another, and, if ``irreducible``, dropping any
    one of them lets the rest hold together. ``relaxations`` together free ALL conflicts of the problem; if ``least``,
    no other set of relaxations has a smaller sum of hardness times amount. ``sizes`` is a set of sizes that holds once
    they are granted.
    """

    members: tuple[str, ...]
    relaxations: tuple[Relaxation, ...]
    words: str
    parts: tuple[Member, ...] = ()
    irreducible: bool = True
    least: bool = True
    sizes: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Progress:
    """Where a running choice stands: the best objective so far (None: no set yet), the proven bound, in words."""

    seconds: float
    objective: float | None
    bound: float
    could_improve_by: float | None
    words: str


@dataclass(frozen=True, slots=True)
class Solution:
    """The answer.

    ``proven``: no better set of the listed candidates under the stated weights. ``best_found``: time was up or the
    builder stopped it; the best possible is at most ``could_improve_by`` (relative to the objective) better.
    ``nothing_found``: stopped before any set was found, and none proven impossible; ``sizes`` is empty. ``conflict``:
    no set holds all; ``conflict`` says why, ``sizes`` is empty.

    ``picks`` gives the index of the candidate taken (None: continuous, or locked to a size that is no candidate);
    ``windows`` the value of every window; ``tools`` and ``buys`` what is used, sorted; ``objective`` and ``bound`` are
    nan for a conflict.
    """

    status: Status
    sizes: Mapping[str, float]
    picks: Mapping[str, int | None]
    objective: float
    bound: float
    could_improve_by: float
    windows: Mapping[str, float]
    tools: tuple[str, ...]
    buys: tuple[str, ...]
    conflict: Conflict | None
    seconds: float


def relative_gap(objective: float, bound: float) -> float:
    """Return by how much, relative to itself, ``objective`` could at most be better; 0 when it cannot be.

    >>> relative_gap(10.0, 9.9)
    0.01
    """
    if objective <= bound:
        return 0.0
    return round((objective - bound) / objective, 12)


def _check_variable(variable: Variable, tool_cost: Mapping[str, float], buy_cost: Mapping[str, float]) -> None:
    name = variable.name
    _not_negative(f"{name}, weight", variable.weight)
    _positive(f"{name}, hardness", variable.hardness)
    for what, value in (
        ("drawn size", variable.drawn_mm),
        ("low limit", variable.low_mm),
        ("high limit", variable.high_mm),
        ("locked size", variable.locked_mm),
    ):
        if value is not None:
            _finite(f"{name}, {what}", value)
    for candidate in variable.candidates:
        _finite(f"{name}, candidate", candidate.size_mm)
        _not_negative(f"{name}, cost of candidate {candidate.size_mm:g}", candidate.cost)
        if candidate.tool:
            _known(f"cost of the tool that makes {name}", candidate.tool, tool_cost)
        if candidate.buy:
            _known(f"cost of the thing bought for {name}", candidate.buy, buy_cost)


def _check_window(window: Window, names: set[str]) -> None:
    _finite(f"{window.name}, constant", window.constant)
    _positive(f"{window.name}, scale", window.scale)
    _positive(f"{window.name}, hardness", window.hardness)
    for what, value in (("low limit", window.low), ("high limit", window.high)):
        if value is not None:
            _finite(f"{window.name}, {what}", value)
    for name, coefficient in window.terms:
        _known(f"variable of {window.name}", name, names)
        _finite(f"{window.name}, coefficient of {name}", coefficient)


def _unique(what: str, names: Iterable[str]) -> None:
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise Refused(what, got=name, reason="the name is used twice", way_out="give each its own name")
        seen.add(name)


def _known(what: str, name: str, names: Iterable[str]) -> None:
    if name not in names:
        near = tuple(difflib.get_close_matches(name, list(names), 3))
        raise Unknown(what, got=name, near=near, way_out="add it, or take out what refers to it")


def _finite(what: str, value: float) -> None:
    if not math.isfinite(value):
        raise OutOfRange(what, got=value, allowed="finite numbers", way_out="leave it out where there is none")


def _not_negative(what: str, value: float) -> None:
    if not (math.isfinite(value) and value >= 0):
        raise OutOfRange(what, got=value, allowed="0 and above, finite")


def _positive(what: str, value: float) -> None:
    if not (math.isfinite(value) and value > 0):
        raise OutOfRange(what, got=value, allowed="above 0, finite")
