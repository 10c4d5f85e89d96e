"""Folding the ledger into a build: entries in, one frozen `Build` out. No sums, no files.

A withdrawn entry leaves no trace in the build; it stays in the ledger's history.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, Protocol

from asmade.book.address import Address, read_address
from asmade.book.kinds import STAGES
from asmade.book.model import Aimed, Build, Chosen, Design, Dimension, Piece, Reading, Remark, Shop
from asmade.book.sizes import read_size
from asmade.book.tables import merge, read_design, read_shop
from asmade.measure.errors import Refused, Unknown, near


class Recorded(Protocol):
    """What folding needs of an entry (a ledger's entry has it)."""

    @property
    def number(self) -> int: ...  # noqa: D102
    @property
    def kind(self) -> str: ...  # noqa: D102
    @property
    def at(self) -> str: ...  # noqa: D102
    @property
    def by(self) -> str: ...  # noqa: D102
    @property
    def body(self) -> Mapping[str, Any]: ...  # noqa: D102


REDONE: Final = ("design", "shop", "drawn", "withdrawn")
"""Entries that change what was folded before them; all others only add to it."""
REMARKS: Final = ("done", "joined", "undone", "note", "attachment")
EMPTY_TABLES: Final[Mapping[str, Any]] = {"book": {"title": "untitled build", "drawing_unit": "inch"}}


def fold(entries: Iterable[Recorded]) -> Build:
    """Fold entries in their order into a build; raises with the entry's number when one cannot be read."""
    every = tuple(entries)
    gone = withdrawn(every)
    live = [e for e in every if e.kind != "withdrawn" and e.number not in gone]
    tables = _tables(live)
    design = read_design(tables)
    shop = read_shop(tables.get("shop", {}))
    journal = _Journal.new(design, shop)
    for entry in live:
        if entry.kind not in ("design", "shop", "drawn"):
            journal.add(entry)
    return journal.build(tables, every[-1].number if every else 0)


def follows(entries: Iterable[Recorded]) -> bool:
    """Whether entries can be folded on top of a build, without those before them: see `extend`."""
    return all(entry.kind not in REDONE for entry in entries)


def extend(build: Build, entries: Iterable[Recorded]) -> Build:
    """Fold entries that come after all of a build's (and that `follows` says can be) on top of it.

    The same build as `fold` gives of all entries together, in the time that the new ones take.
    """
    every = tuple(entries)
    journal = _Journal.after(build)
    for entry in every:
        journal.add(entry)
    return journal.build(build.tables, every[-1].number if every else build.last_entry)


def withdrawn(entries: Sequence[Recorded]) -> Mapping[int, Recorded]:
    """The entries that do not count, by number, each with the withdrawal that says so.

    A withdrawal that has itself been withdrawn takes nothing away: what it named stands again, in its old place.
    """
    gone: dict[int, Recorded] = {}
    for entry in reversed(entries):  # a withdrawal names an earlier entry: from the end, each is settled when met
        if entry.kind == "withdrawn" and entry.number not in gone:
            gone[int(entry.body["entry"])] = entry
    return gone


def _tables(live: list[Recorded]) -> dict[str, Any]:
    tables: dict[str, Any] = {}
    for entry in live:
        body = entry.body
        if entry.kind == "design":
            merge(tables, body.get("set", {}), tuple(body.get("remove", ())))
        elif entry.kind == "shop":
            merge(tables, {"shop": body.get("set", {})}, tuple(f"shop.{path}" for path in body.get("remove", ())))
        elif entry.kind == "drawn":
            _draw(tables, body)
    return tables or {key: dict(value) for key, value in EMPTY_TABLES.items()}


def _draw(tables: dict[str, Any], body: Mapping[str, Any]) -> None:
    address = read_address(str(body["of"]))
    if not address.dim:
        held = tables.get("figure", {}).get(address.part)
        if held is None:
            raise Unknown("figure", got=address.part, near=near(address.part, tables.get("figure", {})))
        held["drawn"] = body["drawn"]
        return
    here: Any = tables.get("part", {}).get(address.part, {}).get("dim", {})
    for key in address.dim.split("."):
        here = here.get(key, {}) if isinstance(here, dict) else {}
    if not here:
        raise Unknown("dimension", got=str(address), way_out="add it to the part first")
    if address.place:
        here.setdefault("drawn_at", {})[address.place] = body["drawn"]
    else:
        here["drawn"] = body["drawn"]
    if body.get("reference"):
        here["reference"] = body["reference"]


class _Journal:
    """Gathers what is not design: readings, choices, pieces."""

    def __init__(
        self, design: Design, shop: Shop, pieces: Mapping[str, Piece], seated: Mapping[str, str]
    ) -> None:  # fmt: skip
        self.design, self.shop = design, shop
        self.chosen: dict[Address, Chosen] = {}
        self.aimed: list[Aimed] = []
        self.last_aim: dict[Address, Aimed] = {}
        self.readings: list[Reading] = []
        self.remarks: list[Remark] = []
        self.kept: list[tuple[str, Mapping[str, Any]]] = []
        self.pieces, self.seated = dict(pieces), dict(seated)
        self.named: set[str] = set()
        """Pieces that an entry speaks of: they stay on record; one that only filled a place gives way."""

    @classmethod
    def new(cls, design: Design, shop: Shop) -> _Journal:
        """Begin with a piece yet to be made at every place."""
        seats = [(part.name, place) for part in design.parts.values() for place in part.places]
        return cls(
            design, shop, {f"{part}#{place}": Piece(part, place, place) for part, place in seats},
            {f"{part}@{place}": place for part, place in seats},
        )  # fmt: skip

    @classmethod
    def after(cls, build: Build) -> _Journal:
        """Go on where a build ends; the build stays as it is."""
        journal = cls(build.design, build.shop, build.pieces, build.seated)
        journal.chosen = dict(build.chosen)
        journal.aimed = list(build.aimed)
        journal.last_aim = {aim.piece: aim for aim in build.aimed}
        journal.readings = list(build.readings)
        journal.remarks = list(build.remarks)
        journal.kept = list(build.journal)
        journal.named = set(build.named)
        return journal

    def add(self, entry: Recorded) -> None:
        try:
            match entry.kind:
                case "chosen":
                    self._choose(entry)
                case "aimed":
                    self._aim(entry)
                case "made":
                    self._made(entry)
                case "moved" | "piece":
                    self._move(entry)
                case "scrapped":
                    self._scrap(entry)
                case kind if kind in REMARKS:
                    self.remarks.append(Remark(entry.number, kind, entry.at, entry.body))
                case kind:
                    raise Unknown("entry kind", got=kind, way_out="this book may be of a later asmade")
        except KeyError as missing:
            raise Refused(
                f"entry {entry.number} ({entry.kind})", got=dict(entry.body), reason=f"{missing} is missing"
            ) from missing
        self.kept.append((entry.kind, {"at": entry.at, "by": entry.by, "body": entry.body}))

    def _dimension(self, address: Address) -> Dimension:
        dimension = self.design.dimension(address)
        if dimension is None:
            part = self.design.parts.get(address.part)
            if part is None:
                raise Unknown("part", got=address.part, near=near(address.part, self.design.parts))
            raise Unknown(f"dimension of {part.name}", got=address.dim, near=near(address.dim, part.dims))
        return dimension

    def _choose(self, entry: Recorded) -> None:
        body = entry.body
        of = read_address(str(body["of"]))
        self._dimension(of)
        if of.mark:
            self.named.add(of.seat)
        self.chosen[of] = Chosen(
            entry.number, of, str(body["size"]), tool=str(body.get("tool", "")), stock=str(body.get("stock", "")),
            why=str(body.get("why", "")), by=entry.by or "hand",
            locked=bool(body.get("locked", False)),
        )  # fmt: skip

    def _piece(self, body: Mapping[str, Any]) -> Address:
        seat = read_address(str(body["piece"]))
        if seat.place:
            seat = Address(seat.part, mark=self.seated.get(seat.seat, seat.place))
        if not seat.mark:
            raise Refused("piece", got=body["piece"], reason="it says no mark", way_out="write for example axle#1")
        if seat.part not in self.design.parts:
            raise Unknown("part", got=seat.part, near=near(seat.part, self.design.parts))
        self.pieces.setdefault(seat.seat, Piece(seat.part, seat.mark))
        self.named.add(seat.seat)
        return Address(seat.part, mark=seat.mark, dim=str(body.get("dim", "")))

    def _value(self, text: object, dimension: Dimension, unit: str, thing: str) -> float:
        found = read_size(str(text), dimension, unit, thing)
        if found is None:
            raise Refused(thing, got=text, reason="it is empty", way_out="give the reading, such as 15.90")
        return found.value

    def _aim(self, entry: Recorded) -> None:
        body = entry.body
        piece = self._piece(body)
        dimension = self._dimension(piece)
        target = self._value(body["target"], dimension, "mm", f"{piece} target")
        low, high = (
            self._value(body[key], dimension, "mm", f"{piece} {key}") if body.get(key) else None
            for key in ("low", "high")
        )
        aim = Aimed(entry.number, piece, low, target, high, entry.at)
        self.aimed.append(aim)
        self.last_aim[piece] = aim

    def _made(self, entry: Recorded) -> None:
        body = entry.body
        piece = self._piece(body)
        dimension = self._dimension(piece)
        stage = str(body.get("stage", "finished"))
        if stage not in STAGES:
            raise Unknown("stage", got=stage, near=near(stage, STAGES), way_out=f"one of: {', '.join(STAGES)}")
        unit = str(body.get("unit", "") or self._unit_of(str(body.get("instrument", ""))))
        aim = self.last_aim.get(piece)
        reading = Reading(
            entry=entry.number, piece=piece, low=math.nan, high=math.nan, stage=stage, at=entry.at,
            text=str(body.get("reading", "")), instrument=str(body.get("instrument", "")),
            tool=str(body.get("tool", "")), target=aim.target if aim else None,
        )  # fmt: skip
        if not dimension.of_kind.thread:
            low, high, text, repeats, between = self._figures(body, dimension, unit, str(piece))
            reading = replace(reading, low=low, high=high, text=text, repeats=repeats, between=between)
        self.readings.append(reading)

    def _figures(
        self, body: Mapping[str, Any], dimension: Dimension, unit: str, thing: str
    ) -> tuple[float, float, str, int, bool]:
        """Low, high, text, repeats, and whether it lies between a plug that goes and one that stops."""
        if "goes" in body or "stops" in body:
            if not ("goes" in body and "stops" in body):
                raise Refused(
                    thing, got=dict(body), reason="a plug that goes needs one that stops, and the reverse",
                    way_out="give both, or the nearest plug you have on the other side",
                )  # fmt: skip
            goes, stops = (self._value(body[key], dimension, unit, f"{thing} {key}") for key in ("goes", "stops"))
            inside = dimension.of_kind.approach == "from below"
            if (goes >= stops) if inside else (goes <= stops):
                raise Refused(
                    thing, got=f"goes {body['goes']}, stops {body['stops']}",
                    reason="in a hole the smaller plug goes; on a shaft the larger ring goes",
                    way_out="are the two the wrong way round?",
                )  # fmt: skip
            return min(goes, stops), max(goes, stops), f"goes {body['goes']}, stops {body['stops']}", 1, True
        if "repeats" in body:
            values = [self._value(each, dimension, unit, thing) for each in body["repeats"]]
            if not values:
                raise Refused(thing, got=body["repeats"], reason="there is no reading in it")
            mean = math.fsum(values) / len(values)
            return mean, mean, ", ".join(str(each) for each in body["repeats"]), len(values), False
        if "spots" in body:
            values = [self._value(each, dimension, unit, thing) for each in body["spots"]]
            if not values:
                raise Refused(thing, got=body["spots"], reason="there is no reading in it")
            return min(values), max(values), " / ".join(str(each) for each in body["spots"]), 1, False
        value = self._value(body["reading"], dimension, unit, thing)
        return value, value, str(body["reading"]), 1, False

    def _unit_of(self, instrument: str) -> str:
        found = self.shop.instruments.get(instrument)
        return found.unit if found else "mm"

    def _move(self, entry: Recorded) -> None:
        body = entry.body
        if "part" in body:
            body = {"piece": f"{body['part']}#{body['mark']}", "place": body.get("place", "")}
        seat = self._piece(body)
        place = str(body.get("place", ""))
        part = self.design.parts[seat.part]
        if place == "scrap":
            self._to_scrap(seat, str(body.get("why", "")))
            return
        if place and place not in part.places:
            raise Unknown(f"place of {part.name}", got=place, near=near(place, part.places))
        held = self.pieces[seat.seat]
        self._leave(held)
        if place:
            sitting = self.pieces.get(f"{part.name}#{self.seated[f'{part.name}@{place}']}")
            if sitting is not None and sitting.seat != seat.seat:
                self.pieces[sitting.seat] = Piece(sitting.part, sitting.mark)
                if sitting.seat not in self.named:
                    del self.pieces[sitting.seat]
            self.seated[f"{part.name}@{place}"] = seat.mark
        self.pieces[seat.seat] = Piece(seat.part, seat.mark, place)

    def _leave(self, piece: Piece) -> None:
        """An empty place is filled by a piece yet to be made; its mark is the place, or the place with a number."""
        if not piece.place:
            return
        mark, count = piece.place, 1
        while mark == piece.mark or f"{piece.part}#{mark}" in self.pieces:
            count += 1
            mark = f"{piece.place}_{count}"
        self.pieces[f"{piece.part}#{mark}"] = Piece(piece.part, mark, piece.place)
        self.seated[f"{piece.part}@{piece.place}"] = mark

    def _scrap(self, entry: Recorded) -> None:
        self._to_scrap(self._piece(entry.body), str(entry.body.get("why", "")))

    def _to_scrap(self, seat: Address, why: str) -> None:
        self._leave(self.pieces[seat.seat])
        self.pieces[seat.seat] = Piece(seat.part, seat.mark, scrapped=True, why=why)

    def build(self, tables: Mapping[str, Any], last: int) -> Build:
        return Build(
            design=self.design, shop=self.shop, chosen=self.chosen, aimed=tuple(self.aimed),
            readings=tuple(self.readings), pieces=self.pieces, seated=self.seated, remarks=tuple(self.remarks),
            tables=tables, journal=tuple(self.kept), last_entry=last, named=frozenset(self.named),
        )  # fmt: skip
