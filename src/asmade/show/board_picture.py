"""The running gear of a side as a picture that a page can move: each body a group of its own, in its own axes.

The same strokes as every picture; the groups stand where they are at one crank angle, so that it is a drawing without
any script. Marks and dimensions are laid out for three widths, of which a style sheet shows the one that fits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from html import escape
from itertools import pairwise
from typing import Final

import numpy as np

from asmade.book.forms.measures import Measure
from asmade.book.forms.rod import Rod
from asmade.book.forms.wheel import Wheel
from asmade.measure.errors import AsmadeError, OutOfRange
from asmade.reckon.shapes import Disc
from asmade.reckon.shapes.pieces import Array, Piece, joined
from asmade.show.strokes import Circle, Dimension, Label, Line, Polyline, Stroke, fragment
from asmade.show.strokes.kinds import Look
from asmade.show.wheel_dress import wheel_dress
from asmade.verbs.motion_frames import Frames, Moving, SideFrames

LOOK_OF: Final[dict[str, Look]] = {"made": "bold", "partly made": "outline", "not made": "thin"}
WIDTHS_PX: Final = {"phone": 300.0, "tablet": 480.0, "desk": 760.0}
"""Least width in px that each set of marks is laid out for; wider, everything is a little larger."""
SAGITTA_MM: Final = 0.03
_MARK_PX: Final = 9.5
_MARK_TEXT_PX: Final = 12.0
_GRID: Final = 40
_PIN_MM: Final = 1.2
_SCALE: Final = 2.0  # px to the mm at which the places of a body are written: two decimals


@dataclass(frozen=True, slots=True)
class Mark:
    """A numbered mark on a body, and where more is said of it."""

    number: str
    body: str
    verdict: str
    href: str


@dataclass(frozen=True, slots=True)
class Frame:
    """The part of the plane that is shown, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """How wide."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """How high."""
        return self.top - self.bottom


@dataclass(frozen=True, slots=True, eq=False)
class SideDrawing:
    """One side, drawn but for where everything is: the strokes of its bodies, as SVG too, and what is shown of it."""

    frames: Frames
    side: SideFrames
    bodies: Mapping[str, tuple[Stroke, ...]]
    written: Mapping[str, str]
    frame: Frame

    @property
    def flip(self) -> float:
        """The right-hand side is seen with the front to the right, the left-hand side with the front to the left."""
        return -1.0 if self.side.side == "L" else 1.0


def drawn_side(frames: Frames, side: str, *, only: tuple[str, ...] = ()) -> SideDrawing:
    """Draw everything of a side in its own axes, once for all places it can be in; ``only`` what is named so."""
    chosen = frames.side(side)
    bodies = {body.name: body_strokes(body) for body in chosen.bodies if not only or body.name.startswith(only)}
    written = {name: fragment(strokes, _SCALE) for name, strokes in bodies.items()}
    frame = _frame(chosen, bodies) if bodies else Frame(0.0, 0.0, 1.0, 1.0)
    return SideDrawing(frames, chosen, bodies, written, frame)


def board_svg(
    drawing: SideDrawing, *, crank_deg: float, position: float, marks: Sequence[Mark] = (), title: str = "",
    lit: Sequence[str] = (), plain: bool = False, about: Frame | None = None, over: Sequence[Stroke] = (),
) -> str:  # fmt: skip
    """SVG text of one side at a crank angle (its own, from front dead centre) and a reverser position.

    Every body is a group ``data-body`` with a transform; what moves them needs only the tracks of
    `motion_frames.plain`, in the same order. lit: names of bodies drawn as those that are talked of. plain: without
    dimensions. about: a part of the side, seen close. over: strokes on top of all, where everything is now.
    """
    if not math.isfinite(crank_deg):
        raise OutOfRange("crank angle", got=crank_deg, allowed="a number of degrees")
    side, frame, flip = drawing.side, about or drawing.frame, drawing.flip
    row = drawing.frames.row_of(position) if drawing.frames.positions else 0.0
    part = crank_deg / 360.0 % 1.0
    left = frame.left if flip > 0 else -frame.right
    view = f"{left:.2f} {-frame.top:.2f} {frame.width:.2f} {frame.height:.2f}"
    mirrored = ' transform="scale(-1 1)"' if flip < 0 else ""
    # the drawing is one picture, the marks over it are links: so that both are read aloud as what they are
    names = "drawing moving close-up" if about else "drawing moving"
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" class="{names}">'
    lines = [
        head,
        f'<g class="gear" role="img"{_said(title)}{mirrored}>',
        fragment(_ground(side, drawing.bodies, frame), _SCALE),
    ]
    for at, body in enumerate(side.bodies):
        if body.name not in drawing.bodies:
            continue
        x, y, turn = body.track.at(row, part)
        known = math.isfinite(x + y + turn)
        there = f"translate({x:.2f} {-y:.2f}) rotate({-turn:.2f})" if known else "translate(0 0) rotate(0)"
        hidden = "" if known else ' visibility="hidden"'
        names = f"body {body.state.replace(' ', '-')}" + (" lit" if body.name in lit else "")
        lines.append(
            f'<g class="{names}" data-track="{at}" data-body="{escape(body.name)}" transform="{there}"{hidden}>'
            f"<title>{escape(_words(body))}</title>{drawing.written[body.name]}</g>"
        )
    if over:
        lines.append(f'<g class="over">{fragment(over, _SCALE)}</g>')
    lines.append("</g>")
    for name, width in () if about else WIDTHS_PX.items():
        scale = width / frame.width
        lines.append(f'<g class="laid for-{name}">')
        if name == "desk" and len(side.axles) > 1 and not plain:
            lines.append(fragment(_dimensions(side, flip), scale))
        lines += _marks(drawing, scale, marks, (row, part))
        lines.append("</g>")
    lines.append("</svg>")
    return "\n".join(lines)


def _said(title: str) -> str:
    return f' aria-label="{escape(title)}"' if title else ' aria-hidden="true"'


def _words(body: Moving) -> str:
    if not body.of:
        return body.name
    return f"{body.name}: {body.made} of {body.of} sizes made" if body.made else f"{body.name}: not made yet"


# ---------------------------------------------------------------------- bodies
def body_strokes(body: Moving) -> tuple[Stroke, ...]:
    """A body in its own axes, y up."""
    look = LOOK_OF[body.state]
    if body.bar and body.elements:
        pins = [Circle(pin.real, pin.imag, _PIN_MM, "thin", "tint") for pin in body.bar]
        return (*_outline([piece for element in body.elements for piece in element.pieces], look), *pins)
    if body.bar:
        return tuple(_link(body, look))
    if isinstance(body.form, Rod) and body.sizes is not None:
        return tuple(_rod(body, body.form, look))
    found: list[Stroke] = []
    for element in sorted(body.elements, key=lambda each: each.outer_mm):
        if isinstance(body.form, Wheel) and element.name.endswith((", boss", ", pin boss")):
            continue  # the dress has both bosses run together
        found += _outline(element.pieces, look)
    if isinstance(body.form, Wheel) and body.sizes is not None:
        with suppress(AsmadeError):  # a size that is not known is said by the findings; the rest is drawn
            found += [replace(stroke, look=look) if isinstance(stroke, Circle) else stroke
                      for stroke in wheel_dress(body.form, body.sizes.__getitem__)]  # fmt: skip
    return tuple(found)


def _outline(pieces: Iterable[Piece], look: Look) -> list[Stroke]:
    every = tuple(pieces)
    if len(every) == 1 and isinstance(every[0], Disc):
        disc = every[0]
        return [Circle(disc.x, disc.y, disc.radius, look, "paper")]
    return [
        Polyline(_points(ring), look, closed=True, fill="paper", openings=tuple(_points(hole) for hole in holes))
        for ring, holes in joined(every, SAGITTA_MM)
    ]


def _points(ring: Array) -> tuple[tuple[float, float], ...]:
    return tuple((float(x), float(y)) for x, y in ring)


def _rod(body: Moving, form: Rod, look: Look) -> Iterable[Stroke]:
    """Bar and bosses run together, the bores, and the flutes where the book has them."""
    sizes = body.sizes or {}

    def size(measure: Measure | None) -> float:
        return math.nan if measure is None else float(measure.value(sizes.__getitem__))

    yield from _outline([piece for element in body.elements for piece in element.pieces], look)
    discs: dict[str, Disc] = {}
    for element in body.elements:
        if isinstance(element.pieces[0], Disc):
            discs[element.name.rpartition(", ")[2]] = element.pieces[0]
    for eye in form.eyes:
        if eye.name not in discs:
            continue
        disc = discs[eye.name]
        yield Circle(disc.x, disc.y, disc.radius, "thin", "paper")
        bore = size(eye.bore) / 2
        if 0 < bore < disc.radius:
            yield Circle(disc.x, disc.y, bore, look, "tint")
    high = size(form.flute_height)
    if math.isfinite(high) and high > 0:
        ends = sorted((disc.x, disc.radius) for disc in discs.values())
        for (x1, r1), (x2, r2) in pairwise(ends):
            if x2 - r2 - (x1 + r1) > high:
                yield _capsule(complex(x1 + r1 + high / 2), complex(x2 - r2 - high / 2), high / 2, "thin")


def _link(body: Moving, look: Look) -> Iterable[Stroke]:
    """A link by its pins alone: a bar as slim as a drawing would have it, an eye at each pin; a slot in its cheeks."""
    length = max(abs(a - b) for a in (*body.bar, *body.slot[:1], *body.slot[-1:]) for b in body.bar)
    half = min(2.4, max(1.2, 0.035 * length))
    if body.slot:
        yield _band(body.slot, 2.0 * half, look, "paper")
        yield _band(body.slot, 0.9 * half, "thin", "tint")
    spindle = body.name == "valve spindle"
    # what a slotted link turns about lies behind its slot
    behind = [p for p in body.bar if body.slot and min(abs(p - at) for at in body.slot) < 2.5 * half]
    yield from (Circle(pin.real, pin.imag, 0.75 * half, "thin", "paper") for pin in behind)
    pins = [p for p in body.bar if p not in behind]
    if body.slot and not pins:
        return
    if body.slot:  # from the slot's end to the pin that is farthest off
        foot = max(pins, key=lambda p: min(abs(p - body.slot[0]), abs(p - body.slot[-1])))
        end = min((body.slot[0], body.slot[-1]), key=lambda p: abs(p - foot))
        yield _capsule(end + (foot - end) * min(0.9, 2.0 * half / max(abs(foot - end), 1e-6)), foot, half, look)
    else:
        for one, two in pairwise(pins):
            yield _capsule(one, two, half * (0.8 if spindle else 1.0), look)
    for pin in pins[:1] if spindle else pins:
        yield Circle(pin.real, pin.imag, 1.55 * half, look, "paper")
        yield Circle(pin.real, pin.imag, 0.75 * half, "thin", "tint")


def _capsule(one: complex, two: complex, half: float, look: Look) -> Polyline:
    along = (two - one) / abs(two - one) if abs(two - one) > 1e-9 else 1.0 + 0j
    turn = np.linspace(-math.pi / 2, math.pi / 2, 9)
    ends = [two + half * along * np.exp(1j * a) for a in turn] + [one - half * along * np.exp(1j * a) for a in turn]
    return Polyline(tuple((float(p.real), float(p.imag)) for p in ends), look, closed=True, fill="paper")


def _band(arc: Sequence[complex], half: float, look: Look, fill: str) -> Polyline:
    """A band along a curve with round ends."""
    places = np.asarray(arc)
    along = np.gradient(places)
    along = along / np.abs(along)
    turn = np.linspace(-math.pi / 2, math.pi / 2, 9)
    ring = np.concatenate([
        places - 1j * half * along, places[-1] + half * along[-1] * np.exp(1j * turn),
        (places + 1j * half * along)[::-1], places[0] - half * along[0] * np.exp(1j * turn),
    ])  # fmt: skip
    return Polyline(tuple((float(p.real), float(p.imag)) for p in ring), look, closed=True,
                    fill="tint" if fill == "tint" else "paper")  # fmt: skip


# ---------------------------------------------------------------------- what stands still
def _ground(side: SideFrames, drawn: Mapping[str, object], frame: Frame) -> list[Stroke]:
    found: list[Stroke] = []
    if side.rail_mm is not None:
        found.append(Line(frame.left, side.rail_mm, frame.right, side.rail_mm, "outline"))
    if "crosshead" in drawn:
        found.append(Line(frame.left, side.cylinder_y_mm, frame.right, side.cylinder_y_mm, "centre"))
    return found


def _dimensions(side: SideFrames, flip: float) -> list[Stroke]:
    """Axle to axle, under the rail."""
    found: list[Stroke] = []
    places = sorted(side.axles.values())
    rail = side.rail_mm or 0.0
    for one, two in pairwise(places):
        a, b = sorted((flip * one, flip * two))
        found.append(Dimension(a, rail, b, rail, f"{two - one:.2f}", away_px=-22.0, along="x"))
    return found


def _frame(side: SideFrames, drawn: dict[str, tuple[Stroke, ...]]) -> Frame:
    """All that is ever seen, with room round it."""
    xs, ys = [0.0], [0.0]
    for body in side.bodies:
        if body.name not in drawn:
            continue
        own = np.asarray([x + 1j * y for stroke in drawn[body.name] for x, y in _corners(stroke)])
        for row in range(max(body.track.x_mm.shape[0], body.track.y_mm.shape[0], body.track.turn_deg.shape[0])):
            for part in np.linspace(0.0, 1.0, 17):
                x, y, turn = body.track.at(float(row), float(part))
                if not math.isfinite(x + y + turn):
                    continue
                there = x + 1j * y + own * np.exp(1j * math.radians(turn))
                xs += [float(there.real.min()), float(there.real.max())]
                ys += [float(there.imag.min()), float(there.imag.max())]
    spare = 0.015 * (max(xs) - min(xs))
    low = min(*ys, side.rail_mm if side.rail_mm is not None else 0.0)
    under = 38.0 * (max(xs) - min(xs)) / WIDTHS_PX["desk"] if side.rail_mm is not None and len(side.axles) > 1 else 0.0
    return Frame(min(xs) - spare, low - max(under, spare), max(xs) + spare, max(ys) + 2 * spare)


def _corners(stroke: Stroke) -> Iterable[tuple[float, float]]:
    match stroke:
        case Circle(x=x, y=y, radius=r):
            return [(x + r * math.cos(a), y + r * math.sin(a)) for a in np.linspace(0, 2 * math.pi, 12)]
        case Polyline(points=points):
            return points
        case _:
            return []


# ---------------------------------------------------------------------- marks
def _marks(
    drawing: SideDrawing, scale: float, marks: Sequence[Mark], at_place: tuple[float, float]
) -> list[str]:  # fmt: skip
    """A pill with the numbers of each body, near where the body is, clear of the others."""
    side, drawn, frame, flip = drawing.side, drawing.bodies, drawing.frame, drawing.flip
    of: dict[str, list[Mark]] = {}
    for mark in marks:
        of.setdefault(mark.body, []).append(mark)
    taken: list[tuple[float, float, float]] = []
    found = []
    for body in (each for each in side.bodies if each.name in drawn):
        for at in range(0, len(of.get(body.name, ())), 3):
            group = of[body.name][at : at + 3]
            text = " ".join(mark.number for mark in group)
            half = max(_MARK_PX, 4.0 * len(text) + 4.0)
            ax, ay = _middle(body, drawn[body.name], at_place)
            ax *= flip
            x, y = _free(ax, ay, half, frame, flip, scale, taken)
            taken.append((x, y, half))
            worst = "fails" if any(m.verdict == "fails" for m in group) else group[0].verdict
            found.append(_pill((ax, ay), (x, y), half, scale, text, worst, group[0].href))
    return found


def _middle(body: Moving, strokes: Sequence[Stroke], at: tuple[float, float]) -> tuple[float, float]:
    """Where the middle of a body is."""
    own = np.asarray([x + 1j * y for stroke in strokes for x, y in _corners(stroke)])
    middle = complex((own.real.min() + own.real.max()) / 2, (own.imag.min() + own.imag.max()) / 2) if own.size else 0j
    if isinstance(body.form, Wheel):
        middle = 0j
    x, y, turn = body.track.at(*at)
    place = complex(x, y) + middle * complex(math.cos(math.radians(turn)), math.sin(math.radians(turn)))
    return (place.real, place.imag) if math.isfinite(abs(place)) else (0.0, 0.0)


def _free(
    x: float, y: float, half: float, frame: Frame, flip: float, scale: float,
    taken: Sequence[tuple[float, float, float]],
) -> tuple[float, float]:  # fmt: skip
    """The nearest place to a point, above it rather than below, where a pill overlaps no other."""
    left, right = (frame.left, frame.right) if flip > 0 else (-frame.right, -frame.left)
    places = sorted(
        (math.hypot(1.3 * dx, dy) + (1.5 if dy < 0 else 0.0), dx, dy)
        for dx in range(-_GRID // 4, _GRID // 4 + 1)
        for dy in range(-_GRID // 4, _GRID // 4 + 1)
        if math.hypot(dx, dy) >= 2.0
    )
    step = 11.0 / scale
    for _, dx, dy in places:
        px, py = x + dx * step, y + dy * step
        inside = (
            left + half / scale < px < right - half / scale
            and frame.bottom + _MARK_PX / scale < py < frame.top - _MARK_PX / scale
        )
        clear = all(
            abs(px - ox) * scale > half + other + 3 or abs(py - oy) * scale > 2 * _MARK_PX + 3
            for ox, oy, other in taken
        )
        if inside and clear:
            return px, py
    return x, y


def _pill(
    anchor: tuple[float, float], at: tuple[float, float], half: float, scale: float, text: str, verdict: str, href: str
) -> str:
    (ax, ay), (x, y) = anchor, at
    w, h = 2 * half / scale, 2 * _MARK_PX / scale
    label = Label(text, x, y, size_px=_MARK_TEXT_PX, figure=True, strong=True)
    kind = escape(verdict.replace(" ", "-"))
    return (
        f'<a href="{escape(href)}" class="mark {kind}" aria-label="finding {escape(text)}">'
        f'<path d="M{ax:.2f} {-ay:.2f}L{x:.2f} {-y:.2f}" class="thin" stroke="#000" stroke-width="0.8" '
        f'vector-effect="non-scaling-stroke"/><circle cx="{ax:.2f}" cy="{-ay:.2f}" r="{1.8 / scale:.2f}" class="dot"/>'
        f'<rect x="{x - w / 2:.2f}" y="{-y - h / 2:.2f}" width="{w:.2f}" height="{h:.2f}" rx="{h / 2:.2f}" '
        f'fill="#fff" stroke="#000" stroke-width="1.6" vector-effect="non-scaling-stroke"/>'
        f"{fragment([label], scale)}</a>"
    )
