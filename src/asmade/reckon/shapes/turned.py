"""Shape of a turned part: discs in layers if it lies across the engine, its profile if it lies along or stands."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from asmade.book.forms.measures import Sizes
from asmade.book.forms.turned import KIND, Section, Turned
from asmade.measure.errors import OutOfRange, Refused
from asmade.reckon.shapes.body import Layer, Shape, Taken
from asmade.reckon.shapes.pieces import Disc, Piece, Polygon, arc

__all__ = ["KIND", "shape"]


def shape(form: Turned, sizes: Sizes) -> Shape:
    """Layers from the left end (inwards) for an axis across; one layer about the axis for an axis along or up.

    Seen along, a round part counts as wide across as its greatest diameter all over: the safe side for a gap.
    Volume leaves chamfers and thread grooves out of account (a thread counts full to its diameter).
    """
    taken = Taken(form.part, sizes)
    lengths = [taken.size(each.length, f"length of {each.name}") for each in form.sections]
    volume = sum(_area(taken, each) * length for each, length in zip(form.sections, lengths, strict=True))
    volume -= _undercuts(taken, form)
    volume -= _holes(taken, form, sum(lengths))
    if volume <= 0:
        raise OutOfRange(f"shape of {form.part}: volume", got=volume, allowed="more than 0 mm3",
                         way_out="a bore is larger than what it goes into: check both")  # fmt: skip
    if form.axis == "across":
        return Shape(form.part, _across(taken, form, lengths), volume)
    return Shape(form.part, (_along(taken, form, lengths),), volume)


def _reach(taken: Taken, section: Section) -> float:
    """Half of its greatest width."""
    match section.shape:
        case "hexagon":
            return taken.size(section.across_flats, f"{section.name} across flats") / math.sqrt(3)
        case "square":
            return taken.size(section.across_flats, f"{section.name} across flats") / math.sqrt(2)
        case _:
            return taken.size(section.diameter, f"diameter of {section.name}") / 2


def _area(taken: Taken, section: Section) -> float:
    match section.shape:
        case "hexagon":  # sqrt(3)/2 x across flats squared
            return math.sqrt(3) / 2 * taken.size(section.across_flats, f"{section.name} across flats") ** 2
        case "square":
            return taken.size(section.across_flats, f"{section.name} across flats") ** 2
        case "two flats":
            radius, half = _two_flats(taken, section)
            gone = radius**2 * math.acos(half / radius) - half * math.sqrt(radius**2 - half**2)
            return math.pi * radius**2 - 2 * gone
        case _:
            return math.pi * _reach(taken, section) ** 2


def _two_flats(taken: Taken, section: Section) -> tuple[float, float]:
    radius, half = _reach(taken, section), taken.size(section.across_flats, f"{section.name} across flats") / 2
    if half >= radius:
        raise OutOfRange(
            f"{section.name} across flats", got=2 * half, allowed=f"less than its diameter {2 * radius:g} mm"
        )
    return radius, half


def _undercuts(taken: Taken, form: Turned) -> float:
    gone = 0.0
    for section in form.sections:
        length, reach = taken.size(section.length, f"length of {section.name}"), _inscribed(taken, section)
        _chamfers(taken, section, length, reach)
        for what, cut in (("undercut", section.undercut), ("groove", section.groove)):
            if cut is None:
                continue
            width = taken.size(cut.width, f"{what} of {section.name}, width")
            radius = taken.size(cut.diameter, f"{what} of {section.name}, diameter") / 2
            if width >= length or radius >= reach:
                raise OutOfRange(
                    f"{what} of {section.name} in {form.part}", got=f"{width:g} wide, {2 * radius:g} in diameter",
                    allowed=f"narrower than {length:g} mm and smaller than {2 * reach:g} mm",
                    way_out="check both against the section it is cut into",
                )  # fmt: skip
            gone += (_area(taken, section) - math.pi * radius**2) * width
    return gone


def _chamfers(taken: Taken, section: Section, length: float, reach: float) -> None:
    """Refuse chamfers that meet, or go down to the axis."""
    sizes = [
        0.0 if each is None else taken.size(each, f"chamfer of {section.name}")
        for each in (section.chamfer_left, section.chamfer_right)
    ]
    if sum(sizes) > length or max(sizes) >= reach:
        raise OutOfRange(
            f"chamfers of {section.name} in {taken.part}", got=" and ".join(f"{each:g} mm" for each in sizes),
            allowed=f"together up to its length {length:g} mm, each less than half its width {reach:g} mm",
        )  # fmt: skip


def _inscribed(taken: Taken, section: Section) -> float:
    """Half of its least width: what a hole in it must stay under."""
    if section.shape == "round":
        return _reach(taken, section)
    return taken.size(section.across_flats, f"{section.name} across flats") / 2


def _holes(taken: Taken, form: Turned, whole: float) -> float:
    """Volume of all holes along the axis, counted once where they run into one another, and of the cross holes."""
    spans: list[tuple[float, float, float, str]] = []
    for hole in form.end_holes:
        radius = taken.size(hole.diameter, f"diameter of {hole.name}") / 2
        depth = whole if hole.depth is None else taken.size(hole.depth, f"depth of {hole.name}")
        if depth > whole + 1e-9:
            raise OutOfRange(
                f"depth of {hole.name} in {form.part}", got=depth, allowed=f"up to its length {whole:g} mm",
                way_out="a hole right through has no depth",
            )  # fmt: skip
        start, end = (0.0, depth) if hole.end == "left" else (whole - depth, whole)
        _walls(taken, form, (start, end), radius, hole.name)
        spans.append((start, end, radius, hole.name))
    _meeting(form, whole, spans)
    marks = sorted({place for start, end, _, _ in spans for place in (start, end)})
    gone = 0.0
    for one, two in pairwise(marks):
        middle = (one + two) / 2
        gone += math.pi * max((r for a, b, r, _ in spans if a < middle < b), default=0.0) ** 2 * (two - one)
    for cross in form.cross_holes:
        radius = taken.size(cross.diameter, f"diameter of {cross.name}") / 2
        at = taken.any(cross.from_left, f"{cross.name} from the left end")
        outside = _radius_at(taken, form, at)
        if radius >= outside or not radius <= at <= whole - radius:
            raise OutOfRange(
                f"cross hole {cross.name} of {form.part}", got=f"{2 * radius:g} mm at {at:g} mm from the left end",
                allowed=f"smaller than {2 * outside:g} mm, and inside its ends (0 and {whole:g} mm)",
                way_out="check its diameter and where it is",
            )  # fmt: skip
        gone += math.pi * radius**2 * 2 * outside
    return gone


def _walls(taken: Taken, form: Turned, span: tuple[float, float], radius: float, name: str) -> None:
    """Refuse a hole that is not smaller than every section it goes into."""
    at = 0.0
    for section in form.sections:
        start, at = at, at + taken.size(section.length, f"length of {section.name}")
        inner = _inscribed(taken, section)
        for cut in (section.undercut, section.groove):
            if cut is not None:
                inner = min(inner, taken.size(cut.diameter, f"undercut of {section.name}, diameter") / 2)
        if min(at, span[1]) - max(start, span[0]) > 1e-9 and radius >= inner:
            raise OutOfRange(
                f"{name} of {form.part}", got=f"{2 * radius:.2f} mm",
                allowed=f"smaller than {section.name}, which is {2 * inner:.2f} mm there",
                way_out="a bore is larger than what it goes into: check both",
            )  # fmt: skip


def _meeting(form: Turned, whole: float, spans: list[tuple[float, float, float, str]]) -> None:
    """Refuse blind holes from both ends that run into one another."""
    left = [each for each in spans if each[0] <= 0 and each[1] < whole - 1e-9]
    right = [each for each in spans if each[0] > 0]
    for one in left:
        for two in right:
            if one[1] > two[0] + 1e-9:
                raise Refused(
                    f"holes of {form.part}", got=f"{one[3]} and {two[3]}",
                    reason=f"from both ends they run into one another by {one[1] - two[0]:g} mm",
                    way_out="let one go right through (no depth), or make them less deep",
                )  # fmt: skip


def _radius_at(taken: Taken, form: Turned, at: float) -> float:
    end = 0.0
    for section in form.sections:
        end += taken.size(section.length, f"length of {section.name}")
        if 0 <= at <= end:
            return _reach(taken, section)
    raise OutOfRange(f"cross hole of {form.part} from the left end", got=at, allowed=f"0 to {end:g} mm")


def _piece(taken: Taken, section: Section) -> Piece:
    reach = _reach(taken, section)
    if section.shape == "round":
        return Disc(0.0, 0.0, reach)
    if section.shape == "two flats":
        radius, half = _two_flats(taken, section)
        edge = math.asin(half / radius)
        right = arc(0.0, 0.0, radius, -edge, edge)
        left = arc(0.0, 0.0, radius, math.pi - edge, math.pi + edge)
        return Polygon(np.concatenate([right, left]), name=section.name)
    corners = 6 if section.shape == "hexagon" else 4
    angles = np.arange(corners) * 2 * math.pi / corners
    return Polygon(reach * np.stack([np.cos(angles), np.sin(angles)], axis=1), name=section.name)


def _across(taken: Taken, form: Turned, lengths: list[float]) -> tuple[Layer, ...]:
    start, found = 0.0, []
    for section, length in zip(form.sections, lengths, strict=True):
        found.append(Layer(section.name, (_piece(taken, section),), start, start + length))
        start += length
    return tuple(found)


def _along(taken: Taken, form: Turned, lengths: list[float]) -> Layer:
    """Profile from the left end at 0 forward (upward for an upright axis)."""
    reaches = [_reach(taken, section) for section in form.sections]
    start, pieces = 0.0, []
    for section, length, reach in zip(form.sections, lengths, reaches, strict=True):
        corners = np.array(
            [(start, -reach), (start + length, -reach), (start + length, reach), (start, reach)], dtype=np.float64
        )
        pieces.append(Polygon(corners[:, ::-1] if form.axis == "up" else corners, name=section.name))
        start += length
    return Layer("profile", tuple(pieces), -max(reaches), max(reaches))
