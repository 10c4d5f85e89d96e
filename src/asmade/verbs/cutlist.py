"""cutlist and buy: the pieces still to make, what they are cut from, how the bars are cut, and what must be bought."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any, Final

from asmade.book.address import Address
from asmade.book.model import Build, Part
from asmade.measure.errors import Refused
from asmade.measure.lengths import read_length
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import compute
from asmade.standards.tables import load, number
from asmade.verbs.store import Path_, read_build
from asmade.work.blanks import Allowances, Blank, NoBlank, blank_of
from asmade.work.cutlist import KEEP_MM, KERF_MM, Bar, CutPlan, Wanted, cutting_list
from asmade.work.rack import Rack, Section

CUT_TO_LENGTH_MM: Final = 25.0
"""Sections from here on are often sold cut to length: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Group:
    """All that is cut from one section: the blanks, and how the bars are cut."""

    section: Section
    blanks: tuple[tuple[Blank, int], ...]
    plan: CutPlan
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SheetPieces:
    """Blanks of one part out of sheet; how they lie on a sheet is not worked out here."""

    section: Section
    blank: Blank
    count: int
    in_rack: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bought:
    """A line to buy: bars of one length, sheet for a part, a casting, or something bought in."""

    section: Section
    what: str
    count: int
    length_mm: float | None
    mass_kg: float | None
    for_parts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CutListResult:
    """The cutting list and the buying list of a book."""

    groups: tuple[Group, ...]
    sheets: tuple[SheetPieces, ...]
    buy: tuple[Bought, ...]
    no_blank: tuple[NoBlank, ...]
    pieces: int
    made: int

    @property
    def mass_kg(self) -> float:
        """Mass of what is to be bought, as far as it is known."""
        return math.fsum(line.mass_kg for line in self.buy if line.mass_kg is not None)

    @property
    def short(self) -> bool:
        """Whether some piece goes on no bar that there is or that is sold."""
        return any(group.plan.missing for group in self.groups)


@dataclass(frozen=True, slots=True)
class Asked:
    """How it is cut: saw cut, what to face and hold, off-cuts worth keeping, lengths sold, whether the rack counts."""

    kerf_mm: float = KERF_MM
    keep_mm: float = KEEP_MM
    allow: Allowances = field(default_factory=Allowances)
    lengths_mm: tuple[float, ...] = ()
    use_rack: bool = True
    only: str = ""
    time_limit_s: float = 5.0


def cutlist(path: Path_, asked: Asked | None = None) -> CutListResult:
    """The cutting list and the buying list of the pieces of a book that are still to make."""
    return cutlist_of(read_build(path), asked or Asked())


def read_asked(
    *, kerf: str = "", facing: str = "", chucking: str = "", turning: str = "", keep: str = "", lengths: str = "",
    no_rack: bool = False, only: str = "",
) -> Asked:  # fmt: skip
    """Read what was typed; lengths parted by commas. An allowance may be nothing."""
    usual = Allowances()

    def mm(text: str, thing: str, otherwise: float) -> float:
        if not text:
            return otherwise
        return 0.0 if text.strip() in ("0", "0 mm") else float(read_length(text, unit="mm", thing=thing).mm)

    sold = tuple(mm(part, "length to buy", 0.0) for part in lengths.split(",") if part.strip())
    if lengths and (not sold or min(sold) <= 0):
        raise Refused("lengths to buy", got=lengths, reason="they are lengths above 0, parted by commas",
                      way_out="--lengths '330 mm, 1000 mm'")  # fmt: skip
    return Asked(
        mm(kerf, "saw cut", KERF_MM), mm(keep, "off-cut worth keeping", KEEP_MM),
        Allowances(
            mm(facing, "facing", usual.facing_each_end_mm), mm(chucking, "to hold", usual.chucking_mm),
            mm(turning, "turning", usual.turning_on_diameter_mm), usual.milling_each_face_mm,
        ),
        sold, not no_rack, only,
    )  # fmt: skip


