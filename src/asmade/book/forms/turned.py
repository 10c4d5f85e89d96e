"""A turned part: sections along an axis, what goes in from either end, cross holes.

    form = { kind = "turned", sections = ["seat", "journal"], ends = { right = ["cap_thread"] }, datum = "shoulder" }

A section is named from left to right. Its diameter is ``NAME.diameter``, ``NAME.callout`` (a thread), or the
dimension ``NAME`` itself; its length ``NAME.length``, ``NAME.thickness`` or ``NAME.depth``. A part of one section may
call them plainly ``diameter``, ``outside``, ``length``, ``thickness``. A table in place of the name says otherwise:
``{ name = "head", shape = "hexagon", across_flats = "flats", length = "head.length" }``.

Of section ``seat``, ``seat.undercut.width`` and ``seat.undercut.diameter`` make an undercut against a shoulder,
``seat.groove.width`` and ``seat.groove.diameter`` a groove in its middle (a store of adhesive in a bonded seat),
``seat.chamfer_left`` and ``seat.chamfer_right`` chamfers at its ends.

``axis``: ``across`` the engine (pins, axles, bushes: assumed where not said), ``along`` it (piston rods), or ``up``.
A turned part across the engine has its left end inwards.
"""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import LENGTH_KINDS, ROUND_KINDS, Measure, Measures, listed
from asmade.book.model import Part
from asmade.book.schema import Taker

KIND = "turned"
HELP = "sections along an axis, holes from either end, cross holes"
AXES = ("across", "along", "up")
SHAPES = ("round", "hexagon", "square", "two flats")
ENDS = ("left", "right")


@dataclass(frozen=True, slots=True)
class Undercut:
    """A groove at one end of a section, against the shoulder."""

    at: str
    width: Measure
    diameter: Measure


@dataclass(frozen=True, slots=True)
class Groove:
    """A groove in the middle of a section, such as one that holds adhesive in a bonded seat."""

    width: Measure
    diameter: Measure


@dataclass(frozen=True, slots=True)
class Section:
    """One step of the part. ``across_flats`` belongs to a hexagon, a square or two flats; ``thread`` is a callout."""

    name: str
    shape: str
    diameter: Measure | None
    length: Measure | None
    across_flats: Measure | None = None
    thread: str = ""
    chamfer_left: Measure | None = None
    chamfer_right: Measure | None = None
    undercut: Undercut | None = None
    groove: Groove | None = None


@dataclass(frozen=True, slots=True)
class EndHole:
    """A hole along the axis from one end; ``depth`` None = right through; ``thread`` is a callout."""

    name: str
    end: str
    diameter: Measure | None
    depth: Measure | None
    thread: str = ""


@dataclass(frozen=True, slots=True)
class CrossHole:
    """A hole square to the axis, right through, ``from_left`` along it."""

    name: str
    diameter: Measure | None
    from_left: Measure | None


@dataclass(frozen=True, slots=True)
class Turned:
    """A turned part as a body."""

    part: str
    sections: tuple[Section, ...]
    end_holes: tuple[EndHole, ...]
    cross_holes: tuple[CrossHole, ...]
    axis: str
    datum: str
    lacks: tuple[str, ...]
    kind: str = KIND


def read(part: Part, taker: Taker) -> Turned:
    """From the form's table and the part's dimension names."""
    measures = Measures(part, taker.where)
    rows = listed(taker, "sections") or ({"name": "body"},)
    sections = tuple(_section(measures, Taker(row, f"{taker.where}.sections"), alone=len(rows) == 1) for row in rows)
    ends = Taker(taker.inner("ends"), f"{taker.where}.ends")
    holes = [_end_hole(measures, Taker(row, f"{ends.where}.{end}"), end) for end in ENDS for row in listed(ends, end)]
    ends.done()
    bore = measures.usual("bore", alike=("bore",))
    if bore is not None and not any(hole.diameter and hole.diameter.text == "bore" for hole in holes):
        holes.append(EndHole("bore", "left", bore, None))
    cross = tuple(_cross_hole(measures, Taker(row, f"{taker.where}.cross")) for row in listed(taker, "cross"))
    return Turned(
        part=part.name, sections=sections, end_holes=tuple(holes), cross_holes=cross,
        axis=taker.text("axis", "across", among=AXES), datum=taker.text("datum"), lacks=measures.lacks,
    )  # fmt: skip


def _section(measures: Measures, taker: Taker, *, alone: bool) -> Section:
    name = taker.text("name", needed=True)
    shape = taker.text("shape", "round", among=SHAPES)
    flats = None
    if shape != "round":
        flats = measures.take(taker, "across_flats", f"{name}.across_flats", "across_flats", f"{name}.flats", name)
    thread = measures.thread(f"{name}.callout", f"{name}.thread", name)
    round_names = [f"{name}.diameter", f"{name}.outside", *([thread] if thread else []), name]
    length_names = [f"{name}.length", f"{name}.thickness", f"{name}.depth", f"{name}.width", name]
    if alone:
        round_names += ["outside", "diameter"]
        length_names += ["length", "thickness", "width"]
    diameter = None
    if shape in ("round", "two flats"):
        diameter = measures.take(taker, "diameter", *round_names, alike=ROUND_KINDS)
    found = Section(
        name=name, shape=shape, diameter=diameter,
        length=measures.take(taker, "length", *length_names, alike=LENGTH_KINDS),
        across_flats=flats, thread=thread if diameter is not None and diameter.text == thread else "",
        chamfer_left=measures.take(taker, "chamfer_left", f"{name}.chamfer_left", needed=False),
        chamfer_right=measures.take(taker, "chamfer_right", f"{name}.chamfer_right", f"{name}.chamfer", needed=False),
        undercut=_undercut(measures, taker, name), groove=_groove(measures, taker, name),
    )  # fmt: skip
    taker.done()
    return found


def _undercut(measures: Measures, taker: Taker, name: str) -> Undercut | None:
    at = taker.text("undercut", "left" if measures.usual(f"{name}.undercut.width") else "", among=ENDS)
    width = measures.take(taker, "undercut_width", f"{name}.undercut.width", needed=bool(at))
    diameter = measures.take(taker, "undercut_diameter", f"{name}.undercut.diameter", needed=bool(at))
    return None if not at or width is None or diameter is None else Undercut(at, width, diameter)


def _groove(measures: Measures, taker: Taker, name: str) -> Groove | None:
    there = measures.usual(f"{name}.groove.width") is not None or "groove_width" in taker.table
    width = measures.take(taker, "groove_width", f"{name}.groove.width", needed=there)
    diameter = measures.take(taker, "groove_diameter", f"{name}.groove.diameter", needed=there)
    return None if width is None or diameter is None else Groove(width, diameter)


def _end_hole(measures: Measures, taker: Taker, end: str) -> EndHole:
    name = taker.text("name", needed=True)
    thread = measures.thread(f"{name}.callout", f"{name}.thread", name)
    usual = (thread,) if thread else (f"{name}.bore", f"{name}.diameter", name)
    found = EndHole(
        name=name, end=end, diameter=measures.take(taker, "diameter", *usual),
        depth=measures.take(taker, "depth", f"{name}.depth", needed=False), thread=thread,
    )  # fmt: skip
    taker.done()
    return found


def _cross_hole(measures: Measures, taker: Taker) -> CrossHole:
    name = taker.text("name", needed=True)
    found = CrossHole(
        name, measures.take(taker, "diameter", f"{name}.diameter", f"{name}.bore", name),
        measures.take(taker, "from_left", f"{name}.from_left", f"{name}.position"),
    )  # fmt: skip
    taker.done()
    return found
