"""Coupled wheels and rods as plain frozen numbers, with every dimension addressable by name."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal, Self

import numpy as np
import numpy.typing as npt

from asmade.measure.errors import Contradiction, OutOfRange, Refused
from asmade.motion.wheels.layout import MOST_AXLES, SIDES, Layout, Meeting, layout_of

Array = npt.NDArray[np.float64]
Side = Literal["L", "R"]

_FURTHEST_QUARTER = np.radians(40.0)  # wide enough for cranks at 120 degrees; at 0 or 180 both sides stand together

FIELDS = (
    "axle_x",
    "axle_y",
    "crank_radius",
    "pin_ahead",
    "quarter",
    "box_fore",
    "box_aft",
    "centres",
    "bore",
    "pin",
    "knuckle_reach",
    "knuckle_clearance",
)
"""The fields that hold dimensions, in the order of :meth:`Chassis.vector`."""

PLAYS = ("box_fore", "box_aft")
"""Freedoms, not sizes: searched for their best, never drawn at random unless a spread is given for them."""


@dataclass(frozen=True, slots=True, eq=False)
class Chassis:
    """Coupled axles, cranks and rods; arrays with the samples on the last axis.

    Conventions: x forward, y up; crank angle of a side from that side's front dead centre, positive in forward
    running; the chassis angle is the right crank's on the ``driven`` axle. Axle 0 is the foremost. Side 0 is left,
    side 1 right, facing forward. Lengths mm, angles rad. N axles, S = N - 1 sections, E eyes and K knuckle joints of
    one side as :class:`Layout` lists them, n samples (1 or more; an axis of 1 goes with any n).

    leads: side whose crank is ahead in forward running.
    driven: axle the chassis angle is counted on, 0 to N - 1.
    meetings: how the rods meet on each inner pin, N - 2 entries.
    axle_x, axle_y: axle centre per side (N, 2, n), as the box stands when blocked.
    crank_radius: (N, 2, n), more than 0.
    pin_ahead: pin journal off its radial line, along the forward turning direction (N, 2, n); run-out enters here
        and in crank_radius.
    quarter: leading crank ahead of the other, forward running (N, n), about pi / 2.
    box_fore, box_aft: how far the box can move forward and back from where it stands (N, 2, n), 0 or more.
    centres: rod centres per section and side (S, 2, n); of a jointed rod from its pin to the knuckle joint.
    bore: bush bore of each eye (E, 2, n).
    pin: crank-pin journal diameter (N, 2, n).
    knuckle_reach: from the carrying rod's eye to its knuckle joint (K, 2, n), more than 0.
    knuckle_clearance: clearance on diameter in the joint (K, 2, n).

    Raises: OutOfRange, Refused, Contradiction naming the place for a wrong shape, nan or inf, axles out of order,
    a section without length, a pin larger than its bush in the first sample.
    """

    leads: Side
    driven: int
    meetings: tuple[Meeting, ...]
    axle_x: Array
    axle_y: Array
    crank_radius: Array
    pin_ahead: Array
    quarter: Array
    box_fore: Array
    box_aft: Array
    centres: Array
    bore: Array
    pin: Array
    knuckle_reach: Array
    knuckle_clearance: Array

    def __post_init__(self) -> None:
        """Check shapes and values once, so that no sum downstream has to."""
        layout = layout_of(self.meetings)
        if self.leads not in SIDES:
            raise Refused("leading side", got=self.leads, reason="it is neither L nor R")
        if not 0 <= self.driven < layout.axles:
            raise OutOfRange("driven axle", got=self.driven, allowed=f"0 to {layout.axles - 1}")
        for field, shape in field_shapes(layout).items():
            array = np.array(getattr(self, field), dtype=np.float64)
            if array.shape[:-1] != shape or array.ndim != len(shape) + 1:
                raise Refused(field, got=array.shape, reason=f"the shape must be {shape} with the samples last")
            if not np.isfinite(array).all():
                where = tuple(int(i) for i in np.argwhere(~np.isfinite(array))[0])
                raise OutOfRange(
                    _place(field, where),
                    got=float(array[where]),
                    allowed="finite numbers",
                    way_out="measure it, or leave the wheels sum until it is known",
                )
            array.setflags(write=False)
            object.__setattr__(self, field, array)
        counts = {getattr(self, field).shape[-1] for field in FIELDS} - {1}
        if len(counts) > 1:
            raise Refused("samples of a chassis", got=sorted(counts), reason="fields must have one number of samples")
        self._check_values(layout)

    def _check_values(self, layout: Layout) -> None:
        away = np.abs(self.quarter - np.pi / 2) > _FURTHEST_QUARTER
        if away.any():
            axle = int(np.argwhere(away)[0][0])
            raise OutOfRange(
                f"quarter of axle {axle + 1}",
                got=f"{np.degrees(self.quarter[axle]).max():.3f} degrees",
                allowed="50 to 130 degrees: the leading crank ahead of the other, forward running",
                way_out="check the angle, its unit and which side leads",
            )
        gaps = self.axle_x[:-1] - self.axle_x[1:]
        if (gaps <= 0).any():
            where = tuple(int(i) for i in np.argwhere(gaps <= 0)[0])
            name = f"axle centres {layout.section_name(where[0])}{SIDES[where[1]]}"
            raise OutOfRange(
                name,
                got=f"{gaps[where]:.4g} mm",
                allowed="more than 0 (axles counted from the front, x forward)",
                way_out="check the horn positions and their signs",
            )
        for field in ("crank_radius", "centres", "bore", "pin", "knuckle_reach"):
            self._refuse_below(field, strict=True)
        for field in ("box_fore", "box_aft"):
            self._refuse_below(field, strict=False)
        for eye, (body, axle) in enumerate(layout.eyes):
            for side in (0, 1):
                bore, pin = float(self.bore[eye, side, 0]), float(self.pin[axle, side, 0])
                if bore < pin:
                    raise Contradiction(
                        f"coupling rod {layout.body_name(body)}{SIDES[side]} cannot be assembled: its bush "
                        f"{bore:.3f} mm does not pass over crank pin {axle + 1}{SIDES[side]}, {pin:.3f} mm",
                        way_out="ream the bush, or check which reading belongs to which piece",
                    )
        self._refuse_out_of_reach(layout)

    def _refuse_below(self, field: str, *, strict: bool) -> None:
        array = getattr(self, field)
        bad = array <= 0 if strict else array < 0
        if bad.any():
            where = tuple(int(i) for i in np.argwhere(bad)[0])
            raise OutOfRange(
                _place(field, where),
                got=f"{array[where]:.4g} mm",
                allowed="more than 0" if strict else "0 or more",
                way_out="check the reading and its sign",
            )

    def _refuse_out_of_reach(self, layout: Layout) -> None:
        """A rod whose centres no turn of its two wheels can reach is a wrong figure, not a bind."""
        lengths = self.centres[..., 0].copy()
        for joint, knuckle in enumerate(layout.knuckles):
            lengths[knuckle.axle - 1 if knuckle.ahead else knuckle.axle] += self.knuckle_reach[joint, :, 0]
        apart = self.axle_x[:-1, :, 0] - self.axle_x[1:, :, 0]
        reach = self.crank_radius[:-1, :, 0] + self.crank_radius[1:, :, 0]
        beyond = np.abs(lengths - apart) > reach
        if beyond.any():
            section, side = (int(i) for i in np.argwhere(beyond)[0])
            raise Contradiction(
                f"coupling rod {layout.section_name(section)}{SIDES[side]} cannot be assembled: pin to pin it is "
                f"{lengths[section, side]:.3f} mm, the axle centres are {apart[section, side]:.3f} mm",
                way_out="check both figures; a jointed rod counts from its pin to the knuckle joint",
            )

    @property
    def layout(self) -> Layout:
        """How the rods hang together."""
        return layout_of(self.meetings)

    @property
    def samples(self) -> int:
        """Number of samples."""
        return max(int(getattr(self, field).shape[-1]) for field in FIELDS)

    @property
    def turning(self) -> float:
        """+1 with right-hand lead, -1 with left-hand lead: left crank angle = right crank angle - turning * quarter."""
        return 1.0 if self.leads == "R" else -1.0

    def vector(self) -> Array:
        """All dimensions as (P, n), in the order of :func:`names`."""
        n = self.samples
        parts = []
        for field in FIELDS:
            array = getattr(self, field)
            flat = array.reshape(-1, array.shape[-1])
            parts.append(np.broadcast_to(flat, (flat.shape[0], n)))
        return np.concatenate(parts)

    def with_vector(self, vector: Array) -> Chassis:
        """The same layout with other dimensions, (P, n) in the order of :func:`names`. Unchecked, for sampling."""
        made = object.__new__(Chassis)
        for name in ("leads", "driven", "meetings"):
            object.__setattr__(made, name, getattr(self, name))
        at = 0
        for field, shape in field_shapes(self.layout).items():
            size = int(np.prod(shape))
            object.__setattr__(made, field, vector[at : at + size].reshape(*shape, vector.shape[-1]))
            at += size
        return made

    def with_boxes(self, state: Literal["blocked", "free"]) -> Chassis:
        """Boxes blocked (play set to nothing, as for trial turning) or free (as given)."""
        if state == "free":
            return self
        return self.replace_unchecked(box_fore=np.zeros_like(self.box_fore), box_aft=np.zeros_like(self.box_aft))

    def replace_unchecked(self, **fields: Any) -> Self:
        """A copy with some fields replaced and nothing checked again."""
        made = object.__new__(type(self))
        for name in ("leads", "driven", "meetings", *FIELDS):
            object.__setattr__(made, name, fields.get(name, getattr(self, name)))
        return made

    @classmethod
    def as_drawn(
        cls,
        *,
        axle_x: npt.ArrayLike,
        crank_radius: float,
        bush_clearance: float,
        pin: float,
        box_play: float,
        quarter: float = np.pi / 2,
        leads: Side = "R",
        driven: int = 1,
        meetings: tuple[Meeting, ...] | None = None,
        knuckle_reach: float | None = None,
        knuckle_clearance: float | None = None,
    ) -> Chassis:
        """A chassis without errors: one size of each kind, rods to the axle centres, boxes in the middle of their play.

        ``box_play`` is the whole fore-and-aft play of a box; clearances are on diameter.
        """
        x = np.asarray(axle_x, dtype=np.float64)
        if x.ndim != 1 or not 2 <= x.size <= MOST_AXLES:
            raise OutOfRange("coupled axles", got=x.shape, allowed=f"2 to {MOST_AXLES} positions in one row")
        layout = layout_of(meetings if meetings is not None else ("separate",) * (x.size - 2))
        if layout.axles != x.size:
            raise Refused("how the rods meet", got=meetings, reason=f"{x.size} axles have {x.size - 2} inner pins")
        if layout.knuckles and (knuckle_reach is None or knuckle_clearance is None):
            raise Refused("knuckle joint", got=None, reason="its reach from the pin and its clearance are not given")
        shapes = field_shapes(layout)
        apart = np.repeat((x[:-1] - x[1:])[:, None], 2, axis=1)
        for knuckle in layout.knuckles:
            assert knuckle_reach is not None  # noqa: S101  # refused above
            apart[knuckle.axle - 1 if knuckle.ahead else knuckle.axle] -= knuckle_reach
        fill: dict[str, float | Array] = {
            "axle_x": np.repeat(x[:, None], 2, axis=1),
            "axle_y": 0.0,
            "crank_radius": crank_radius,
            "pin_ahead": 0.0,
            "quarter": quarter,
            "box_fore": box_play / 2,
            "box_aft": box_play / 2,
            "centres": apart,
            "bore": pin + bush_clearance,
            "pin": pin,
            "knuckle_reach": knuckle_reach if knuckle_reach is not None else 0.0,
            "knuckle_clearance": knuckle_clearance if knuckle_clearance is not None else 0.0,
        }
        arrays = {name: np.broadcast_to(fill[name], shape)[..., None].copy() for name, shape in shapes.items()}
        return cls(leads=leads, driven=driven, meetings=layout.meetings, **arrays)


def field_shapes(layout: Layout) -> dict[str, tuple[int, ...]]:
    """Shape of every field without the samples axis."""
    n, s, e, k = layout.axles, layout.sections, len(layout.eyes), len(layout.knuckles)
    return {
        "axle_x": (n, 2),
        "axle_y": (n, 2),
        "crank_radius": (n, 2),
        "pin_ahead": (n, 2),
        "quarter": (n,),
        "box_fore": (n, 2),
        "box_aft": (n, 2),
        "centres": (s, 2),
        "bore": (e, 2),
        "pin": (n, 2),
        "knuckle_reach": (k, 2),
        "knuckle_clearance": (k, 2),
    }


def names(layout: Layout) -> tuple[str, ...]:
    """Plain names of all dimensions in the order of :meth:`Chassis.vector`, such as ``crank radius 2L``."""
    return tuple(
        _name(layout, field, where) for field, shape in field_shapes(layout).items() for where in np.ndindex(*shape)
    )


def index_of(layout: Layout, field: str, *where: int) -> int:
    """Row of one dimension in :meth:`Chassis.vector`."""
    at = 0
    for name, shape in field_shapes(layout).items():
        if name == field:
            return at + int(np.ravel_multi_index(where, shape))
        at += int(np.prod(shape))
    raise Refused("dimension of a chassis", got=field, reason=f"known are {', '.join(FIELDS)}")


_WORDS = {
    "axle_x": "axle position",
    "axle_y": "axle height",
    "crank_radius": "crank radius",
    "pin_ahead": "crank pin ahead of its radius",
    "quarter": "quarter of axle",
    "box_fore": "box play forward",
    "box_aft": "box play back",
    "centres": "rod centres",
    "bore": "bush bore",
    "pin": "crank pin",
    "knuckle_reach": "knuckle joint from pin",
    "knuckle_clearance": "knuckle clearance at pin",
}


def _name(layout: Layout, field: str, where: tuple[int, ...]) -> str:
    word = _WORDS[field]
    if field == "quarter":
        return f"{word} {where[0] + 1}"
    side = SIDES[where[1]]
    if field == "centres":
        return f"{word} {layout.section_name(where[0])}{side}"
    if field == "bore":
        body, axle = layout.eyes[where[0]]
        return f"{word} of rod {layout.body_name(body)}{side} on pin {axle + 1}{side}"
    if field in ("knuckle_reach", "knuckle_clearance"):
        return f"{word} {layout.knuckles[where[0]].axle + 1}{side}"
    return f"{word} {where[0] + 1}{side}"


def _place(field: str, where: tuple[int, ...]) -> str:
    """Name for an error message when the layout may not be trusted yet."""
    word = _WORDS[field]
    if field == "quarter":
        return f"{word} {where[0] + 1}"
    if field == "centres":
        return f"{word} {where[0] + 1}{where[0] + 2}{SIDES[where[1]]}"
    return f"{word} {where[0] + 1}{SIDES[where[1]]}"
