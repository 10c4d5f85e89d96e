"""The running gear of a side as bodies and where each is over a turn and the reverser: for a page that moves it.

Nothing is worked out in the page: it picks rows and goes straight from one to the next.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from asmade.book.address import Address, words_of_place
from asmade.book.forms import form_of
from asmade.book.forms.rod import Rod
from asmade.book.forms.wheel import Wheel
from asmade.measure.errors import AsmadeError, OutOfRange, Unknown
from asmade.motion.bindings.gap_finder import sides_of
from asmade.motion.bindings.gap_model import known_bodies
from asmade.motion.bindings.gaps import Body, Side, relation_of
from asmade.motion.gaps.poses import Poses, fixed, sliding
from asmade.motion.gaps.scene import Element, Scene
from asmade.motion.gears import Member
from asmade.reckon.shapes.pieces import Disc, Piece, Polygon
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import MADE, Values
from asmade.verbs.valve_motion import CRANKS, SideMotion, ValveMotion, motion_of

Array = NDArray[np.float64]
ANGLES: Final = 180
"""Steps of a turn: between two of them a wheel's rim is nowhere more than a hundredth of a millimetre from straight."""
STRAIGHT_MM: Final = 0.01
State = Literal["made", "partly made", "not made"]
_SEEN_TWICE: Final = {"crank": "connecting rod", "connecting rod": "connecting rod"}
"""Members of a valve gear that are seen in other bodies, where these are drawn."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Where a body's own origin is (mm, x forward, y up) and how far it is turned (deg, anticlockwise).

    Rows are reverser positions, columns crank angles from 0 to a whole turn, both ends included; one row where the
    reverser does not move it, one column where the crank does not. NaN where the gear does not go together.
    """

    x_mm: Array
    y_mm: Array
    turn_deg: Array

    def at(self, row: float, part_of_turn: float) -> tuple[float, float, float]:
        """Place and turn at a row (it may lie between two) and a part of a turn (0 to 1)."""
        x, y, turn = (_between(each, row, part_of_turn) for each in (self.x_mm, self.y_mm, self.turn_deg))
        return x, y, turn


def _between(rows: Array, row: float, part: float) -> float:
    first = min(math.floor(row), rows.shape[0] - 1)
    second = min(first + 1, rows.shape[0] - 1)
    along = np.linspace(0.0, 1.0, rows.shape[1])
    one, two = (float(np.interp(part, along, rows[at])) if along.size > 1 else float(rows[at, 0])
                for at in (first, second))  # fmt: skip
    return one if first == second else one + (row - first) * (two - one)


@dataclass(frozen=True, slots=True, eq=False)
class Moving:
    """A body: what it looks like in its own axes, and where it is.

    elements: outlines with how far out they lie, where the book has a form for it. bar: pins of a link of the valve
    gear, for want of a form; slot: a link's slot as points. form, sizes: of the part, for whoever draws more of it.
    made, of: finished sizes among the sizes of its piece.
    """

    name: str
    part: str
    place: str
    track: Track
    outer_mm: float
    elements: tuple[Element, ...] = ()
    bar: tuple[complex, ...] = ()
    slot: tuple[complex, ...] = ()
    form: Any = None
    sizes: Mapping[str, float] | None = None
    made: int = 0
    of: int = 0

    @property
    def state(self) -> State:
        """Made where all its sizes are, partly made where some are."""
        return "not made" if not self.made else "made" if self.made >= self.of else "partly made"

    @property
    def seat(self) -> str:
        """``wheel@2R``; empty where the book has no such part."""
        return f"{self.part}@{self.place}" if self.part else ""


