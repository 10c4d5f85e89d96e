"""Coupled wheels that turn without binding: the least each-way slack of every section over the turn.

    [[binding]]
    name = "wheels turn freely"
    least = "0.01 mm"                            # wanted each way; 0 where not said: they just turn
    boxes = "blocked"                            # as for trial turning, or "free" as running
    meet = ["knuckle ahead"]                     # on each inner pin; or separate, knuckle behind, rigid
    [binding.sizes]                              # only where parts are not those of the kits
    axle_x = "frame@{side}.horn_at.{axle} + axlebox@{place}.bore_forward"
    bore_fore = "rod_bush@{fore}{side}.bore"

Every dimension that ``sizes`` does not say is found by the names of the kits: axle_x, axle_y, crank_radius, pin_ahead,
box_play (each way), pin and run_out at each wheel, quarter at each axle, centres, bore_fore and bore_aft at each rod,
knuckle_reach and knuckle_clearance at each jointed pin. A table by places stands for one sum:
``centres = { "12" = "...", "23" = "..." }``. How it is reckoned: docs/wheels.md.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, cast

from asmade.book.address import Address
from asmade.book.model import Relation
from asmade.measure.errors import OutOfRange, Unknown, near
from asmade.reckon.requirement import Ends, Limits, Row, Unit
from asmade.reckon.scope import Scope, subject_at

if TYPE_CHECKING:
    from asmade.motion.bindings.wheels_model import Model
    from asmade.motion.wheels.slack import Boxes
    from asmade.reckon.values import Values

KIND = "binding"
HELP = "coupled wheels turn without binding: least (slack each way), boxes, meet, sizes (sums where parts are your own)"
BOXES: Final = ("blocked", "free")
SOURCE: Final = "geometry: wheels that bind do not turn"


@dataclass(frozen=True, slots=True)
class Binding:
    """Least each-way slack of one section between neighbouring coupled axles, both sides together.

    made_good: a choice of sizes makes no room for its scatter, for that is made good on the engine: rods are bored
    to the axles, axles quartered alike, bushes eased.
    """

    subject: str
    section: int
    limits: Limits
    model: Model
    code: str = KIND
    plays: tuple[str, ...] = ()
    to_suit: Address | None = None
    unit: Unit = "mm"
    made_good: bool = True
    corners_alone: bool = True
    """Of arrays the turn is looked at in steps only: its worst corners are asked for one by one."""

    @property
    def group(self) -> str:
        """A finding of its own."""
        return self.subject

    @property
    def source(self) -> str:
        """Who set the limits."""
        return self.limits.source

    @property
    def reads(self) -> tuple[Address, ...]:
        """Every size of the chassis that works on this section."""
        return self.model.reads

    def evaluate(self, sizes: Callable[[Address], Any]) -> Any:
        """Slack at the tightest place of the turn; NaN where there is no chassis."""
        return self.model.least(self.section, sizes)

    def linear(self, at: Callable[[Address], float] | None = None) -> Row | None:
        """By true distances at the tightest place, with the exact rates of the linear sum there."""
        return None if at is None else self.model.row(self.section, at)

    def ends(self, values: Values) -> Ends | None:
        """Worst case with every cause against it, and chance from drawn builds, run-out of pins and seats counted."""
        return self.model.ends(self.section, values, float(self.limits.low or 0.0))

    def working(self, sizes: Callable[[Address], str]) -> str:
        """What is asked, and every size of the rods and wheels of this section."""
        from asmade.motion.wheels.chassis import names  # noqa: PLC0415
        from asmade.reckon.requirement import written  # noqa: PLC0415

        bound = self.model.bound
        sums = (
            f"{name} = {written(node, sizes)}"
            for name, node in zip(names(bound.layout), bound.nodes, strict=True)
            if node is not None and not (self.model.boxes == "blocked" and name.startswith("box play"))
        )
        return f"least slack each way over the turn, boxes {self.model.boxes}: {'; '.join(sums)}"


def boxes_of(relation: Relation) -> Boxes:
    """Boxes blocked or free, as the relation says; blocked where it does not."""
    said = relation.text("boxes") or "blocked"
    if said not in BOXES:
        raise Unknown(f"{KIND} {relation.name!r} boxes", got=said, near=near(said, BOXES),
                      way_out='write "blocked" (trial turning) or "free" (running)')  # fmt: skip
    return cast("Boxes", said)


def limits_of(relation: Relation, scope: Scope) -> Limits:
    """The slack wanted each way: 0 where it is not said."""
    found = scope.limits(relation, source=SOURCE)
    if found.low is not None and found.low < 0:
        raise OutOfRange(f"{KIND} {relation.name!r} least", got=f"{found.low:g} mm", allowed="0 mm or more",
                         way_out="say the slack wanted each way")  # fmt: skip
    return Limits(0.0 if found.low is None else found.low, None, found.source if relation.text("least") else SOURCE)


def requirements(relation: Relation, scope: Scope) -> Iterator[Binding]:
    """One requirement for each section; where sections do not work on each other each reads only its own sizes."""
    from asmade.motion.bindings.wheels import bind  # noqa: PLC0415  # only books with coupled wheels pay for it
    from asmade.motion.bindings.wheels_model import Model  # noqa: PLC0415

    bound, boxes, limits = bind(relation, scope), boxes_of(relation), limits_of(relation, scope)
    apart = bound.layout.decouples and boxes == "blocked"
    whole = Model(bound, boxes)
    for section, name in enumerate(bound.sections):
        own = bound.part(section, section + 1) if apart else None
        model = whole if own is None else Model(own, boxes)
        yield Binding(subject_at(relation, name), 0 if own is not None else section, limits, model)
