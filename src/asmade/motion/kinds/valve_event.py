"""Valve events within limits: lead, cut-off and the rest at given reverser positions, or how far ends and sides differ.

    [[valve_event]]
    name = "cut-offs alike at both ends"
    gear = "valve gear"                          # may be left out where there is but one
    places = ["L", "R"]
    what = "cutoff"
    at = [1.0, 0.5, -1.0]                        # reverser positions
    between = "ends"                             # front less back; "sides": right less left; left out: each by itself
    within = "3 %"                               # or least and most

``what`` is lead, opening (greatest, past the port's edge) or travel in mm; admission, cutoff, release or compression in
per cent of the stroke in which it happens; die_room (slot left beyond the die at its farthest) in mm; link_swing in
degrees. ``between = "gears"``: lead in full forward less that in full backward gear, nil where the link does not move
the valve at that dead centre.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from asmade.book.address import Address, words_of_place
from asmade.book.model import Relation
from asmade.measure.errors import Refused, Unknown, near
from asmade.reckon.requirement import Limits, Row, Unit
from asmade.reckon.scope import Scope, only, places_of, subject_at

if TYPE_CHECKING:
    from asmade.motion.bindings.valve_model import Model, Wanted

KIND = "valve_event"
HELP = (
    "a valve event within limits: what, at (reverser positions), gear, end, between (ends, sides or gears), least and "
    "most or within"
)
UNITS: Final[dict[str, Unit]] = {
    "lead": "mm",
    "opening": "mm",
    "travel": "mm",
    "die_room": "mm",
    "link_swing": "rad",
    "admission": "%",
    "cutoff": "%",
    "release": "%",
    "compression": "%",
}
WORDS: Final = {
    "lead": "lead",
    "opening": "greatest opening",
    "travel": "valve travel",
    "die_room": "room of the die in its slot",
    "link_swing": "swing of the link",
    "admission": "admission",
    "cutoff": "cut-off",
    "release": "release",
    "compression": "compression",
}
AT_ENDS: Final = ("lead", "opening", "admission", "cutoff", "release", "compression")
BETWEEN: Final = ("", "ends", "sides", "gears")


@dataclass(frozen=True, slots=True)
class ValveEvent:
    """One figure, or the difference of two: a sum of (factor, gear of a side, figure).

    ``adjusted``: rods, return crank and spindle are set on the engine when all is made, so the choice of sizes asks
    little room for the scatter of what is made before.
    """

    subject: str
    group: str
    limits: Limits
    unit: Unit
    terms: tuple[tuple[float, Model, Wanted], ...]
    words: str
    code: str = KIND
    plays: tuple[str, ...] = ()
    to_suit: Address | None = None
    adjusted: bool = True

    @property
    def source(self) -> str:
        """Who set the limits."""
        return self.limits.source

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size of the gear and the valve."""
        return tuple(dict.fromkeys(a for _, model, _ in self.terms for a in model.bound.reads))

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """By the full model; NaN where the gear does not go together or the event does not happen."""
        return sum(factor * model.figure(wanted, sizes) for factor, model, wanted in self.terms)

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """Linearised by exact rates, the valve held on its spindle as the book sets it."""
        from asmade.motion.bindings.valve_model import row_of  # noqa: PLC0415

        return None if at is None else row_of(self.terms, at)

    def working(self, sizes: Callable[[Address], str]) -> str:
        """What it is, and every size that goes into it."""
        from asmade.motion.bindings.valve_model import sums_in_words  # noqa: PLC0415

        bounds = dict.fromkeys(model.bound for _, model, _ in self.terms)
        return f"{self.words}: {'; '.join(sums_in_words(bound, sizes) for bound in bounds)}"


def requirements(relation: Relation, scope: Scope) -> Iterator[ValveEvent]:
    """One for each position and end; those of one place (one engine, between sides) are one finding, the worst."""
    only(relation, "what", "at", "gear", "end", "between", "least", "most", "within")
    what = _one_of(relation, "what", tuple(UNITS))
    between = _one_of(relation, "between", BETWEEN)
    limits = _limits(relation, UNITS[what])
    if between == "sides":
        if relation.places:
            raise Refused(
                f"{KIND} {relation.name!r}",
                got=relation.places,
                reason="between the sides there is no place",
                way_out="take places away",
            )
        yield from _between_sides(relation, scope, what, limits)
        return
    if not relation.places:
        raise Refused(
            f"{KIND} {relation.name!r}",
            got="no places",
            reason="it does not say at which sides",
            way_out='write places = ["L", "R"], or between = "sides"',
        )
    for place in places_of(relation):
        yield from _at_side(relation, place, scope, what, between, limits)


def _ends(relation: Relation, what: str) -> tuple[str | None, ...]:
    end = _one_of(relation, "end", ("", "front", "back"))
    if what not in AT_ENDS:
        return (None,)
    return (end,) if end else ("front", "back")


