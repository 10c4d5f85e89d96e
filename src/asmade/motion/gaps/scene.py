"""A scene: everything near the motion on one side of the engine, where it is at every crank angle and how far out."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import combinations
from types import MappingProxyType

from asmade.measure.errors import OutOfRange, Refused, Unknown
from asmade.motion.gaps.poses import Array, Poses
from asmade.reckon.shapes import Piece, Shape

_NONE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Element:
    """One thickness of a moving or fixed body.

    pieces: outline in the body's own axes (mm). poses: where the body is. inner_mm, outer_mm: from the engine's middle
    outward, every freedom in its middle. plays: by how much each sideways freedom carries it outward, mm per mm.
    body: elements of one body never meet one another.
    """

    name: str
    body: str
    pieces: tuple[Piece, ...]
    poses: Poses
    inner_mm: float
    outer_mm: float
    plays: Mapping[str, float] = field(default_factory=lambda: _NONE)

    def __post_init__(self) -> None:
        """Refuse an element without outline or thickness."""
        if not self.pieces:
            raise Refused(self.name, got="no outline", reason="an element needs an outline in the plane of motion")
        if not (math.isfinite(self.inner_mm) and math.isfinite(self.outer_mm)):
            raise Refused(self.name, got=(self.inner_mm, self.outer_mm), reason="how far out it lies is not known",
                          way_out="give the sizes of the width stack it stands in")  # fmt: skip
        if self.outer_mm <= self.inner_mm:
            raise OutOfRange(f"thickness of {self.name}", got=self.outer_mm - self.inner_mm, allowed="more than 0 mm")
        for name, rate in self.plays.items():
            if not math.isfinite(rate):
                raise Refused(f"{self.name}: {name}", got=rate, reason="how far a freedom carries it is not known")


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Elements of one side over crank angles (K, rad). sideways: each freedom's way to either side (mm)."""

    elements: tuple[Element, ...]
    crank_rad: Array
    sideways: Mapping[str, float] = field(default_factory=lambda: _NONE)

    def __post_init__(self) -> None:
        """Refuse names that are not unique, freedoms that are not given, poses for other angles."""
        names = [element.name for element in self.elements]
        if len(set(names)) != len(names):
            twice = next(name for name in names if names.count(name) > 1)
            raise Refused("elements", got=twice, reason="the name stands there twice", way_out="name every layer apart")
        for name, way in self.sideways.items():
            if not math.isfinite(way) or way < 0:
                raise OutOfRange(f"sideways freedom {name}", got=way, allowed="0 mm or more, each way")
        for element in self.elements:
            for play in element.plays:
                if play not in self.sideways:
                    raise Unknown(f"{element.name}: sideways freedom", got=play,
                                  way_out=f"known are {', '.join(self.sideways) or 'none'}")  # fmt: skip
            if element.poses.place.size != self.crank_rad.size:
                raise Refused(element.name, got=element.poses.place.size,
                              reason=f"it has not {self.crank_rad.size} poses, one for every crank angle")  # fmt: skip

    def element(self, name: str) -> Element:
        """One element by name."""
        for element in self.elements:
            if element.name == name:
                return element
        raise Unknown("element", got=name, way_out=f"there are {', '.join(e.name for e in self.elements)}")


@dataclass(frozen=True, slots=True)
class Pair:
    """Two elements and the least gap wanted between them, mm."""

    one: str
    other: str
    wanted_mm: float

    def __post_init__(self) -> None:
        """Refuse a wanted gap that is none."""
        if not math.isfinite(self.wanted_mm) or self.wanted_mm < 0:
            raise OutOfRange(f"gap wanted between {self.one} and {self.other}", got=self.wanted_mm,
                             allowed="0 mm or more")  # fmt: skip

    @property
    def name(self) -> str:
        """``coupling rod - crosshead``."""
        return f"{self.one} - {self.other}"


def pairs_of(
    scene: Scene, wanted_mm: float, *, touching: Collection[frozenset[str]] = (), moving_only: bool = True
) -> tuple[Pair, ...]:
    """Every two elements of different bodies of which one moves, but for bodies that touch on purpose.

    touching: sets of two body names that bear on one another (a pin in its eye, a crosshead on its bars).
    """
    meant = {frozenset(each) for each in touching}
    return tuple(
        Pair(one.name, other.name, wanted_mm)
        for one, other in combinations(scene.elements, 2)
        if one.body != other.body
        and frozenset((one.body, other.body)) not in meant
        and (not moving_only or one.poses.moves or other.poses.moves)
    )


def elements_of(
    shape: Shape,
    name: str,
    poses: Poses,
    datum_mm: float,
    plays: Mapping[str, float] | None = None,
    *,
    plays_of: Mapping[str, Mapping[str, float]] | None = None,
) -> tuple[Element, ...]:
    """One element for every layer of a shape, ``datum_mm`` = how far out the shape's own 0 lies.

    plays_of: freedoms of single layers where they differ (the eyes of a rod follow their own axles).
    """
    several = len(shape.layers) > 1
    return tuple(
        Element(
            name=f"{name}, {layer.name}" if several else name, body=name, pieces=layer.pieces, poses=poses,
            inner_mm=datum_mm + layer.low_mm, outer_mm=datum_mm + layer.high_mm,
            plays=MappingProxyType(dict((plays_of or {}).get(layer.name, plays or {}))),
        )
        for layer in shape.layers
    )  # fmt: skip