@dataclass(frozen=True, slots=True, eq=False)
class SideFrames:
    """One side in its own frame; ``crank_ahead_deg``: how far its crank stands ahead of the right one."""

    side: str
    bodies: tuple[Moving, ...]
    axles: Mapping[str, float]
    rail_mm: float | None
    gear: SideMotion | None
    cylinder_y_mm: float
    crank_ahead_deg: float
    left_out: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Frames:
    """Both sides, and the reverser positions that the rows stand for; ``no_gear``: why the valve gear is not drawn."""

    sides: tuple[SideFrames, ...]
    positions: tuple[float, ...]
    gear: str
    no_gear: str

    def side(self, name: str) -> SideFrames:
        """One side; refuses one that the book has not."""
        for side in self.sides:
            if side.side == name:
                return side
        raise Unknown("side of the engine", got=name, way_out=f"there are {', '.join(s.side for s in self.sides)}")

    def row_of(self, position: float) -> float:
        """The row, or between which rows, of a reverser position."""
        if not -1 <= position <= 1:
            raise OutOfRange("reverser", got=position, allowed="-1 full backward to +1 full forward")
        if len(self.positions) < 3:  # a gear that is only ever at its ends is nowhere between
            return float(np.argmin(np.abs(np.asarray(self.positions) - position)))
        rows = np.argsort(self.positions)
        return float(np.interp(position, np.asarray(self.positions)[rows], rows.astype(float)))


def frames_of(values: Values, *, angles: int = ANGLES) -> Frames:
    """Everything of the running gear that can be drawn at the best known sizes of a book.

    What lacks a size is left out and said; so is a valve gear that lacks one, or that the book has not.
    """
    gear: ValveMotion | None = None
    no_gear = ""
    try:
        gear = motion_of(values, cranks=CRANKS)
    except AsmadeError as fault:
        no_gear = fault.message
    relation = relation_of(values.system.scope.design)
    has = bool(relation.places or values.system.scope.design.places.sides)  # a bogie of its own may have none
    sides = sides_of(relation, values.system.scope) if has else ()
    found = tuple(_Side(values, side, gear, angles).frames() for side in sides)
    positions = tuple(map(float, gear.positions)) if gear is not None else ()
    return Frames(found, positions, gear.gears.title if gear is not None else "", no_gear)