def _at_side(
    relation: Relation, place: str, scope: Scope, what: str, between: str, limits: Limits
) -> Iterator[ValveEvent]:
    from asmade.motion.bindings.valve_model import Wanted, positions_of  # noqa: PLC0415

    model = _model(relation, scope, words_of_place(place).get("side", ""))
    group = subject_at(relation, place)
    ends = _ends(relation, what)
    if between and None in ends:
        raise Refused(
            f"{KIND} {relation.name!r}", got=what, reason="it is the same at both ends", way_out="take between away"
        )
    positions = positions_of(relation)
    for at in positions[:1] if between == "gears" else positions:
        where = f"{WORDS[what]} at reverser {at:+g}"
        if between == "ends":
            terms = ((1.0, model, Wanted(what, at, "front")), (-1.0, model, Wanted(what, at, "back")))
            yield ValveEvent(group, group, limits, UNITS[what], terms, f"{where}, front less back")
            continue
        for end in ends:
            first = (1.0, model, Wanted(what, at, end))
            if between == "gears":
                words = f"{WORDS[what]} at the {end} end, full forward less full backward gear"
                yield ValveEvent(
                    group, group, limits, UNITS[what], (first, (-1.0, model, Wanted(what, -1.0, end))), words
                )
            else:
                yield ValveEvent(group, group, limits, UNITS[what], (first,), f"{where}{f', {end} end' if end else ''}")


def _between_sides(relation: Relation, scope: Scope, what: str, limits: Limits) -> Iterator[ValveEvent]:
    from asmade.motion.bindings.valve_model import Wanted, positions_of  # noqa: PLC0415

    right, left = (_model(relation, scope, side) for side in ("R", "L"))
    for at in positions_of(relation):
        for end in _ends(relation, what):
            wanted = Wanted(what, at, end)
            words = f"{WORDS[what]} at reverser {at:+g}{f', {end} end' if end else ''}, right less left"
            yield ValveEvent(
                relation.name, relation.name, limits, UNITS[what], ((1.0, right, wanted), (-1.0, left, wanted)), words
            )


def _model(relation: Relation, scope: Scope, side: str) -> Model:
    """The gear it speaks of, at one side."""
    from asmade.motion.bindings.valve_model import models_of  # noqa: PLC0415

    gears = {each.name: each for each in scope.design.of_kind("valve_gear")}
    named = relation.text("gear") or (next(iter(gears)) if len(gears) == 1 else "")
    if named not in gears:
        raise Unknown(
            f"{KIND} {relation.name!r} gear",
            got=named or "nothing",
            near=near(named, gears),
            way_out=f"gears of the book: {', '.join(gears) or 'none yet: add a [[valve_gear]]'}",
        )
    for model in models_of(gears[named], scope):
        if model.bound.side == side:
            return model
    raise Refused(
        f"{KIND} {relation.name!r}",
        got=side or "no side",
        reason=f"{named} does not stand there",
        way_out='write places = ["L", "R"]',
    )


def _one_of(relation: Relation, key: str, among: tuple[str, ...]) -> str:
    said = relation.text(key)
    if said not in among:
        listed = ", ".join(each for each in among if each)
        raise Unknown(
            f"{KIND} {relation.name!r} {key}",
            got=said or "nothing",
            near=near(said, among),
            way_out=f"one of: {listed}",
        )
    return said


def _limits(relation: Relation, unit: Unit) -> Limits:
    """Least and most, or within (either way); per cent as ``70 %``, lengths with their unit, angles in deg."""
    low, high, within = (_amount(relation, key, unit) for key in ("least", "most", "within"))
    if within is not None:
        if low is not None or high is not None or within < 0:
            raise Refused(
                f"{KIND} {relation.name!r}",
                got=dict(relation.fields),
                reason="within stands for least and most, and is positive",
                way_out="keep one of them",
            )
        low, high = -within, within
    if low is not None and high is not None and low > high:
        raise Refused(
            f"{KIND} {relation.name!r}",
            got=f"least {low:g}, most {high:g}",
            reason="least is more than most",
            way_out="exchange the two",
        )
    return Limits(low, high, relation.text("source") or "set by the builder")


def _amount(relation: Relation, key: str, unit: Unit) -> float | None:
    from asmade.book.sizes import read_limit, to_inside  # noqa: PLC0415

    text = relation.text(key).strip()
    where = f"{KIND} {relation.name!r} {key}"
    if unit != "%" or not text:
        exact = read_limit(text, angle=unit == "rad", thing=where)
        return None if exact is None else to_inside(exact, angle=unit == "rad")
    try:
        found = float(text.removesuffix("%"))
    except ValueError:
        found = 1e9
    if not -100 <= found <= 100:
        raise Refused(where, got=text, reason="it is no amount in per cent of the stroke", way_out='write "70 %"')
    return found
