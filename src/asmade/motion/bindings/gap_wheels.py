"""Bodies near the motion that go round: wheels, crank pins, pin caps."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.book.grammar import evaluate
from asmade.motion.bindings.gap_parts import shape_at
from asmade.motion.bindings.gap_sums import Array, Sums, rise, with_crank
from asmade.motion.bindings.gaps import Body, Get, rise_name
from asmade.motion.gaps.poses import turning
from asmade.motion.gaps.scene import Element, elements_of
from asmade.reckon.shapes import Shape


def wheel(on: Sums, axle: str) -> Iterator[Body]:
    """A wheel, its back at half the back-to-back."""
    fitted = on.fitted("wheel", f"{axle}{on.side}")
    back, x, plays = on.sum(f"0.5 * wheelset@{axle}.back_to_back"), on.axle_x(axle), on.plays(axle)
    risen, name = rise_name(axle), f"wheel {axle}"

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        poses = turning(angles, float(evaluate(x, get)), rise(get, risen))
        return elements_of(shape_at(fitted, get), name, poses, float(evaluate(back, get)), plays)

    yield on.body(name, "wheel", fitted, (back, x), make, touches=frozenset((f"crank pin {axle}",)),
                     pins=frozenset((axle,)))  # fmt: skip


def crank_pin(on: Sums, axle: str) -> Iterator[Body]:
    """A crank pin outside its wheel, where no cap covers it."""
    part = on.pin_part(axle)
    place = f"{axle}{on.side}"
    if _cap_name(part) in on.design.parts:
        return  # it lies inside the rod's boss and under its cap
    fitted = on.fitted(part, place)
    inner, plays = on.sum(f"{on.face(axle)} - {part}@{place}.seat.length"), on.plays(axle)
    at, name = on.pin_place(axle), f"crank pin {axle}"

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        whole = shape_at(fitted, get)
        outside = Shape(whole.part, tuple(layer for layer in whole.layers if layer.name != "seat"), 0.0)
        return elements_of(outside, name, with_crank(at(get, angles), angles), float(evaluate(inner, get)), plays)

    touches = {f"wheel {axle}", f"pin cap {axle}", *on.rods_on(axle)}
    yield on.body(name, "crank pin", fitted, (inner, on.axle_x(axle), on.radius(axle)), make,
                     touches=frozenset(touches), pins=frozenset((axle,)))  # fmt: skip


def _cap_name(pin_part: str) -> str:
    return f"{pin_part.removeprefix('crank_pin_')}_pin_cap"


def pin_cap(on: Sums, axle: str) -> Iterator[Body]:
    """The cap on the end of a pin's journal."""
    place = f"{axle}{on.side}"
    part = on.pin_part(axle)
    name_of_part = _cap_name(part)
    if name_of_part not in on.design.parts and axle == on.driven:
        return  # the big end is kept on by the return crank
    fitted = on.fitted(name_of_part, place)
    inner, plays = on.sum(f"{on.face(axle)} + {part}@{place}.journal.length"), on.plays(axle)
    at, name = on.pin_place(axle), f"pin cap {axle}"

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        poses = with_crank(at(get, angles), angles)
        return elements_of(shape_at(fitted, get), name, poses, float(evaluate(inner, get)), plays)

    touches = frozenset((f"crank pin {axle}", *on.rods_on(axle)))
    yield on.body(name, "pin cap", fitted, (inner, on.axle_x(axle), on.radius(axle)), make,
                     touches=touches, pins=frozenset((axle,)))  # fmt: skip
