"""Best known value of every size of a build, and what it is uncertain by.

Each size is ``best + sum of rate x cause``: a cause is one thing that varies (a piece's own scatter, a reading, an
instrument's zero, a tool's bias, a bar) and is shared by all it touches. A size made to suit carries its mates' causes
along, so what is made to measure cancels what it was measured from. Sums of sizes are products of sparse arrays.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.grammar import gradient
from asmade.book.kinds import COUNTS_AS_MADE
from asmade.book.model import Build, Dimension, Reading
from asmade.book.sizes import Written
from asmade.measure.student import t_reach
from asmade.reckon.capability import Capability, learn, material_of, reads_to, tool_of
from asmade.reckon.suited import suited_place
from asmade.reckon.system import FloatArray, Joint, System, compile_system, paper_size

MADE, COMPUTED, SUITED, CHOSEN, DRAWN, UNKNOWN = range(6)
SOURCES: Final = ("made", "computed", "suited", "chosen", "drawn", "not known")
NINETY_FIVE: Final = 1.959963984540054
"""A known normal spread is taken to reach this many standard deviations at worst (95 %)."""
ANGLE_SCATTER: Final = math.radians(0.1)
"""Scatter of an angle not yet made: common practice, no source."""
ANGLE_WEIGHT: Final = 4.0
FEW: Final = 200.0
"""Below so many degrees of freedom a spread is drawn from Student's t, above it from the normal."""
KNOWN_WELL: Final = 1e6
"""Degrees of freedom of a spread that is stated, not learned from few readings."""


@dataclass(frozen=True, eq=False)
class Values:
    """Best value, where it comes from, and the causes of its spread, for every size by number."""

    system: System
    best: FloatArray
    source: NDArray[np.int8]
    drawn_only: NDArray[np.bool_]
    rows: tuple[Mapping[int, float], ...] = field(repr=False)
    causes: tuple[str, ...]
    sigma: FloatArray
    bound: FloatArray
    dof: FloatArray
    belief: NDArray[np.intp]
    readings: Mapping[int, Reading]
    sums: Mapping[int, tuple[float, Mapping[int, float]]] = field(repr=False)
    why_unknown: Mapping[int, str] = field(default_factory=dict)
    capability: Capability = field(repr=False, default_factory=lambda: Capability({}, {}))

    @cached_property
    def rates(self) -> Any:
        """Sparse matrix (sizes x causes) of rates."""
        from scipy.sparse import csr_matrix  # noqa: PLC0415  # a sixth of a second, wanted only for whole checks

        counts = np.fromiter((len(row) for row in self.rows), dtype=np.intp, count=len(self.rows))
        columns = np.fromiter((c for row in self.rows for c in row), dtype=np.intp, count=int(counts.sum()))
        data = np.fromiter((v for row in self.rows for v in row.values()), dtype=np.float64, count=columns.size)
        starts = np.concatenate(([0], np.cumsum(counts)))
        return csr_matrix((data, columns, starts), shape=(len(self.rows), len(self.causes)))

    def of(self, address: Address) -> float:
        """Best value of a size in mm (rad); NaN where nothing is known."""
        return float(self.best[self.system.at(address)])

    def spread(self, at: int) -> tuple[float, float]:
        """Standard deviation and worst-case half range of one size by number."""
        row = self.rows[at]
        variance = math.fsum((v * self.sigma[c]) ** 2 for c, v in row.items())
        return math.sqrt(variance), math.fsum(abs(v) * self.bound[c] for c, v in row.items())

    def draw(self, random: np.random.Generator, causes: NDArray[np.intp], count: int) -> FloatArray:
        """Deviations of the given causes in ``count`` engines, (causes, count), mm.

        The scatter of one process is not known exactly, and is the same for all that the process makes: one draw of it
        serves them all in each engine.
        """
        draws = random.standard_normal((causes.size, count), dtype=np.float32)
        beliefs, which = np.unique(self.belief[causes], return_inverse=True)
        dof = np.empty(beliefs.size)
        dof[which] = self.dof[causes]
        few = np.flatnonzero(_few(dof))
        if few.size:
            wider = np.ones((beliefs.size, count), dtype=np.float32)
            half = dof[few, None] / 2
            wider[few] = np.sqrt(half / random.standard_gamma(half, (few.size, count)))
            learned = np.flatnonzero(_few(dof)[which])
            draws[learned] *= wider[which[learned]]
        return draws * self.sigma[causes, None]

    def sampled(self, count: int, seed: int, only: NDArray[np.intp] | None = None) -> FloatArray:
        """Sizes of ``count`` engines that might be built, (sizes, count); Student's t where few readings taught."""
        random = np.random.default_rng(seed)
        chosen = self.rates if only is None else self.rates[only]
        used = np.unique(chosen.indices)
        draws = self.draw(random, used, count)
        best = self.best if only is None else self.best[only]
        spread: FloatArray = chosen[:, used] @ draws
        return best[:, None] + spread


