"""Best known value of every size of a build, and what it is uncertain by.

Each size is ``best + sum of rate x cause``: a cause is one thing that varies (a piece's own scatter, a reading, an
instrument's zero, a tool's bias, a bar) and is shared by all it touches. A size made to suit carries its mates' causes
along, so what is made to measure cancels what it was measured from. Sums of sizes are products of sparse arrays.
"""

from __future__ import annotations

import math
import weakref
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import blake2b
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address
from asmade.book.grammar import gradient
from asmade.book.kinds import COUNTS_AS_MADE
from asmade.book.model import Build, Chosen, Dimension, Reading
from asmade.book.sizes import Written
from asmade.measure.student import t_reach
from asmade.reckon.bars import Bar, Measured, bar_given
from asmade.reckon.capability import Capability, learn, reads_to
from asmade.reckon.suited import suited_place
from asmade.reckon.system import KEPT, FloatArray, Joint, System, compile_system, paper_size

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
Key = tuple[str, ...]
"""What a cause or a belief is, whatever number it has: the same in every state of a book."""


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
    keys: tuple[Key, ...] = field(repr=False, default=())
    belief_keys: tuple[Key, ...] = field(repr=False, default=())
    last: Mapping[Address, Reading] = field(repr=False, default_factory=dict)

    @cached_property
    def _marks(self) -> FloatArray:
        """Two figures for each size that change whenever anything that spreads it does, (sizes, 2)."""
        figures = (self.sigma.tolist(), self.bound.tolist(), self.dof.tolist())
        beliefs = [self.belief_keys[belief] for belief in self.belief.tolist()]
        said = [hash(each) for each in zip(self.keys, *figures, beliefs, strict=True)]
        halves = np.array([(h & 0xFFFFFFFF, (h >> 32) & 0xFFFFFFFF) for h in said], dtype=float).reshape(-1, 2)
        marks: FloatArray = self.rates @ (halves / 2.0**32 + 0.5)
        return marks

    def changed_from(self, before: Values) -> NDArray[np.bool_]:
        """Sizes of which anything is not as it was: best value, where it comes from, or what spreads it.

        Both must be of one system. A size is taken to have changed where the order of its causes has.
        """
        if before.system is not self.system:
            raise ValueError("values of two systems")
        held = self.__dict__.get("_changed")
        if held is not None and held[0]() is before:
            known: NDArray[np.bool_] = held[1]
            return known
        changed = self._changed_from(before)
        self.__dict__["_changed"] = (weakref.ref(before), changed)
        return changed

    def _changed_from(self, before: Values) -> NDArray[np.bool_]:
        same_best = (self.best == before.best) | (np.isnan(self.best) & np.isnan(before.best))
        same = same_best & (self.source == before.source) & (self.drawn_only == before.drawn_only)
        same &= (self._marks == before._marks).all(axis=1)
        changed: NDArray[np.bool_] = ~same
        if self.why_unknown != before.why_unknown:
            said = self.why_unknown.items() ^ before.why_unknown.items()
            changed[[at for at, _ in said]] = True
        return changed

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
        """Sizes of ``count`` engines that might be built, (sizes, count); Student's t where few readings taught.

        What a cause comes to in each engine rests on the seed and on the cause alone: whatever else is asked or has
        changed in the book, a size that has not changed is sampled the same.
        """
        chosen = self.rates if only is None else self.rates[only]
        used = np.unique(chosen.indices)
        draws = self._draw_by_key(seed, used, count)
        best = self.best if only is None else self.best[only]
        spread: FloatArray = chosen[:, used] @ draws
        return best[:, None] + spread

    def _draw_by_key(self, seed: int, causes: NDArray[np.intp], count: int) -> FloatArray:
        """As `draw`, each cause and each belief from a generator of its own."""
        draws = np.empty((causes.size, count), dtype=np.float32)
        wider: dict[int, NDArray[np.float32]] = {}
        for row, cause in enumerate(causes.tolist()):
            _generator(seed, self.keys[cause]).standard_normal(dtype=np.float32, out=draws[row])
            dof, belief = float(self.dof[cause]), int(self.belief[cause])
            if dof < FEW:
                if belief not in wider:
                    gamma = _generator(seed, ("belief", *self.belief_keys[belief])).standard_gamma(dof / 2, count)
                    wider[belief] = np.sqrt(dof / 2 / gamma).astype(np.float32)
                draws[row] *= wider[belief]
        return draws * self.sigma[causes, None]


def _generator(seed: int, key: Key) -> np.random.Generator:
    """Random numbers of one cause, the same in every process and on every machine."""
    digest = blake2b("\x1f".join(key).encode(), digest_size=8).digest()
    return np.random.default_rng((seed, int.from_bytes(digest, "big")))