class _Side:
    """Gathers the bodies of one side."""

    def __init__(self, values: Values, side: Side, gear: ValveMotion | None, angles: int) -> None:
        self.values, self.side, self.gear = values, side, gear
        self.crank: Array = np.linspace(0.0, 2 * math.pi, angles + 1)
        self.index = values.system.index
        self.left_out: list[tuple[str, str]] = list(side.left_out)

    def get(self, address: Address) -> float:
        return 0.0 if address.part == "rise_of_axle" else float(self.values.best[self.index[address]])

    def known(self, part: str, *dims: str) -> tuple[float, ...] | None:
        """Sizes of a part at this side, where the book knows them all."""
        found = [self.index.get(Address(part, self.side.side, dim=dim)) for dim in dims]
        values = [float(self.values.best[at]) for at in found if at is not None]
        return tuple(values) if len(values) == len(dims) and all(map(math.isfinite, values)) else None

    def frames(self) -> SideFrames:
        bodies, out = known_bodies(self.side, self.side.bodies, self.get)
        self.left_out += out
        scene = self.side.scene(bodies, self.get, self.crank)
        found = [self.body(body, scene) for body in bodies]
        axles = {a: _middle(found, f"wheel {a}") for a in self.side.axles if any(b.name == f"wheel {a}" for b in found)}
        small = next((b for b in found if b.name == "crosshead"), None)
        height = float(small.track.y_mm[0, 0]) if small is not None else 0.0
        if small is not None:
            found += self.cylinder(small)
        moved = self.motion()
        ahead = 0.0
        if moved is not None:
            found += self.links(moved, axles.get(self.values.system.scope.design.places.driven, 0.0), found)
            ahead = moved.crank_ahead_deg
        return SideFrames(
            self.side.side, tuple(sorted(found, key=lambda body: body.outer_mm)), axles, _rail(found),
            moved, height, ahead, self._not_drawn(found),
        )  # fmt: skip

    def _not_drawn(self, found: list[Moving]) -> tuple[tuple[str, str], ...]:
        """What was left out and is not drawn by its pins either."""
        drawn = {body.name for body in found}
        return tuple((name, why) for name, why in self.left_out if not set(name.split(", ")) <= drawn)

    # ------------------------------------------------------------------ bodies of the gaps
    def body(self, body: Body, scene: Scene) -> Moving:
        elements = tuple(element for element in scene.elements if element.body == body.name)
        part, place = self.seat_of(body.name, body.reads)
        return self.moving(body.name, part, place, _track(elements[0].poses), elements=elements,
                           outer_mm=max(element.outer_mm for element in elements))  # fmt: skip

    def seat_of(self, name: str, reads: Iterable[Address]) -> tuple[str, str]:
        """The part whose piece a body is: of those it reads, that with most of its name, then with most sizes."""
        words = [word.rstrip("s") for word in name.split() if word.isalpha()]
        count: dict[tuple[str, str], int] = {}
        for address in reads:
            count[address.part, address.place] = count.get((address.part, address.place), 0) + 1
        if not count:
            return "", ""
        return max(count, key=lambda seat: (sum(word in seat[0] for word in words), count[seat]))

    def moving(self, name: str, part: str, place: str, track: Track, **more: Any) -> Moving:
        design = self.values.system.scope.design
        form, sizes, made, of = None, None, 0, 0
        if part in design.parts and place in design.parts[part].places:
            of_piece = [
                at for a, at in self.index.items()
                if a.part == part and a.place == place and self.values.system.dimensions[at] is not None
            ]  # fmt: skip
            made, of = sum(int(self.values.source[at]) == MADE for at in of_piece), len(of_piece)
            form = form_of(design.parts[part])
            form = getattr(form, "of", form)
            if isinstance(form, Wheel | Rod):
                sizes = seat_sizes(self.values, part, place)
            else:
                form = None
        return Moving(name, part, place, track, form=form, sizes=sizes, made=made, of=of, **more)

    # ------------------------------------------------------------------ what goes with the crosshead
    def cylinder(self, crosshead: Moving) -> list[Moving]:
        """Cylinder, front cover, piston and its rod, each where its sizes are known."""
        found: list[Moving] = []
        y = float(crosshead.track.y_mm[0, 0])
        inner = crosshead.elements[0].inner_mm
        barrel = self.known("cylinder", "ahead", "length", "bore")
        if barrel is not None:
            ahead, length, bore = barrel
            cover = self.known("cylinder_cover_front", "flange.diameter", "flange.thickness")
            half = cover[0] / 2 if cover else 0.7 * bore
            found.append(self.box("cylinder", fixed(self.crank, ahead, y), (-length / 2, length / 2), half, inner - 30))
            if cover is not None:
                found.append(self.box("cylinder_cover_front", fixed(self.crank, ahead + length / 2, y),
                                      (0.0, cover[1]), half, inner - 29))  # fmt: skip
        rod = self.known("piston_rod", "from_gudgeon", "rod.diameter")
        piston = self.known("piston", "diameter", "thickness")
        slides = sliding(crosshead.track.x_mm[0] + 1j * crosshead.track.y_mm[0])
        if rod is not None:
            found.append(self.box("piston_rod", slides, (0.0, rod[0]), rod[1] / 2, inner - 20))
            if piston is not None:
                found.append(self.box("piston", slides, (rod[0], rod[0] + piston[1]), piston[0] / 2, inner - 21))
        return found

    def box(self, part: str, poses: Poses, along: tuple[float, float], half: float, outer: float) -> Moving:
        from asmade.reckon.shapes import rectangle  # noqa: PLC0415

        name = part.replace("_", " ").replace("cylinder cover front", "front cylinder cover")
        outline = rectangle(along[0], -half, along[1], half, name)
        element = Element(name, name, (outline,), poses, outer - 1.0, outer)
        return self.moving(name, part, self.side.side, _track(poses), elements=(element,), outer_mm=outer)

    # ------------------------------------------------------------------ links of the valve gear
    def motion(self) -> SideMotion | None:
        if self.gear is None:
            return None
        return next((each for each in self.gear.sides if each.side == self.side.side), None)

    def links(self, moved: SideMotion, axle_x: float, drawn: list[Moving]) -> list[Moving]:
        names = {body.name for body in drawn}
        outer = max((body.outer_mm for body in drawn), default=0.0)
        found = []
        for at, member in enumerate(self.gear.members if self.gear is not None else ()):
            if _SEEN_TWICE.get(member.name) in names:
                continue
            link = self.link(member, moved, axle_x, outer + 1.0 + at)
            if link is not None:
                found.append(link)
        valve = self.valve(moved, axle_x, outer + 30.0)
        return found + valve

    def link(self, member: Member, moved: SideMotion, axle_x: float, outer: float) -> Moving | None:
        joints = [moved.joints[name] for name in member.points]
        if len(joints) < 2:
            return None
        if member.fixed:  # a spindle slides along its line, as far as the middle of the cylinder
            (x1, y1), (x2, y2) = moved.lines["spindle"]
            pin = joints[0]
            middle = self.known("cylinder", "ahead")
            reach = middle[0] - axle_x - float(np.nanmean(pin.real)) if middle else abs(x2 - x1)
            track = Track(*_reduced(_whole(pin.real + axle_x), _whole(pin.imag),
                                    np.full((1, 1), math.degrees(math.atan2(y2 - y1, x2 - x1)))))  # fmt: skip
            return self.moving(member.name, *self._named(member.name), track, outer_mm=outer,
                               bar=(0j, complex(max(reach, 10.0))))  # fmt: skip
        a, b = np.broadcast_arrays(joints[0], joints[-1])
        turn = np.degrees(np.unwrap(np.unwrap(np.angle(b - a), axis=1), axis=0))
        track = Track(*_reduced(_whole(joints[0].real + axle_x), _whole(joints[0].imag), _whole_turn(turn)))
        own = [_in_own_axes(moved.joints[name], a, b) for name in member.line]
        sized = self.sized(member.name, _in_own_axes(joints[-1], a, b))
        slot: tuple[complex, ...] = ()
        if member.slot is not None:
            ends = [_in_own_axes(moved.joints[name], a, b) for name in (*member.slot, "slot centre")]
            slot = _arc(*ends)
        return self.moving(member.name, *self._named(member.name), track, outer_mm=outer, bar=tuple(own), slot=slot,
                           elements=sized)  # fmt: skip

    def sized(self, name: str, last: complex) -> tuple[Element, ...]:
        """The outline of a link whose widths the book says for its gaps; it is given there from its last pin."""
        body = next((each for each in self.side.links if each.name == name), None)
        if body is None or any(math.isnan(self.get(address)) for address in body.reads):
            return ()
        try:
            (element, *_) = body.make(self.get, self.crank[:2])
        except AsmadeError:
            return ()
        pieces: tuple[Piece, ...] = tuple(
            Disc(piece.x + last.real, piece.y, piece.radius)
            if isinstance(piece, Disc)
            else Polygon(piece.ring + np.array((last.real, 0.0)), name=piece.name)
            for piece in element.pieces
        )
        return (replace(element, pieces=pieces, poses=fixed(self.crank)),)

    def valve(self, moved: SideMotion, axle_x: float, outer: float) -> list[Moving]:
        """A slide valve on its port face over the middle of the cylinder, where the book knows both.

        How high the face lies is not in the book: it is put under the spindle.
        """
        middle, over = self.known("cylinder", "ahead"), self.known("slide_valve", "over_edges")
        face = self.known("port_face", "steam_port", "bridge", "exhaust_port")
        if middle is None or over is None or face is None:
            return []
        from asmade.reckon.shapes import rectangle  # noqa: PLC0415

        (x1, y1), (x2, y2) = moved.lines["spindle"]
        y = y1 + (middle[0] - axle_x - x1) * (y2 - y1) / (x2 - x1)
        steam, bridge, exhaust = face
        half, high = over[0] / 2, 0.22 * over[0]
        edge = exhaust / 2 + bridge
        lands = [(-edge - steam - 1.6 * bridge, -edge - steam), (-edge, -exhaust / 2), (exhaust / 2, edge),
                 (edge + steam, edge + steam + 1.6 * bridge)]  # fmt: skip
        metal = [rectangle(one, -2.4 * bridge, two, 0.0, "port face") for one, two in lands]
        still = fixed(self.crank, middle[0], y - high)
        ports = Element("port face", "port face", tuple(metal), still, outer - 2.0, outer - 1.0)
        cavity = self.known("slide_valve", "cavity")
        hollow = cavity[0] / 2 if cavity else exhaust / 2 + 0.6 * bridge
        ring = np.array([(-half, 0), (-hollow, 0), (-hollow, 0.6 * high), (hollow, 0.6 * high), (hollow, 0), (half, 0),
                         (half, high), (-half, high)])  # fmt: skip
        valve = Element("slide valve", "slide valve", (Polygon(ring, name="slide valve"),), still, outer - 1.0, outer)
        slides = Track(*_reduced(_whole(moved.valve_mm) + middle[0], np.full((1, 1), y - high), np.zeros((1, 1))))
        return [
            self.moving("port face", *self._named("port face"), _track(still), elements=(ports,), outer_mm=outer - 1.0),
            self.moving("slide valve", *self._named("slide valve"), slides, elements=(valve,), outer_mm=outer),
        ]

    def _named(self, name: str) -> tuple[str, str]:
        part = name.replace(" ", "_")
        parts = self.values.system.scope.design.parts
        return (part, self.side.side) if part in parts and self.side.side in parts[part].places else ("", "")