def _few(dof: FloatArray) -> NDArray[np.bool_]:
    """Spreads learned from so few readings that Student's t differs from the normal."""
    few: NDArray[np.bool_] = dof < FEW
    return few


def compute(build: Build, system: System | None = None) -> Values:
    """Best known values of a build; ``system`` if it is already compiled for this design and these choices."""
    return _Compute(build, system or compile_system(build)).run()


@dataclass
class _Causes:
    """Numbers the causes as they come up; a shared one is numbered once."""

    names: list[str] = field(default_factory=list)
    sigma: list[float] = field(default_factory=list)
    bound: list[float] = field(default_factory=list)
    dof: list[float] = field(default_factory=list)
    belief: list[int] = field(default_factory=list)
    beliefs: dict[tuple[str, ...], int] = field(default_factory=lambda: {(): 0})
    shared: dict[tuple[str, ...], int] = field(default_factory=dict)

    def add(self, name: str, sigma: float, bound: float, dof: float, belief: tuple[str, ...] = ()) -> int:
        self.names.append(name)
        self.sigma.append(sigma)
        self.bound.append(bound)
        self.dof.append(dof)
        self.belief.append(self.beliefs.setdefault(belief, len(self.beliefs)))
        return len(self.names) - 1

    def share(
        self, key: tuple[str, ...], name: str, sigma: float, dof: float, bound: float, belief: tuple[str, ...] = ()
    ) -> int:
        found = self.shared.get(key)
        if found is None:
            found = self.shared[key] = self.add(name, sigma, bound, dof, belief)
        return found


