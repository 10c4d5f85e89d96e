"""The choice of sizes: the book as one discrete optimisation, and its answer in the words of the book.

Sizes are decided for the part; a size made to suit is continuous and has its own value at each place, since its mates
may be made already. Made sizes are facts. Limits are narrowed by the scatter that nobody can make good later (found
as the worst case of the findings, where what is made to suit has already cancelled).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal

from asmade.book.address import Address
from asmade.book.model import Build, Chosen
from asmade.measure.errors import OutOfRange
from asmade.reckon.aims import reach_to_suit
from asmade.reckon.candidates import COST_OF_TOOL, COST_TO_BUY, Named, drawn_mm, named_candidates, weight_of
from asmade.reckon.choosing.problem import Group, Problem, Progress, Relaxation, Solution, Variable, Window
from asmade.reckon.choosing.watch import Watch
from asmade.reckon.drawing import check_drawing
from asmade.reckon.findings import look
from asmade.reckon.found import Findings
from asmade.reckon.joining import frozen
from asmade.reckon.requirement import Requirement
from asmade.reckon.rows import BaseRow, base_row
from asmade.reckon.system import System
from asmade.reckon.values import MADE, Values, compute

ASSURED: Final = (1.0, 0.5, 0.0)
"""How much of the worst-case scatter the limits are narrowed by: all of it, else half, else none. The first that can
be satisfied is taken, and said."""
RUNG_SHARE: Final = 0.7
"""Of the time left, what one step of the assurance may take, so that an easier one still gets its turn."""
LEAST_S: Final = 1.0
"""What the last step gets in any case."""
ADJUSTED: Final = 0.25
"""What is set on the engine when all is made is asked only this share of the room for scatter."""
ROUNDS: Final = 4
"""Times a requirement that is not linear is linearised afresh at what was found."""
SUIT_WEIGHT: Final = 0.3
"""What a millimetre of departure weighs for a size that is made to suit anyway."""

Status = Literal["proven", "best_found", "nothing_found", "conflict"]


@dataclass(frozen=True, slots=True)
class Change:
    """One decided size of a part (or of one place)."""

    dimension: Address
    drawn: str
    exact_mm: float | None
    chosen_mm: float
    size: str
    why: str
    tool: str = ""
    stock: str = ""
    buy: str = ""

    @property
    def moved(self) -> bool:
        """Whether it departs from the drawing's exact figure."""
        return self.exact_mm is None or abs(self.chosen_mm - self.exact_mm) > 5e-5


@dataclass(frozen=True, slots=True)
class Moved:
    """Margin of one requirement before and after."""

    code: str
    subject: str
    before: float | None
    after: float | None
    verdict_before: str
    verdict_after: str


@dataclass(frozen=True, slots=True)
class Choice:
    """The answer in the words of the book."""

    status: Status
    could_improve_by: float
    assured: float
    changes: tuple[Change, ...]
    moved: tuple[Moved, ...]
    buys: tuple[str, ...]
    tools: tuple[str, ...]
    conflict: tuple[str, ...]
    relaxations: tuple[Relaxation, ...]
    words: str
    seconds: float
    left_out: tuple[str, ...]
    objective: float = math.nan
    problem: Problem | None = field(default=None, repr=False)
    solution: Solution | None = field(default=None, repr=False)
    named: Mapping[str, tuple[Named, ...]] = field(default_factory=dict, repr=False)


