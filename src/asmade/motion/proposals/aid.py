"""What every design aid has: what it asks, the working line by line, lap and travel, and what the search may move."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from asmade.measure.errors import OutOfRange, Refused
from asmade.motion.valves.engine import Admission, Side
from asmade.motion.valves.harmonic import lap_for_cutoff, travel_for_cutoff

GEOMETRY = "geometry of the linkage"
POLAR = "polar valve diagram (Zeuner, Reuleaux)"
PRACTICE = "common practice, no source"

AskKind: TypeAlias = Literal["length", "share", "angle"]


@dataclass(frozen=True, slots=True)
class Ask:
    """Something an aid wants to be told: by which name, what it means, and which dimension of a book answers it.

    ``usual`` is taken where nobody says (common practice, no source); None: it must be told.
    """

    name: str
    meaning: str
    from_book: str = ""
    usual: float | None = None
    kind: AskKind = "length"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the working: what, by which relation, the figure, and where the relation comes from."""

    name: str
    relation: str
    value: float
    source: str


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """The side as proposed, valve set for equal leads, with the working line by line."""

    side: Side
    working: tuple[Line, ...]

    def figure(self, name: str) -> float:
        """One figure of the working."""
        return next(line.value for line in self.working if line.name == name)


Wanted: TypeAlias = Mapping[str, float]
Chosen: TypeAlias = Mapping[str, str]
Propose: TypeAlias = Callable[[Wanted, Admission, Chosen], Proposal]


@dataclass(frozen=True, slots=True)
class Aid:
    """How a kind of gear is proposed: what is asked besides travel or lap, and which sizes a search may then move.

    ``lead_everywhere``: whether the lead should be as wanted at every reverser position, or in full gear only.
    ``lead_counts_mm``: so much wrong lead counts as one per cent of cut-off in the search.
    """

    gear: str
    asks: tuple[Ask, ...]
    propose: Propose
    lengths: tuple[str, ...]
    angles: tuple[str, ...] = ()
    lead_everywhere: bool = True
    lead_counts_mm: float = 0.05


COMMON: tuple[Ask, ...] = (
    Ask("cutoff", "cut-off in full gear, per cent of the stroke", kind="share"),
    Ask("lead", "lead in full gear"),
    Ask("crank_radius", "crank radius", "crank_radius"),
    Ask("connecting_rod", "connecting rod, centre to centre", "connecting_rod"),
    Ask("cylinder_line_y", "height of the cylinder line above the axle", "cylinder_line_y", usual=0.0),
    Ask("port", "width of the steam port", "port"),
    Ask("exhaust_lap", "exhaust lap", usual=0.0),
)
"""What every aid asks; besides these the travel or the lap, of which the other follows."""
EITHER: tuple[Ask, ...] = (
    Ask("travel", "travel of the valve in full gear"),
    Ask("lap", "steam lap"),
)


class Working:
    """Notes the working as it goes."""

    def __init__(self) -> None:
        """Nothing noted yet."""
        self.lines: list[Line] = []

    def __call__(self, name: str, relation: str, value: float, source: str) -> float:
        """Note a line and give its figure back."""
        self.lines.append(Line(name, relation, value, source))
        return value


def lap_and_travel(
    cutoff: float, lead: float, travel: float | None, lap: float | None, note: Working
) -> tuple[float, float]:
    """Lap from the travel or travel from the lap, by the polar diagram; refuses what cannot be."""
    if (travel is None) == (lap is None):
        raise OutOfRange(
            "travel and lap", got=(travel, lap), allowed="one of the two", way_out="give one; the other follows"
        )
    if travel is not None:
        lap = note("lap", "lap that cuts off there with this travel", lap_for_cutoff(travel, cutoff, lead), POLAR)
        note("travel", "as wanted", travel, "wanted")
    else:
        lap = note("lap", "as wanted", float(lap or 0.0), "wanted")
        travel = note("travel", "travel that cuts off there with this lap", travel_for_cutoff(lap, cutoff, lead), POLAR)
    if not lap > 0:
        raise OutOfRange(
            "lap", got=f"{lap:.3f} mm", allowed="more than 0", source=POLAR, way_out="an earlier cut-off or less lead"
        )
    if not lap + lead > 0:
        raise OutOfRange("lap and lead together", got=lap + lead, allowed="more than 0 mm", source=POLAR)
    return lap, travel


def across(travel: float, lap: float, lead: float) -> float:
    """Half the valve's movement a quarter turn from the dead centres: sqrt(half travel^2 - (lap + lead)^2)."""
    square = (0.5 * travel) ** 2 - (lap + lead) ** 2
    if not square > 0:
        raise OutOfRange(
            "lap and lead together", got=lap + lead, allowed=f"less than half the travel, {0.5 * travel:g}",
            source=POLAR, way_out="lengthen the travel or shorten the lap",
        )  # fmt: skip
    return math.sqrt(square)


def no_rocker(chosen: Chosen) -> None:
    """Refuse a rocker: its arms are a choice of their own that no closed form makes."""
    if chosen.get("transmission") == "rocker":
        raise Refused(
            "proposal", got="a rocker", reason="only gears that work straight on the valve spindle are proposed",
            way_out='write transmission = "on the spindle"; with a rocker of equal arms the lengths stay the same',
        )  # fmt: skip


def lies_for(admission: Admission, chosen: Chosen) -> None:
    """Refuse eccentrics on the wrong side of the crank for this admission."""
    wanted = "ahead of the crank" if admission == "outside" else "behind the crank"
    if chosen["lies"] != wanted:
        raise Refused(
            "proposal", got=f"eccentric {chosen['lies']}",
            reason=f"straight on the spindle with {admission} admission it lies {wanted}",
            way_out=f'write lies = "{wanted}" in the relation',
        )  # fmt: skip


def front_crank(crank_radius: float, connecting_rod: float, cylinder_line_y: float) -> float:
    """Direction (rad from forward, upwards) of the crank at its dead centres, mean of both; 0 where the line is level.

    The cylinder line passes beside the axle by ``cylinder_line_y``.
    """
    long, short = connecting_rod + crank_radius, connecting_rod - crank_radius
    if not short > abs(cylinder_line_y):
        raise OutOfRange(
            "connecting rod", got=connecting_rod, allowed="more than the crank radius and the cylinder line's height",
        )  # fmt: skip
    return 0.5 * (math.asin(cylinder_line_y / long) + math.asin(cylinder_line_y / short))


def rod_direction(reach: float, spindle_y: float) -> float:
    """Direction (rad from forward, upwards) from the axle to a pin on a level spindle line, ``reach`` away."""
    if not reach > abs(spindle_y):
        raise OutOfRange(
            "rod from the axle to the valve spindle", got=reach, allowed=f"more than {abs(spindle_y):g} mm"
        )
    return math.asin(spindle_y / reach)