class _Compute:
    """One pass over the sizes of one build."""

    def __init__(self, build: Build, system: System) -> None:
        self.build, self.system = build, system
        count = len(system.names)
        self.best = np.full(count, math.nan)
        self.source = np.full(count, UNKNOWN, dtype=np.int8)
        self.drawn_only = np.zeros(count, dtype=bool)
        self.rows: list[dict[int, float]] = [{} for _ in range(count)]
        self.causes = _Causes()
        self.readings: dict[int, Reading] = {}
        self.sums: dict[int, tuple[float, dict[int, float]]] = {}
        self.why: dict[int, str] = {}
        self.capability = learn(build)
        self.last = last_made(build)
        self.disturbed = disturbed_since(build, system.joints)

    def run(self) -> Values:
        system = self.system
        later = set(system.order)
        for at, address in enumerate(system.names):
            if self._made(at, address):
                continue
            if at not in later:
                self._on_paper(at, address)
        for at in system.order:
            if at in system.computed:
                self._compute(at)
            if self.source[at] == UNKNOWN and not self._suit(at):
                self._on_paper(at, system.names[at])
        causes = self.causes
        return Values(
            system, self.best, self.source, self.drawn_only, tuple(self.rows), tuple(causes.names),
            np.array(causes.sigma), np.array(causes.bound), np.array(causes.dof),
            np.array(causes.belief, dtype=np.intp),
            self.readings, self.sums, self.why,
            self.capability,
        )  # fmt: skip

    def _made(self, at: int, address: Address) -> bool:
        dimension = self.system.dimensions[at]
        if dimension is None:
            return False
        piece = self.build.piece_at(address)
        reading = self.last.get(piece)
        if reading is None:
            return False
        joined = self.disturbed.get(address)
        if joined is not None and reading.entry < joined[0]:
            self.why[at] = f"not known since {joined[1]}: measure it"
            return True
        value, row = reading_value(self.build, reading, dimension, self.causes)
        self.best[at], self.rows[at], self.source[at] = value, row, MADE
        self.readings[at] = reading
        return True

    def _on_paper(self, at: int, address: Address) -> None:
        """Chosen, else drawn; a figure or a thread's diameter as it is stated."""
        if at in self.why:
            return
        dimension = self.system.dimensions[at]
        value = float(self.system.paper[at])
        if math.isnan(value):
            return
        if dimension is None:
            self.best[at] = value
            self.source[at] = CHOSEN if self.system.paper_is_chosen[at] else DRAWN
            return
        written, chosen = paper_size(self.build, address, dimension)
        self.source[at] = CHOSEN if chosen else DRAWN
        self.drawn_only[at] = not chosen
        bias, row = self._scatter(address, dimension, value, written)
        self.best[at] = value + (bias if chosen else 0.0)
        self.rows[at] = row

    def _scatter(
        self, address: Address, dimension: Dimension, value: float, written: Written | None = None
    ) -> tuple[float, dict[int, float]]:
        """What the process leaves on a size not yet made: its bias, its own scatter, the causes it shares."""
        if dimension.of_kind.angle:
            own = self.causes.add(
                str(address), ANGLE_SCATTER, _reach(ANGLE_SCATTER, ANGLE_WEIGHT), ANGLE_WEIGHT, ("angle",)
            )
            return 0.0, {own: 1.0}
        piece = self.build.piece_at(address)
        process, material = dimension.made_by, material_of(self.build, piece)
        chosen = self.build.chosen_for(address)
        tool = tool_of(self.build, piece, dimension)
        learned = self.capability.of(process, tool, material, value)
        belief = learned.belief
        scatter = math.sqrt(belief.sigma2)
        reach = _reach(scatter, belief.nu)
        known_by = (process, tool, material, f"{belief.nu:.6g}")
        if written is not None and written.lower is not None and written.upper is not None:
            half = float(written.upper - written.lower) / 2
            own = self.causes.add(str(address), min(scatter, half / NINETY_FIVE), half, belief.nu, known_by)
            return 0.0, {own: 1.0}
        own = self.causes.add(str(address), scatter, reach, belief.nu, known_by)
        bar = (chosen.stock if chosen else "") or dimension.stock if process == "stock as is" else ""
        key = ("bar", bar, f"{value:.3f}", material) if process == "stock as is" else ("tool", process, tool, material)
        named = f"bar {bar or f'{value:g} mm'} {material}".strip() if process == "stock as is" else tool or process
        shared = self.causes.share(
            key, f"{named} (all alike)", belief.bias_scale, belief.nu, _reach(belief.bias_scale, belief.nu), known_by
        )
        return belief.mean, {own: 1.0, shared: 1.0}

    def _compute(self, at: int) -> None:
        formula = self.system.computed[at]
        if formula.exact is not None:
            rates = {a: float(k) for a, k in formula.exact.terms.items()}
            value = float(formula.exact.constant) + math.fsum(k * self._best(a) for a, k in rates.items())
        else:
            value, rates = gradient(formula.node, self._best)
        if math.isnan(value):
            return
        row: dict[int, float] = {}
        for address, rate in rates.items():
            _add(row, self.rows[self.system.index[address]], rate)
        self.sums[at] = (value, row)
        if self.source[at] == UNKNOWN and at not in self.why:
            self.best[at], self.rows[at], self.source[at] = value, row, COMPUTED
            self.drawn_only[at] = any(self.drawn_only[self.system.index[a]] for a in rates)

    def _best(self, address: Address) -> float:
        return float(self.best[self.system.index[address]])

    def _suit(self, at: int) -> bool:
        """Place a to-suit size by its mates; False where they are not known (it then stands as on paper)."""
        if at in self.why:
            return True
        wanted = suited_place(self, at)
        if wanted is None:
            return False
        value, mates = wanted
        address, dimension = self.system.names[at], self.system.dimensions[at]
        if dimension is None:
            return False
        _, row = self._scatter(address, dimension, value)
        for size, rate in mates.items():
            _add(row, self.rows[size], rate)
        self.best[at], self.rows[at], self.source[at] = value, row, SUITED
        self.drawn_only[at] = not self.system.paper_is_chosen[at] and any(self.drawn_only[m] for m in mates)
        return True

    def own_reach(self, at: int) -> float:
        """Worst-case scatter of a size's own process, mm."""
        dimension = self.system.dimensions[at]
        if dimension is None or dimension.of_kind.angle:
            return _reach(ANGLE_SCATTER, ANGLE_WEIGHT)
        address = self.system.names[at]
        piece = self.build.piece_at(address)
        size = float(self.system.paper[at])
        belief = self.capability.of(
            dimension.made_by, tool_of(self.build, piece, dimension), material_of(self.build, piece), size
        ).belief
        return _reach(math.sqrt(belief.sigma2), belief.nu)


