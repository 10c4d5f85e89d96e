"""The build: one locomotive (or anything made one-off) as one frozen value, folded from the ledger.

Nothing here computes; nothing here touches a file. ``Design`` is what the drawings and the builder's relations say,
``Shop`` what he has, and a `Build` adds what was chosen, aimed at, made, moved and joined. Sizes are kept as written
(text) beside their exact value.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from asmade.book.address import Address
from asmade.book.kinds import KINDS, Kind


@dataclass(frozen=True, slots=True)
class Statement:
    """One place on the drawings where a dimension is stated."""

    drawn: str
    reference: str = ""


@dataclass(frozen=True, slots=True)
class Dimension:
    """One dimension of a part as drawn, with what the builder says of how it is made and kept."""

    name: str
    kind: str
    drawn: str = ""
    reference: str = ""
    also: tuple[Statement, ...] = ()
    drawn_at: Mapping[str, str] = field(default_factory=dict)
    process: str = ""
    tool: str = ""
    stock: str = ""
    keep: str = ""
    signed: bool = False
    least: str = ""
    most: str = ""
    sex: str = ""
    datum: str = ""
    note: str = ""

    @property
    def of_kind(self) -> Kind:
        """What this kind means at the bench."""
        return KINDS[self.kind]

    @property
    def made_by(self) -> str:
        """The process: as stated, else what the kind assumes."""
        return self.process or self.of_kind.process

    @property
    def kept(self) -> str:
        """How near to the drawing it is kept: as stated, else what the kind assumes."""
        return self.keep or self.of_kind.keep


@dataclass(frozen=True, slots=True)
class Part:
    """A thing on the drawing. ``places`` are where its pieces sit; an assembled part is made of others."""

    name: str
    places: tuple[str, ...]
    dims: Mapping[str, Dimension]
    hand: str = "same"
    drawn_for: str = ""
    material: str = ""
    form: Mapping[str, Any] = field(default_factory=dict)
    assembled_from: tuple[str, ...] = ()
    across: Mapping[str, Any] = field(default_factory=dict)
    reference: str = ""
    note: str = ""

    @property
    def seats(self) -> tuple[str, ...]:
        """``wheel@2L`` for each place."""
        return tuple(f"{self.name}@{place}" for place in self.places)


@dataclass(frozen=True, slots=True)
class Relation:
    """One statement that binds sizes: a fit, chain, same, wall, formula, play, joint, or a later kind."""

    kind: str
    name: str
    places: tuple[str, ...]
    fields: Mapping[str, Any]

    def text(self, key: str) -> str:
        """A field as text, empty when not said."""
        value = self.fields.get(key, "")
        return value if isinstance(value, str) else str(value)


@dataclass(frozen=True, slots=True)
class Figure:
    """A quantity of the whole engine that is no dimension of a part. Empty = not known, never 0."""

    name: str
    kind: str
    drawn: str = ""
    chosen: str = ""
    source: str = ""
    note: str = ""

    @property
    def text(self) -> str:
        """The figure in force: chosen before drawn."""
        return self.chosen or self.drawn


@dataclass(frozen=True, slots=True)
class Places:
    """The only forms of place there are."""

    axles: tuple[str, ...] = ()
    sides: tuple[str, ...] = ()
    sections: tuple[str, ...] = ()
    driven: str = ""
    named: tuple[str, ...] = ("engine",)


@dataclass(frozen=True, slots=True)
class Design:
    """What the drawings and the builder's relations say."""

    title: str
    drawing_unit: str
    places: Places
    parts: Mapping[str, Part]
    relations: tuple[Relation, ...]
    figures: Mapping[str, Figure]
    arrangement: str = ""
    leads: str = ""
    leads_drawn: str = ""
    note: str = ""

    def of_kind(self, kind: str) -> Iterator[Relation]:
        """All relations of one kind in the order they were written."""
        return (relation for relation in self.relations if relation.kind == kind)

    def dimension(self, address: Address) -> Dimension | None:
        """The dimension an address speaks of, or None."""
        part = self.parts.get(address.part)
        return None if part is None else part.dims.get(address.dim)