# ---------------------------------------------------------------------- tracks
def _track(poses: Poses) -> Track:
    turn = np.degrees(np.unwrap(np.angle(poses.along)))[None, :]
    return Track(*_reduced(poses.place.real[None, :], poses.place.imag[None, :], turn))


def _whole(rows: Array) -> Array:
    """The first column once more at the end, a whole turn on."""
    return rows if rows.shape[1] == 1 else np.concatenate([rows, rows[:, :1]], axis=1)


def _whole_turn(rows: Array) -> Array:
    """The same of a turn, which may have gone round once meanwhile."""
    if rows.shape[1] == 1:
        return rows
    last = rows[:, :1] + 360.0 * np.round((rows[:, -1:] - rows[:, :1]) / 360.0)
    return np.concatenate([rows, last], axis=1)


def _reduced(*each: Array) -> tuple[Array, ...]:
    """Two columns where it goes evenly from first to last, one where it does not move, one row where all are alike."""
    found = []
    for rows in each:
        rows = np.asarray(rows, dtype=np.float64)  # noqa: PLW2901  # the same, reduced
        if rows.shape[0] > 1 and np.allclose(rows, rows[:1], atol=STRAIGHT_MM / 10, equal_nan=True):
            rows = rows[:1]  # noqa: PLW2901
        if rows.shape[1] > 1:
            even = np.linspace(rows[:, 0], rows[:, -1], rows.shape[1], axis=1)
            if np.allclose(rows, even, atol=STRAIGHT_MM / 10):
                still = np.allclose(rows[:, 0], rows[:, -1], atol=STRAIGHT_MM / 10)
                rows = rows[:, :1] if still else rows[:, [0, -1]]  # noqa: PLW2901
        found.append(rows)
    return tuple(found)


