"""lists: the cutting list and the buying list as rows that go into any file: .csv, .xlsx, a page of paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from asmade.verbs.cutlist import Bought, CutListResult, Group

Cell = str | float | None


@dataclass(frozen=True, slots=True)
class Listing:
    """Rows under headings. ``notes`` stand below; a figure is a number, None is not known."""

    name: str
    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    notes: tuple[str, ...]


def cutting(result: CutListResult) -> Listing:
    """One row for each bar and each kind of blank cut from it, in the order of cutting; sheet behind it."""
    rows = [row for group in result.groups for row in _bars(group)]
    rows += [
        (s.section.material, f"sheet {s.section.thickness_mm:g} mm", "; ".join(s.in_rack) or "to buy", s.count,
         s.blank.part, s.blank.length_mm, s.blank.size_mm, None, "")
        for s in result.sheets
    ]  # fmt: skip
    headings = ("material", "section", "bar", "pieces", "part", "length mm", "width mm", "left mm", "off-cut")
    return Listing("cutting", "Cutting list", headings, tuple(rows), (*_group_notes(result), *_no_blank(result)))


def _bars(group: Group) -> Iterator[tuple[Cell, ...]]:
    about = (group.section.material, group.section.words)
    for cut in group.plan.bars:
        pieces = Counter(cut.pieces)
        for at, ((name, length), count) in enumerate(pieces.items(), start=1):
            last = at == len(pieces)
            kept = ("keep" if cut.kept else "scrap") if last else ""
            yield (*about, cut.bar.name, count, name, length, None, cut.rest_mm if last else None, kept)
    for (name, length), count in Counter(group.plan.missing).items():
        yield (*about, "NO BAR", count, name, length, None, None, "")


def buying(result: CutListResult) -> Listing:
    """One row for each thing to buy, by material and size, with its mass where the density is known."""
    rows = tuple(
        (line.section.material, words_of(line), line.count, line.length_mm, line.mass_kg, ", ".join(line.for_parts))
        for line in result.buy
    )
    headings = ("material", "what", "count", "length mm", "mass kg", "for")
    return Listing("buying", "Buying list", headings, rows, (*_group_notes(result), *_no_blank(result)))


def words_of(line: Bought) -> str:
    """What is asked for at the counter."""
    section = line.section
    if section.shape in ("casting", "bought in"):
        return section.shape
    return section.words if section.size_mm or section.thickness_mm is None else (
        f"sheet {section.thickness_mm:g} mm, {line.what}"
    )  # fmt: skip


def _group_notes(result: CutListResult) -> tuple[str, ...]:
    return tuple(dict.fromkeys(note for group in result.groups for note in group.notes))


def _no_blank(result: CutListResult) -> tuple[str, ...]:
    alike: dict[str, list[str]] = {}
    for nothing in result.no_blank:
        alike.setdefault(nothing.reason, []).append(nothing.part)
    return tuple(f"no blank known for {', '.join(parts)}: {reason}" for reason, parts in alike.items())
