"""gaps: does anything that moves touch anything near it, where in the turn, how surely, and where to take it from."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from asmade.book.address import Address
from asmade.book.forms import form_of
from asmade.book.forms.wheel import Wheel
from asmade.book.model import Build, Relation
from asmade.book.sizes import read_limit
from asmade.measure.errors import AsmadeError, OutOfRange, Refused, Unknown
from asmade.motion.bindings.gap_finder import side_play, sides_of
from asmade.motion.bindings.gap_model import Together, duos_of, known_bodies, least_margins, looked_together
from asmade.motion.bindings.gaps import Array, Body, Get, Side, relation_of, rise_name
from asmade.motion.gaps.cures import Cure, where_to_take_it_from
from asmade.motion.gaps.findings import GapFinding, Sizes, even_angles, find_gaps
from asmade.motion.gaps.on_curve import FirstTouch, first_to_touch, offsets_on_curve
from asmade.motion.gaps.scene import Pair, Scene
from asmade.motion.kinds.gap import least_of, pairs_said, wanted_of
from asmade.motion.wheels.curve import LeastCurve, flange_freedom, least_curve
from asmade.reckon.shapes.sizes import seat_sizes
from asmade.reckon.values import MADE, Values, compute
from asmade.verbs.piston_ends import PistonEnds, piston_ends
from asmade.verbs.store import Path_, read_build

ANGLES: Final = 720
OF_EACH: Final = 180
"""Crank angles at each reverser position, where a link of the valve gear is in a pair."""
NEAR_MM: Final = 3.0
"""Pairs are told that have up to so much more than they want; of the rest only how many were looked at."""
MOST_PAIRS: Final = 12
MAY_CHANGE: Final = ("thickness", "width", "length", "height", "depth", "diameter", "slot")
"""Kinds of size that room is taken from; centres, positions and throws suit other things."""
MAY_CHANGE_PART: Final = 0.4
"""Up to this part of itself a size is thought changed; more is another drawing."""
MOST_CURES: Final = 4
MOST_SHARES: Final = 6
LEAST_SHARE: Final = 0.5  # per cent


@dataclass(frozen=True, slots=True)
class PairResult:
    """One pair of bodies on one side: the finding of its nearest layers, single sizes that would give it its gap.

    reverser: position at which it is nearest, where a link of the valve gear is in it.
    """

    side: str
    one: str
    other: str
    finding: GapFinding
    reverser: float | None
    shares: tuple[tuple[str, float], ...]
    cures: tuple[Cure, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SideResult:
    """One side: pairs by margin, how many were looked at, what could not be, the scene at best sizes.

    The scene stands over one turn; ``scene_for`` gives that with the valve gear where a pair is nearest.
    not_known: pairs asked for of which a body could not be looked at, and why. waits_for: sizes that are not known,
    each with the bodies that could be looked at but for it (and others). wheels: by the name of their body, form and
    sizes, for whoever draws them.
    """

    side: str
    pairs: tuple[PairResult, ...]
    looked_at: int
    bodies: tuple[str, ...]
    left_out: tuple[tuple[str, str], ...]
    scene: Scene
    wheels: Mapping[str, tuple[Wheel, Mapping[str, float]]]
    touches_on_curve: tuple[FirstTouch, ...] = ()
    not_known: tuple[tuple[str, str, str], ...] = ()
    waits_for: tuple[tuple[str, tuple[str, ...]], ...] = ()
    at_reverser: Callable[[float], Scene] | None = None

    def scene_for(self, pair: PairResult) -> Scene:
        """The scene over a turn with the links of the valve gear at the reverser position of a pair."""
        if pair.reverser is None or self.at_reverser is None:
            return self.scene
        return self.at_reverser(pair.reverser)

    @property
    def told(self) -> bool:
        """Whether anything could be looked at."""
        return self.looked_at > 0


@dataclass(frozen=True, slots=True)
class CurveResult:
    """The least curve that side play (and flanges) allow, and what was asked for."""

    least: LeastCurve
    axles: tuple[str, ...]
    radius_mm: float | None
    with_flanges: bool
    fault: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class GapsResult:
    """Both sides, the curve, and how the sizes of the pairs told are known."""

    name: str
    wanted_mm: float
    sides: tuple[SideResult, ...]
    curve: CurveResult | None
    drawn_only: tuple[str, ...]
    notes: tuple[str, ...]
    ends: tuple[PistonEnds, ...] = ()

    @property
    def fails(self) -> bool:
        """Whether any gap, or the room of a piston, is not as it should be."""
        if any("fails" in (ends.front.verdict, ends.back.verdict) for ends in self.ends):
            return True
        return any(pair.finding.verdict == "fails" for side in self.sides for pair in side.pairs)

    @property
    def not_told(self) -> bool:
        """Whether on some side nothing at all could be looked at."""
        return not all(side.told for side in self.sides)


def gaps(
    path: Path_, *, gap: str = "", wanted: str = "", side: str = "", near: str = "", curve: str = "", gauge: str = "",
    angles: int = ANGLES,
) -> GapsResult:  # fmt: skip
    """Look at the room between the moving parts of a book; ``wanted`` stands in for what its ``[[gap]]`` says.

    side: L or R only. near: how much more than wanted a pair may have and still be told. curve: radius of a curve to
    stand on; gauge: between the rails, for the flanges' part of the freedom.
    """
    return gaps_of(read_build(path), gap=gap, wanted=wanted, side=side, near=near, curve=curve, gauge=gauge,
                   angles=angles)  # fmt: skip


def gaps_of(
    build: Build, *, gap: str = "", wanted: str = "", side: str = "", near: str = "", curve: str = "", gauge: str = "",
    angles: int = ANGLES,
) -> GapsResult:  # fmt: skip
    """Look at the room between the moving parts of a build."""
    relation = relation_of(build.design, gap)
    if wanted:
        relation = replace(relation, fields={**relation.fields, "least": wanted})
    values = compute(build)
    scope = values.system.scope
    least = float(least_of(relation, scope).low or 0.0)
    within = _amount(near, "near") if near else NEAR_MM
    radius = _amount(curve, "radius of the curve") if curve else None
    looked = []
    for each in sides_of(relation, scope):
        if side and each.side != side:
            continue
        looked.append(_Looker(each, relation, values, least, within, angles).look(radius))
    if not looked:
        raise Unknown("side", got=side, way_out="L or R, as the [[gap]] has them")
    notes = []
    if not any(True for _ in build.design.of_kind("gap")):
        notes.append(
            "the book has no [[gap]]: bodies are found by the names of the kits, wanted is that nothing touches"
        )
    reads = dict.fromkeys(a for one in looked for pair in one.pairs for a in pair.finding.rates)
    drawn = tuple(a for a in reads if _is_drawn(values, a))
    return GapsResult(
        relation.name, least, tuple(looked), _curve(values, relation, radius, gauge), drawn, tuple(notes),
        piston_ends(values, side),
    )  # fmt: skip


def _is_drawn(values: Values, text: str) -> bool:
    at = _index(values).get(text)
    return at is not None and bool(values.drawn_only[at])


def _index(values: Values) -> Mapping[str, int]:
    return {str(address): at for address, at in values.system.index.items()}


def _amount(text: str, thing: str) -> float:
    found = read_limit(text, angle=False, thing=thing)
    if found is None or found < 0:
        raise OutOfRange(thing, got=text, allowed="0 mm or more")
    return float(found)


class _Looker:
    """Looks at one side at the best known sizes."""

    def __init__(
        self, side: Side, relation: Relation, values: Values, least: float, within: float, angles: int
    ) -> None:
        self.side, self.relation, self.values, self.within = side, relation, values, within
        self.wanted = wanted_of(relation, least)
        self.count = angles
        index = values.system.index
        self.get: Get = lambda a: 0.0 if a.part == "rise_of_axle" else float(values.best[index[a]])

    def look(self, radius: float | None) -> SideResult:
        side = self.side
        bodies, out = known_bodies(side, side.every, self.get)
        left = (*side.left_out, *out)
        named = pairs_said(self.relation, side)
        by_name = {body.name: body for body in bodies}
        duos = list(duos_of(bodies))
        if named:
            duos = [(by_name[a], by_name[b]) for a, b in named if a in by_name and b in by_name]
        why = dict(left)
        lacking = tuple(
            (a, b, "; ".join(f"{each}: {why[each]}" for each in (a, b) if each in why))
            for a, b in named
            if a not in by_name or b not in by_name
        )
        parts = looked_together(side, duos, self.get, self.wanted, angles=self.count, of_each=OF_EACH)
        nearest: dict[frozenset[str], tuple[float, Pair]] = {}
        for part in parts:
            margins = least_margins(part.scene, part.pairs, math.inf if named else 0.0, up_to_mm=self.within)
            for pair, margin in zip(part.pairs, margins, strict=True):
                two = frozenset((_body(pair.one), _body(pair.other)))
                if margin < nearest.get(two, (math.inf, pair))[0]:
                    nearest[two] = (margin, pair)
        told = sorted(nearest.values(), key=lambda each: each[0])
        if not named:
            told = [each for each in told if each[0] <= self.within][:MOST_PAIRS]
        findings = [self._finding(pair, by_name) for _, pair in told]
        found = tuple(
            PairResult(
                side.side, _body(f.pair.one), _body(f.pair.other), f, self._reverser(f, by_name),
                self._shares(f), self._cures(f, findings),
            )
            for f in sorted(findings, key=lambda f: f.margin_mm)
        )  # fmt: skip
        first = next((pair.reverser for pair in found if pair.reverser is not None), None)

        def at_reverser(position: float) -> Scene:
            turn = even_angles(self.count)
            at = side.positions.index(position)
            return replace(side.scene(bodies, self.get, turn + 2 * math.pi * at), crank_rad=turn)

        scene = side.scene(bodies, self.get, even_angles(self.count)) if first is None else at_reverser(first)
        touches = self._on_curve(parts, radius) if radius is not None else ()
        return SideResult(
            side.side, found, sum(len(part.pairs) for part in parts), tuple(by_name), left, scene,
            self._wheels(by_name), touches, lacking, self._waits_for(by_name), at_reverser if side.links else None,
        )  # fmt: skip

    def _reverser(self, finding: GapFinding, bodies: Mapping[str, Body]) -> float | None:
        geared = any(bodies[_body(name)].geared for name in (finding.pair.one, finding.pair.other))
        return self.side.reverser_at(finding.least.at_rad) if geared else None

    def _waits_for(self, known: Mapping[str, Body]) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Sizes without a value, each with the bodies they keep back, those that keep back most first."""
        kept: dict[str, list[str]] = {}
        for body in self.side.every:
            if body.name not in known:
                for address in body.reads:
                    if math.isnan(self.get(address)):
                        kept.setdefault(str(address), []).append(body.name)
        return tuple((size, tuple(names)) for size, names in sorted(kept.items(), key=lambda each: -len(each[1])))

    def _wheels(self, bodies: Mapping[str, Body]) -> dict[str, tuple[Wheel, Mapping[str, float]]]:
        part = self.values.system.scope.design.parts.get("wheel")
        form = form_of(part) if part is not None else None
        wheel = getattr(form, "of", form)
        if not isinstance(wheel, Wheel):
            return {}
        return {
            f"wheel {axle}": (wheel, seat_sizes(self.values, "wheel", f"{axle}{self.side.side}"))
            for axle in self.side.axles
            if f"wheel {axle}" in bodies
        }

    def _finding(self, pair: Pair, bodies: Mapping[str, Body]) -> GapFinding:
        two = (bodies[_body(pair.one)], bodies[_body(pair.other)])
        reads = self.side.reads_of(two)
        values, index = self.values, self.values.system.index
        best = {str(a): self.get(a) for a in reads}
        causes: dict[int, None] = {}
        rows = {a: values.rows[index[a]] for a in reads}
        for row in rows.values():
            causes |= dict.fromkeys(row)
        best |= {_cause(n): 0.0 for n in causes}
        free = {}
        if self.side.rise_mm > 0:
            rises = [rise_name(axle) for axle in self.side.axles]
            best |= {str(a): 0.0 for a in rises}
            free = {str(a): self.side.rise_mm for a in rises}
        sigma = {_cause(n): float(values.sigma[n]) for n in causes}
        moves: dict[str, dict[str, float]] = {_cause(n): {} for n in causes}
        for address, row in rows.items():
            for cause, rate in row.items():
                moves[_cause(cause)][str(address)] = rate
        sizes = Sizes(best, sigma, {_cause(n): float(values.bound[n]) for n in causes}, free, moves)
        texts = {a: (str(a), tuple((_cause(n), rate) for n, rate in row.items())) for a, row in rows.items()}

        def model(given: Mapping[str, float], angles: Array) -> Scene:
            def get(address: Address) -> float:
                known = texts.get(address)
                if known is None:
                    return given.get(str(address), 0.0)
                text, row = known
                value = given[text]
                for cause, rate in row:
                    value += rate * given[cause]
                return value

            return self.side.scene(two, get, angles)

        (found,) = find_gaps(model, sizes, [pair], angles=self.side.angles(two, self.count, OF_EACH))
        return found

    def _shares(self, finding: GapFinding) -> tuple[tuple[str, float], ...]:
        named = [(self.values.causes[int(name[1:])], share) for name, share in finding.shares if name.startswith("~")]
        return tuple((name, share) for name, share in named[:MOST_SHARES] if share >= LEAST_SHARE)

    def _cures(self, finding: GapFinding, all_: Sequence[GapFinding]) -> tuple[Cure, ...]:
        """Sizes still to be made that would give the pair its gap; a size computed from others is none."""
        if finding.verdict == "holds":
            return ()
        index = _index(self.values)
        open_ = {}
        for name in finding.rates:
            at = index.get(name)
            if at is None or int(self.values.source[at]) == MADE or at in self.values.system.computed:
                continue
            dimension = self.values.system.dimensions[at]
            if dimension is not None and dimension.kind in MAY_CHANGE:
                open_[name] = MAY_CHANGE_PART * abs(float(self.values.best[at]))
        found = where_to_take_it_from(finding, [f for f in all_ if f is not finding], open_,
                                      worst=finding.verdict == "close")  # fmt: skip
        return found[:MOST_CURES]

    def _on_curve(self, parts: Sequence[Together], radius: float) -> tuple[FirstTouch, ...]:
        touches: list[FirstTouch] = []
        for part in parts:
            sideways = part.scene.sideways
            freedoms = {axle: sideways.get(side_play(axle), 0.0) for axle in self.side.axles}
            try:
                offsets = offsets_on_curve(radius, _axle_x(self.values, self.side), list(freedoms.values()))
            except AsmadeError:
                continue
            named = {side_play(axle): off for axle, off in zip(freedoms, offsets, strict=True)
                     if side_play(axle) in sideways}  # fmt: skip
            some = [p for p in part.pairs if not _far(part.scene, p)]
            touches += first_to_touch(part.scene, some, named)[:MOST_PAIRS]
        return tuple(sorted(touches, key=lambda touch: touch.margin_mm)[:MOST_PAIRS])


