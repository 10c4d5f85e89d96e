"""Shape of a plate: its outline with holes where it stands upright, a bar seen edge-on where it does not."""

from __future__ import annotations

from dataclasses import dataclass

from asmade.book.forms.measures import Corner, Measure, Sizes
from asmade.book.forms.plate import KIND, Plate
from asmade.measure.errors import Refused
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.paths import Path, Rounded, ring, rounded, slot
from asmade.reckon.shapes.pieces import Disc, Polygon, rectangle

__all__ = ["KIND", "Face", "face", "shape"]


@dataclass(frozen=True, slots=True)
class Cut:
    """A slot as it is cut: its ends' middles, its width, the radius of its middle line (None: straight)."""

    name: str
    x1: float
    y1: float
    x2: float
    y2: float
    width: float
    radius: float | None

    def path(self, less_mm: float = 0.0) -> Path:
        """Its edge, or that of a slot narrower by ``less_mm`` all round."""
        return slot(self.x1, self.y1, self.x2, self.y2, self.width - 2 * less_mm, self.radius)


@dataclass(frozen=True, slots=True)
class Face:
    """The face of a plate at given sizes: corners with radii, holes, openings, slots, marks, mm."""

    corners: tuple[Rounded, ...]
    holes: tuple[tuple[str, Disc], ...]
    openings: tuple[tuple[str, tuple[Rounded, ...]], ...]
    slots: tuple[Cut, ...]
    marks: tuple[tuple[str, float | None, float | None], ...]


def face(form: Plate, sizes: Sizes) -> Face:
    """The face of a plate; refuses sizes that are lacking or cannot be."""
    taken = Taken(form.part, sizes)
    if form.corners:
        corners = _corners(taken, form.corners, "outline")
    else:
        length, height = taken.size(form.length, "length"), taken.size(form.height, "height")
        corners = (Rounded(0.0, 0.0), Rounded(length, 0.0), Rounded(length, height), Rounded(0.0, height))
    slots = tuple(
        Cut(
            each.name, taken.any(each.first[0], each.name), taken.any(each.first[1], each.name),
            taken.any(each.second[0], each.name), taken.any(each.second[1], each.name),
            taken.size(each.width, f"width of {each.name}"),
            None if each.radius is None else taken.size(each.radius, f"radius of {each.name}"),
        )
        for each in form.slots
    )  # fmt: skip
    return Face(
        corners, tuple((each.name, _hole(taken, form, at)) for at, each in enumerate(form.holes)),
        tuple((each.name, _corners(taken, each.corners, each.name)) for each in form.openings), slots,
        tuple(
            (each.name, _maybe(taken, each.x, each.name), _maybe(taken, each.y, each.name)) for each in form.marks
        ),
    )  # fmt: skip


def _maybe(taken: Taken, measure: Measure | None, what: str) -> float | None:
    return None if measure is None else taken.any(measure, what)


def _corners(taken: Taken, corners: tuple[Corner, ...], what: str) -> tuple[Rounded, ...]:
    found = []
    for each in corners:
        radius = 0.0 if each.radius is None else taken.any(each.radius, f"radius of a corner of {what}")
        if radius < 0:
            raise Refused(f"radius of a corner of {what} in {taken.part}", got=radius, reason="it is less than 0",
                          way_out="write it without a sign; 0 is a sharp corner")  # fmt: skip
        found.append(Rounded(taken.any(each.x, f"corner of {what}"), taken.any(each.y, f"corner of {what}"), radius))
    return tuple(found)


def shape(form: Plate, sizes: Sizes) -> Shape:
    """Upright: outline as drawn, from 0 outward. Flat and across: seen edge-on, as long and wide as it is."""
    taken = Taken(form.part, sizes)
    thick = taken.size(form.thickness, "thickness")
    seen = face(form, sizes)
    outline = ring(rounded(seen.corners, f"outline of {form.part}"))
    Polygon(outline, name=f"outline of {form.part}")  # one that crosses itself is refused before what is in it
    cuts = [ring(rounded(corners, name)) for name, corners in seen.openings]
    cuts += [ring(each.path()) for each in seen.slots]
    solid = Polygon(
        outline, (*(disc.ring() for _, disc in seen.holes), *cuts), name=f"outline of {form.part}"
    )  # refuses what reaches over the edge, and what runs into one another
    area = Polygon(outline).area_mm2 - sum(disc.area_mm2 for _, disc in seen.holes)
    area -= sum(Polygon(cut).area_mm2 for cut in cuts)
    volume = area * thick
    if form.lies == "upright":
        return Shape(form.part, (Layer("plate", (solid,), 0.0, thick),), volume)
    (u_low, v_low), (u_high, v_high) = outline.min(axis=0), outline.max(axis=0)
    if form.lies == "flat":
        edge = rectangle(float(u_low), 0.0, float(u_high), thick, form.part)
        return Shape(form.part, (Layer("plate", (edge,), float(v_low), float(v_high)),), volume)
    edge = rectangle(0.0, float(v_low), thick, float(v_high), form.part)
    return Shape(form.part, (Layer("plate", (edge,), float(u_low), float(u_high)),), volume)


def _hole(taken: Taken, form: Plate, at: int) -> Disc:
    hole = form.holes[at]
    x, y = taken.any(hole.x, f"{hole.name}, x"), taken.any(hole.y, f"{hole.name}, y")
    radius = taken.size(hole.diameter, f"diameter of {hole.name}") / 2
    return Disc(x, y, radius)
