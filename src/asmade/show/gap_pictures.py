"""Pictures of gaps from a book: the side view with the nearest pair marked, the width stack on one pin."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, Literal, cast

from asmade.book.address import words_of_place
from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.gaps.scene import Element, Scene
from asmade.reckon.shapes import Disc
from asmade.show.side_view import MarkedPair, side_view
from asmade.show.strokes import Stroke
from asmade.show.wheel_dress import wheel_dress
from asmade.show.width_stack import MOST_PX_PER_MM, StackGap, StackLayer, width_stack
from asmade.verbs.gaps import GapsResult, PairResult, SideResult, at_index

if TYPE_CHECKING:
    from asmade.reckon.values import Values

STACK_MOST_PX_PER_MM = MOST_PX_PER_MM
_NOT_ON_PIN = ("flange", "tyre", "boss")


def side_picture(result: GapsResult, *, at: str = "", side: str = "") -> tuple[Stroke, ...]:
    """The side whose nearest pair has the least margin, at its tightest place or at a crank angle in degrees."""
    sides = [each for each in result.sides if each.pairs and side in ("", each.side)]
    if not sides:
        raise Refused("side view", got="no pair to mark", reason="no two bodies are near one another",
                      way_out="widen it with --near")  # fmt: skip
    chosen = min(sides, key=lambda each: each.pairs[0].finding.margin_mm)
    pair = chosen.pairs[0]
    angle = pair.finding.least.at_rad
    if at:
        try:
            angle = math.radians(float(at.removesuffix("deg")))
        except ValueError as fault:
            raise OutOfRange("crank angle", got=at, allowed="degrees") from fault
        if not math.isfinite(angle):
            raise OutOfRange("crank angle", got=at, allowed="degrees")
    f = pair.finding
    marked = MarkedPair(f.pair.one, f.pair.other, _figure(pair), f.verdict)
    scene = _bars_whole(chosen.scene_for(pair), marked)
    dress = {f"{name}, tyre": wheel_dress(form, sizes.__getitem__) for name, (form, sizes) in chosen.wheels.items()}
    return side_view(scene, at_index(scene, angle), side=cast('Literal["L", "R"]', chosen.side), marked=marked,
                     dress=dress)  # fmt: skip


def _bars_whole(scene: Scene, marked: MarkedPair) -> Scene:
    """Stretches of a bar drawn as one, under the name that is marked where one of them is."""
    found: dict[str, Element] = {}
    for element in scene.elements:
        key = element.name
        if element.name.startswith(f"{element.body}, bar "):
            key = f"{element.body}, bar"
            before = found.get(key)
            if before is not None:
                name = element.name if element.name in (marked.one, marked.other) else before.name
                found[key] = replace(before, name=name, pieces=(*before.pieces, *element.pieces))
                continue
        found[key] = element
    return Scene(tuple(found.values()), scene.crank_rad, scene.sideways)


def _figure(pair: PairResult) -> str:
    f = pair.finding
    return f"{f.least.gap_mm:.2f} {f.least.where}, wants {f.pair.wanted_mm:.2f}"


def stack_picture(
    book: str, result: GapsResult, place: str, *, values: Values | None = None, made: Collection[str] = (),
    short: bool = False,
) -> tuple[Stroke, ...]:  # fmt: skip
    """What lies on the crank pin at a place (``1R``) from the frame outward, and the nearest thing that passes it.

    values: best known sizes of the book where they are at hand, so that it need not be read. made: bodies drawn bold.
    short: the gap at its worst and what is wanted alone, for a narrow page.
    """
    words = words_of_place(place)
    axle, side = words.get("axle", ""), words.get("side", "")
    chosen = next((each for each in result.sides if each.side == side), None)
    if chosen is None or f"wheel {axle}" not in chosen.bodies:
        raise Unknown("pin of a width stack", got=place, way_out="name an axle and a side, such as 1R")
    layers = _frame(book if values is None else values, side) + _on_pin(chosen.scene, axle)
    layers.sort(key=lambda layer: layer.inner_mm)
    gaps, passing = _passing(chosen, axle, layers, short=short)
    return width_stack([replace(layer, made=layer.name in made) for layer in (*layers, *passing)], gaps)


def _on_pin(scene: Scene, axle: str) -> list[StackLayer]:
    bodies = {f"wheel {axle}", f"crank pin {axle}", f"pin cap {axle}"}
    found = []
    for element in scene.elements:
        label = element.name.rpartition(", ")[2]
        rod = element.body.startswith("coupling rod") and _eye_on(element, label, axle)
        big = element.body == "connecting rod" and label == "big_end" and f"crank pin {axle}" in {
            e.body for e in scene.elements
        }  # fmt: skip
        if not (rod or big or (element.body in bodies and label not in _NOT_ON_PIN)):
            continue
        if element.body == f"crank pin {axle}" and label in ("journal", "big_end"):
            continue  # inside the eye
        found.append(_layer(element, cut=element.body.startswith("wheel")))
    return found


def _eye_on(element: Element, label: str, axle: str) -> bool:
    pins = element.body.removeprefix("coupling rod ")
    return (label == "fore" and pins[0] == axle) or (label == "aft" and pins[1] == axle)


def _layer(element: Element, *, cut: bool = False) -> StackLayer:
    (piece, *_) = element.pieces
    half = piece.radius if isinstance(piece, Disc) else float(piece.ring[:, 1].max() - piece.ring[:, 1].min()) / 2
    return StackLayer(element.body, element.inner_mm, element.outer_mm, half,
                      f"{element.outer_mm - element.inner_mm:.2f}", cut=cut)  # fmt: skip


def _frame(book: str | Values, side: str) -> list[StackLayer]:
    """The frame plate, where the book knows how far apart the plates stand."""
    from asmade.book.address import Address  # noqa: PLC0415
    from asmade.measure.errors import AsmadeError  # noqa: PLC0415
    from asmade.reckon.values import compute  # noqa: PLC0415
    from asmade.verbs.store import read_build  # noqa: PLC0415

    values = compute(read_build(book)) if isinstance(book, str) else book
    try:
        over = values.of(Address("frames_assembled", "engine", dim="over_outside"))
        thick = values.of(Address("frame", side, dim="thickness"))
    except AsmadeError:
        return []
    if math.isnan(over) or math.isnan(thick):
        return []
    return [StackLayer("frame", over / 2 - thick, over / 2, 8.0, f"{thick:.2f}", cut=True)]


def _passing(
    side: SideResult, axle: str, layers: list[StackLayer], *, short: bool = False
) -> tuple[list[StackGap], list[StackLayer]]:
    """The nearest thing that passes outside this pin, and the gap to it in the middle and at the worst."""
    on_pin = {f"pin cap {axle}", f"crank pin {axle}"} | {
        name for name in side.bodies if name.startswith("coupling rod") and axle in name
    }
    for pair in side.pairs:
        names = {pair.one, pair.other}
        if not names & on_pin or names <= on_pin:
            continue
        mine = pair.finding.pair.one if pair.one in on_pin else pair.finding.pair.other
        theirs = pair.finding.pair.other if mine == pair.finding.pair.one else pair.finding.pair.one
        one, other = side.scene.element(mine), side.scene.element(theirs)
        if other.inner_mm <= one.outer_mm:
            continue
        f = pair.finding
        wants = f"worst {f.least.gap_mm:.2f}, wants {f.pair.wanted_mm:.2f}"
        gap = StackGap(one.outer_mm, other.inner_mm,
                       wants if short else f"{other.inner_mm - one.outer_mm:.2f}, {wants}",
                       f.verdict)  # fmt: skip
        there = [] if any(layer.name == other.body for layer in layers) else [_layer(other)]
        return [gap], there
    return [], []