def choose(
    build: Build,
    *,
    time_limit_s: float = 30.0,
    on_progress: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Choice:
    """Choose working sizes for the whole book; writes nothing (see the verb for that)."""
    return _Translation(build).choose(time_limit_s, on_progress, stop)


class _Translation:
    """From a build to the solver's problem and back."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self.values: Values = compute(build)
        self.system: System = self.values.system
        self.before: Findings = look(self.values, samples=0)
        supplied = check_drawing(build, self.system).supplied
        self.supplied = {name: float(value) for name, value in supplied.items()}
        self.keys: dict[int, str] = {}
        self.members: dict[str, list[int]] = {}
        self.variables: dict[str, Variable] = {}
        self.named: dict[str, tuple[Named, ...]] = {}
        self.left_out: list[str] = []
        self._variables()

    # -- variables ---------------------------------------------------------------------------------------------

    def _variables(self) -> None:
        gone = frozen(self.build, self.system)  # what a joint has put out of reach is decided, measured or not
        for at, address in enumerate(self.system.names):
            dimension = self.system.dimensions[at]
            if dimension is None or at in self.system.computed or self.values.source[at] == MADE:
                continue
            if address in gone:
                continue
            if dimension.of_kind.angle or dimension.of_kind.thread:
                continue
            drawn = self._drawn(at)
            if drawn is None:
                continue
            key = self._key(at, address)
            self.keys[at] = key
            self.members.setdefault(key, []).append(at)
            if key not in self.variables:
                self.variables[key] = self._variable(at, key, drawn)

    def _drawn(self, at: int) -> float | None:
        address, dimension = self.system.names[at], self.system.dimensions[at]
        if dimension is None:
            return None
        drawn = drawn_mm(dimension, address.place, self.build.design.drawing_unit)
        if drawn is None:
            drawn = self.supplied.get(str(address), self.supplied.get(str(address.of_part)))
        if drawn is None and not math.isnan(self.system.paper[at]):
            drawn = float(self.system.paper[at])
        return drawn

    def _key(self, at: int, address: Address) -> str:
        """One variable for the part, but one for each place where it must differ or is made to suit."""
        dimension = self.system.dimensions[at]
        own = at in self.system.suits or (dimension is not None and address.place in dimension.drawn_at)
        piece = self.build.piece_at(address)
        if own or address in self.build.chosen or piece in self.build.chosen:
            return str(address)
        return str(address.of_part)

    def _variable(self, at: int, key: str, drawn: float) -> Variable:
        address, dimension = self.system.names[at], self.system.dimensions[at]
        if dimension is None:  # never: figures have been left out
            raise AssertionError(key)
        chosen = self.build.chosen_for(address)
        locked = self._locked(chosen, at)
        low, high = self._own_limits(at)
        if at in self.system.suits:
            reach_low, reach_high = reach_to_suit(self.system, at)
            low = _greater(low, reach_low)
            high = _less(high, reach_high)
            return Variable(key, drawn, SUIT_WEIGHT, (), low, high, locked)
        named = named_candidates(self.build, self.values.capability, self.build.piece_at(address), dimension, drawn)
        self.named[key] = named
        candidates = tuple(n.candidate for n in named)
        return Variable(key, drawn, weight_of(dimension), candidates, low, high, locked)

    def _locked(self, chosen: Chosen | None, at: int) -> float | None:
        if chosen is None or not chosen.size or not (chosen.locked or chosen.by == "hand"):
            return None
        return float(self.values.best[at]) if at not in self.system.suits else float(self.system.paper[at])

    def _own_limits(self, at: int) -> tuple[float | None, float | None]:
        """The builder's own least and most stand as limits of the variable, so that a conflict can name them."""
        name = str(self.system.names[at])
        for requirement in self.system.requirements:
            if requirement.code == "limit" and requirement.subject == name:
                return requirement.limits.low, requirement.limits.high
        return None, None

    # -- windows -----------------------------------------------------------------------------------------------

    def _problem(self, assured: float, at_best: Values) -> Problem:
        windows: list[Window] = []
        groups: list[Group] = []
        self.left_out = []
        seen: set[tuple[tuple[tuple[str, float], ...], float | None, float | None]] = set()
        for number, requirement in enumerate(self.system.requirements):
            limits = requirement.limits
            if (limits.low is None and limits.high is None) or requirement.code == "limit":
                continue
            row = base_row(at_best, requirement)
            sums = None if row is None else self._over_variables(row)
            if sums is None:
                self.left_out.append(requirement.subject)
                continue
            terms, constant = sums
            if not terms:
                continue
            asked = min(assured, ADJUSTED) if getattr(requirement, "adjusted", False) else assured
            if getattr(requirement, "made_good", False):
                asked = 0.0  # what is out is made good piece by piece: rods bored to the axles, bushes eased
            low, high = self._narrowed(number, asked if self._open(terms) else 0.0)
            key = (tuple(sorted((n, round(k, 9)) for n, k in terms.items())), _off(low, constant), _off(high, constant))
            if key in seen:
                continue  # the same sum of the same part's sizes on the other side of the engine
            seen.add(key)
            name = (
                requirement.subject if requirement.group == requirement.subject else f"{requirement.subject} ({number})"
            )
            windows.append(_window(self._unique(name, windows, number), requirement, terms, constant, low, high))
        tools = {c.tool for v in self.variables.values() for c in v.candidates if c.tool}
        buys = {c.buy for v in self.variables.values() for c in v.candidates if c.buy}
        return Problem(
            tuple(self.variables.values()), tuple(windows), tuple(groups),
            dict.fromkeys(sorted(tools), COST_OF_TOOL), dict.fromkeys(sorted(buys), COST_TO_BUY),
        )  # fmt: skip

    @staticmethod
    def _unique(name: str, windows: Iterable[Window], number: int) -> str:
        return f"{name} ({number})" if any(w.name == name for w in windows) else name

    def _over_variables(self, row: BaseRow) -> tuple[dict[str, float], float] | None:
        """Terms by variable; sizes that are made or fixed go into the constant; None where one is not known."""
        terms: dict[str, float] = {}
        constant = row.constant
        for at, rate in row.terms.items():
            key = self.keys.get(at)
            if key is not None:
                terms[key] = terms.get(key, 0.0) + rate
                continue
            best = float(self.values.best[at])
            if math.isnan(best):
                best = float(self.system.paper[at])
            if math.isnan(best):
                return None
            constant += rate * best
        return {k: r for k, r in terms.items() if abs(r) > 1e-12}, constant

    def _open(self, terms: Iterable[str]) -> bool:
        """Whether anything in a sum can still be decided: room for scatter is asked only of what can give it."""
        variables = (self.variables[key] for key in terms)
        return any(v.locked_mm is None and len(v.candidates) != 1 for v in variables)

    def _narrowed(self, number: int, assured: float) -> tuple[float | None, float | None]:
        limits = self.system.requirements[number].limits
        value, low, high = (
            float(a[number]) for a in (self.before.value, self.before.worst_low, self.before.worst_high)
        )
        below, above = (0.0, 0.0) if math.isnan(low) else (max(value - low, 0.0), max(high - value, 0.0))
        if limits.low is not None and limits.high is not None:
            most = 0.45 * (limits.high - limits.low)  # a band narrower than the scatter is aimed at its middle
            below, above = min(below, most), min(above, most)
        return (
            None if limits.low is None else limits.low + assured * below,
            None if limits.high is None else limits.high - assured * above,
        )

    # -- solving -----------------------------------------------------------------------------------------------

    def choose(
        self, time_limit_s: float, on_progress: Callable[[Progress], None] | None, stop: Callable[[], bool] | None
    ) -> Choice:
        if not time_limit_s > 0:
            raise OutOfRange("time limit", got=time_limit_s, allowed="above 0 s")
        watch = Watch(time_limit_s, None, stop)
        with watch.heeding_ctrl_c():
            return self._choose(watch, on_progress)

    def _choose(self, watch: Watch, on_progress: Callable[[Progress], None] | None) -> Choice:
        from asmade.reckon.choosing.solver import solve  # noqa: PLC0415  # HiGHS is wanted only here

        problem, solution, assured = self._problem(ASSURED[0], self.values), None, ASSURED[0]
        for assured in ASSURED:
            last = assured == ASSURED[-1]
            left = max(watch.left(), LEAST_S)
            problem = self._problem(assured, self.values)
            # why the fuller assurance cannot be had is not asked: half a minute better spent on what can
            solution = solve(
                problem, time_limit_s=left if last else RUNG_SHARE * left, on_progress=on_progress,
                stop=watch.asked, explained=last,
            )  # fmt: skip
            if solution.sizes or watch.asked():
                break
        if solution is None or solution.status == "conflict":
            return self._conflict(problem, solution, assured)
        bent = self._bent_that_fail(solution)
        for _ in range(ROUNDS):
            if not bent or watch.over():
                break
            sharpened = self._problem(assured, compute(self._chosen_build(solution)))
            better = solve(
                sharpened, time_limit_s=max(watch.left(), 0.01), on_progress=on_progress, stop=watch.asked,
                start=solution.sizes, explained=False,
            )  # fmt: skip
            if not better.sizes:
                break
            problem, solution = sharpened, better
            bent = self._bent_that_fail(solution)
        return self._answer(problem, solution, assured, bent, watch.seconds)

    def _bent_that_fail(self, solution: Solution) -> tuple[str, ...]:
        """Requirements that are not linear and fail by the full model at what was chosen."""
        rows = [(n, r) for n, r in enumerate(self.system.requirements) if getattr(r, "exact", None) is None]
        if not rows or not solution.sizes:
            return ()
        after = look(compute(self._chosen_build(solution)), samples=0)
        return tuple(r.subject for n, r in rows if bool(after.known[n]) and float(after.margin[n]) < -1e-6)

    def _chosen_build(self, solution: Solution) -> Build:
        """The build as it would stand with the choice applied."""
        chosen = dict(self.build.chosen)
        for change in self._changes(solution):
            chosen[change.dimension] = Chosen(
                0, change.dimension, change.size, tool=change.tool, stock=change.stock, why=change.why, by="choice"
            )
        return replace(self.build, chosen=chosen)

    # -- answering ---------------------------------------------------------------------------------------------

    def _changes(self, solution: Solution) -> list[Change]:
        found: list[Change] = []
        suited: dict[Address, list[tuple[str, float]]] = {}
        for key, variable in self.variables.items():
            at = self.members[key][0]
            address = self.system.names[at]
            if variable.locked_mm is not None:
                continue
            size = float(solution.sizes[key])
            if at in self.system.suits:
                suited.setdefault(address.of_part, []).append((key, size))
                continue
            pick = solution.picks[key]
            named = None if pick is None else self.named[key][pick]
            found.append(self._change(at, key, size, named))
        for part, places in suited.items():
            found.extend(self._suited(part, places))
        return found

    def _change(self, at: int, key: str, size: float, named: Named | None) -> Change:
        from asmade.book.address import read_address  # noqa: PLC0415

        exact = self._drawn(at)
        text = self._text_drawn(at)
        if named is None:
            return Change(read_address(key), text, exact, size, f"{size:.4f} mm", "continuous")
        written = float(named.size.removesuffix(" mm"))
        c = named.candidate
        return Change(read_address(key), text, exact, written, named.size, c.why, c.tool, named.stock, c.buy)

    def _text_drawn(self, at: int) -> str:
        address, dimension = self.system.names[at], self.system.dimensions[at]
        return "" if dimension is None else dimension.drawn_at.get(address.place, dimension.drawn)

    def _suited(self, part: Address, places: list[tuple[str, float]]) -> Iterable[Change]:
        """A size made to suit is written for the part as the commonest of its places, rounded to 0.01 mm.

        Places that the drawing gives a figure of their own are written each for itself.
        """
        apart = [(key, size) for key, size in places if self._drawn_apart(self.members[key][0])]
        for key, size in apart:
            yield self._suited_to(self.members[key][0], self.system.names[self.members[key][0]], round(size, 2))
        places = [pair for pair in places if pair not in apart]
        if not places:
            return
        counts: dict[float, int] = {}
        for _, size in places:
            counts[round(size, 2)] = counts.get(round(size, 2), 0) + 1
        common = max(counts, key=lambda s: (counts[s], -abs(s)))
        yield self._suited_to(self.members[places[0][0]][0], part, common)

    def _drawn_apart(self, at: int) -> bool:
        dimension = self.system.dimensions[at]
        return dimension is not None and self.system.names[at].place in dimension.drawn_at

    def _suited_to(self, at: int, of: Address, size: float) -> Change:
        mates = "; ".join(dict.fromkeys(self.system.requirements[n].subject.partition("@")[0]
                                        for n in self.system.suits[at]))  # fmt: skip
        return Change(
            of, self._text_drawn(at), self._drawn(at), size, f"{size:.2f} mm",
            f"made to suit ({mates}); the drawing's figure for mates on size",
        )  # fmt: skip

    def _answer(
        self, problem: Problem, solution: Solution, assured: float, bent: tuple[str, ...], seconds: float
    ) -> Choice:
        changes = tuple(self._changes(solution)) if solution.sizes else ()
        moved: tuple[Moved, ...] = ()
        if solution.sizes:
            after = look(compute(self._chosen_build(solution)))
            moved = tuple(_moved(self.before, after))
        words = {
            1.0: "every limit holds in the worst case of what this shop leaves, or is aimed at its middle",
            0.5: "limits hold with half the worst case of what this shop leaves; not all of it can be had",
            0.0: "limits hold at the chosen sizes; the scatter of this shop is wider than they leave room for",
        }[assured]
        if self.left_out:
            words += f"; of {len(dict.fromkeys(self.left_out))} requirements nothing is said: a size is not known"
        if bent:
            words += f"; but what is not linear fails by the full sum: {', '.join(bent)}"
        return Choice(
            solution.status, solution.could_improve_by, assured, changes, moved, solution.buys, solution.tools, (), (),
            words, seconds, tuple(dict.fromkeys(self.left_out)), solution.objective, problem, solution,
            self.named,
        )  # fmt: skip

    def _conflict(self, problem: Problem, solution: Solution | None, assured: float) -> Choice:
        conflict = solution.conflict if solution else None
        return Choice(
            "conflict", 0.0, assured, (), (), (), (), conflict.members if conflict else (),
            conflict.relaxations if conflict else (),
            conflict.words if conflict else "stopped: not all can hold, and there was no time to say why",
            solution.seconds if solution else 0.0, tuple(dict.fromkeys(self.left_out)), math.nan, problem, solution,
            self.named,
        )  # fmt: skip


def _moved(before: Findings, after: Findings) -> Iterable[Moved]:
    """Margins before and after, one for each group."""
    earlier = {(f.code, f.subject.partition(" (")[0]): f for f in before}
    for finding in after:
        old = earlier.get((finding.code, finding.subject))
        yield Moved(
            finding.code, finding.subject, old.margin if old else None, finding.margin,
            old.verdict if old else "not known", finding.verdict,
        )  # fmt: skip


def _window(
    name: str, requirement: Requirement, terms: Mapping[str, float], constant: float, low: float | None,
    high: float | None,
) -> Window:  # fmt: skip
    """One requirement as a window; one that is not in mm is scaled so that its fastest size moves it mm for mm."""
    scale = 1.0 if requirement.unit == "mm" else 1.0 / max(abs(rate) for rate in terms.values())
    unit = "" if requirement.unit == "mm" else "deg" if requirement.unit == "rad" else requirement.unit
    told = scale * (math.pi / 180 if requirement.unit == "rad" else 1.0)
    return Window(
        name, tuple((key, rate * scale) for key, rate in terms.items()), constant * scale,
        None if low is None else low * scale, None if high is None else high * scale,
        words=f"{requirement.code} {requirement.subject}", scale=told, unit=unit,
    )  # fmt: skip


def _off(limit: float | None, constant: float) -> float | None:
    return None if limit is None else round(limit - constant, 9)


def _greater(one: float | None, two: float | None) -> float | None:
    known = [v for v in (one, two) if v is not None]
    return max(known, default=None)


def _less(one: float | None, two: float | None) -> float | None:
    known = [v for v in (one, two) if v is not None]
    return min(known, default=None)
