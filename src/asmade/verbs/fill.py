"""fill: the drawn sizes of a book entered many at a time, part by part, and how complete they are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from asmade.book.address import is_name, is_place
from asmade.book.kinds import KINDS
from asmade.book.model import Build, Dimension, Part
from asmade.book.sizes import check_written
from asmade.book.text import Draft
from asmade.measure.errors import AsmadeError, Contradiction, Refused, Unknown, near
from asmade.verbs.store import Path_, Saved, read, save

NO_SHEET: Final = ""


@dataclass(frozen=True, slots=True)
class ToFill:
    """One dimension of a part: as drawn, how that is read (or why it cannot be), and whether a sum supplies it."""

    address: str
    dimension: Dimension
    how: str
    fault: str
    computed: bool

    @property
    def open(self) -> bool:
        """Whether it is still to be filled in."""
        return not self.dimension.drawn and not self.computed


@dataclass(frozen=True, slots=True)
class PartToFill:
    """One part with its dimensions, and how many of those that the drawing must give it gives."""

    part: Part
    sizes: tuple[ToFill, ...]

    @property
    def wanted(self) -> int:
        """How many dimensions the drawing must give."""
        return sum(not each.computed for each in self.sizes)

    @property
    def drawn(self) -> int:
        """How many of them it gives."""
        return sum(not each.computed and bool(each.dimension.drawn) for each in self.sizes)


@dataclass(frozen=True, slots=True)
class Filled:
    """How each size was read, or why it was refused. If one was refused nothing is saved; nor if nothing is new."""

    read: Mapping[str, str]
    refused: Mapping[str, AsmadeError]
    saved: Saved | None


def computed_in(build: Build) -> frozenset[str]:
    """Dimensions (``wheelset.quarter``) that a formula of the book gives: no drawing need state them."""
    given = (relation.text("gives") for relation in build.design.of_kind("formula"))
    return frozenset(text.partition("@")[0] + "." + text.partition(".")[2] for text in given)


def to_fill(build: Build) -> tuple[PartToFill, ...]:
    """Every part with its dimensions, in the order of the book."""
    computed, unit = computed_in(build), build.design.drawing_unit
    return tuple(
        PartToFill(part, tuple(_one(part, each, unit, computed) for each in part.dims.values()))
        for part in build.design.parts.values()
    )


def _one(part: Part, dimension: Dimension, unit: str, computed: frozenset[str]) -> ToFill:
    address = f"{part.name}.{dimension.name}"
    how = fault = ""
    try:
        how = check_written(dimension.drawn, dimension, unit, address)
    except AsmadeError as refused:
        fault = refused.message
    return ToFill(address, dimension, how, fault, address in computed)


def read_as(build: Build, address: str, text: str) -> str:
    """How a drawn size would be read: ``1 3/16 in = 30.1625 mm``; empty for nothing; raises what saving it would."""
    return check_written(text, _dimension(build, address), build.design.drawing_unit, address)


def _dimension(build: Build, address: str) -> Dimension:
    name, _, dim = address.partition(".")
    part = build.design.parts.get(name)
    if part is None:
        raise Unknown("part", got=name, near=near(name, build.design.parts))
    if dim not in part.dims:
        raise Unknown(f"dimension of {name}", got=dim, near=near(dim, part.dims))
    return part.dims[dim]


def fill(path: Path_, sizes: Mapping[str, str], *, reference: str = "", key: str = "") -> Filled:
    """Enter drawn sizes (``wheel.bore``: ``5/8``); those that stand so already are passed over.

    ``reference`` is the sheet or view that those which are new or changed are from. All are saved, or none.
    """
    opened = read(path)
    how: dict[str, str] = {}
    refused: dict[str, AsmadeError] = {}
    drafts = []
    for address, text in sizes.items():
        try:
            held = _dimension(opened.build, address)
            how[address] = read_as(opened.build, address, text)
        except AsmadeError as fault:
            refused[address] = fault
            continue
        if text != held.drawn:
            drafts.append(
                Draft("drawn", {"of": address, "drawn": text} | ({"reference": reference} if reference else {}))
            )
    saved = save(opened, drafts, key=key) if drafts and not refused else None
    return Filled(how, refused, saved)


def add_dimension(path: Path_, part: str, name: str, kind: str, text: str = "", *, reference: str = "") -> Saved:
    """Add a dimension that the part does not have yet."""
    opened = read(path)
    found = opened.build.design.parts.get(part)
    if found is None:
        raise Unknown("part", got=part, near=near(part, opened.build.design.parts))
    dim = _plain(name)
    if not dim or not all(is_place(each) for each in dim.split(".")):
        raise Refused("dimension", got=name, reason="a name is letters, digits and underscores", way_out="boss_width")
    if dim in found.dims:
        raise Contradiction(f"{part} has a {dim} already", way_out="enter its size above")
    if kind not in KINDS:
        raise Unknown("kind", got=kind, near=near(kind, KINDS), way_out=f"one of: {', '.join(KINDS)}")
    check_written(text, Dimension(dim, kind), opened.build.design.drawing_unit, f"{part}.{dim}")
    table: dict[str, object] = {"kind": kind}
    table |= {k: v for k, v in (("drawn", text), ("reference", reference)) if v}
    for step in reversed(dim.split(".")):
        table = {step: table}
    return save(opened, [Draft("design", {"set": {"part": {part: {"dim": table}}}})])


def add_part(path: Path_, name: str, *, places: str = "", material: str = "", reference: str = "") -> Saved:
    """Add a part to the book; ``places`` are where its pieces sit, with blanks between them (``1L 1R``)."""
    opened = read(path)
    called = _plain(name)
    if not is_name(called):
        raise Refused("part", got=name, reason="a name has letters, digits and underscores and starts with a letter",
                      way_out="frame_stay")  # fmt: skip
    if called in opened.build.design.parts:
        raise Contradiction(f"there is a part {called} already", way_out="choose another name, or open that one")
    table = {"places": places.replace(",", " ").split() or ["engine"]}
    said = {k: v for k, v in (("material", material), ("reference", reference)) if v}
    return save(opened, [Draft("design", {"set": {"part": {called: table | said}}})])


def say_of_part(path: Path_, name: str, *, material: str = "", reference: str = "") -> Saved | None:
    """Say a part's material and sheet; what is left empty stays as it is."""
    opened = read(path)
    part = opened.build.design.parts.get(name)
    if part is None:
        raise Unknown("part", got=name, near=near(name, opened.build.design.parts))
    said = {k: v for k, v in (("material", material), ("reference", reference)) if v and v != getattr(part, k)}
    return save(opened, [Draft("design", {"set": {"part": {name: said}}})]) if said else None


def _plain(name: str) -> str:
    """A name as a book has it: ``Boss width`` is ``boss_width``."""
    return "_".join(name.replace("-", " ").split()).lower()