def _far(scene: Scene, pair: Pair) -> bool:
    one, other = scene.element(pair.one), scene.element(pair.other)
    return max(other.inner_mm - one.outer_mm, one.inner_mm - other.outer_mm) > pair.wanted_mm + 2 * NEAR_MM


def _cause(number_: int) -> str:
    return f"~{number_}"


def _body(element: str) -> str:
    return element.partition(",")[0]


def _axle_x(values: Values, side: Side) -> list[float]:
    index = values.system.index
    return [float(values.best[index[Address("frame", side.side, dim=f"horn_at.{axle}")]]) for axle in side.axles]


def _curve(values: Values, relation: Relation, radius: float | None, gauge: str) -> CurveResult | None:
    """The least curve by side play alone, with the flanges' room between the rails where the gauge is given."""
    scope = values.system.scope
    try:
        side = sides_of(relation, scope)[0]
        freedom = [_play(values, scope.plays, axle) for axle in side.axles]
        if gauge:
            width = _amount(gauge, "gauge")
            for at, axle in enumerate(side.axles):
                back = values.of(Address("wheelset", axle, dim="back_to_back"))
                thick = values.of(Address("wheel", f"{axle}{side.side}", dim="flange_thickness"))
                freedom[at] += 0.5 * flange_freedom(width, back, thick)
        if any(math.isnan(each) for each in freedom):
            raise Refused("side play", got="not known", reason="a size of it has no value")
        found = least_curve(_axle_x(values, side), freedom)
    except (AsmadeError, KeyError) as fault:
        if radius is None and not gauge:
            return None
        text = fault.message if isinstance(fault, AsmadeError) else f"not in the book: {fault}"
        return CurveResult(LeastCurve(math.nan, None, 0.0), (), radius, bool(gauge), text)
    short = ""
    if radius is not None:
        try:
            offsets_on_curve(radius, _axle_x(values, side), freedom)
        except AsmadeError as too_sharp:
            short = too_sharp.message
    return CurveResult(found, side.axles, radius, bool(gauge), short)


def _play(values: Values, plays: Mapping[str, Any], axle: str) -> float:
    from asmade.book.grammar import evaluate  # noqa: PLC0415

    node = plays.get(f"side play@{axle}")
    if node is None:
        raise Refused("side play", got=f"axle {axle}", reason="the book has no [[play]] of that name",
                      way_out='add [[play]] name = "side play", places = [axles]')  # fmt: skip
    return max(0.0, float(evaluate(node, values.of)))


def at_index(scene: Scene, angle: float) -> int:
    """Number of the crank angle of a scene that is nearest to an angle."""
    apart = np.abs(np.mod(scene.crank_rad - angle + math.pi, 2 * math.pi) - math.pi)
    return int(np.argmin(apart))
