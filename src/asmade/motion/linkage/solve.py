"""Run a mechanism over positions, crank angles and samples, in blocks that fit the processor's cache."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from asmade.measure.errors import AsmadeError, OutOfRange, Unknown
from asmade.motion.linkage.assembly import Assembly, Links
from asmade.motion.linkage.dual import Array, Dual

Lengths: TypeAlias = Mapping[str, Dual]
Outputs: TypeAlias = dict[str, Dual]
Mechanism: TypeAlias = Callable[[Lengths, Dual, Dual, Assembly], Outputs]
"""From lengths by name, crank angle, setting and an assembly to named places: complex points or real numbers."""

BLOCK = 16_384
CRANK = "crank angle"
"""Name of the crank angle among the things rates are wanted to: gives velocities per radian of crank."""


class DoesNotAssemble(AsmadeError):
    """A mechanism some of whose links cannot meet at some crank angle."""

    code = "does_not_assemble"


@dataclass(frozen=True, slots=True)
class CannotMeet:
    """Two links that cannot meet at some positions: the worst of them, and how often of how many tried."""

    links: Links
    short_mm: float
    crank_rad: float
    position: float
    sample: int
    count: int
    tried: int

    def __str__(self) -> str:
        """One plain sentence."""
        return (
            f"{self.links[0]} and {self.links[1]} cannot meet at crank angle {np.degrees(self.crank_rad):.1f} deg, "
            f"position {self.position:+.3g}: short by {self.short_mm:.3g} mm "
            f"({self.count} of {self.tried} positions)"
        )


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """Where everything is: arrays of shape (positions, angles, samples).

    Places where the mechanism does not assemble hold NaN and are False in ``assembled``; ``faults`` name them.
    """

    crank_rad: Array
    position: Array
    places: Mapping[str, Array]
    assembled: Array
    faults: tuple[CannotMeet, ...]
    joints: Mapping[Links, Array]
    rates: Mapping[str, Mapping[str, Array]]
    worst_gap_mm: float

    def place(self, name: str) -> Array:
        """Places of one output; refuses an unknown name."""
        if name not in self.places:
            raise Unknown("place of a mechanism", got=name, way_out=f"it has {', '.join(self.places)}")
        return self.places[name]

    def required(self) -> Motion:
        """Itself, if it assembles everywhere; otherwise refuses, naming the links and the angle."""
        if self.faults:
            raise DoesNotAssemble(
                "; ".join(str(fault) for fault in self.faults),
                way_out="check these lengths and the places of their fixed pins against the drawing",
            )
        return self


def solve(
    mechanism: Mechanism,
    lengths: Mapping[str, object],
    crank_rad: object,
    position: object = 0.0,
    *,
    rates_to: tuple[str, ...] = (),
    joints: bool = False,
    keep: tuple[str, ...] | None = None,
) -> Motion:
    """Places of a mechanism at every position, crank angle and sample.

    ``lengths``: each a number or one number per sample. ``crank_rad``: one angle, angles, or an array of shape
    (positions, angles, samples) with ones where it does not vary. ``position``: one setting or several.
    ``rates_to`` names the lengths (or ``"crank angle"``) to which the rates of every output are wanted.
    ``joints`` also gives the angle between links at each meeting pin. ``keep`` names the outputs to keep, where a
    great many positions are solved for a few of them (all, where none are named).
    """
    sizes = {name: _three_axes(name, value, "samples") for name, value in lengths.items()}
    crank = _three_axes("crank angle", crank_rad, "angles")
    settings = _three_axes("position", position, "positions")
    unknown = [name for name in rates_to if name not in sizes and name != CRANK]
    if unknown:
        raise Unknown("length of the mechanism", got=unknown[0], way_out=f"it has {', '.join(sizes)}")
    shape = _common_shape(sizes, crank, settings)
    samples_at_once = max(1, BLOCK // max(1, shape[0] * shape[1]))
    blocks = [
        _block(
            _Kept(mechanism, keep),
            _samples(sizes, part),
            _sample(crank, part),
            settings,
            rates_to,
            joints,
            part.start,
            shape,
        )
        for part in _parts(shape[2], samples_at_once)
    ]
    return blocks[0] if len(blocks) == 1 else _joined(blocks)


@dataclass(frozen=True, slots=True)
class _Kept:
    """A mechanism of whose outputs only the named ones are kept; a name it has not is simply not among them."""

    mechanism: Mechanism
    keep: tuple[str, ...] | None

    def __call__(self, lengths: Lengths, crank: Dual, position: Dual, assembly: Assembly) -> Outputs:
        outputs = self.mechanism(lengths, crank, position, assembly)
        return outputs if self.keep is None else {name: outputs[name] for name in self.keep if name in outputs}


def _three_axes(name: str, value: object, axis: str) -> Array:
    array = np.asarray(value, dtype=np.float64)
    if not np.isfinite(array).all():
        raise OutOfRange(name, got=value, allowed="finite numbers", way_out="give a number for it")
    if array.ndim > 3:
        raise OutOfRange(f"axes of {name}", got=array.ndim, allowed="1 to 3")
    if array.ndim == 1:
        return array.reshape({"positions": (-1, 1, 1), "angles": (1, -1, 1), "samples": (1, 1, -1)}[axis])
    return array.reshape((1,) * (3 - array.ndim) + array.shape)


def _common_shape(sizes: Mapping[str, Array], crank: Array, settings: Array) -> tuple[int, int, int]:
    try:
        shape = np.broadcast_shapes(crank.shape, settings.shape, *(size.shape for size in sizes.values()))
    except ValueError:
        counts = sorted({size.shape[2] for size in (*sizes.values(), crank)})
        raise OutOfRange(
            "number of samples", got=counts, allowed="one, or the same for every length that varies"
        ) from None
    return shape[0], shape[1], shape[2]


def _parts(count: int, at_once: int) -> list[slice]:
    return [slice(first, min(first + at_once, count)) for first in range(0, count, at_once)]


def _sample(array: Array, part: slice) -> Array:
    return array[:, :, part] if array.shape[2] > 1 else array


def _samples(sizes: Mapping[str, Array], part: slice) -> dict[str, Array]:
    return {name: _sample(size, part) for name, size in sizes.items()}


def _block(
    mechanism: Mechanism,
    sizes: Mapping[str, Array],
    crank: Array,
    settings: Array,
    rates_to: tuple[str, ...],
    joints: bool,
    first_sample: int,
    whole: tuple[int, int, int],
) -> Motion:
    lengths = {name: Dual(size) for name, size in sizes.items()}
    assembly = Assembly()
    outputs = mechanism(lengths, Dual(crank), Dual(settings), assembly)
    shape = _common_shape(sizes, crank, settings)
    assembled, faults = _findings(assembly, crank, settings, shape, first_sample, whole)
    places = {name: _masked(output.value, assembled, shape) for name, output in outputs.items()}
    return Motion(
        crank_rad=crank,
        position=settings,
        places=places,
        assembled=assembled,
        faults=faults,
        joints={links: joint.angle_rad() for links, joint in assembly.joints.items()} if joints else {},
        rates=_rates(mechanism, sizes, crank, settings, rates_to, assembly) if rates_to else {},
        worst_gap_mm=assembly.worst_gap_mm,
    )


def _masked(value: Array, assembled: Array, shape: tuple[int, int, int]) -> Array:
    if assembled.all():
        return np.broadcast_to(value, shape)
    return np.where(assembled, value, np.nan)


def _findings(
    assembly: Assembly,
    crank: Array,
    settings: Array,
    shape: tuple[int, int, int],
    first_sample: int,
    whole: tuple[int, int, int],
) -> tuple[Array, tuple[CannotMeet, ...]]:
    if not assembly.shortfalls:
        return np.broadcast_to(np.True_, shape), ()
    assembled = np.ones(shape, dtype=bool)
    faults = []
    for shortfall in assembly.shortfalls:
        where = np.broadcast_to(shortfall.where, shape) & assembled
        if not where.any():  # what fails only because something before it failed is not a cause
            continue
        short = np.where(where, np.broadcast_to(shortfall.short_mm, shape), -np.inf)
        place, angle, sample = (int(i) for i in np.unravel_index(int(short.argmax()), shape))
        faults.append(
            CannotMeet(
                links=shortfall.links,
                short_mm=float(short[place, angle, sample]),
                crank_rad=float(np.broadcast_to(crank, shape)[place, angle, sample]),
                position=float(np.broadcast_to(settings, shape)[place, angle, sample]),
                sample=first_sample + sample,
                count=int(where.sum()),
                tried=whole[0] * whole[1] * whole[2],
            )
        )
        assembled &= ~where
    return assembled, tuple(faults)


def _rates(
    mechanism: Mechanism,
    sizes: Mapping[str, Array],
    crank: Array,
    settings: Array,
    rates_to: tuple[str, ...],
    done: Assembly,
) -> dict[str, dict[str, Array]]:
    """Second pass with the unknowns already found: each closed loop then costs two evaluations."""
    seeds = np.eye(len(rates_to)).reshape(len(rates_to), len(rates_to), 1, 1, 1)
    seeded = dict(zip(rates_to, seeds, strict=True))
    lengths = {name: Dual(size, seeded.get(name)) for name, size in sizes.items()}
    outputs = mechanism(
        lengths, Dual(crank, seeded.get(CRANK)), Dual(settings), Assembly(solved=done.solved, replay=True)
    )
    still, shape = np.zeros((len(rates_to), 1, 1, 1)), _common_shape(sizes, crank, settings)
    return {
        name: {
            wanted: np.broadcast_to((still if output.rates is None else output.rates)[row], shape)
            for row, wanted in enumerate(rates_to)
        }
        for name, output in outputs.items()
    }


def _joined(blocks: list[Motion]) -> Motion:
    first = blocks[0]
    return Motion(
        crank_rad=first.crank_rad if first.crank_rad.shape[2] == 1 else _beside([b.crank_rad for b in blocks]),
        position=first.position,
        places={name: _beside([b.places[name] for b in blocks]) for name in first.places},
        assembled=_beside([b.assembled for b in blocks]),
        faults=_merged([fault for block in blocks for fault in block.faults]),
        joints={
            links: _beside([np.broadcast_to(b.joints[links], b.assembled.shape) for b in blocks])
            for links in first.joints
        },
        rates={
            name: {
                wanted: _beside([np.broadcast_to(b.rates[name][wanted], b.assembled.shape) for b in blocks])
                for wanted in wants
            }
            for name, wants in first.rates.items()
        },
        worst_gap_mm=max(b.worst_gap_mm for b in blocks),
    )


def _beside(arrays: list[Array]) -> Array:
    return np.concatenate(arrays, axis=2)


def _merged(faults: list[CannotMeet]) -> tuple[CannotMeet, ...]:
    merged: dict[Links, CannotMeet] = {}
    for fault in faults:
        before = merged.get(fault.links)
        if before is None:
            merged[fault.links] = fault
            continue
        worst = fault if fault.short_mm > before.short_mm else before
        merged[fault.links] = CannotMeet(
            fault.links,
            worst.short_mm,
            worst.crank_rad,
            worst.position,
            worst.sample,
            before.count + fault.count,
            fault.tried,
        )
    return tuple(merged.values())