def cutlist_of(build: Build, asked: Asked) -> CutListResult:
    """The cutting list of a build."""
    blanks, nothing, pieces, made = _blanks(build, asked)
    rack = Rack(build.shop.stock if asked.use_rack else (), build.shop.buys)
    bars: dict[Section, list[tuple[Blank, int]]] = {}
    sheets, bought = [], []
    for blank, count in blanks:
        if blank.shape in ("casting", "bought in"):
            section = Section(blank.material, blank.shape, 0.0)
            bought.append(Bought(section, blank.shape, count, None, None, (blank.part,)))
            continue
        section = rack.section_for(blank)
        if blank.shape == "sheet":
            sheets.append(SheetPieces(section, blank, count, rack.sheets(section)))
        else:
            bars.setdefault(section, []).append((blank, count))
    groups = tuple(_group(section, bars[section], rack, asked) for section in sorted(bars, key=_order))
    for group in groups:
        bought += _to_buy(group)
    bought += [
        Bought(s.section, f"piece {s.blank.length_mm:g} x {s.blank.size_mm:g} mm", s.count, s.blank.length_mm,
               _times(Section(s.section.material, "sheet", s.blank.size_mm, s.section.thickness_mm)
                      .mass_kg(s.blank.length_mm), s.count), (s.blank.part,))
        for s in sheets if not s.in_rack
    ]  # fmt: skip
    return CutListResult(
        groups, tuple(sorted(sheets, key=lambda s: _order(s.section))),
        tuple(sorted(bought, key=lambda b: (_order(b.section), b.length_mm or 0.0))), tuple(nothing), pieces, made,
    )  # fmt: skip


def _order(section: Section) -> tuple[str, str, float, float]:
    return section.material, section.shape, section.size_mm, section.thickness_mm or 0.0


def _times(mass: float | None, count: int) -> float | None:
    return None if mass is None else mass * count


def _blanks(build: Build, asked: Asked) -> tuple[list[tuple[Blank, int]], list[NoBlank], int, int]:
    """Blanks with how many of each, for every piece that nothing was measured on yet; parts that have none."""
    values = compute(build)
    touched = {reading.piece.seat for reading in build.readings}
    found: dict[Blank, int] = {}
    nothing: dict[str, NoBlank] = {}
    pieces = made = 0
    for part in _parts(build, asked.only):
        for place in part.places:
            pieces += 1
            if build.piece_at(Address(part.name, place)).seat in touched or f"{part.name}@{place}" in touched:
                made += 1
                continue
            blank = blank_of(part, seat_sizes(values, part.name, place), asked.allow)
            if isinstance(blank, NoBlank):
                nothing.setdefault(part.name, blank)
            else:
                found[blank] = found.get(blank, 0) + 1
    return (
        [(blank, math.ceil(count / blank.pieces)) for blank, count in found.items()],
        [*nothing.values()],
        pieces,
        made,
    )


def _parts(build: Build, only: str) -> Iterable[Part]:
    parts = build.design.parts
    if only and only not in parts:
        from asmade.measure.errors import Unknown, near  # noqa: PLC0415

        raise Unknown("part", got=only, near=near(only, parts), way_out="name a part of the book")
    return [p for name, p in parts.items() if not p.assembled_from and only in ("", name)]


def _group(section: Section, blanks: list[tuple[Blank, int]], rack: Rack, asked: Asked) -> Group:
    have, notes = rack.bars(section)
    sold = asked.lengths_mm or _sold_lengths(section.shape)
    wanted = [Wanted(_named(blank), blank.length_mm, count) for blank, count in blanks]
    plan = cutting_list(
        wanted, [*have, *(Bar(f"buy {length:g} mm", length) for length in sold)], kerf_mm=asked.kerf_mm,
        keep_mm=asked.keep_mm, time_limit_s=asked.time_limit_s,
    )  # fmt: skip
    notes += rack.doubts(section, plan)
    notes += [
        f"{blank.part}: {100 * blank.left_share:.0f} % of the metal is left: think of tube or a casting, and say "
        f'blank = {{ shape = "bought in" }} in its form'
        for blank, _ in blanks
        if blank.left_share is not None and blank.left_share < 0.3 and blank.size_mm >= 30
    ]
    would_do = plan.pieces_mm + plan.kerf_mm * sum(len(bar.pieces) for bar in plan.bars if bar.bar.to_buy)
    if section.size_mm >= CUT_TO_LENGTH_MM and plan.bought_mm > 2 * would_do and not plan.opened_mm:
        notes.append(f"{section.words}: a piece of {math.ceil(would_do)} mm would do, if the dealer cuts to length")
    if plan.missing:
        longest = max(length for _, length in plan.missing)
        notes.append(f"no bar that is sold is long enough: give --lengths with one of at least {longest:g} mm")
    return Group(section, tuple(blanks), plan, tuple(notes))


