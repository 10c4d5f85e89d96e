"""How the coupling rods of one side hang together: bodies, eyes and knuckle joints, from how neighbours meet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from typing import Literal, get_args

from asmade.measure.errors import OutOfRange, Unknown

Meeting = Literal["separate", "knuckle ahead", "knuckle behind", "rigid"]
"""How two neighbouring sections meet at an inner pin.

``separate``: each rod has its own eye on the pin. ``knuckle ahead``: the rear rod has the eye and reaches forward
to a joint ahead of the pin; the front rod has no eye there. ``knuckle behind``: the front rod has the eye and
reaches back to a joint behind the pin. ``rigid``: one rod in one piece over the pin.
"""

SIDES = ("L", "R")
MOST_AXLES = 6


@dataclass(frozen=True, slots=True)
class Support:
    """One place where a rod is held: an eye on a pin, or the joint in the rod that carries it."""

    section_offset: int  # how many of the body's own sections lie ahead of it
    eye: int | None  # index into Layout.eyes
    knuckle: int | None  # index into Layout.knuckles


@dataclass(frozen=True, slots=True)
class Body:
    """One rod in one piece, from the front: the sections it covers and where it is held."""

    first: int
    last: int
    supports: tuple[Support, ...]

    @property
    def sections(self) -> range:
        """Indices of the sections the rod covers."""
        return range(self.first, self.last + 1)

    @property
    def over_three(self) -> bool:
        """Whether three or more eyes in a line make the rod bind across its length as well as along it."""
        return len(self.supports) > 2


@dataclass(frozen=True, slots=True)
class Knuckle:
    """A joint ahead of (or behind) the pin of ``axle``: the rod ``carrier`` has the eye, ``carried`` hangs on it."""

    axle: int
    carrier: int
    carried: int
    ahead: bool


@dataclass(frozen=True)
class Layout:
    """The rods of one side, the same on both sides.

    ``meetings`` has one entry per inner axle, so the number of axles is ``len(meetings) + 2``.
    """

    meetings: tuple[Meeting, ...]

    def __post_init__(self) -> None:
        """Refuse unknown meetings and more axles than the sums are written for."""
        for meeting in self.meetings:
            if meeting not in get_args(Meeting):
                raise Unknown("how two coupling rods meet", got=meeting, near=get_args(Meeting))
        if self.axles > MOST_AXLES:
            raise OutOfRange("coupled axles", got=self.axles, allowed=f"2 to {MOST_AXLES}")

    @property
    def axles(self) -> int:
        """Number of coupled axles."""
        return len(self.meetings) + 2

    @property
    def sections(self) -> int:
        """Number of sections between neighbouring coupled axles."""
        return len(self.meetings) + 1

    @cached_property
    def _spans(self) -> tuple[tuple[int, int], ...]:
        spans, first = [], 0
        for section in range(self.sections):
            if section == self.sections - 1 or self.meetings[section] != "rigid":
                spans.append((first, section))
                first = section + 1
        return tuple(spans)

    def _jointed(self, axle: int, *, from_front: bool) -> bool:
        """Whether the rod that reaches ``axle`` from the front (or from behind) ends in a joint, not in an eye."""
        if not 0 < axle < self.axles - 1:
            return False
        return self.meetings[axle - 1] == ("knuckle ahead" if from_front else "knuckle behind")

    @cached_property
    def knuckles(self) -> tuple[Knuckle, ...]:
        """The knuckle joints of one side, from the front."""
        found = []
        for index, meeting in enumerate(self.meetings):
            axle = index + 1
            if meeting in ("knuckle ahead", "knuckle behind"):
                front = next(body for body, (_, last) in enumerate(self._spans) if last + 1 == axle)
                ahead = meeting == "knuckle ahead"
                found.append(
                    Knuckle(
                        axle=axle,
                        carrier=front + 1 if ahead else front,
                        carried=front if ahead else front + 1,
                        ahead=ahead,
                    )
                )
        return tuple(found)

    @cached_property
    def eyes(self) -> tuple[tuple[int, int], ...]:
        """Every eye of one side as (body, axle), from the front."""
        found = []
        for body, (first, last) in enumerate(self._spans):
            for axle in range(first, last + 2):
                ends_here = axle == last + 1
                starts_here = axle == first
                if ends_here and self._jointed(axle, from_front=True):
                    continue
                if starts_here and self._jointed(axle, from_front=False):
                    continue
                found.append((body, axle))
        return tuple(found)

    @cached_property
    def bodies(self) -> tuple[Body, ...]:
        """The rods of one side, from the front."""
        found = []
        for body, (first, last) in enumerate(self._spans):
            supports = []
            for axle in range(first, last + 2):
                if (body, axle) in self.eyes:
                    supports.append(Support(axle - first, self.eyes.index((body, axle)), None))
                else:
                    joint = next(k for k, knuckle in enumerate(self.knuckles) if knuckle.axle == axle)
                    supports.append(Support(axle - first, None, joint))
            found.append(Body(first, last, tuple(supports)))
        return tuple(found)

    @cached_property
    def carriers(self) -> tuple[int, ...]:
        """Bodies that carry a knuckle joint, each once, in an order in which a carrier comes before what it carries."""
        wanted = {knuckle.carrier for knuckle in self.knuckles}
        order: list[int] = []
        while len(order) < len(wanted):
            for body in sorted(wanted - set(order)):
                on = {k.carrier for k in self.knuckles if k.carried == body}
                if on <= set(order):
                    order.append(body)
        return tuple(order)

    @cached_property
    def has_rigid(self) -> bool:
        """Whether any rod lies in one piece over three pins."""
        return any(body.over_three for body in self.bodies)

    @cached_property
    def decouples(self) -> bool:
        """Whether every section has its own two eyes, so that with boxes blocked each has a closed form."""
        return all(meeting == "separate" for meeting in self.meetings)

    def section_name(self, section: int) -> str:
        """Name of a section between neighbouring coupled axles, such as ``12``."""
        return f"{section + 1}{section + 2}"

    def body_name(self, body: int) -> str:
        """Name of a rod by the pins it spans, such as ``12`` or ``123``."""
        covered = self.bodies[body]
        return "".join(str(axle + 1) for axle in range(covered.first, covered.last + 2))

    def body_of(self, section: int) -> int:
        """Which rod covers a section."""
        return next(index for index, body in enumerate(self.bodies) if section in body.sections)


@cache
def layout_of(meetings: tuple[Meeting, ...]) -> Layout:
    """The layout for these meetings, worked out once."""
    return Layout(meetings)