def _few(dof: FloatArray) -> NDArray[np.bool_]:
    """Spreads learned from so few readings that Student's t differs from the normal."""
    few: NDArray[np.bool_] = dof < FEW
    return few


def compute(build: Build, system: System | None = None) -> Values:
    """Best known values of a build; ``system`` if it is already compiled for this design and these choices.

    Those of the very same build are given again, not worked out again.
    """
    known = compile_system(build) if system is None else system
    held: dict[int, tuple[Build, Values]] = known.__dict__.setdefault("_values", {})
    found = held.get(id(build))
    if found is None:
        found = (build, _Compute(build, known).run())
        while len(held) >= KEPT:
            held.pop(next(iter(held)), None)
        held[id(build)] = found
    return found[1]


@dataclass
class _Causes:
    """Numbers the causes as they come up; a shared one is numbered once."""

    names: list[str] = field(default_factory=list)
    keys: list[Key] = field(default_factory=list)
    sigma: list[float] = field(default_factory=list)
    bound: list[float] = field(default_factory=list)
    dof: list[float] = field(default_factory=list)
    belief: list[int] = field(default_factory=list)
    beliefs: dict[Key, int] = field(default_factory=lambda: {(): 0})
    shared: dict[Key, int] = field(default_factory=dict)

    def add(
        self, name: str, sigma: float, bound: float, dof: float, belief: Key = (), key: Key | None = None
    ) -> int:  # fmt: skip
        self.names.append(name)
        self.keys.append((name,) if key is None else key)
        self.sigma.append(sigma)
        self.bound.append(bound)
        self.dof.append(dof)
        self.belief.append(self.beliefs.setdefault(belief, len(self.beliefs)))
        return len(self.names) - 1

    def share(self, key: Key, name: str, sigma: float, dof: float, bound: float, belief: Key = ()) -> int:
        found = self.shared.get(key)
        if found is None:
            found = self.shared[key] = self.add(name, sigma, bound, dof, belief, key)
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
        self.no_choice = not build.chosen
        self.bars: dict[Key, Bar] = {}
        self.bar_sizes: dict[Key, tuple[Dimension, float]] = {}

    def run(self) -> Values:
        system = self.system
        later = set(system.order)
        read = self._read()
        for at, reading in read.items():
            self._made(at, reading)
        self._measured_bars(read)
        for at in range(len(system.names)):
            if at not in read and at not in later:
                self._on_paper(at)
        for at in system.order:
            if at in system.computed:
                self._compute(at)
            if self.source[at] == UNKNOWN and not self._suit(at):
                self._on_paper(at)
        causes = self.causes
        return Values(
            system, self.best, self.source, self.drawn_only, tuple(self.rows), tuple(causes.names),
            np.array(causes.sigma), np.array(causes.bound), np.array(causes.dof),
            np.array(causes.belief, dtype=np.intp),
            self.readings, self.sums, self.why,
            self.capability, tuple(causes.keys), tuple(causes.beliefs), self.last,
        )  # fmt: skip

    def _read(self) -> dict[int, Reading]:
        """The reading that stands for each size whose piece sits at its place, by number."""
        pieces, seated, index = self.build.pieces, self.build.seated, self.system.index
        found: dict[int, Reading] = {}
        for piece, reading in self.last.items():
            held = pieces.get(piece.seat)
            if held is None or not held.place or seated.get(f"{piece.part}@{held.place}") != piece.mark:
                continue
            at = index.get(Address(piece.part, held.place, dim=piece.dim))
            if at is not None and self.system.dimensions[at] is not None:
                found[at] = reading
        return dict(sorted(found.items()))

    def _measured_bars(self, read: Mapping[int, Reading]) -> None:
        """What measured pieces that were cut as the bar comes say of their bars."""
        places = {reading.piece: at for at, reading in read.items()}
        measured: dict[Key, list[Measured]] = {}
        for piece, reading in self.last.items():
            dimension = self.build.design.dimension(piece.of_part)
            taught = reading.stage == "finished" and reading.target is not None
            if dimension is None or dimension.made_by != "stock as is" or taught or dimension.of_kind.angle:
                continue
            written, _ = paper_size(self.build, piece, dimension)
            if written is None or (written.lower is not None and written.upper is not None):
                continue
            at = places.get(piece)
            if at is not None and self.source[at] == MADE:
                value, row = float(self.best[at]), self.rows[at]
            else:
                value, row = reading_value(self.build, reading, dimension, self.causes)
            chosen = self.build.chosen_for(piece)
            key = _bar(chosen, dimension, written.value, self.build.design.parts[piece.part].material)
            measured.setdefault(key, []).append(Measured(value - written.value, row))
            self.bar_sizes[key] = (dimension, written.value)
        for key, pieces in measured.items():
            dimension, size = self.bar_sizes[key]
            belief = self.capability.of(dimension.made_by, dimension.stock, key[-1], size).belief
            self.bars[key] = bar_given(
                pieces, self.causes.sigma, mean=belief.mean, bar_sigma=belief.bias_scale,
                piece_sigma=math.sqrt(belief.sigma2),
            )  # fmt: skip

    def _made(self, at: int, reading: Reading) -> None:
        dimension = self.system.dimensions[at]
        if dimension is None:  # never: `_read` gives dimensions only
            raise AssertionError(self.system.names[at])
        joined = self.disturbed.get(self.system.names[at])
        if joined is not None and reading.entry < joined[0]:
            self.why[at] = f"not known since {joined[1]}: measure it"
            return
        value, row = reading_value(self.build, reading, dimension, self.causes)
        self.best[at], self.rows[at], self.source[at] = value, row, MADE
        self.readings[at] = reading

    def _on_paper(self, at: int) -> None:
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
        chosen = bool(self.system.paper_is_chosen[at])
        self.source[at] = CHOSEN if chosen else DRAWN
        self.drawn_only[at] = not chosen
        bias, row = self._scatter(at, dimension, value, self.system.written[at])
        told = chosen or (dimension.made_by == "stock as is" and bool(self.bars) and self._bar_of(at) in self.bars)
        self.best[at] = value + (bias if told else 0.0)
        self.rows[at] = row

    def _cut_by(self, at: int, dimension: Dimension) -> tuple[Chosen | None, str, str]:
        """The choice in force for a size, the tool that cuts it, its material."""
        address = self.system.names[at]
        chosen = None if self.no_choice else self.build.chosen_for(address)
        if dimension.made_by == "stock as is":
            tool = dimension.stock
        else:
            tool = (chosen.tool if chosen else "") or dimension.tool
        return chosen, tool, self.build.design.parts[address.part].material

    def _bar_of(self, at: int) -> Key | None:
        """The bar a size is cut from as it comes; None where it is cut to size."""
        dimension = self.system.dimensions[at]
        if dimension is None:
            return None
        chosen, _, material = self._cut_by(at, dimension)
        return _bar(chosen, dimension, float(self.system.paper[at]), material)

    def _scatter(
        self, at: int, dimension: Dimension, value: float, written: Written | None = None
    ) -> tuple[float, dict[int, float]]:
        """What the process leaves on a size not yet made: its bias, its own scatter, the causes it shares."""
        name = self.system.texts[at]
        if dimension.of_kind.angle:
            own = self.causes.add(name, ANGLE_SCATTER, _reach(ANGLE_SCATTER, ANGLE_WEIGHT), ANGLE_WEIGHT, ("angle",))
            return 0.0, {own: 1.0}
        process = dimension.made_by
        chosen, tool, material = self._cut_by(at, dimension)
        learned = self.capability.of(process, tool, material, value)
        belief = learned.belief
        scatter = math.sqrt(belief.sigma2)
        reach = _reach(scatter, belief.nu)
        known_by = (process, tool, material, f"{belief.nu:.6g}")
        if written is not None and written.lower is not None and written.upper is not None:
            half = float(written.upper - written.lower) / 2
            own = self.causes.add(name, min(scatter, half / NINETY_FIVE), half, belief.nu, known_by)
            return 0.0, {own: 1.0}
        own = self.causes.add(name, scatter, reach, belief.nu, known_by)
        if process == "stock as is":
            key = _bar(chosen, dimension, value, material)
            named = f"bar {key[1] or f'{value:g} mm'} {material}".strip()
            known = self.bars.get(key)
            if known is not None:
                left = self.causes.share(
                    (*key, "measured"), f"{named} (others of it measured)", known.sigma, belief.nu,
                    _reach(known.sigma, belief.nu), known_by,
                )  # fmt: skip
                return known.mean, {own: 1.0, left: 1.0, **known.row}
        else:
            key, named = ("tool", process, tool, material), tool or process
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
        dimension = self.system.dimensions[at]
        if dimension is None:
            return False
        _, row = self._scatter(at, dimension, value)
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
        _, tool, material = self._cut_by(at, dimension)
        belief = self.capability.of(dimension.made_by, tool, material, float(self.system.paper[at])).belief
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


def _bar(chosen: Chosen | None, dimension: Dimension, size_mm: float, material: str) -> Key:
    """Which bar: as chosen or said, else one for each size and material."""
    return ("bar", (chosen.stock if chosen else "") or dimension.stock, f"{size_mm:.3f}", material)


def _reach(scale: float, dof: float) -> float:
    """Half range that holds 95 % of a Student's t."""
    return scale * t_reach(dof)
