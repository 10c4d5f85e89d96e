"""Bodies near the motion: connecting rod, crosshead, gudgeon pin, slide bars, rear cylinder cover."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from asmade.book.grammar import evaluate
from asmade.motion.bindings.gap_parts import shape_at
from asmade.motion.bindings.gap_sums import Array, Sums
from asmade.motion.bindings.gaps import Body, Get
from asmade.motion.gaps.poses import carried, fixed, sliding
from asmade.motion.gaps.scene import Element, elements_of


def connecting_rod(on: Sums) -> Iterator[Body]:
    """The connecting rod, in the middle of the big end's journal."""
    fitted = on.fitted("connecting_rod", on.side)
    pins, place = on.pin_part(on.driven), f"{on.driven}{on.side}"
    middle = on.sum(f"{on.face(on.driven)} + {pins}@{place}.journal.length "
                       f"+ 0.5 * {pins}@{place}.big_end.length")  # fmt: skip
    crank, (small, nodes) = on.pin_place(on.driven), on.gudgeon_place()
    loose = on.sum(f"0.5 * {pins}@{place}.big_end.length - 0.5 * connecting_rod@{on.side}.big_end_width")
    on.freedoms.append(("end float of connecting rod", loose, 1.0))
    plays = on.plays(on.driven) | {"end float of connecting rod": 1.0}

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        poses = carried(small(get, angles), crank(get, angles))
        return elements_of(shape_at(fitted, get), "connecting rod", poses, float(evaluate(middle, get)), plays)

    yield on.body("connecting rod", "connecting rod", fitted, (middle, *nodes), make,
                     touches=frozenset((f"crank pin {on.driven}", "crosshead", "gudgeon pin")),
                     pins=frozenset((on.driven,)))  # fmt: skip


def crosshead(on: Sums) -> Iterator[Body]:
    """The crosshead, about the cylinder line."""
    fitted = on.fitted("crosshead", on.side)
    line = on.size("cylinder", on.side, "line_to_centre")
    small, nodes = on.gudgeon_place()
    height = on.size("crosshead", on.side, "over_slippers")

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        poses = sliding(small(get, angles), on.line(get)[1])
        return elements_of(shape_at(fitted, get), "crosshead", poses, float(evaluate(line, get)))

    touches = frozenset(("gudgeon pin", "connecting rod", "upper slide bar", "lower slide bar"))
    yield on.body("crosshead", "crosshead", fitted, (line, height, *nodes), make, touches=touches)


def gudgeon_pin(on: Sums) -> Iterator[Body]:
    """The gudgeon pin, about the cylinder line."""
    fitted = on.fitted("gudgeon_pin", on.side)
    inner = on.sum(f"cylinder@{on.side}.line_to_centre - 0.5 * gudgeon_pin@{on.side}.length")
    small, nodes = on.gudgeon_place()

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        poses = sliding(small(get, angles), on.line(get)[1])
        return elements_of(shape_at(fitted, get), "gudgeon pin", poses, float(evaluate(inner, get)))

    yield on.body("gudgeon pin", "gudgeon pin", fitted, (inner, *nodes), make,
                     touches=frozenset(("crosshead", "connecting rod")))  # fmt: skip


def slide_bars(on: Sums) -> Iterator[Body]:
    """Upper and lower slide bar, their middle where the gudgeon pin is at half stroke."""
    fitted = on.fitted("slide_bars", on.side)
    line = on.size("cylinder", on.side, "line_to_centre")
    up = on.sum(f"0.5 * slide_bars@{on.side}.gap + 0.5 * slide_bars@{on.side}.thickness")
    middle = on.sum(f"connecting_rod@{on.side}.centres")
    x = on.axle_x(on.driven)
    for name, sense in (("upper slide bar", 1.0), ("lower slide bar", -1.0)):

        def make(get: Get, angles: Array, name: str = name, sense: float = sense) -> tuple[Element, ...]:
            high, incline = on.line(get)
            along = complex(float(evaluate(middle, get)), sense * float(evaluate(up, get)))
            place = float(evaluate(x, get)) + 1j * high + np.exp(1j * incline) * along
            poses = fixed(angles, float(place.real), float(place.imag), incline)
            return elements_of(shape_at(fitted, get), name, poses, float(evaluate(line, get)))

        yield on.body(name, "slide bar", fitted, (line, up, middle, x), make, touches=frozenset(("crosshead",)),
                         moves=False)  # fmt: skip


def rear_cover(on: Sums) -> Iterator[Body]:
    """The rear cylinder cover."""
    fitted = on.fitted("cylinder_cover_rear", on.side)
    line = on.size("cylinder", on.side, "line_to_centre")
    back = on.sum(f"cylinder@{on.side}.ahead - 0.5 * cylinder@{on.side}.length "
                     f"- cylinder_cover_rear@{on.side}.flange.thickness")  # fmt: skip

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        high, incline = on.line(get)
        place = 1j * high + np.exp(1j * incline) * float(evaluate(back, get))
        poses = fixed(angles, float(place.real), float(place.imag), incline)
        return elements_of(shape_at(fitted, get), "rear cylinder cover", poses, float(evaluate(line, get)))

    yield on.body("rear cylinder cover", "cylinder cover", fitted, (line, back), make, moves=False)