def _in_own_axes(place: NDArray[np.complex128], a: NDArray[np.complex128], b: NDArray[np.complex128]) -> complex:
    """Where a point lies on a link whose first pin is at 0 and whose last is ahead on x; rigid, so anywhere will do."""
    there = (place - a) * np.exp(-1j * np.angle(b - a))
    known = there[np.isfinite(there)]
    return complex(known[0]) if known.size else 0j


def _arc(top: complex, bottom: complex, centre: complex) -> tuple[complex, ...]:
    whole = np.angle((bottom - centre) / (top - centre))
    return tuple(complex(each) for each in centre + (top - centre) * np.exp(1j * whole * np.linspace(0.0, 1.0, 25)))


def _middle(bodies: Iterable[Moving], name: str) -> float:
    return next(float(body.track.x_mm[0, 0]) for body in bodies if body.name == name)


def _rail(bodies: Iterable[Moving]) -> float | None:
    """Under the treads, where a wheel has one."""
    treads = [
        body.sizes["tread"] / 2
        for body in bodies
        if body.name.startswith("wheel") and body.sizes is not None and math.isfinite(body.sizes.get("tread", math.nan))
    ]
    return -max(treads) if treads else None


# ---------------------------------------------------------------------- where a finding is seen
def body_of(side: SideFrames, reads: Iterable[Address]) -> str:
    """The body at which a requirement is seen that reads these sizes; empty where none of this side is drawn.

    A size of a piece that is drawn is seen there; one of a piece inside (an axlebox, a bush) at the wheel or the rod
    of its place.
    """
    every = [a for a in reads if words_of_place(a.place).get("side", side.side) == side.side]
    drawn = {(body.part, body.place): body.name for body in reversed(side.bodies) if body.part}
    for address in every:
        if (address.part, address.place) in drawn:
            return drawn[address.part, address.place]
    names = {body.name for body in side.bodies}
    for address in every:
        words = words_of_place(address.place)
        at = [f"wheel {words['axle']}"] if "axle" in words else []
        at += [f"coupling rod {words['section']}"] if "section" in words else []
        at += [n for n in sorted(names) if set(n.split()) & set(address.part.split("_"))] if not at else []
        found = next((name for name in at if name in names), "")
        if found:
            return found
    return ""


