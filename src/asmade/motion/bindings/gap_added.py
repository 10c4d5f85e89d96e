"""Bodies near the motion that the builder adds: parts with a form, or boxes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from asmade.book.grammar import evaluate
from asmade.measure.errors import Refused, Unknown, near
from asmade.motion.bindings.gap_parts import shape_at
from asmade.motion.bindings.gap_sums import Array, Sums, rise, with_crank
from asmade.motion.bindings.gaps import KIND, Body, Get, rise_name
from asmade.motion.gaps.poses import Poses, carried, fixed, sliding, turning
from asmade.motion.gaps.scene import Element, elements_of
from asmade.reckon.shapes import Layer, Shape, rectangle

MOVES: Final = ("fixed", "axle", "pin", "rods", "crosshead", "connecting rod")
_BODY_KEYS: Final = ("part", "moves", "axle", "x", "y", "inner", "length", "height", "width", "touches")


def tables_of(on: Sums, key: str, example: str) -> Mapping[str, Mapping[str, Any]]:
    """Tables by name that the relation holds under a key."""
    table = on.relation.fields.get(key, {})
    if not isinstance(table, Mapping) or not all(isinstance(each, Mapping) for each in table.values()):
        raise Refused(f"{KIND} {on.relation.name!r} {key}", got=table, reason="it should be tables by name",
                      way_out=f"write [{KIND}.{key}.{example}")  # fmt: skip
    return table


def added(on: Sums, name: str, table: Mapping[str, Any]) -> Body:
    """A part with a form, or a box, that stands, or goes with something that moves."""
    where = f"{KIND} {on.relation.name!r} body {name}"
    for key in table:
        if key not in _BODY_KEYS:
            raise Unknown(where, got=key, near=near(str(key), _BODY_KEYS), way_out=f"it knows {', '.join(_BODY_KEYS)}")
    moves = str(table.get("moves", "fixed"))
    if moves not in MOVES:
        raise Unknown(f"{where} moves", got=moves, near=near(moves, MOVES), way_out=f"one of: {', '.join(MOVES)}")
    axle = str(table.get("axle", on.driven))
    if axle not in on.axles:
        raise Unknown(f"{where} axle", got=axle, near=near(axle, on.axles), way_out=f"{', '.join(on.axles)}")
    if "inner" not in table:
        raise Refused(where, got=dict(table), reason="it does not say how far out it lies",
                      way_out='add inner = "..." (its inner face from the middle of the engine)')  # fmt: skip
    sums = {key: on.sum(str(table[key])) for key in ("x", "y", "inner", "length", "height", "width") if key in table}
    fitted = None
    if "part" in table:
        seat, _, place = str(table["part"]).replace("{side}", on.side).partition("@")
        fitted = on.fitted(seat, place or on.side)
    elif not {"length", "height", "width"} <= set(sums):
        raise Refused(where, got=dict(table), reason="it names no part, and no length, height and width",
                      way_out="name a part with a form, or give the three sizes of a box")  # fmt: skip
    pose = _pose(on, moves, axle)
    plays = on.plays(axle) if moves in ("axle", "pin", "rods", "connecting rod") else {}

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        at = {key: float(evaluate(node, get)) for key, node in sums.items()}
        body = shape_at(fitted, get) if fitted is not None else _box(name, at)
        low = min(layer.low_mm for layer in body.layers)
        poses = pose(get, angles)
        shift = poses.along * complex(at.get("x", 0.0), at.get("y", 0.0))
        return elements_of(body, name, Poses(poses.place + shift, poses.along), at["inner"] - low, plays)

    nodes = (*sums.values(), *(() if moves == "fixed" else (on.axle_x(axle), on.radius(axle))))
    if moves in ("crosshead", "connecting rod"):
        nodes += on.gudgeon_place()[1]
    touches = frozenset(str(each) for each in table.get("touches", ()))
    return on.body(name, "added", fitted, nodes, make, touches=touches, moves=moves != "fixed")


def _pose(on: Sums, moves: str, axle: str) -> Callable[[Get, Array], Poses]:
    x, risen, at = on.axle_x(axle), rise_name(axle), on.pin_place(axle)
    if moves == "fixed":
        return lambda _, angles: fixed(angles)
    if moves == "axle":
        return lambda get, angles: turning(angles, float(evaluate(x, get)), rise(get, risen))
    if moves == "pin":
        return lambda get, angles: with_crank(at(get, angles), angles)
    if moves == "rods":
        return lambda get, angles: sliding(at(get, angles))
    small, _ = on.gudgeon_place()
    if moves == "crosshead":
        return lambda get, angles: sliding(small(get, angles), on.line(get)[1])
    return lambda get, angles: carried(small(get, angles), at(get, angles))


def _box(name: str, at: Mapping[str, float]) -> Shape:
    outline = rectangle(-at["length"] / 2, -at["height"] / 2, at["length"] / 2, at["height"] / 2, name)
    return Shape(name, (Layer(name, (outline,), 0.0, at["width"]),), 0.0)
