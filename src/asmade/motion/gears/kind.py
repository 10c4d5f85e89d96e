"""What a valve gear is: its dimensions, its members, its motion, where it comes from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from asmade.measure.errors import OutOfRange, Unknown
from asmade.motion.linkage import CRANK, Assembly, Dual, Lengths, Mechanism, Motion, Outputs, solve

Figure: TypeAlias = float | NDArray[Any]
Kind: TypeAlias = Literal["length", "place", "angle"]
Choices: TypeAlias = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Size:
    """A dimension of a gear. A length is positive; a place or an angle (rad) may have either sign.

    ``usual`` is the value taken where the drawing gives none because the feature is absent (a line through the
    axle, a straight lever); None means it must be given. ``part`` is the part that carries it; ``adjust`` tells
    by what it can be adjusted when the valves are set, empty if it cannot. ``when`` names the choice, and what it
    must be, for the dimension to exist at all.
    """

    name: str
    meaning: str
    part: str
    kind: Kind = "length"
    usual: float | None = None
    adjust: str = ""
    when: tuple[str, tuple[str, ...]] | None = None

    def applies(self, choices: Choices) -> bool:
        """Whether a gear with these choices has this dimension."""
        return self.when is None or choices[self.when[0]] in self.when[1]


@dataclass(frozen=True, slots=True)
class Choice:
    """A way in which gears of one kind differ that no length expresses; ``allowed`` lists what it may be."""

    name: str
    meaning: str
    allowed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Member:
    """A link of the gear as a picture shows it: a line through named points, fixed or moving.

    ``slot``: two of the points between which it has a slot, an arc about the output ``slot centre``; the line then
    runs through the others only.
    """

    name: str
    points: tuple[str, ...]
    fixed: bool = False
    slot: tuple[str, str] | None = None

    @property
    def line(self) -> tuple[str, ...]:
        """The points that its line runs through."""
        return self.points if self.slot is None else tuple(p for p in self.points if p not in self.slot)


@dataclass(frozen=True, slots=True)
class Anchor:
    """A value that somebody else published or that follows in closed form, and our own for comparison."""

    statement: str
    source: str
    published: float
    within: float
    computed: Callable[[], float]


@dataclass(frozen=True, slots=True, eq=False)
class Sizes:
    """The dimensions of one gear (mm, rad; a number, or one number per sample) and its choices."""

    gear: str
    sizes: Mapping[str, Figure]
    choices: Choices

    def __getitem__(self, name: str) -> Figure:
        """Value of one dimension."""
        return self.sizes[name]

    def with_sizes(self, changes: Mapping[str, Figure]) -> Sizes:
        """The same gear with some dimensions changed; refuses a name it has not."""
        for name in changes:
            if name not in self.sizes:
                raise Unknown("dimension of the valve gear", got=name, way_out=f"it has {', '.join(self.sizes)}")
        return Sizes(self.gear, MappingProxyType({**self.sizes, **changes}), self.choices)

    @property
    def samples(self) -> int:
        """How many samples its dimensions carry."""
        return max(int(np.size(value)) for value in self.sizes.values())


Builder: TypeAlias = Callable[[Choices], Mechanism]


@dataclass(frozen=True, slots=True)
class Gear:
    """A kind of valve gear, complete in one file.

    ``mechanism(choices)`` gives the function from lengths, crank angle and reverser to places. Every gear gives
    the outputs ``piston`` (gudgeon along the cylinder line, mm), ``valve`` (spindle pin along the spindle line, mm,
    forward positive) and its named points; ``swing`` (unit vector of the link) and ``die`` (place of the die block
    seen from the centre of the slot, in the link's own frame) where it has a link.
    ``still_by``: the two dimensions by which the link is made not to move the valve at either dead centre.
    Frame: axle centre at running height, x towards the cylinder, y up; crank angle from x, positive in forward
    running (clockwise seen with the front to the right).
    """

    name: str
    title: str
    about: str
    source: str
    sizes: tuple[Size, ...]
    choices: tuple[Choice, ...]
    members: tuple[Member, ...]
    reverser: tuple[float, ...] | None
    mechanism: Builder
    anchors: tuple[Anchor, ...]
    example: Callable[[], Sizes]
    still_by: tuple[str, ...] = ()
    one_way: tuple[str, str] | None = None
    """The choice, and what it must be, for the gear to serve forward running only."""

    def positions(self, choices: Choices) -> tuple[float, ...] | None:
        """The only reverser positions of a gear with these choices; None where every one from -1 to +1 is."""
        if self.one_way is not None and choices[self.one_way[0]] == self.one_way[1]:
            return (1.0,)
        return self.reverser

    def of(self, sizes: Mapping[str, Figure], choices: Choices | None = None) -> Sizes:
        """Check and complete the dimensions of a gear of this kind.

        Unknown or missing names, zero or negative lengths and choices that do not exist are refused by name.
        """
        given = dict(choices or {})
        for choice in self.choices:
            if choice.name not in given:
                raise Unknown(
                    f"choice of {self.title}", got=choice.name, way_out=f"state it: {' or '.join(choice.allowed)}"
                )
            if given[choice.name] not in choice.allowed:
                raise Unknown(f"{choice.name} of {self.title}", got=given[choice.name], near=choice.allowed)
        for name in given:
            if name not in {choice.name for choice in self.choices}:
                raise Unknown(f"choice of {self.title}", got=name)
        wanted = [size for size in self.sizes if size.applies(given)]
        known = [size.name for size in wanted]
        for name in sizes:
            if name not in known:
                made = ", ".join(f"{choice}: {value}" for choice, value in given.items())
                raise Unknown(f"dimension of {self.title} ({made})", got=name, way_out=f"it has {', '.join(known)}")
        complete: dict[str, Figure] = {}
        for size in wanted:
            complete[size.name] = _checked(self.title, size, sizes.get(size.name, size.usual))
        return Sizes(self.name, MappingProxyType(complete), MappingProxyType(given))

    def move(
        self,
        sizes: Sizes,
        crank_rad: object,
        reverser: object = 1.0,
        *,
        rates_to: tuple[str, ...] = (),
        joints: bool = False,
        keep: tuple[str, ...] | None = None,
    ) -> Motion:
        """Places at every reverser position, crank angle and sample; arrays (positions, angles, samples).

        ``rates_to``, ``joints`` and ``keep`` as for `asmade.motion.linkage.solve`.
        """
        if sizes.gear != self.name:
            raise Unknown("gear", got=sizes.gear, near=(self.name,))
        self._check_reverser(np.asarray(reverser, dtype=np.float64), self.positions(sizes.choices))
        return solve(
            self.mechanism(sizes.choices),
            sizes.sizes,
            crank_rad,
            reverser,
            rates_to=rates_to,
            joints=joints,
            keep=keep,
        )

    def _check_reverser(self, reverser: NDArray[np.float64], only: tuple[float, ...] | None) -> None:
        if only is not None:
            wrong = reverser[~np.isin(reverser, only)]
            if wrong.size:
                raise OutOfRange(
                    f"reverser of {self.title}",
                    got=float(wrong.flat[0]),
                    allowed=" or ".join(f"{place:+g}" for place in only),
                    way_out="this gear has no position between, or only the one direction",
                )
        elif reverser.size and not (np.abs(reverser) <= 1.0).all():
            worst = float(reverser.flat[int(np.argmax(np.abs(reverser)))])
            raise OutOfRange(
                f"reverser of {self.title}",
                got=worst,
                allowed="-1 (full backward) to +1 (full forward)",
                way_out="full gear is where the lifting arm is at the angle given for it; move that angle instead",
            )


def _checked(title: str, size: Size, value: Figure | None) -> Figure:
    if value is None:
        raise Unknown(f"dimension of {title}", got=size.name, way_out=f"give it: {size.meaning}")
    array = np.asarray(value, dtype=np.float64)
    if array.ndim > 1:
        raise OutOfRange(f"axes of {size.name}", got=array.ndim, allowed="a number or one number per sample")
    if not np.isfinite(array).all():
        raise OutOfRange(f"{size.name} of {title}", got=value, allowed="finite numbers")
    if size.kind == "length" and not (array > 0).all():
        raise OutOfRange(
            f"{size.name} of {title}",
            got=float(array.min()),
            allowed="more than 0 mm",
            way_out=f"give the true length: {size.meaning}",
        )
    return float(array) if array.ndim == 0 else array


__all__ = [
    "CRANK",
    "Anchor",
    "Assembly",
    "Choice",
    "Choices",
    "Dual",
    "Figure",
    "Gear",
    "Lengths",
    "Mechanism",
    "Member",
    "Outputs",
    "Size",
    "Sizes",
]
