"""Bodies near the motion: coupling rods, eye by eye and the bar between."""

from __future__ import annotations

from collections.abc import Iterator

from asmade.book.grammar import Node, evaluate
from asmade.book.model import Part
from asmade.measure.errors import Unknown
from asmade.motion.bindings.gap_parts import shape_at
from asmade.motion.bindings.gap_sums import Array, Places, Sums
from asmade.motion.bindings.gaps import Body, Get
from asmade.motion.bindings.rod_line import RodLine
from asmade.motion.gaps.poses import carried
from asmade.motion.gaps.scene import Element


def coupling_rod(on: Sums, fore: str, aft: str) -> Iterator[Body]:
    """A coupling rod, carried by its pins or by a pin and the knuckle of the rod behind."""
    part = on.rod_part(fore, aft)
    if part is None:
        raise Unknown("coupling rod", got=f"{fore}{aft}{on.side}", way_out="the book has none there")
    fitted = on.fitted(part.name, f"{fore}{aft}{on.side}")
    name, at = f"coupling rod {fore}{aft}", on.axles.index(fore)
    before = on.rod_part(on.axles[at - 1], fore) if at > 0 else None
    behind = on.rod_part(aft, on.axles[at + 2]) if at + 2 < len(on.axles) else None
    hangs = behind is not None and "knuckle_ahead" in behind.dims and "tongue_hole" in part.dims
    first = _eye_middle(on, part, fore, before, ahead=False)
    if hangs and behind is not None:
        last = _eye_middle(on, behind, aft, part, ahead=False)
        last_plays = on.plays(aft) | {f"end float of coupling rod {aft}{on.axles[at + 2]}": 1.0}
        last_plays |= _tongue(on, name, part, behind, aft)
    else:
        last = _eye_middle(on, part, aft, behind, ahead=True)
        last_plays = on.plays(aft)
    floats = _float(on, name, part, fore)
    first_plays = on.plays(fore) | floats
    if not hangs:
        last_plays |= floats
    ends = _rod_ends(on, part, fore, aft, behind if hangs else None)
    reach = on.size(part.name, f"{fore}{aft}{on.side}", "centres")

    def make(get: Get, angles: Array) -> tuple[Element, ...]:
        poses = carried(ends[0](get, angles), ends[1](get, angles))
        ahead = float(evaluate(ends[3], get)) if ends[3] is not None else 0.0
        line = RodLine(
            -ahead, -ahead - float(evaluate(reach, get)), float(evaluate(first, get)), float(evaluate(last, get)),
            first_plays, last_plays,
        )  # fmt: skip
        return line.elements(shape_at(fitted, get), name, poses)

    touches = {each for end in (fore, aft) for each in (f"crank pin {end}", f"pin cap {end}")}
    touches |= {f"wheel {fore}"} | (set() if hangs else {f"wheel {aft}"})
    touches |= {f"coupling rod {on.axles[at - 1]}{fore}"} if at > 0 else set()
    touches |= {f"coupling rod {aft}{on.axles[at + 2]}"} if at + 2 < len(on.axles) else set()
    nodes = (first, last, reach, *ends[2], *(n(a) for n in (on.radius, on.axle_x) for a in (fore, aft)))
    yield on.body(name, "coupling rod", fitted, nodes, make, touches=frozenset(touches),
                     pins=frozenset((fore,) if hangs else (fore, aft)))  # fmt: skip


def _tongue(on: Sums, name: str, part: Part, carrier: Part, aft: str) -> dict[str, float]:
    """How far a tongue may go sideways in its fork."""
    if "fork_gap" not in carrier.dims or "tongue" not in part.dims:
        return {}
    place = next(p for p in part.places if p[1] == aft and p.endswith(on.side))
    behind = next(p for p in carrier.places if p[0] == aft and p.endswith(on.side))
    node = on.sum(f"0.5 * {carrier.name}@{behind}.fork_gap - 0.5 * {part.name}@{place}.tongue")
    on.freedoms.append((f"tongue of {name} in its fork", node, 1.0))
    return {f"tongue of {name} in its fork": 1.0}


def _eye_middle(on: Sums, part: Part, axle: str, neighbour: Part | None, *, ahead: bool) -> Node:
    """Middle of an eye across: of its journal where it is alone there, else inside or outside its neighbour.

    Two eyes on one pin: the rod behind lies against the wheel, the rod ahead of the pin outside it.
    """
    pins = on.pin_part(axle)
    end = "aft" if ahead else "fore"
    other = "fore" if ahead else "aft"
    shared = neighbour is not None and f"boss_{other}" in neighbour.dims and f"boss_{end}" in part.dims
    if not shared or neighbour is None:
        return on.sum(f"{on.face(axle)} + 0.5 * {pins}@{axle}{on.side}.journal.length")
    next_to = next(p for p in neighbour.places if p.endswith(on.side) and axle in p)
    beside = f"{neighbour.name}@{next_to}.boss_{other}"
    room = f"0.5 * {pins}@{axle}{on.side}.journal.length"
    return on.sum(f"{on.face(axle)} + {room} {'+' if ahead else '-'} 0.5 * {beside}")


def _rod_ends(
    on: Sums, part: Part, fore: str, aft: str, carrier: Part | None
) -> tuple[Places, Places, tuple[Node, ...], Node | None]:
    """Places of the foremost eye and of the last one of a rod, the sums they read, how far the first is ahead.

    The last one is a pin, or the knuckle in the rod that carries it; the first a pin, or its own fork ahead of it.
    """
    first, last = on.pin_place(fore), on.pin_place(aft)
    nodes: tuple[Node, ...] = ()
    if carrier is not None:
        next_axle = on.axles[on.axles.index(aft) + 1]
        last, reach = on.knuckle(last, on.pin_place(next_axle), carrier.name, f"{aft}{next_axle}{on.side}")
        nodes = (reach, on.axle_x(next_axle), on.radius(next_axle))
    if "knuckle_ahead" not in part.dims:
        return first, last, nodes, None
    fork, own = on.knuckle(first, last, part.name, f"{fore}{aft}{on.side}")
    return fork, last, (*nodes, own), own


def _float(on: Sums, name: str, part: Part, fore: str) -> dict[str, float]:
    if "boss_fore" not in part.dims:
        return {}
    pins, place = on.pin_part(fore), next(p for p in part.places if p[0] == fore and p.endswith(on.side))
    node = on.sum(f"0.5 * {pins}@{fore}{on.side}.journal.length - 0.5 * {part.name}@{place}.boss_fore")
    at = on.axles.index(fore)
    if at > 0:
        ahead = on.rod_part(on.axles[at - 1], fore)
        if ahead is not None and "boss_aft" in ahead.dims:
            beside = f"{ahead.name}@{on.axles[at - 1]}{fore}{on.side}.boss_aft"
            node = on.sum(f"0.5 * {pins}@{fore}{on.side}.journal.length "
                             f"- 0.5 * {part.name}@{place}.boss_fore - 0.5 * {beside}")  # fmt: skip
    on.freedoms.append((f"end float of {name}", node, 1.0))
    return {f"end float of {name}": 1.0}