def _named(blank: Blank) -> str:
    return blank.part if blank.pieces == 1 else f"{blank.part} ({blank.pieces} from one)"


def _sold_lengths(shape: str) -> tuple[float, ...]:
    return tuple(number(row["length"]) for row in load("stock_lengths", "asmade.work").rows if row["shape"] == shape)


def _to_buy(group: Group) -> list[Bought]:
    parts = {bar.bar: tuple(dict.fromkeys(name for name, _ in bar.pieces)) for bar in group.plan.bars}
    for bar in group.plan.bars:
        parts[bar.bar] = tuple(dict.fromkeys((*parts[bar.bar], *(name for name, _ in bar.pieces))))
    return [
        Bought(group.section, group.section.words, count, bar.length_mm,
               _times(group.section.mass_kg(bar.length_mm), count), parts[bar])
        for bar, count in group.plan.buy
    ]  # fmt: skip


def plain(result: CutListResult) -> dict[str, Any]:
    """The cutting list as plain data: lengths in mm, masses in kg; None is not known."""
    return {
        "pieces": result.pieces,
        "already_begun": result.made,
        "groups": [_plain_group(group) for group in result.groups],
        "sheet": [
            {"part": s.blank.part, "count": s.count, "in_rack": list(s.in_rack), "how": s.blank.how}
            | _plain_section(s.section) | {"length_mm": s.blank.length_mm, "width_mm": s.blank.size_mm}
            for s in result.sheets
        ],
        "buy": plain_buy(result)["buy"],
        "no_blank": [{"part": n.part, "reason": n.reason, "enter": n.enter} for n in result.no_blank],
    }  # fmt: skip


def plain_buy(result: CutListResult) -> dict[str, Any]:
    """The buying list alone, with its mass."""
    masses = [line.mass_kg for line in result.buy]
    return {
        "buy": [
            _plain_section(line.section)
            | {"what": line.what, "count": line.count, "length_mm": line.length_mm, "mass_kg": _rounded(line.mass_kg),
               "for": list(line.for_parts)}
            for line in result.buy
        ],
        "mass_kg": _rounded(result.mass_kg),
        "mass_not_known": sum(mass is None for mass in masses),
        "no_blank": [{"part": n.part, "reason": n.reason, "enter": n.enter} for n in result.no_blank],
    }  # fmt: skip


def _rounded(mass: float | None) -> float | None:
    return None if mass is None else round(mass, 4)


def _plain_section(section: Section) -> dict[str, Any]:
    return {"material": section.material, "shape": section.shape, "size_mm": section.size_mm or None,
            "thickness_mm": section.thickness_mm}  # fmt: skip


def _plain_group(group: Group) -> dict[str, Any]:
    plan = group.plan
    return _plain_section(group.section) | {
        "blanks": [
            {"part": b.part, "length_mm": round(b.length_mm, 3), "count": n, "how": b.how} for b, n in group.blanks
        ],
        "bars": [
            {"bar": cut.bar.name, "length_mm": cut.bar.length_mm, "to_buy": cut.bar.to_buy,
             "pieces": [{"name": name, "length_mm": round(length, 3)} for name, length in cut.pieces],
             "rest_mm": cut.rest_mm, "kept": cut.kept}
            for cut in plan.bars
        ],
        "buy": [{"length_mm": bar.length_mm, "count": count} for bar, count in plan.buy],
        "missing": [{"name": name, "length_mm": length} for name, length in plan.missing],
        "kerf_mm": plan.kerf_mm, "bought_mm": plan.bought_mm, "bought_at_least_mm": plan.bought_at_least_mm,
        "opened_mm": plan.opened_mm, "scrap_mm": round(plan.scrap_mm, 3), "proven": plan.proven,
        "gap": round(plan.gap, 6), "words": plan.words, "notes": list(group.notes),
    }  # fmt: skip
