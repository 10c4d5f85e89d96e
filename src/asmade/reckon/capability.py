"""What this shop's tools and processes leave, learned from its finished readings against what was aimed at.

Scrapped pieces teach too; a reading without an aim never does. Per process, tool and material: bias is shared by all
that one tool makes, scatter is each piece's own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from asmade.book.address import Address
from asmade.book.model import Build, Dimension, Reading
from asmade.reckon.pooling import Pooled, pool
from asmade.reckon.posterior import Posterior, from_prior
from asmade.standards.capability import Prior, process_prior

UNSAID_READS_TO_MM = 0.01
"""Standard uncertainty taken where the instrument of a reading is not said: common practice, no source. It is said
wherever it is used."""
UNSAID_READS_TO_RAD = math.radians(0.05)
"""The same for an angle: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What is believed of one process, tool and material, and what taught it."""

    process: str
    tool: str
    material: str
    belief: Posterior
    departures: tuple[float, ...]
    source: str

    @property
    def words(self) -> str:
        """``reamer 15.9: +0.031 over, 7 holes; next hole between ...``."""
        holes = self.process in ("reamed", "bored", "drilled", "jig bored", "jig drilled")
        one, many = ("hole", "holes") if holes else ("piece", "pieces")
        return self.belief.in_words(self.tool or self.process, one=one, many=many)


@dataclass(frozen=True)
class Capability:
    """The shop's capability as its readings teach it; ask it with `of`."""

    pools: Mapping[tuple[str, str], Pooled]
    departures: Mapping[tuple[str, str, str], tuple[float, ...]]
    _cache: dict[tuple[str, str, str, float], Learned] = field(default_factory=dict, repr=False)
    tool_kinds: Mapping[str, str] = field(default_factory=dict)

    def of(self, process: str, tool: str = "", material: str = "", size_mm: float = 10.0) -> Learned:
        """Belief for one process, tool and material at a size in mm; the process's customary figures where unread."""
        step = _step(size_mm)
        key = (process, tool, material, step)
        found = self._cache.get(key)
        if found is None:
            found = self._cache[key] = self._of(process, tool, material, step)
        return found

    def _of(self, process: str, tool: str, material: str, size_mm: float) -> Learned:
        prior = _customary(process, self.tool_kinds.get(tool) or tool or None, material or None, size_mm)
        pooled = self.pools.get((process, material))
        taught = self.departures.get((process, tool, material), ())
        if pooled is None:
            return Learned(process, tool, material, from_prior(prior), taught, prior.source)
        belief = pooled.tools.get(tool, pooled.next_tool)
        return Learned(process, tool, material, belief, taught, "this shop's readings, on top of " + prior.source)


@lru_cache(maxsize=4096)
def _customary(process: str, tool: str | None, material: str | None, size_mm: float) -> Prior:
    """The customary figures do not change with the book."""
    return process_prior(process, tool, material, size_mm=size_mm)


def _step(size_mm: float) -> float:
    """Sizes a tenth apart share one belief: a prior does not know its size better than that."""
    if not (math.isfinite(size_mm) and size_mm > 0):
        return 10.0
    decade: float = 10.0 ** math.floor(math.log10(size_mm))
    return round(size_mm / decade, 1) * decade


def learn(build: Build) -> Capability:
    """Gather departures from aims of all finished readings and update the customary figures with them."""
    gathered: dict[tuple[str, str], dict[str, list[tuple[float, float, float]]]] = {}
    kinds = {name: tool.kind for name, tool in build.shop.tools.items()}
    for reading in _last_finished(build).values():
        dimension = build.design.dimension(reading.piece.of_part)
        if dimension is None or reading.target is None or math.isnan(reading.middle):
            continue
        departure = departure_of(reading, dimension, build)
        tools = gathered.setdefault((dimension.made_by, material_of(build, reading.piece)), {})
        u = reads_to(build, reading)
        tools.setdefault(tool_of(build, reading.piece, dimension, reading), []).append(
            (departure, u * u, abs(reading.target))
        )
    pools, departures = {}, {}
    for (process, material), tools in gathered.items():
        sizes = [size for pieces in tools.values() for _, _, size in pieces]
        size = math.fsum(sizes) / len(sizes)
        tool_kind = next((kinds[name] for name in tools if name in kinds), None)
        prior = from_prior(process_prior(process, tool_kind, material or None, size_mm=size if size > 0 else None))
        pools[process, material] = pool(
            prior,
            {name: [d for d, _, _ in pieces] for name, pieces in tools.items()},
            {name: [v for _, v, _ in pieces] for name, pieces in tools.items()},
        )
        for name, pieces in tools.items():
            departures[process, name, material] = tuple(d for d, _, _ in pieces)
    return Capability(pools, departures, tool_kinds=kinds)


def _last_finished(build: Build) -> dict[Address, Reading]:
    """One observation per piece and dimension: a second finished reading is a repeat, the last one stands."""
    found: dict[Address, Reading] = {}
    for reading in build.readings:
        if reading.stage == "finished" and reading.target is not None:
            found[reading.piece] = reading
    return found


def departure_of(reading: Reading, dimension: Dimension, build: Build) -> float:
    """Made less aimed, in mm: the middle of the reading's extremes, its instrument's known zero error taken off."""
    known = build.shop.instruments.get(reading.instrument)
    off = known.zero_known_mm if known and not dimension.of_kind.angle else 0.0
    return reading.middle - off - (reading.target or 0.0)


def tool_of(build: Build, piece: Address, dimension: Dimension, reading: Reading | None = None) -> str:
    """The tool that cuts or cut a size: as the reading says, else as chosen, else as the drawing's dimension says."""
    if reading is not None and reading.tool:
        return reading.tool
    if dimension.made_by == "stock as is":
        return dimension.stock
    held = build.pieces.get(piece.seat)
    place = Address(piece.part, held.place, dim=piece.dim) if held and held.place else piece
    chosen = build.chosen.get(piece) or build.chosen.get(place) or build.chosen.get(piece.of_part)
    return (chosen.tool if chosen else "") or dimension.tool


def material_of(build: Build, piece: Address) -> str:
    """Material of the part, as the builder wrote it."""
    return build.design.parts[piece.part].material


def reads_to(build: Build, reading: Reading) -> float:
    """Standard uncertainty of a reading without the zero's, in mm (rad): repeats averaged, plugs as a flat band."""
    instrument = build.shop.instruments.get(reading.instrument)
    dimension = build.design.dimension(reading.piece.of_part)
    if dimension is not None and dimension.of_kind.angle:
        told = instrument is not None and instrument.unit == "deg"
        one = math.radians(instrument.reads_to_mm) if instrument and told else UNSAID_READS_TO_RAD
    else:
        one = instrument.reads_to_mm if instrument and instrument.unit != "deg" else UNSAID_READS_TO_MM
    u = one / math.sqrt(reading.repeats)
    if reading.between:
        return math.hypot((reading.high - reading.low) / math.sqrt(12.0), u)
    return u