def last_made(build: Build) -> dict[Address, Reading]:
    """The reading that stands for each dimension of each piece: the last that counts as made."""
    found: dict[Address, Reading] = {}
    for reading in build.readings:
        if reading.stage in COUNTS_AS_MADE and not math.isnan(reading.low):
            before = found.get(reading.piece)
            if before is None or (reading.at, reading.entry) >= (before.at, before.entry):
                found[reading.piece] = reading
    return found


def disturbed_since(build: Build, joints: tuple[Joint, ...]) -> dict[Address, tuple[int, str]]:
    """Sizes that a joint has disturbed: the entry after which old readings of them no longer hold, and its name."""
    by_name = {joint.subject: joint for joint in joints}
    found: dict[Address, tuple[int, str]] = {}
    for remark in build.remarks:
        joint = by_name.get(str(remark.body.get("joint", "")))
        if joint is not None and remark.kind in ("joined", "undone"):
            for address in joint.disturbs:
                found[address] = (remark.entry, f"{joint.subject} was {remark.kind}")
    return found


def throwaway_causes() -> _Causes:
    """Causes to work out a single reading with, outside any build's values."""
    return _Causes()


def reading_value(
    build: Build, reading: Reading, dimension: Dimension, causes: _Causes
) -> tuple[float, dict[int, float]]:
    """Value and causes of a reading: least hole and greatest shaft of several spots, the middle of other kinds."""
    approach = dimension.of_kind.approach
    value, out_of_true = reading.middle, (reading.high - reading.low) / 2
    if not reading.between and approach != "either" and dimension.kind in ("bore", "slot", "shaft"):
        value, out_of_true = (reading.low if approach == "from below" else reading.high), 0.0
    u = reads_to(build, reading)
    bound = NINETY_FIVE * u
    if reading.between:
        bound = (reading.high - reading.low) / 2
    elif out_of_true:
        u, bound = math.hypot(u, out_of_true / math.sqrt(3.0)), bound + out_of_true
    row = {causes.add(f"reading of {reading.piece}", u, bound, KNOWN_WELL): 1.0}
    instrument = build.shop.instruments.get(reading.instrument)
    if instrument is not None and not dimension.of_kind.angle:
        value -= instrument.zero_known_mm
        if instrument.zero_mm:
            key = ("instrument", instrument.name)
            zero = causes.share(
                key, f"zero of {instrument.name}", instrument.zero_mm, KNOWN_WELL, NINETY_FIVE * instrument.zero_mm
            )
            row[zero] = 1.0
    return value, row


def corrected(build: Build, reading: Reading) -> tuple[float, float]:
    """A reading less its instrument's known zero, and its standard uncertainty with the zero's; mm (rad)."""
    dimension = build.design.dimension(reading.piece.of_part)
    if dimension is None:  # never: a reading is of a dimension
        raise AssertionError(reading.piece)
    causes = throwaway_causes()
    value, row = reading_value(build, reading, dimension, causes)
    return value, math.sqrt(math.fsum((rate * causes.sigma[c]) ** 2 for c, rate in row.items()))


def _add(into: dict[int, float], row: Mapping[int, float], by: float) -> None:
    for cause, rate in row.items():
        total = into.get(cause, 0.0) + rate * by
        if total:
            into[cause] = total
        else:
            into.pop(cause, None)


def _reach(scale: float, dof: float) -> float:
    """Half range that holds 95 % of a Student's t."""
    return scale * t_reach(dof)