@dataclass(frozen=True, slots=True)
class Instrument:
    """A measuring instrument: standard uncertainty of its zero (shared by its readings) and of one reading, in mm."""

    name: str
    unit: str
    zero_mm: float
    reads_to_mm: float
    zero_known_mm: float = 0.0
    measures: tuple[str, ...] = ()
    range_mm: tuple[float | None, float | None] = (None, None)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Tool:
    """A tool that makes a size (reamer, drill, tap); ``size`` as written; ``bias_mm`` only if the builder knows."""

    name: str
    kind: str
    size: str = ""
    adjusts_to: tuple[str, str] | None = None
    bias_mm: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class Stock:
    """One line of the rack: what form, what material, what size, how much of it."""

    form: str
    material: str
    size: str
    length_mm: float | None = None
    count: int = 1
    note: str = ""
    bar: str = ""


@dataclass(frozen=True, slots=True)
class Adhesive:
    """An adhesive by its own data sheet, typed in by the builder; gap on diameter in mm."""

    name: str
    gap_least_mm: float
    gap_most_mm: float
    fields: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Shop:
    """What the builder has. ``tables`` keeps every entry as written for those who need more of it."""

    instruments: Mapping[str, Instrument] = field(default_factory=dict)
    tools: Mapping[str, Tool] = field(default_factory=dict)
    stock: tuple[Stock, ...] = ()
    adhesives: Mapping[str, Adhesive] = field(default_factory=dict)
    machines: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    rounding_mm: Mapping[str, float] = field(default_factory=dict)
    buys: tuple[str, ...] = ("metric",)


@dataclass(frozen=True, slots=True)
class Chosen:
    """A working size: of the part, or of one place or piece where it must differ."""

    entry: int
    of: Address
    size: str
    tool: str = ""
    stock: str = ""
    why: str = ""
    by: str = "hand"
    locked: bool = False


@dataclass(frozen=True, slots=True)
class Aimed:
    """What was aimed at when a size went to the bench, in mm (rad for angles); None where that end was open."""

    entry: int
    piece: Address
    low: float | None
    target: float
    high: float | None
    at: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of one dimension of one piece: extremes over its spots, in mm (rad for angles)."""

    entry: int
    piece: Address
    low: float
    high: float
    stage: str
    at: str
    text: str
    instrument: str = ""
    tool: str = ""
    repeats: int = 1
    between: bool = False
    target: float | None = None

    @property
    def middle(self) -> float:
        """Middle of the extremes."""
        return 0.5 * (self.low + self.high)


@dataclass(frozen=True, slots=True)
class Piece:
    """An individual with its mark; ``place`` empty = spare."""

    part: str
    mark: str
    place: str = ""
    scrapped: bool = False
    why: str = ""

    @property
    def seat(self) -> str:
        """``wheel#W3``."""
        return f"{self.part}#{self.mark}"


@dataclass(frozen=True, slots=True)
class Remark:
    """Any other entry that stands in the record: done, joined, undone, note, attachment."""

    entry: int
    kind: str
    at: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Build:
    """One build as it stands after the last entry folded in. Same entries, same build."""

    design: Design
    shop: Shop
    chosen: Mapping[Address, Chosen]
    aimed: tuple[Aimed, ...]
    readings: tuple[Reading, ...]
    pieces: Mapping[str, Piece]
    seated: Mapping[str, str]
    remarks: tuple[Remark, ...]
    tables: Mapping[str, Any]
    journal: tuple[tuple[str, Mapping[str, Any]], ...]
    last_entry: int
    named: frozenset[str] = frozenset()
    """Pieces that an entry speaks of; the others only fill a place."""

    def piece_at(self, address: Address) -> Address:
        """The address by mark of whichever piece sits at the address's place; a mark stays as it is."""
        if not address.place:
            return address
        mark = self.seated.get(f"{address.part}@{address.place}", address.place)
        return Address(address.part, mark=mark, dim=address.dim)

    def chosen_for(self, address: Address) -> Chosen | None:
        """The chosen size in force: of the piece, else of the place, else of the part."""
        piece = self.piece_at(address)
        return self.chosen.get(piece) or self.chosen.get(address) or self.chosen.get(address.of_part)