# ---------------------------------------------------------------------- as plain data
def plain(frames: Frames, side: str) -> dict[str, Any]:
    """One side for the page that moves it: a list of tracks in the order of its bodies, mm and degrees to 0.01.

    ``valve``: rows by reverser position of what the gear does at each crank angle, the whole turn's end included.
    """
    chosen = frames.side(side)
    told: dict[str, Any] = {
        "positions": [round(each, 4) for each in frames.positions],
        "tracks": [
            {"x": _rounded(b.track.x_mm), "y": _rounded(b.track.y_mm), "turn": _rounded(b.track.turn_deg)}
            for b in chosen.bodies
        ],
    }  # fmt: skip
    if chosen.gear is not None:
        told["valve"] = {name: _rounded(_whole(rows)) for name, rows in _told(chosen.gear).items()}
    return told


def _told(gear: SideMotion) -> dict[str, Array]:
    return {"piston": gear.piston_per_cent[None, :], "valve": gear.valve_mm, "front": gear.opening_mm["front"],
            "back": gear.opening_mm["back"]}  # fmt: skip


def valve_at(side: SideFrames, row: float, part_of_turn: float) -> dict[str, float]:
    """What the gear does at one place: piston (per cent from the front), valve and openings (mm); empty without one."""
    if side.gear is None:
        return {}
    return {name: _between(_whole(rows), row, part_of_turn) for name, rows in _told(side.gear).items()}


def _rounded(rows: Array) -> list[list[float | None]]:
    return [[round(float(v), 2) + 0.0 if math.isfinite(v) else None for v in row] for row in rows]


__all__ = ["Frames", "Moving", "SideFrames", "Track", "body_of", "frames_of", "plain", "valve_at"]
